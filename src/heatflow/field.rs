//! When each cell of melt stops flowing and when it is solid.

use super::fold::{fold, stands_for};
use super::march::{Balance, March};
use super::scene::{Scene, Substance};
use rayon::prelude::*;

/// How far to march.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Until<'a> {
    /// Stop when all melt is solid and the hottest of it is below each of these, C, the highest
    /// first.
    pub below: &'a [f64],
    /// Give up after so long, s.
    pub limit: f64,
}

/// What a march found.
#[derive(Debug, Clone, PartialEq)]
pub struct Field {
    /// The cells of melt, in the order of the scene.
    pub cells: Vec<u32>,
    /// When each is at the critical solid fraction for the last time, s; infinite if never.
    pub critical: Vec<f64>,
    /// When each is solid, s; infinite if never.
    pub solid: Vec<f64>,
    /// Whether all is solid.
    pub done: bool,
    /// When the hottest melt is below each temperature asked for, s; none if not by the end.
    pub below: Vec<Option<f64>>,
    /// The inert substances at each of those times: the hottest of them and their mean by volume, C.
    pub inert: Vec<Option<[f64; 2]>>,
    /// Where the heat went.
    pub balance: Balance,
    /// Cost of the march.
    pub cost: Cost,
}

/// What a march cost.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Cost {
    /// Cells marched, after folding at mirror planes.
    pub cells: usize,
    /// Of these melt and what goes at its step.
    pub quick: usize,
    /// Steps taken.
    pub steps: u64,
    /// Stages in each step of the quick cells.
    pub stages: u32,
    /// Cells reckoned over all steps and stages.
    pub updates: u64,
}

/// Marches a scene until it is frozen and cooled.
pub fn march(scene: &Scene, until: Until<'_>) -> Field {
    let (part, folded) = fold(scene);
    let field = whole(&part, until);
    if folded == [false; 3] {
        return field;
    }
    let mut number = vec![0; part.cells.len()];
    for (i, cell) in field.cells.iter().enumerate() {
        number[*cell as usize] = i;
    }
    let cells = melt_cells(scene);
    let from: Vec<usize> =
        cells.iter().map(|c| number[stands_for(scene, &part, folded, *c as usize)]).collect();
    let times = 2.0_f64.powi(folded.iter().filter(|f| **f).count() as i32);
    let Balance { given, taken, gone } = field.balance;
    Field {
        cells,
        critical: from.iter().map(|i| field.critical[*i]).collect(),
        solid: from.iter().map(|i| field.solid[*i]).collect(),
        balance: Balance { given: given * times, taken: taken * times, gone: gone * times },
        ..field
    }
}

fn melt_cells(scene: &Scene) -> Vec<u32> {
    (0..scene.cells.len())
        .filter(|c| scene.substance(*c) == Substance::Melt)
        .map(|c| c as u32)
        .collect()
}

/// Cells that one thread looks through at a time.
const PIECE: usize = 16384;

fn whole(scene: &Scene, until: Until<'_>) -> Field {
    let mut march = March::new(scene);
    let melt = march.grid.groups[0].range.clone();
    let law = march.grid.groups[0].law.clone();
    let critical_heat = law.range * (1.0 - scene.melt.critical);
    let marks: Vec<f64> = until.below.iter().map(|t| law.heat(*t)).collect();
    let mut below = vec![None; marks.len()];
    let mut inert = vec![None; marks.len()];
    let mut critical = vec![f64::INFINITY; melt.len()];
    let mut solid = critical.clone();
    let mut before = march.heat[melt.clone()].to_vec();
    let mut hottest = before.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    while march.time < until.limit {
        let (from, step) = (march.time, march.step);
        march.advance();
        let now = &march.heat[melt.clone()];
        let top = now
            .par_chunks(PIECE)
            .zip(before.par_chunks_mut(PIECE))
            .zip(critical.par_chunks_mut(PIECE).zip(solid.par_chunks_mut(PIECE)))
            .map(|((now, before), (critical, solid))| {
                let mut top = f64::NEG_INFINITY;
                for i in 0..now.len() {
                    let (was, is) = (before[i], now[i]);
                    let passed = |mark: f64, at: &mut f64| {
                        if was > mark && is <= mark {
                            *at = from + step * (was - mark) / (was - is);
                        }
                    };
                    passed(critical_heat, &mut critical[i]);
                    passed(0.0, &mut solid[i]);
                    before[i] = is;
                    top = top.max(is);
                }
                top
            })
            .reduce(|| f64::NEG_INFINITY, f64::max);
        for ((mark, at), inert) in marks.iter().zip(&mut below).zip(&mut inert) {
            if at.is_none() && top <= *mark {
                let share = if hottest > *mark { (hottest - mark) / (hottest - top) } else { 0.0 };
                *at = Some(from + step * share);
                *inert = march.inert();
            }
        }
        hottest = top;
        if top <= 0.0 && marks.last().is_none_or(|m| top <= *m) {
            break;
        }
    }
    Field {
        cells: march.grid.cells[melt].to_vec(),
        critical,
        solid,
        done: hottest <= 0.0,
        below,
        inert,
        balance: march.balance(),
        cost: Cost {
            cells: scene.cells.len(),
            quick: march.heat.len(),
            steps: march.steps,
            stages: march.stages,
            updates: march.updates,
        },
    }
}

/// The last of a part to freeze.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Last {
    /// When all of the part is solid, s.
    pub solid: f64,
    /// When its last cell is at the critical solid fraction, s.
    pub critical: f64,
    /// Middle of the cell that is solid last, m.
    pub place: [f64; 3],
}

impl Field {
    /// When all melt is solid, s.
    pub fn time(&self) -> f64 {
        self.solid.iter().copied().fold(0.0, f64::max)
    }

    /// The last of a part to freeze; none where the part has no cells.
    pub fn last(&self, scene: &Scene, part: u8) -> Option<Last> {
        let own = || (0..self.cells.len()).filter(|i| scene.cells[self.cells[*i] as usize] == part);
        let last = own().max_by(|a, b| self.solid[*a].total_cmp(&self.solid[*b]))?;
        Some(Last {
            solid: self.solid[last],
            critical: own().map(|i| self.critical[i]).fold(0.0, f64::max),
            place: scene.middle(self.cells[last] as usize),
        })
    }
}
