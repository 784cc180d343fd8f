"""Chances by scipy.stats.

stdin:  {"beta": [[a, b, x, chance], ...],
         "negative_binomial": [[good, p, count, chance], ...],
         "beta_negative_binomial": [[good, a, b, count, chance], ...],
         "mixed": [[good, [low, likely, high], count, chance], ...]}: the chance of a good one is PERT
stdout: the same keys; for beta {"mean", "cdf", "quantile"}, for counts {"mean", "pmf", "cdf",
        "quantile"}. Counts are of all tries, good and bad; scipy counts the bad.
"""

import json
import sys

from scipy import integrate, stats


def beta(a, b, x, chance):
    d = stats.beta(a, b)
    return {"mean": d.mean(), "cdf": d.cdf(x), "quantile": d.ppf(chance)}


def counts(d, count, chance, good=0):
    bad = count - good
    return {
        "mean": d.mean() + good,
        "pmf": d.pmf(bad),
        "cdf": d.cdf(bad),
        # Found by counting up: ppf of betanbinom searches with a rounded cdf.
        "quantile": next(n for n in range(10**6) if d.cdf(n) >= chance - 1e-11) + good,
    }


def mixed(good, three, count, chance):
    low, likely, high = three
    width = high - low
    p = stats.beta(1 + 4 * (likely - low) / width, 1 + 4 * (high - likely) / width, low, width)

    def over(f):
        return integrate.quad(lambda x: f(x) * p.pdf(x), low, high, limit=200)[0]

    total, bad = 0.0, -1
    while total < chance:
        bad += 1
        total += over(lambda x: stats.nbinom.pmf(bad, good, x))
    return {
        "mean": over(lambda x: good / x),
        "pmf": over(lambda x: stats.nbinom.pmf(count - good, good, x)),
        "cdf": over(lambda x: stats.nbinom.cdf(count - good, good, x)),
        "quantile": bad + good,
    }


if __name__ == "__main__":
    asked = json.load(sys.stdin)
    answer = {
        "beta": [beta(*row) for row in asked["beta"]],
        "negative_binomial": [
            counts(stats.nbinom(g, p), k, c, g) for g, p, k, c in asked["negative_binomial"]
        ],
        "beta_negative_binomial": [
            counts(stats.betanbinom(g, a, b), k, c, g)
            for g, a, b, k, c in asked["beta_negative_binomial"]
        ],
        "mixed": [mixed(*row) for row in asked["mixed"]],
    }
    json.dump(answer, sys.stdout)
