"""Cheapest pack purchases by scipy's HiGHS, from the plain formulation: with their tie-breaks, and where
suppliers have terms (tax, carriage by mass, free from some worth on, a least order) with the counts."""

import json
import sys

import numpy as np
from scipy.optimize import LinearConstraint, milp


def tiers(packs):
    """Each price that is to be had: pack, first and last count that have it, price of one."""
    columns = []
    for i, pack in enumerate(packs):
        starts = pack["prices"]
        for k, (first, price) in enumerate(starts):
            last = starts[k + 1][0] - 1 if k + 1 < len(starts) else pack["at_most"]
            last = min(last, pack["at_most"])
            if last >= first:
                columns.append((i, first, last, price))
    return columns


def constraints(width):
    """Rows with their least and most, and what adds one to them."""
    rows, low, high = [], [], []

    def row(terms, least, most):
        line = np.zeros(width)
        for at, weight in terms:
            line[at] += weight
        rows.append(line)
        low.append(least)
        high.append(most)

    return rows, low, high, row


def solve(case):
    packs = case["packs"]  # supplier, need, size, at_most, prices as [from, price]
    charges, needs = case["charges"], case["needs"]
    columns = tiers(packs)
    n, s = len(columns), len(charges)
    width = 2 * n + s  # counts, switches, suppliers
    cost, mass, count = (np.zeros(width) for _ in range(3))
    rows, low, high, row = constraints(width)

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


def on_terms(case):
    """Least cost in pence, and how many of each pack; sizes in grams."""
    packs, sellers, needs = case["packs"], case["sellers"], case["needs"]
    columns = tiers(packs)
    n, s = len(columns), len(sellers)
    # Counts, switches; for each seller whether it delivers, carries free, and what carriage by mass is paid.
    width = 2 * n + 3 * s
    delivers, free, carried = 2 * n, 2 * n + s, 2 * n + 2 * s
    cost = np.zeros(width)
    rows, low, high, row = constraints(width)

    for j, (i, first, last, price) in enumerate(columns):
        seller = packs[i]["supplier"]
        cost[j] = price * (1 + sellers[seller]["tax"] / 100)
        row([(j, 1), (n + j, -first)], 0, np.inf)
        row([(j, 1), (n + j, -last)], -np.inf, 0)
        row([(n + j, 1), (delivers + seller, -1)], -np.inf, 0)
    for i in range(len(packs)):
        row([(n + j, 1) for j, c in enumerate(columns) if c[0] == i], 0, 1)
    for k, need in enumerate(needs):
        row([(j, packs[c[0]]["size"]) for j, c in enumerate(columns) if packs[c[0]]["need"] == k],
            need, np.inf)
    upper = np.array([c[2] for c in columns] + [1] * (n + 2 * s) + [np.inf] * s, dtype=float)
    for k, seller in enumerate(sellers):
        own = [(j, c) for j, c in enumerate(columns) if packs[c[0]]["supplier"] == k]
        goods = [(j, c[3]) for j, c in own]
        mass = [(j, packs[c[0]]["size"] / 1000 * seller["per_kg"]) for j, c in own]
        most = sum(c[2] * packs[c[0]]["size"] / 1000 * seller["per_kg"] for _, c in own)
        taxed = 1 + seller["tax"] / 100
        cost[delivers + k] = seller["charge"] * taxed
        cost[free + k] = -seller["charge"] * taxed
        cost[carried + k] = taxed
        row(goods + [(delivers + k, -seller["minimum"])], 0, np.inf)
        row([(free + k, 1), (delivers + k, -1)], -np.inf, 0)
        if seller["free_from"] is None:
            upper[free + k] = 0
        else:
            row(goods + [(free + k, -seller["free_from"])], 0, np.inf)
        row([(carried + k, 1), (free + k, most)] + [(j, -m) for j, m in mass], 0, np.inf)
    found = milp(cost, integrality=np.array([1] * (2 * n + 2 * s) + [0] * s), bounds=(0, upper),
                 constraints=LinearConstraint(np.array(rows), low, high),
                 options={"mip_rel_gap": 0})
    if found.x is None:
        return None
    counts = [0] * len(packs)
    for j, c in enumerate(columns):
        counts[c[0]] += round(float(found.x[j]))
    return {"cost": float(found.fun), "counts": counts}


def answer(case):
    return on_terms(case) if "sellers" in case else solve(case)


json.dump([answer(case) for case in json.load(sys.stdin)], sys.stdout)
print()
