"""Least cost of charges by scipy's HiGHS, from the plain formulation in absolute masses."""

import json
import sys

import numpy as np
from scipy.optimize import LinearConstraint, milp


def worst(content, weights):
    """Least weighted sum of the shares that lie within their ranges and add up to one."""
    shares = np.array([low for low, _ in content])
    for f in np.argsort(weights, kind="stable"):
        shares[f] += max(0.0, min(content[f][1] - content[f][0], 1.0 - shares.sum()))
    return float(shares @ weights)


def solve(case):
    sources, limits, mass = case["sources"], case["limits"], case["mass"]
    kept = np.array(case["recovery"])
    n = len(sources)
    step = np.array([s["piece"] or 1.0 for s in sources])
    upper = np.array([np.inf if s["at_most"] is None else s["at_most"] for s in sources]) / step
    lower = np.array([s["at_least"] for s in sources]) / step
    whole = np.array([1 if s["piece"] else 0 for s in sources])
    most_mass = np.inf if case["at_most"] is None else case["at_most"]
    rows, low, high = [step], [mass], [most_mass]
    for e, (least, most) in enumerate(limits):
        # The element at the end of its recovery that is worse, all others at the other.
        own = np.eye(len(kept))[e]
        short = np.where(own > 0, kept[:, 0], kept[:, 1]) * (own - least)
        over = np.where(own > 0, kept[:, 1], kept[:, 0]) * (own - most)
        rows.append(np.array([worst(s["content"], short) for s in sources]) * step)
        low.append(0)
        high.append(np.inf)
        rows.append(np.array([-worst(s["content"], -over) for s in sources]) * step)
        low.append(-np.inf)
        high.append(0)
    returns = np.array([float(s["returns"]) - case["most_returns"] for s in sources])
    rows.append(returns * step)
    low.append(-np.inf)
    high.append(0)
    price = np.array([s["price"] for s in sources]) * step
    found = milp(price, integrality=whole, bounds=(lower, upper),
                 constraints=LinearConstraint(np.array(rows), low, high),
                 options={"mip_rel_gap": 0})
    if found.x is None:
        return {"cost": None, "status": int(found.status)}
    assert len(found.x) == n
    return {"cost": float(found.fun), "status": int(found.status)}


json.dump([solve(case) for case in json.load(sys.stdin)], sys.stdout)
print()
