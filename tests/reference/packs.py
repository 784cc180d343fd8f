"""Cheapest pack purchases and their tie-breaks by scipy's HiGHS, from the plain formulation."""

import json
import sys

import numpy as np
from scipy.optimize import LinearConstraint, milp


def solve(case):
    packs = case["packs"]  # supplier, need, size, at_most, prices as [from, price]
    charges, needs = case["charges"], case["needs"]
    columns = []  # pack, first, last, price of one
    for i, pack in enumerate(packs):
        starts = pack["prices"]
        for k, (first, price) in enumerate(starts):
            last = starts[k + 1][0] - 1 if k + 1 < len(starts) else pack["at_most"]
            last = min(last, pack["at_most"])
            if last >= first:
                columns.append((i, first, last, price))
    n, s = len(columns), len(charges)
    width = 2 * n + s  # counts, switches, suppliers
    cost, mass, count = (np.zeros(width) for _ in range(3))
    rows, low, high = [], [], []

    def row(terms, least, most):
        line = np.zeros(width)
        for at, weight in terms:
            line[at] += weight
        rows.append(line)
        low.append(least)
        high.append(most)

    for j, (i, first, last, price) in enumerate(columns):
        cost[j], mass[j], count[j] = price, packs[i]["size"], 1
        row([(j, 1), (n + j, -first)], 0, np.inf)
        row([(j, 1), (n + j, -last)], -np.inf, 0)
        row([(n + j, 1), (2 * n + packs[i]["supplier"], -1)], -np.inf, 0)
    for i in range(len(packs)):
        row([(n + j, 1) for j, c in enumerate(columns) if c[0] == i], 0, 1)
    for k, need in enumerate(needs):
        row([(j, packs[c[0]]["size"]) for j, c in enumerate(columns) if packs[c[0]]["need"] == k],
            need, np.inf)
    cost[2 * n:] = charges
    upper = np.array([c[2] for c in columns] + [1] * (n + s), dtype=float)
    told = []
    for objective in (cost, mass, count):
        found = milp(objective, integrality=np.ones(width), bounds=(0, upper),
                     constraints=LinearConstraint(np.array(rows), low, high),
                     options={"mip_rel_gap": 0})
        if found.x is None:
            return None
        told.append(round(float(objective @ np.round(found.x))))
        rows.append(objective)
        low.append(-np.inf)
        high.append(told[-1] + 0.5)
    return told


json.dump([solve(case) for case in json.load(sys.stdin)], sys.stdout)
print()
