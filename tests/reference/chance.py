"""Chances by scipy.stats.

stdin:  {"beta": [[a, b, x, chance], ...],
         "beta_binomial": [[tries, a, b, count, chance], ...],
         "negative_binomial": [[good, p, count, chance], ...],
         "beta_negative_binomial": [[good, a, b, count, chance], ...]}
stdout: the same keys; for beta {"mean", "sd", "cdf", "quantile"}, for counts {"mean", "pmf", "cdf",
        "quantile"}. Counts of the last two are of all tries, good and bad; scipy counts the bad.
"""

import json
import sys

from scipy import stats


def beta(a, b, x, chance):
    d = stats.beta(a, b)
    return {"mean": d.mean(), "sd": d.std(), "cdf": d.cdf(x), "quantile": d.ppf(chance)}


def counts(d, count, chance, good=0):
    bad = count - good
    return {
        "mean": d.mean() + good,
        "pmf": d.pmf(bad),
        "cdf": d.cdf(bad),
        # Found by counting up: ppf of betanbinom searches with a rounded cdf.
        "quantile": next(n for n in range(10**6) if d.cdf(n) >= chance - 1e-11) + good,
    }


if __name__ == "__main__":
    asked = json.load(sys.stdin)
    answer = {
        "beta": [beta(*row) for row in asked["beta"]],
        "beta_binomial": [
            counts(stats.betabinom(n, a, b), k, c) for n, a, b, k, c in asked["beta_binomial"]
        ],
        "negative_binomial": [
            counts(stats.nbinom(g, p), k, c, g) for g, p, k, c in asked["negative_binomial"]
        ],
        "beta_negative_binomial": [
            counts(stats.betanbinom(g, a, b), k, c, g)
            for g, a, b, k, c in asked["beta_negative_binomial"]
        ],
    }
    json.dump(answer, sys.stdout)
