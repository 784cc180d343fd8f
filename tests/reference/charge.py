"""Least cost of charges by scipy's HiGHS, from the plain formulation in absolute masses."""

import json
import sys

import numpy as np
from scipy.optimize import LinearConstraint, milp


def solve(case):
    sources, limits, mass = case["sources"], case["limits"], case["mass"]
    n = len(sources)
    step = np.array([s["piece"] or 1.0 for s in sources])
    upper = np.array([np.inf if s["at_most"] is None else s["at_most"] for s in sources]) / step
    lower = np.array([s["at_least"] for s in sources]) / step
    whole = np.array([1 if s["piece"] else 0 for s in sources])
    rows, low, high = [step], [mass], [np.inf]
    for e, (least, most) in enumerate(limits):
        rows.append(np.array([(s["content"][e][0] - least) for s in sources]) * step)
        low.append(0)
        high.append(np.inf)
        rows.append(np.array([(s["content"][e][1] - most) for s in sources]) * step)
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
