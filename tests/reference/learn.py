"""Posteriors by numerical integration, and beta distributions, for the estimators of `learned`.

In: {"usual": [{"prior": [low, likely, high], "measured": [...], "log": bool}, ...],
     "chance": [[a, b, failed, of], ...]}.
Out: the 5 % point, middle and 95 % point of each; for a chance the mean instead of the middle.
The posterior is not taken from a closed form: prior density times likelihood is summed up on a
fine grid.
"""

import json
import math
import sys

import numpy
from scipy import stats

HALF = stats.norm.ppf(0.95)


def usual(case):
    low, likely, high = case["prior"]
    measured = numpy.array(case["measured"], dtype=float)
    if case["log"]:
        low, likely, high = math.log(low), math.log(likely), math.log(high)
        measured = numpy.log(measured)
    spread = (high - low) / (2 * HALF)
    scatter = spread
    if len(measured) >= 3:
        scatter = max(spread, stats.tstd(measured))
    ends = [likely, *measured]
    grid = numpy.linspace(min(ends) - 8 * spread, max(ends) + 8 * spread, 400_001)
    log_density = stats.norm.logpdf(grid, likely, spread)
    for value in measured:
        log_density = log_density + stats.norm.logpdf(value, grid, scatter)
    density = numpy.exp(log_density - log_density.max())
    total = numpy.cumsum(density)
    total /= total[-1]
    points = numpy.interp([0.05, 0.5, 0.95], total, grid)
    return [float(math.exp(p) if case["log"] else p) for p in points]


def chance(a, b, failed, of):
    after = stats.beta(a + failed, b + of - failed)
    return [float(after.ppf(0.05)), float(after.mean()), float(after.ppf(0.95))]


given = json.load(sys.stdin)
print(json.dumps({
    "usual": [usual(case) for case in given["usual"]],
    "chance": [chance(*case) for case in given["chance"]],
}))
