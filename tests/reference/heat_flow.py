"""Freezing by heat conduction on cubic cells: plain explicit steps in numpy.

Written apart from the program that it checks: one step for all cells, temperatures from heat
contents, conductances from the harmonic mean of conductivities at each step.

stdin:  {"scenes": [{"shape": [z, y, x], "cell": m, "melt": [0 or 1, ...], "fill": [share, ...],
         "density", "solidus", "liquidus", "latent", "heat": [solid, liquid],
         "conductivity": [solid, liquid], "start": C,
         "mould": {"conductivity", "density", "heat", "start"}, "outside": W/m2K, "around": C}]}
stdout: {"scenes": [{"solid": [s for each melt cell in order], "steps", "took": s}]}
"""

import json
import sys
import time

import numpy as np


class Scene:
    def __init__(self, told):
        shape = told["shape"]
        self.h = told["cell"]
        self.melt = np.array(told["melt"], dtype=bool).reshape(shape)
        fill = np.array(told["fill"], dtype=float).reshape(shape)
        self.volume = np.where(self.melt, fill, 1.0) * self.h**3
        rho, (cs, cl) = told["density"], told["heat"]
        self.ts, self.tl = told["solidus"], told["liquidus"]
        self.solid, self.liquid = rho * cs, rho * cl
        self.range = rho * (told["latent"] + (cs + cl) / 2 * (self.tl - self.ts))
        self.ks, self.kl = told["conductivity"]
        mould = told["mould"]
        self.k = mould["conductivity"]
        self.capacity = mould["density"] * mould["heat"]
        self.outside, self.around = told["outside"], told["around"]
        start = told["start"]
        above = self.range + self.liquid * (start - self.tl)
        self.energy = np.where(self.melt, above, self.capacity * mould["start"])
        quickest = max(self.ks / self.solid, self.kl / self.liquid, self.k / self.capacity)
        least = fill[self.melt].min()
        self.step = 0.9 * self.h**2 / (6 * quickest) * min(1.0, least)

    def state(self):
        e = self.energy
        share = np.clip(e / self.range, 0.0, 1.0)
        t = self.ts + np.minimum(e, 0) / self.solid + share * (self.tl - self.ts)
        t = t + np.maximum(e - self.range, 0) / self.liquid
        t = np.where(self.melt, t, e / self.capacity)
        k = np.where(self.melt, self.ks + (self.kl - self.ks) * share, self.k)
        return t, k

    def power(self, t, k):
        gain = np.zeros_like(t)
        for axis in range(3):
            low = [slice(None)] * 3
            high = [slice(None)] * 3
            low[axis], high[axis] = slice(None, -1), slice(1, None)
            low, high = tuple(low), tuple(high)
            g = 2 * self.h * k[low] * k[high] / (k[low] + k[high])
            flow = g * (t[low] - t[high])
            gain[low] -= flow
            gain[high] += flow
            for end in (0, -1):
                face = [slice(None)] * 3
                face[axis] = end
                face = tuple(face)
                g = self.h**2 / (1 / self.outside + self.h / (2 * k[face]))
                gain[face] -= g * (t[face] - self.around)
        return gain

    def freeze(self):
        solid = np.full(self.energy.shape, np.inf)
        now, steps = 0.0, 0
        begun = time.perf_counter()
        while (self.energy[self.melt] > 0).any():
            was = self.energy.copy()
            self.energy += self.step * self.power(*self.state()) / self.volume
            passed = self.melt & (was > 0) & (self.energy <= 0)
            solid[passed] = now + self.step * was[passed] / (was[passed] - self.energy[passed])
            now += self.step
            steps += 1
        took = time.perf_counter() - begun
        return {"solid": solid[self.melt].tolist(), "steps": steps, "took": took}


if __name__ == "__main__":
    scenes = json.load(sys.stdin)["scenes"]
    json.dump({"scenes": [Scene(told).freeze() for told in scenes]}, sys.stdout)
