//! The march through time. Melt, and what spreads warmth as quickly, takes one long step in several
//! stages; the rest takes the same step at once. What passes between the two is reckoned at the
//! start of the step and used by both with opposite sign, so that no heat is lost.
//!
//! The stages are those of the first-order Runge-Kutta-Legendre scheme (Meyer, Balsara and Aslam,
//! J. Comput. Phys. 257, 2014): s stages are stable over (s2 + s)/2 of the longest plain step.

use super::grid::{Grid, Group};
use super::law::Law;
use super::scene::Scene;
use rayon::prelude::*;

/// A slow step over the longest quick one, at most.
const STRIDE: f64 = 45.0;
/// Of the step that is stable.
const SAFE: f64 = 0.9;
/// Of the step that is stable for what passes between quick and slow cells.
const CALM: f64 = 0.6;
/// Quick cells for one thread at a time.
const PIECE: usize = 8192;

/// Heat given and taken from the start, J.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Balance {
    /// Given off by the melt.
    pub given: f64,
    /// Taken up by the inert substances.
    pub taken: f64,
    /// Gone to the surroundings.
    pub gone: f64,
}

impl Balance {
    /// What is not accounted for, over what was given off.
    pub fn unaccounted(&self) -> f64 {
        if self.given == 0.0 {
            return 0.0;
        }
        (self.given - self.taken - self.gone).abs() / self.given.abs()
    }
}

#[derive(Debug)]
pub(super) struct March {
    pub(super) grid: Grid,
    /// Heat per volume of the quick cells, J/m3, and what it was a stage before.
    pub(super) heat: Vec<f64>,
    stale: Vec<f64>,
    potential: Vec<f64>,
    next_potential: Vec<f64>,
    /// What comes from slow cells and the surroundings, W per cell.
    lent: Vec<f64>,
    source: Vec<f64>,
    /// Temperature of every cell of the box; of use only for slow ones.
    temperature: Vec<f64>,
    next_temperature: Vec<f64>,
    /// Heat per volume of slow cells, where some hold water; empty otherwise.
    damp: Vec<f64>,
    next_damp: Vec<f64>,
    /// What comes from quick cells, W per odd cell.
    borrowed: Vec<f64>,
    surroundings: f64,
    start: (f64, f64),
    gone: f64,
    plane: usize,
    /// Step and its stages.
    pub(super) step: f64,
    pub(super) stages: u32,
    pub(super) time: f64,
    pub(super) steps: u64,
    /// Cells reckoned, stage by stage.
    pub(super) updates: u64,
}

impl March {
    pub(super) fn new(scene: &Scene) -> Self {
        let grid = Grid::new(scene);
        let mut heat = vec![0.0; grid.cells.len()];
        let mut potential = heat.clone();
        for Group { law, range, start } in &grid.groups {
            heat[range.clone()].fill(law.heat(*start));
            potential[range.clone()].fill(law.potential(law.heat(*start)));
        }
        let slow = |cell: &u8| match scene.parts[usize::from(*cell)] {
            super::scene::Substance::Melt => 0.0,
            super::scene::Substance::Inert(i) => scene.inerts[i].start,
        };
        let temperature: Vec<f64> = scene.cells.iter().map(slow).collect();
        let wet = scene.inerts.iter().any(|i| i.water > 0.0);
        let content = |(cell, t): (&u8, &f64)| match scene.parts[usize::from(*cell)] {
            super::scene::Substance::Melt => 0.0,
            super::scene::Substance::Inert(i) => grid.laws[i].heat(*t),
        };
        let damp: Vec<f64> = if wet {
            scene.cells.iter().zip(&temperature).map(content).collect()
        } else {
            Vec::new()
        };
        let (step, stages) = step(&grid);
        let mut march = Self {
            stale: heat.clone(),
            next_potential: potential.clone(),
            lent: vec![0.0; grid.cells.len()],
            source: vec![0.0; grid.cells.len()],
            next_temperature: temperature.clone(),
            next_damp: damp.clone(),
            borrowed: vec![0.0; grid.odds.len()],
            surroundings: scene.surroundings,
            start: (0.0, 0.0),
            gone: 0.0,
            plane: scene.size[0] * scene.size[1],
            step,
            stages,
            time: 0.0,
            steps: 0,
            updates: 0,
            heat,
            potential,
            temperature,
            damp,
            grid,
        };
        march.start = march.content();
        march
    }

    /// Takes one step.
    pub(super) fn advance(&mut self) {
        self.lend();
        self.quick();
        self.slow();
        self.time += self.step;
        self.steps += 1;
    }

    /// What passes between quick and slow cells and out of the box over the coming step.
    fn lend(&mut self) {
        let area = self.grid.edge * self.grid.edge;
        let half = 0.5 * self.grid.edge;
        self.lent.fill(0.0);
        self.borrowed.fill(0.0);
        let groups = &self.grid.groups;
        for link in &self.grid.links {
            let law = &groups[usize::from(link.group)].law;
            let heat = self.heat[link.quick as usize];
            let over = law.temperature(heat) - self.temperature[link.slow as usize];
            let passes = area * over / (link.resists + half / law.conductivity(heat));
            self.lent[link.quick as usize] -= passes;
            self.borrowed[link.odd as usize] += passes;
        }
        let mut gone = 0.0;
        for (quick, group, coefficient) in &self.grid.bare {
            let law = &groups[usize::from(*group)].law;
            let heat = self.heat[*quick as usize];
            let over = law.temperature(heat) - self.surroundings;
            let passes = area * over / (1.0 / coefficient + half / law.conductivity(heat));
            self.lent[*quick as usize] -= passes;
            gone += passes;
        }
        for odd in self.grid.odds.iter().filter(|o| o.out > 0.0) {
            gone += odd.out * (self.temperature[odd.cell as usize] - self.surroundings);
        }
        self.gone += gone * self.step;
    }

    /// All stages of the quick cells.
    fn quick(&mut self) {
        let s = f64::from(self.stages);
        let part = 2.0 * self.step / (s * s + s);
        self.stale.copy_from_slice(&self.heat);
        for stage in 1..=self.stages {
            self.touch();
            let j = f64::from(stage);
            let ahead = (2.0 * j - 1.0) / j;
            let weights = [ahead, 1.0 - ahead, ahead * part];
            let weights = if stage == 1 { [1.0, 0.0, part] } else { weights };
            self.stage(weights);
            self.updates += self.heat.len() as u64;
        }
    }

    /// Power into each quick cell from others than its like.
    fn touch(&mut self) {
        let (area, half) = (self.grid.edge * self.grid.edge, 0.5 * self.grid.edge);
        self.source.copy_from_slice(&self.lent);
        for touch in &self.grid.touches {
            let side = |i: usize| {
                let law = &self.grid.groups[usize::from(touch.groups[i])].law;
                let heat = self.heat[touch.cells[i] as usize];
                (law.temperature(heat), half / law.conductivity(heat))
            };
            let ((t0, r0), (t1, r1)) = (side(0), side(1));
            let passes = area * (t0 - t1) / (r0 + touch.contact + r1);
            self.source[touch.cells[0] as usize] -= passes;
            self.source[touch.cells[1] as usize] += passes;
        }
    }

    fn stage(&mut self, weights: [f64; 3]) {
        let volume = self.grid.edge.powi(3);
        let edge = self.grid.edge;
        let potential = &self.potential;
        for Group { law, range, .. } in &self.grid.groups {
            let begin = range.start;
            let near = &self.grid.near[range.clone()];
            let fill = &self.grid.fill[range.clone()];
            let source = &self.source[range.clone()];
            let heat = &self.heat[range.clone()];
            let piece = |(at, (stale, next)): (usize, (&mut [f64], &mut [f64]))| {
                let from = at * PIECE;
                let to = from + stale.len();
                let own = &potential[begin + from..begin + to];
                let (near, fill) = (&near[from..to], &fill[from..to]);
                let (source, heat) = (&source[from..to], &heat[from..to]);
                for i in 0..own.len() {
                    let n = near[i].map(|n| potential[n as usize]);
                    let sum = (n[0] + n[1]) + (n[2] + n[3]) + (n[4] + n[5]);
                    let power = edge * (sum - 6.0 * own[i]) + source[i];
                    let rate = power / (volume * fill[i]);
                    let new = weights[0] * heat[i] + weights[1] * stale[i] + weights[2] * rate;
                    stale[i] = new;
                    next[i] = law.potential(new);
                }
            };
            let stale = &mut self.stale[range.clone()];
            let next = &mut self.next_potential[range.clone()];
            if stale.len() > PIECE {
                stale
                    .par_chunks_mut(PIECE)
                    .zip(next.par_chunks_mut(PIECE))
                    .enumerate()
                    .for_each(piece);
            } else {
                piece((0, (stale, next)));
            }
        }
        std::mem::swap(&mut self.heat, &mut self.stale);
        std::mem::swap(&mut self.potential, &mut self.next_potential);
    }

    fn slow(&mut self) {
        let plane = self.plane;
        let wet = !self.damp.is_empty();
        let grid = &self.grid;
        let layer = Layered {
            grid,
            plane,
            step: self.step,
            temperature: &self.temperature,
            damp: &self.damp,
            borrowed: &self.borrowed,
            surroundings: self.surroundings,
        };
        let next = self.next_temperature.par_chunks_mut(plane).enumerate();
        let next = next.with_min_len(PIECE.div_ceil(plane));
        if wet {
            let damp = self.next_damp.par_chunks_mut(plane);
            next.zip(damp).for_each(|((z, next), damp)| layer.wet(z, next, damp));
            std::mem::swap(&mut self.damp, &mut self.next_damp);
        } else {
            next.for_each(|(z, next)| layer.dry(z, next));
        }
        std::mem::swap(&mut self.temperature, &mut self.next_temperature);
        self.updates += (self.temperature.len() - self.heat.len()) as u64;
    }

    /// Heat in the melt and in all else, J.
    fn content(&self) -> (f64, f64) {
        let volume = self.grid.edge.powi(3);
        let quick = |range: std::ops::Range<usize>| {
            range.map(|i| self.heat[i] * self.grid.fill[i]).sum::<f64>() * volume
        };
        let melt = quick(self.grid.groups[0].range.clone());
        let mut rest: f64 = self.grid.groups[1..].iter().map(|g| quick(g.range.clone())).sum();
        let slow = |cell: usize, law: &Law| match self.damp.get(cell) {
            Some(heat) => *heat,
            None => law.capacity[0] * self.temperature[cell],
        };
        for layer in &self.grid.layers {
            for run in &layer.runs {
                let law = &self.grid.laws[usize::from(run.inert)];
                rest += run.cells.clone().map(|c| slow(c, law)).sum::<f64>() * volume;
            }
            for odd in &self.grid.odds[layer.odd.clone()] {
                rest += slow(odd.cell as usize, &self.grid.laws[usize::from(odd.inert)]) * volume;
            }
        }
        (melt, rest)
    }

    /// The hottest slow cell and the mean of all of them, C; none where there is none.
    pub(super) fn inert(&self) -> Option<[f64; 2]> {
        let layers = self.grid.layers.iter();
        let runs = layers.clone().flat_map(|l| &l.runs).flat_map(|run| run.cells.clone());
        let odds = self.grid.odds.iter().map(|odd| odd.cell as usize);
        let (mut hottest, mut sum, mut count) = (f64::NEG_INFINITY, 0.0, 0.0);
        for t in runs.chain(odds).map(|cell| self.temperature[cell]) {
            hottest = hottest.max(t);
            sum += t;
            count += 1.0;
        }
        (count > 0.0).then(|| [hottest, sum / count])
    }

    pub(super) fn balance(&self) -> Balance {
        let (melt, rest) = self.content();
        Balance { given: self.start.0 - melt, taken: rest - self.start.1, gone: self.gone }
    }
}

/// The step and its stages.
fn step(grid: &Grid) -> (f64, u32) {
    let quick = SAFE * grid.quick_step;
    let step = (STRIDE * quick).min(CALM * grid.slow_step);
    let step = if step.is_finite() { step } else { quick };
    let stages = (1..).find(|s| f64::from(s * s + s) / 2.0 * quick >= step * (1.0 - 1e-12));
    (step, stages.unwrap_or(1))
}

/// What one layer of slow cells needs for a step.
struct Layered<'a> {
    grid: &'a Grid,
    plane: usize,
    step: f64,
    temperature: &'a [f64],
    damp: &'a [f64],
    borrowed: &'a [f64],
    surroundings: f64,
}

impl Layered<'_> {
    fn row(&self) -> usize {
        self.grid.row
    }

    fn dry(&self, z: usize, next: &mut [f64]) {
        let layer = &self.grid.layers[z];
        let base = z * self.plane;
        let (row, plane) = (self.row(), self.plane);
        for run in &layer.runs {
            let law = &self.grid.laws[usize::from(run.inert)];
            let factor = self.step * law.best() / (law.capacity[0] * self.grid.edge.powi(2));
            let (from, to) = (run.cells.start, run.cells.end);
            let t = |offset: isize| {
                &self.temperature[from.wrapping_add_signed(offset)..to.wrapping_add_signed(offset)]
            };
            let (row, plane) = (row as isize, plane as isize);
            let (own, west, east) = (t(0), t(-1), t(1));
            let (south, north, under, over) = (t(-row), t(row), t(-plane), t(plane));
            let next = &mut next[from - base..to - base];
            for i in 0..next.len() {
                let sum = (west[i] + east[i]) + (south[i] + north[i]) + (under[i] + over[i]);
                next[i] = own[i] + factor * (sum - 6.0 * own[i]);
            }
        }
        for (number, odd) in layer.odd.clone().zip(&self.grid.odds[layer.odd.clone()]) {
            let law = &self.grid.laws[usize::from(odd.inert)];
            let per = self.step / (law.capacity[0] * self.grid.edge.powi(3));
            let cell = odd.cell as usize;
            next[cell - base] = self.temperature[cell] + per * self.power(number);
        }
    }

    fn wet(&self, z: usize, next: &mut [f64], damp: &mut [f64]) {
        let layer = &self.grid.layers[z];
        let base = z * self.plane;
        let (row, plane) = (self.row(), self.plane);
        let t = self.temperature;
        let per = self.step / self.grid.edge.powi(3);
        let mut set = |cell: usize, law: &Law, power: f64| {
            let heat = self.damp[cell] + per * power;
            damp[cell - base] = heat;
            next[cell - base] = law.temperature(heat);
        };
        for run in &layer.runs {
            let law = &self.grid.laws[usize::from(run.inert)];
            let passes = law.best() * self.grid.edge;
            for c in run.cells.clone() {
                let sum = (t[c - 1] + t[c + 1])
                    + (t[c - row] + t[c + row])
                    + (t[c - plane] + t[c + plane]);
                set(c, law, passes * (sum - 6.0 * t[c]));
            }
        }
        for (number, odd) in layer.odd.clone().zip(&self.grid.odds[layer.odd.clone()]) {
            set(odd.cell as usize, &self.grid.laws[usize::from(odd.inert)], self.power(number));
        }
    }

    /// Power into an odd cell, W.
    fn power(&self, number: usize) -> f64 {
        let odd = &self.grid.odds[number];
        let cell = odd.cell as usize;
        let own = self.temperature[cell];
        let steps = [1, self.row(), self.plane];
        let mut power = self.borrowed[number] + odd.out * (self.surroundings - own);
        for (slot, passes) in odd.to.iter().enumerate().filter(|(_, p)| **p > 0.0) {
            let step = steps[slot / 2];
            let other = if slot % 2 == 1 { cell + step } else { cell - step };
            power += passes * (self.temperature[other] - own);
        }
        power
    }
}
