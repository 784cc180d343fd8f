"""A replay of its own, with numpy: the finish of each of many lives.

stdin:  {"count": lives, "seed": ..., "missed": share of sessions, "shared": share of the scatter that
         a kind of work has in common, "scatter": [low, likely, high] of each step as shares of its
         likely minutes, or null: each as its own three estimates say,
         "people": [[[from, to], ...], ...], "machines": [count, ...], "furnaces": [heats a day, ...],
         "losses": [["beta", a, b] or ["pert", low, likely, high], ...], "units": [...]}
        Three estimates are [kind, low, likely, high]. A unit has "minutes", "after", "before" (how
        many), "not_before", "wait", "machine", "melt" and "decides"; the last two are the records of
        the same names, with "pours" in "melt".
stdout: {"finish": [minute, ...], "again": [moulds lost, ...]}, one of each life.
"""

import heapq
import json
import sys

import numpy as np
from scipy import stats

GRID = np.linspace(-3.5, 3.5, 1401)
CHANCES = stats.norm.cdf(GRID)
CURVES = {}


def curve(a, b):
    key = (round(a, 6), round(b, 6))
    if key not in CURVES:
        CURVES[key] = stats.beta.ppf(CHANCES, a, b)
    return CURVES[key]


def at(low, likely, high, score):
    if high <= low:
        return low
    mode = (likely - low) / (high - low)
    return low + (high - low) * float(np.interp(score, GRID, curve(1 + 4 * mode, 5 - 4 * mode)))


class Worker:
    """Sessions that are kept, and the minute at which the next thing can begin."""

    def __init__(self, windows, kept):
        self.windows = [w for w, k in zip(windows, kept) if k]
        self.all = windows
        self.place = 0
        self.clock = 0
        # Minutes at the end of the session for clearing up after a heat.
        self.kept = 0
        self.go(0)

    def window(self):
        if self.place >= len(self.windows):
            return None
        begin, end = self.windows[self.place]
        return begin, end - self.kept

    def to_keep(self, minutes):
        return max(0, minutes - self.kept) if self.window() else 0

    def go(self, minute):
        self.clock = max(self.clock, minute)
        while self.window() and self.window()[1] <= self.clock:
            self.place += 1
            self.kept = 0
        if self.window():
            self.clock = max(self.clock, self.window()[0])

    def do(self, minutes):
        """Works, over the ends of sessions; gives the minute at which it is over."""
        over = self.clock
        while minutes > 0:
            there = self.window()
            piece = minutes if there is None else min(minutes, there[1] - self.clock)
            over = self.clock + piece
            minutes -= piece
            self.go(over)
        return over


class Life:
    def __init__(self, asked, random):
        self.asked, self.random = asked, random
        self.units = asked["units"]
        self.common = random.standard_normal(64)
        self.chance = [self.loss(of) for of in asked["losses"]]
        self.workers = [
            Worker(w, random.random(len(w)) >= asked["missed"]) for w in asked["people"]
        ]
        self.machines = [[0] * n for n in asked["machines"]]
        self.lit = [(-1, 0, 0)] * len(asked["furnaces"])
        self.waits = [u["before"] for u in self.units]
        self.begin = [max(u["not_before"], 0) for u in self.units]
        self.broken = {}  # unit: moulds that are to be poured again
        self.bad = {}  # unit: moulds that are not yet good
        self.drawn = {}  # what a heat takes, until it is poured
        spans = [(f, t) for w in asked["people"] for f, t in w if asked["pours"][f // 1440 % 7]]
        self.longest = max((t - f for f, t in spans), default=0)
        self.due, self.open = [], []
        self.finish, self.again = 0, 0
        for n, u in enumerate(self.units):
            if self.waits[n] == 0:
                self.later(self.begin[n], n, "0 work")

    def loss(self, of):
        score = self.random.standard_normal()
        if of[0] == "pert":
            return min(at(*of[1:], score), 0.999)
        return min(float(np.interp(score, GRID, curve(of[1], of[2]))), 0.999)

    def minutes(self, of):
        kind, low, likely, high = of
        if self.asked["scatter"]:
            low, likely, high = (likely * share for share in self.asked["scatter"])
        share = self.asked["shared"]
        score = share**0.5 * self.common[kind] + (1 - share) ** 0.5 * self.random.standard_normal()
        return at(low, likely, high, score)

    def later(self, minute, unit, what, count=0):
        heapq.heappush(self.due, (minute, unit, what, count))

    def live(self):
        while True:
            worker = min(self.workers, key=lambda w: w.clock)
            while self.due and self.due[0][0] <= worker.clock:
                heapq.heappush(self.open, heapq.heappop(self.due)[1:])
            if not self.open:
                if not self.due:
                    return
                worker.go(self.due[0][0])
                continue
            unit, what, count = heapq.heappop(self.open)
            now = worker.clock
            put_off = getattr(self, what.split()[1])(worker, unit, count)
            if put_off is not None:
                self.later(max(put_off, now + 1), unit, what, count)

    def work(self, worker, unit, _):
        u = self.units[unit]
        if u["melt"]:
            return self.heat(worker, unit)
        slots = self.machines[u["machine"]] if u["machine"] is not None else None
        if slots and min(slots) > worker.clock:
            return min(slots)
        over = worker.do(max(0, round(sum(map(self.minutes, u["minutes"])))))
        if slots:
            slots[slots.index(min(slots))] = over
        if u["decides"]:
            self.bad[unit] = u["decides"]["moulds"]
            self.judge(unit, u["decides"]["moulds"], over)
        else:
            self.done(unit, over)
        return None

    def joining(self, alloy, room, total, pouring, left, spare, first=None):
        """Lost moulds that find room in a heat; in the spare minutes of its melt theirs melts too."""
        joined = []
        waiting = [n for n, moulds in self.broken.items() if moulds]
        waiting.sort(key=lambda n: n != first)
        for n in waiting:
            again = self.units[n]["decides"]
            if again["melt"]["alloy"] != alloy:
                continue
            count = 0
            while count < min(self.broken[n], again["at_once"]):
                ram, pour = self.minutes(again["ram"]), self.minutes(again["pour"])
                more = max(0.0, again["melts"] - spare)
                if again["melt"]["charge"] > room or total + ram + pour + more > left:
                    break
                spare = max(0.0, spare - again["melts"])
                total, pouring = total + ram + pour + more, pouring + pour
                room -= again["melt"]["charge"]
                count += 1
            if count:
                joined.append((n, count))
        return joined, total, pouring

    def left(self, worker):
        there = worker.window()
        return there[1] - worker.clock if there else 0

    def heat(self, worker, unit):
        u = self.units[unit]
        melt = u["melt"]
        # What a heat takes does not change because it has to wait.
        if unit not in self.drawn:
            pouring = sum(map(self.minutes, melt["pours"]))
            total = pouring + sum(map(self.minutes, u["minutes"]))
            after = self.minutes(melt["clear_up"]) if melt["clear_up"] else 0.0
            self.drawn[unit] = total, pouring, after
        total, pouring, after = self.drawn[unit]
        room = melt["holds"] - melt["charge"]
        joined, total, pouring = self.joining(
            melt["alloy"], room, total, pouring, self.left(worker) - worker.to_keep(round(after)), melt["spare"]
        )
        over, put_off = self.pour(worker, melt, total, pouring, after)
        if put_off is not None:
            return put_off
        self.poured(joined, over)
        self.done(unit, over)
        return None

    def cast(self, worker, unit, _):
        if not self.broken.get(unit):
            return None
        again = self.units[unit]["decides"]
        melt = again["melt"]
        key = (unit, "again")
        if key not in self.drawn:
            three = [self.minutes(again[what]) for what in ("melting", "ram", "pour")]
            after = self.minutes(melt["clear_up"]) if melt["clear_up"] else 0.0
            self.drawn[key] = *three, after
        total, ram, pour, after = self.drawn[key]
        spare = melt["spare"] + again["melts"]
        joined, total, pouring = self.joining(
            melt["alloy"], melt["holds"], total, 0.0, self.left(worker) - worker.to_keep(round(after)), spare, unit
        )
        if not joined:
            pouring = pour
            total += ram + pour
            joined = [(unit, 1)]
        over, put_off = self.pour(worker, melt, total, pouring, after)
        if put_off is not None:
            return put_off
        del self.drawn[key]
        self.poured(joined, over)
        if self.broken[unit]:
            self.later(over, unit, "1 cast")
        return None

    def pour(self, worker, melt, total, pouring, after):
        now = worker.clock
        total, pouring = (min(max(0, round(v)), self.longest) for v in (total, pouring))
        after = min(max(0, round(after)), self.longest - total)
        whole = total + after
        day, heats, free = self.lit[melt["furnace"]]
        today = now // 1440
        if not self.asked["pours"][today % 7]:
            return None, (today + 1) * 1440
        if day != today:
            heats = 0
        elif heats >= self.asked["furnaces"][melt["furnace"]]:
            return None, (today + 1) * 1440
        if free > now:
            return None, free
        there = worker.window()
        if there and total + worker.to_keep(after) > there[1] - now:
            later = [f for f, t in worker.all if f >= there[1] and t - f >= whole]
            return None, later[0] if later else there[1]
        others = [w for w in self.workers if w is not worker]
        start, end = now + total - pouring, now + total
        free = [
            w
            for w in others
            if not w.window()
            or (w.clock <= start and w.window()[0] <= start and end <= w.window()[1])
        ]
        wanted = min(melt["hands"], len(others))
        if len(free) < wanted:
            begins = [w.clock for w in others if w.clock > end]
            begins += [f for w in others if w.clock <= end for f, _ in w.all if f > end][:1]
            if begins:
                return None, min(begins)
        for helper in free[: melt["hands"]]:
            helper.go(end)
        self.lit[melt["furnace"]] = (today, heats + 1, end)
        worker.kept += worker.to_keep(after)
        worker.do(total)
        return end, None

    def poured(self, joined, over):
        for n, count in joined:
            self.broken[n] -= count
            self.later(over + int(self.units[n]["decides"]["then_wait"]), n, "2 clean", count)

    def clean(self, worker, unit, count):
        each = sum(map(self.minutes, self.units[unit]["decides"]["then"]))
        over = worker.do(max(0, round(each * count)))
        self.judge(unit, count, over)

    def judge(self, unit, moulds, now):
        lost = int((self.random.random(moulds) < self.chance[self.units[unit]["decides"]["loss"]]).sum())
        self.bad[unit] -= moulds - lost
        if lost:
            self.again += lost
            self.broken[unit] = self.broken.get(unit, 0) + lost
            self.later(now, unit, "1 cast")
        elif self.bad[unit] == 0:
            self.done(unit, now)

    def done(self, unit, now):
        u = self.units[unit]
        wait = at(*u["wait"], self.random.standard_normal()) if u["wait"] else 0
        over = now + round(wait)
        self.finish = max(self.finish, over)
        for n in u["after"]:
            self.begin[n] = max(self.begin[n], over)
            self.waits[n] -= 1
            if self.waits[n] == 0:
                self.later(self.begin[n], n, "0 work")


if __name__ == "__main__":
    asked = json.load(sys.stdin)
    lives = []
    for number in range(asked["count"]):
        life = Life(asked, np.random.default_rng([asked["seed"], number]))
        life.live()
        lives.append(life)
    json.dump(
        {"finish": [int(one.finish) for one in lives], "again": [one.again for one in lives]},
        sys.stdout,
    )
