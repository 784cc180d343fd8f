"""Shortest schedules with limited resources, by CP-SAT of OR-tools.

stdin:  {"problems": [{"capacities": [...], "activities": [[duration, [demand, ...]], ...],
                       "precedences": [[before, after, lag], ...]}], "seconds": 30}
stdout: {"problems": [{"makespan": int, "proven": bool}, ...]}

`after` starts no earlier than `lag` after the end of `before`.
"""

import json
import sys

from ortools.sat.python import cp_model


def shortest(problem, seconds):
    activities, precedences = problem["activities"], problem["precedences"]
    model = cp_model.CpModel()
    horizon = sum(d for d, _ in activities) + sum(max(lag, 0) for _, _, lag in precedences)
    starts = [model.new_int_var(0, horizon, "") for _ in activities]
    end = model.new_int_var(0, horizon, "")
    for start, (duration, _) in zip(starts, activities):
        model.add(start + duration <= end)
    for before, after, lag in precedences:
        model.add(starts[after] >= starts[before] + activities[before][0] + lag)
    for resource, capacity in enumerate(problem["capacities"]):
        users = [i for i, (duration, need) in enumerate(activities) if duration and need[resource]]
        spans = [
            model.new_fixed_size_interval_var(starts[i], activities[i][0], "") for i in users
        ]
        model.add_cumulative(spans, [activities[i][1][resource] for i in users], capacity)
    model.minimize(end)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2
    status = solver.solve(model)
    return {"makespan": round(solver.objective_value), "proven": status == cp_model.OPTIMAL}


if __name__ == "__main__":
    asked = json.load(sys.stdin)
    answers = [shortest(problem, asked.get("seconds", 30)) for problem in asked["problems"]]
    json.dump({"problems": answers}, sys.stdout)
