//! Sprue, runner and ingates beside one pattern.

use super::board::{Board, Cavity};
use super::plane::{Rect, Turn};

/// From the middle of the sprue to that of the first ingate at the least, and past the last one, m:
/// the lengths that `runner-length` is reckoned with.
const TO_FIRST: f64 = 0.035;
const PAST_LAST: f64 = 0.025;
/// Sand between the sprue and a casting or a feeder, m (common practice, from memory).
const SPRUE_SAND: f64 = 0.010;
/// Sand between a runner and a casting or a print beside it, m (common practice, from memory).
const RUNNER_SAND: f64 = 0.005;
/// An ingate joins the casting where its outline lies no farther back than this, m, if it can.
const REACH: f64 = 0.008;
/// Where the sprue is moved away from what it would touch: in steps of this, m, and so many.
const STEP: f64 = 0.004;
const STEPS: usize = 60;

/// Sizes of the gating, m.
#[derive(Debug, Clone, Copy)]
pub struct WaySizes {
    /// Foot and top of the sprue.
    pub sprue: [f64; 2],
    /// Across the top of the basin, and the metal in it.
    pub basin: [f64; 2],
    /// Across the well, and its depth.
    pub well: [f64; 2],
    /// Side of the runner.
    pub runner: f64,
    /// Ingates of the mould.
    pub ingates: usize,
    /// Width, length and thickness of an ingate.
    pub ingate: [f64; 3],
}

/// Where they lie, m.
#[derive(Debug, Clone)]
pub struct WaysLaid {
    /// Their sizes.
    pub sizes: WaySizes,
    /// Middle of the sprue, its well and its basin.
    pub sprue: [f64; 2],
    /// The runner.
    pub runner: Rect,
    /// The ingates, each from the runner to the casting.
    pub ingates: Vec<Rect>,
}

impl WaysLaid {
    /// Around the sprue as it goes through the cope, and its well.
    pub fn sprue_rect(&self) -> Rect {
        let wide = self.sizes.well[0].max(self.sizes.sprue[1]) / 2.0;
        Rect::around(self.sprue, [wide; 2])
    }

    /// Around the basin, which stands on the cope.
    pub fn basin_rect(&self) -> Rect {
        Rect::around(self.sprue, [self.sizes.basin[0] / 2.0; 2])
    }

    /// Length of the runner from the middle of the sprue on.
    pub fn runner_length(&self) -> f64 {
        let [length, width] = self.runner.size();
        length.max(width)
    }

    /// Mean length of the ingates, from the runner to the casting.
    pub fn ingate_length(&self) -> f64 {
        let [length, width] = self.runner.size();
        let across = usize::from(length > width);
        let each = self.ingates.iter().map(|gate| gate.size()[across]);
        each.sum::<f64>() / self.ingates.len().max(1) as f64
    }

    pub(super) fn mapped(&self, map: impl Fn([f64; 2]) -> [f64; 2] + Copy) -> Self {
        Self {
            sizes: self.sizes,
            sprue: map(self.sprue),
            runner: self.runner.mapped(map),
            ingates: self.ingates.iter().map(|gate| gate.mapped(map)).collect(),
        }
    }
}

/// Every way in which the metal can come to the castings of a board: along its sides, or between
/// its two rows.
pub(super) fn all(board: &Board, sizes: WaySizes) -> Vec<WaysLaid> {
    let along = board.size[0] >= board.size[1];
    let mut turns: Vec<Turn> = Turn::all().collect();
    // Along the longer side first: that is what the runner's length is reckoned for.
    turns.sort_by_key(|turn| turn.swap == along);
    let laid = turns.into_iter().filter_map(|turn| {
        let turned = board.turned(turn);
        Some(along_front(&turned, sizes)?.mapped(|at| turn.back(at)))
    });
    laid.collect()
}

/// The runner along the far side of one row of castings, or between two; the sprue at its low end.
fn along_front(board: &Board, sizes: WaySizes) -> Option<WaysLaid> {
    let rows = board.rows();
    let half = sizes.runner / 2.0;
    let (middle, reaching): (f64, Vec<(&Cavity, bool)>) = match rows.as_slice() {
        [row] => {
            let front = row.iter().map(|c| c.rect.high[1]).fold(f64::NEG_INFINITY, f64::max);
            (front + sizes.ingate[1] + half, row.iter().map(|c| (*c, true)).collect())
        }
        [near, far] => {
            let front = near.iter().map(|c| c.rect.high[1]).fold(f64::NEG_INFINITY, f64::max);
            let back = far.iter().map(|c| c.rect.low[1]).fold(f64::INFINITY, f64::min);
            if back - front < sizes.runner + 2.0 * RUNNER_SAND {
                return None;
            }
            let near = near.iter().map(|c| (*c, true));
            (f64::midpoint(front, back), near.chain(far.iter().map(|c| (*c, false))).collect())
        }
        _ => return None,
    };
    let each = (sizes.ingates / board.cavities.len()).max(1);
    let mut ingates = Vec::new();
    for (cavity, before) in reaching {
        let edge = if before { middle - half } else { middle + half };
        for x in gates_at(cavity, before, each, sizes.ingate[0])? {
            let from = cavity.edge(x, before);
            let wide = sizes.ingate[0] / 2.0;
            ingates.push(Rect::between([x - wide, from], [x + wide, edge]));
        }
    }
    let at = |gate: &Rect| gate.middle()[0];
    let first = ingates.iter().map(at).fold(f64::INFINITY, f64::min);
    let last = ingates.iter().map(at).fold(f64::NEG_INFINITY, f64::max);
    let wide = sizes.well[0].max(sizes.sprue[1]) / 2.0;
    let clear = |x: &f64| {
        let sprue = Rect::around([*x, middle], [0.0; 2]);
        let castings = board.cavities.iter().map(|c| &c.rect).chain(&board.prints);
        castings.clone().all(|r| sprue.apart(r) >= wide + SPRUE_SAND)
            && board.feeders.iter().all(|(at, across)| {
                // A feeder may come out of the cope beside the basin.
                let wide = wide.max(sizes.basin[0] / 2.0);
                sprue.apart(&Rect::around(*at, [0.0; 2])) >= wide + across / 2.0 + SPRUE_SAND
            })
    };
    let x = (0..STEPS).map(|n| first - TO_FIRST - n as f64 * STEP).find(clear)?;
    let runner = Rect::between([x, middle - half], [last + PAST_LAST, middle + half]);
    let free = |print: &Rect| {
        print.apart(&runner) >= RUNNER_SAND && ingates.iter().all(|g| print.apart(g) > 0.0)
    };
    board.prints.iter().all(free).then_some(WaysLaid { sizes, sprue: [x, middle], runner, ingates })
}

/// The middles of so many ingates at a casting: shared out where its outline comes nearest.
fn gates_at(cavity: &Cavity, before: bool, many: usize, wide: f64) -> Option<Vec<f64>> {
    const TRIED: usize = 48;
    let [low, high] = [cavity.rect.low[0], cavity.rect.high[0]];
    let tried: Vec<f64> =
        (0..=TRIED).map(|n| low + (high - low) * n as f64 / TRIED as f64).collect();
    let back = |x: f64| match before {
        true => cavity.rect.high[1] - cavity.edge(x, true),
        false => cavity.edge(x, false) - cavity.rect.low[1],
    };
    let nearest = tried.iter().map(|x| back(*x)).fold(f64::INFINITY, f64::min);
    let near: Vec<bool> = tried.iter().map(|x| back(*x) <= nearest + REACH).collect();
    // The longest stretch of them.
    let (mut best, mut start) = ((0, 0), None);
    for n in 0..=near.len() {
        match (near.get(n).copied().unwrap_or(false), start) {
            (true, None) => start = Some(n),
            (false, Some(from)) => {
                if n - 1 - from >= best.1 - best.0 {
                    best = (from, n - 1);
                }
                start = None;
            }
            _ => {}
        }
    }
    let (mut from, mut to) = (tried[best.0], tried[best.1]);
    let wanted = many as f64 * wide * 1.5;
    if to - from < wanted {
        let more = (wanted - (to - from)) / 2.0;
        (from, to) = ((from - more).max(low), (to + more).min(high));
    }
    let share = (to - from) / many as f64;
    Some((0..many).map(|n| from + (n as f64 + 0.5) * share).collect())
}
