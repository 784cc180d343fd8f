//! One mould laid out: where its patterns, sprue, runner, ingates, feeders and cores lie in the flask,
//! with sand all round. It is laid out once; figures, checks and drawings read it.

mod board;
mod choose;
mod feeders;
mod held;
mod packed;
mod plane;
mod ways;

pub use board::Feeder;
pub use plane::Rect;
pub use ways::{WaySizes, WaysLaid};

pub(super) use choose::{Chosen, Wanted, choose, flask_space, least_space, side};
pub use held::Held;

use crate::manifest::Id;
use crate::model::Lying;
use crate::shape::Lies;
use plane::Away;
use std::sync::Arc;

/// A mould laid out, m; x along the length of the flask and y across it from one corner, heights over
/// the parting.
#[derive(Debug, Clone)]
pub struct Layout {
    /// The flask; none where the least that would do is taken.
    pub flask: Option<Id>,
    /// Inside length and width of the flask.
    pub inside: [f64; 2],
    /// Depth of its cope.
    pub cope: f64,
    /// Depth of its drag.
    pub drag: f64,
    /// What lies in it.
    pub patterns: Vec<Laid>,
}

/// A pattern in its mould.
#[derive(Debug, Clone)]
pub struct Laid {
    /// Index of the pattern.
    pub pattern: usize,
    /// The box of the pattern as it lies.
    pub lies: Lies,
    /// Whether it lies a quarter turned.
    pub turned: bool,
    /// The middle of each casting.
    pub castings: Vec<[f64; 2]>,
    /// Length and width of one casting as it lies.
    pub casting: [f64; 2],
    /// Its lowest and highest place.
    pub ends: [f64; 2],
    /// The body of one casting; none where it is not known, and boxes are laid out for it.
    pub body: Option<Arc<Lying>>,
    /// Sprue, runner and ingates; none where they cannot be computed.
    pub ways: Option<WaysLaid>,
    /// Feeders of all its castings.
    pub feeders: Vec<Feeder>,
    /// Where gas is let out: high places far from the ingates.
    pub vents: Vec<Vent>,
    /// Feeders of one casting that find no room over metal.
    pub no_room: usize,
}

/// Where a feeder so wide (m) on a neck so wide can stand as near to a top of the casting as can be,
/// beside others; all as the casting lies.
pub(super) fn foot(
    lying: &Lying,
    near: [f64; 3],
    wide: [f64; 2],
    others: &[[f64; 2]],
) -> Option<[f64; 3]> {
    let place = feeders::nearest(lying, near, wide, others)?;
    Some([place.at[0], place.at[1], place.top])
}

/// A vent through the cope.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vent {
    /// Where, m.
    pub at: [f64; 2],
    /// The metal under it, over the parting.
    pub top: f64,
}

impl Laid {
    /// Two vents of each casting, at its highest places: the one farthest from the ingates, the other
    /// farthest from both.
    fn vented(mut self) -> Self {
        let gates: Vec<[f64; 2]> =
            self.ways.iter().flat_map(|w| w.ingates.iter().map(Rect::middle)).collect();
        let spots: Vec<([f64; 2], f64)> = match &self.body {
            Some(body) => {
                let [_, highest] = body.ends();
                let tops = body.columns().full().map(|c| (c.at, c.ends()[1]));
                tops.filter(|(_, top)| highest - top < 1e-3).collect()
            }
            None => {
                let own =
                    if self.turned { [self.casting[1], self.casting[0]] } else { self.casting };
                let corner =
                    |x: f64, y: f64| ([x * 0.42 * own[0], y * 0.42 * own[1]], self.ends[1]);
                vec![corner(-1.0, -1.0), corner(1.0, -1.0), corner(-1.0, 1.0), corner(1.0, 1.0)]
            }
        };
        let taken: Vec<[f64; 2]> =
            gates.into_iter().chain(self.feeders.iter().map(|f| f.at)).collect();
        for casting in 0..self.castings.len() {
            let placed: Vec<[f64; 2]> =
                spots.iter().map(|(at, _)| self.place(casting, *at)).collect();
            let mut away = Away::from(&placed, &taken);
            for _ in 0..2 {
                let Some((n, _)) = away.farthest() else { break };
                away.and_from(&placed, placed[n]);
                self.vents.push(Vent { at: placed[n], top: spots[n].1 });
            }
        }
        self
    }

    /// A place of a casting, from its middle, in the mould.
    pub fn place(&self, casting: usize, at: [f64; 2]) -> [f64; 2] {
        packed::put(at, self.turned, self.castings[casting])
    }

    /// The boxes around its castings.
    pub fn boxes(&self) -> impl Iterator<Item = Rect> {
        let half = self.casting.map(|side| side / 2.0);
        self.castings.iter().map(move |at| Rect::around(*at, half))
    }
}

impl Layout {
    /// How high a ring a feeder wants on the cope, m: up to the level of the basin, where it comes
    /// out of the cope.
    pub fn ring(&self, laid: &Laid, feeder: &Feeder) -> Option<f64> {
        let above = feeder.top() - self.cope;
        let basin = laid.ways.as_ref().map_or(0.0, |ways| ways.sizes.basin[1]);
        (above > 0.0).then(|| above.max(basin))
    }
}
