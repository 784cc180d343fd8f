"""Best grouping of moulds into heats, and best days, by CP-SAT of OR-tools.

One person, or two, work the same hours every day, each on one thing at a time. A pattern, ramming, melting with pouring, shaking out
and fitting for each mould, with waits for cooling and for stress relief; work at the bench may be
broken off at the end of a day, ramming and the melt with its pours may not.

stdin:  {"builds": [{"people": 1 or 2, "open": min, "length": min, "days": int, "aim": "finish" | "heats",
                     "melt": min, "set_up": min, "clear_up": min, "warm_up": min,
                     "heats_per_day": 1 or 2, "least_piece": min,
                     "patterns": [min, ...],
                     "moulds": [{"pattern": int, "alloy": int, "charge": mg, "charge_most": mg,
                                 "flask": int,
                                 "sand": g, "keeps": min, "stands": min | null, "ram": min, "pour": min,
                                 "melts": thousandths of a min, "cool": min, "shake": min, "rest": min, "fit": min}, ...],
                     "pots": [[[holds mg, may be lifted with mg], ...] by alloy], "flasks": [count, ...], "heap": g | null,
                     "needs": [[mould, step, mould, step], ...],
                     "arrives": [[mould, minute before which it is not fitted], ...],
                     "firsts": [[mould, [those poured in later heats, ...]], ...]}],
         "effort": 8}
stdout: {"builds": [{"day": int, "heats": int, "proven": bool} | null, ...]}

A mould is poured within "keeps" of its ramming; where "stands" is null, on the same day.
A heat takes "melt" before its pours, or "set_up" and what its moulds take to melt where that is more;
on a furnace that is hot from a heat of the same day "set_up" falls away. A day with a heat ends with
"clear_up". Days are counted from 0. null: nothing fits into so many days.
"effort" is what the solver spends on each question at most, by its own count of work: what it
proves does not depend on how busy the machine is.
"""

import json
import math
import sys

from ortools.sat.python import cp_model

TIMES = ("open", "length", "melt", "set_up", "clear_up", "warm_up", "least_piece")
STEPS = ("ram", "pour", "cool", "shake", "rest", "fit")


def coarse(build):
    """The same build in the longest unit of time of which all its times are multiples: a best
    schedule in which nothing can begin earlier has its times in that unit."""
    moulds = build["moulds"]
    times = [build[t] for t in TIMES] + build["patterns"] + [m[s] for m in moulds for s in STEPS]
    times += [at for _, at in build["arrives"]]
    times += [m["keeps"] for m in moulds]
    # What melts by power ends at any minute.
    unit = 1 if any(m["melts"] for m in moulds) else math.gcd(1440, *times)
    return build | {t: build[t] // unit for t in TIMES} | {
        "day": 1440 // unit,
        "patterns": [p // unit for p in build["patterns"]],
        "arrives": [[m, at // unit] for m, at in build["arrives"]],
        "moulds": [m | {s: m[s] // unit for s in STEPS}
                   | {"keeps": m["keeps"] // unit} for m in moulds],
    }


class Model(cp_model.CpModel):
    def __init__(self, build):
        super().__init__()
        self.build = build
        self.days = range(build["days"])
        self.people = range(build["people"])
        self.end = build["days"] * build["day"]
        self.busy = [[] for _ in self.people]
        self.pours = [[self.new_bool_var("") for _ in self.days] for _ in self.people]

    def opens(self, day):
        return day * self.build["day"] + self.build["open"]

    def closes(self, person, day):
        """When work at the bench ends: where a heat is poured, before clearing up."""
        end = self.opens(day) + self.build["length"]
        return end - self.build["clear_up"] * self.pours[person][day]

    def time(self):
        return self.new_int_var(0, self.end, "")

    def by(self, present=None):
        """Who does it: one literal a person."""
        who = [self.new_bool_var("") for _ in self.people]
        self.add(sum(who) == (1 if present is None else present))
        return who

    def unbroken(self, size, present=None):
        """Work in one go within a day: its start, its end, its day and who does it."""
        start, end, day = self.time(), self.time(), self.new_int_var(0, self.days[-1], "")
        who = self.by(present)
        for person, here in enumerate(who):
            self.busy[person].append(self.new_optional_interval_var(start, size, end, here, ""))
            closes = self.new_int_var(0, self.end, "")
            self.add_element(day, [self.closes(person, d) for d in self.days], closes)
            self.add(start >= self.opens(day)).only_enforce_if(here)
            self.add(end <= closes).only_enforce_if(here)
        return start, end, day, who

    def bench(self, minutes):
        """Work of one person that may be broken off where a day ends: its start and its end."""
        start, end, who = self.time(), self.time(), self.by()
        pieces = []
        for day in self.days:
            here = self.new_bool_var("")
            size = self.new_int_var(0, min(minutes, self.build["length"]), "")
            latest = self.opens(day) + self.build["length"]
            a = self.new_int_var(self.opens(day), latest, "")
            b = self.new_int_var(self.opens(day), latest, "")
            mine = self.by(here)
            for person, of in enumerate(mine):
                self.add_implication(of, who[person])
                self.add(b <= self.closes(person, day)).only_enforce_if(of)
                self.busy[person].append(self.new_optional_interval_var(a, size, b, of, ""))
            self.add(size == 0).only_enforce_if(~here)
            self.add(size >= 1).only_enforce_if(here)
            self.add(start <= a).only_enforce_if(here)
            self.add(end >= b).only_enforce_if(here)
            pieces.append((here, size, b))
        self.add(sum(size for _, size, _ in pieces) == minutes)
        for day, (here, size, b) in enumerate(pieces):
            for later, _, _ in pieces[day + 1:]:
                for person, of in enumerate(who):
                    self.add(b == self.closes(person, day)).only_enforce_if(here, later, of)
                self.add(size >= self.build["least_piece"]).only_enforce_if(here, later)
        return start, end


def best(build, first, most_heats, effort):
    model, moulds = Model(build), build["moulds"]
    patterns = [model.bench(minutes) for minutes in build["patterns"]]
    rams = [model.unbroken(m["ram"]) for m in moulds]
    shakes = [model.bench(m["shake"]) for m in moulds]
    fits = [model.bench(m["fit"]) for m in moulds]
    # The heat of a mould is called after the first mould in it.
    count = len(moulds)
    inside = {(m, h): model.new_bool_var("") for m in range(count) for h in range(m + 1)
              if moulds[m]["alloy"] == moulds[h]["alloy"]}
    leads = [inside[h, h] for h in range(count)]
    melts, pours, last_poured = [], [], []
    # One heat right after the other in a furnace, on one day.
    follows = {(g, h): model.new_bool_var("") for g in range(count) for h in range(count)
               if g != h and build["heats_per_day"] > 1}
    before_pour = [model.new_int_var(0, build["length"], "") for _ in moulds]
    for h in range(count):
        members = [m for m in range(count) if (m, h) in inside]
        poured = sum(moulds[m]["pour"] * inside[m, h] for m in members)
        size = model.new_int_var(0, build["length"], "")
        hot = sum(f for (_, later), f in follows.items() if later == h)
        model.add(hot <= leads[h])
        model.add(before_pour[h] >= build["melt"] - build["set_up"] * hot)
        by_power = sum(moulds[m]["melts"] * inside[m, h] for m in members)
        model.add(1000 * before_pour[h] >= 1000 * build["set_up"] * (1 - hot) + by_power)
        model.add(size == poured + before_pour[h]).only_enforce_if(leads[h])
        melt = model.unbroken(size, leads[h])
        model.add(melt[0] >= model.opens(melt[2]) + build["warm_up"]).only_enforce_if(leads[h])
        # One pot that holds it and that may be lifted so; a mould alone is melted in any case.
        pots = [model.new_bool_var("") for _ in build["pots"][moulds[h]["alloy"]]]
        model.add(sum(pots) == leads[h])
        several = model.new_bool_var("")
        model.add(sum(inside[m, h] for m in members) <= 1).only_enforce_if(~several)
        for pot, (holds, lifted) in zip(pots, build["pots"][moulds[h]["alloy"]]):
            model.add(sum(moulds[m]["charge"] * inside[m, h] for m in members)
                      <= holds).only_enforce_if(pot)
            model.add(sum(moulds[m]["charge_most"] * inside[m, h] for m in members)
                      <= lifted).only_enforce_if(pot, several)
        melts.append(melt)
    for m, mould in enumerate(moulds):
        choices = [h for h in range(count) if (m, h) in inside]
        model.add_exactly_one(inside[m, h] for h in choices)
        pour = model.time()
        pours.append(model.new_fixed_size_interval_var(pour, mould["pour"], ""))
        last_poured.append(pour + mould["pour"])
        for h in choices:
            model.add_implication(inside[m, h], leads[h])
            start, end, day, _ = melts[h]
            model.add(pour >= start + before_pour[h]).only_enforce_if(inside[m, h])
            model.add(pour + mould["pour"] <= end).only_enforce_if(inside[m, h])
            if mould["stands"] is None:
                model.add(rams[m][2] == day).only_enforce_if(inside[m, h])
        model.add(rams[m][1] <= pour)
        model.add(pour - rams[m][1] <= mould["keeps"])
        model.add(rams[m][0] >= patterns[mould["pattern"]][1])
        model.add(shakes[m][0] >= pour + mould["pour"] + mould["cool"])
        model.add(fits[m][0] >= shakes[m][1] + mould["rest"])
    for h, (start, end, _, _) in enumerate(melts):
        # What is poured first is rammed when the melt begins.
        begins = {m: model.new_bool_var("") for m in range(count) if (m, h) in inside}
        model.add(sum(begins.values()) == leads[h])
        for m, is_first in begins.items():
            model.add_implication(is_first, inside[m, h])
            model.add(pours[m].start_expr() == start + before_pour[h]).only_enforce_if(is_first)
            model.add(rams[m][1] <= start).only_enforce_if(is_first)
    # One furnace.
    size = [model.new_int_var(0, build["length"], "") for _ in melts]
    model.add_no_overlap(
        [model.new_optional_interval_var(m[0], size[h], m[1], leads[h], "") for h, m in enumerate(melts)]
    )
    model.add_no_overlap(pours)
    for busy in model.busy:
        model.add_no_overlap(busy)
    for mould, arrives in build["arrives"]:
        model.add(fits[mould][0] >= arrives)
    on = {(h, day): model.new_bool_var("") for h in range(count) for day in model.days}
    for (h, day), here in on.items():
        model.add(melts[h][2] == day).only_enforce_if(here)
    for day in model.days:
        for h in range(count):
            for person, pours_it in enumerate(melts[h][3]):
                model.add_bool_or(~on[h, day], ~pours_it, model.pours[person][day])
        model.add(sum(on[h, day] for h in range(count)) <= build["heats_per_day"])
    for h in range(count):
        model.add(sum(on[h, day] for day in model.days) == leads[h])
    for (g, h), right_after in follows.items():
        model.add(melts[g][1] <= melts[h][0]).only_enforce_if(right_after)
        model.add(melts[g][2] == melts[h][2]).only_enforce_if(right_after)
        model.add_implication(right_after, leads[g])
    held = [model.new_interval_var(rams[m][0], model.time(), shakes[m][1], "") for m in range(count)]
    for flask, have in enumerate(build["flasks"]):
        mine = [m for m in range(count) if moulds[m]["flask"] == flask]
        model.add_cumulative([held[m] for m in mine], [1] * len(mine), have)
    if build["heap"] is not None:
        model.add_cumulative(held, [m["sand"] for m in moulds], build["heap"])
    steps = {"ram": lambda m: rams[m][:2], "shake-out": lambda m: shakes[m], "fit": lambda m: fits[m]}
    for earlier, step, later, before in build["needs"]:
        model.add(steps[before](later)[0] >= steps[step](earlier)[1])
    for lead, others in build["firsts"]:
        for other in others:
            # The melt that it is poured from begins after the lead is poured.
            for h in range(count):
                if (other, h) in inside:
                    model.add(melts[h][0] >= last_poured[lead]).only_enforce_if(inside[other, h])
    finish = model.new_int_var(0, model.days[-1], "")
    for fit in fits:
        model.add(fit[1] <= build["day"] * (finish + 1))
    heats = sum(leads)
    # All work fits into the days there are: said once more, since it helps the proof.
    work = sum(build["patterns"]) + sum(m[s] for m in moulds for s in ("ram", "pour", "shake", "fit"))
    melting = (build["melt"] - build["set_up"]) * heats
    model.add(work + melting <= build["people"] * build["length"] * (finish + 1))
    if most_heats is not None:
        model.add(heats <= most_heats)
    model.minimize(finish if first == "finish" else heats)
    solver = cp_model.CpSolver()
    solver.parameters.max_deterministic_time = effort
    solver.parameters.num_workers = 2
    solver.parameters.random_seed = 1
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    heats = sum(solver.value(lead) for lead in leads)
    return solver.value(finish), heats, status == cp_model.OPTIMAL


def both(build, effort):
    """What comes first, then the other, with the first at its best."""
    build = coarse(build)
    if build["aim"] == "finish":
        first = best(build, "finish", None, effort)
        second = first and best(build | {"days": first[0] + 1}, "heats", None, effort)
    else:
        first = best(build, "heats", None, effort)
        second = first and best(build, "finish", first[1], effort)
    return second and {"day": second[0], "heats": second[1], "proven": first[2] and second[2]}


if __name__ == "__main__":
    asked = json.load(sys.stdin)
    answers = [both(build, asked.get("effort", 8)) for build in asked["builds"]]
    json.dump({"builds": answers}, sys.stdout)
