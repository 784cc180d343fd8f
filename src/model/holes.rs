//! Holes of a casting: which leave a core of green sand, which want a dry one, which are cast solid.

use super::{Casting, Pattern};
use crate::figure::{Figure, Volume};
use crate::manifest::ShapeGiven;
use crate::shape::{Body, Frame, Placed, Solid};

/// Across a hole, m: below this it is drilled, not cored (common practice, from memory; in heavy
/// sections twice as much).
const LEAST_CORED: f64 = 0.010;
/// Green sand stands in a hole that is no deeper than so many times its width (common practice, from
/// memory): blind, or through, where both halves hold it.
const STANDS: [f64; 2] = [1.0, 1.5];
/// A core's print is as long as the core is thick, within these, m (common practice, from memory).
const PRINT: [f64; 2] = [0.015, 0.05];

/// How a hole comes about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hole {
    /// The pattern leaves it: it draws, and green sand stands in it.
    Green,
    /// A dry core, in prints.
    Core,
    /// Cast solid, and drilled.
    Solid,
}

/// A cut-out or the bore of a tube, as large as it is cast.
#[derive(Debug, Clone)]
pub struct Opening {
    /// Index of its solid.
    pub solid: usize,
    /// What it is called.
    pub name: String,
    /// How it comes about.
    pub how: Hole,
    /// Across it, where it is least, m.
    pub across: f64,
    /// How far it goes in, m.
    pub deep: f64,
    /// The sand that fills it: a solid, and each place where it stands.
    pub sand: Solid,
    /// Where that stands.
    pub frames: Vec<Frame>,
    /// Which ends along its own z come out of the casting.
    pub open: [bool; 2],
}

impl Opening {
    /// Length of a print of its core, m.
    pub fn print(&self) -> f64 {
        self.across.clamp(PRINT[0], PRINT[1])
    }

    /// The prints of its core, m: at each open end a piece of the core's own section.
    pub fn prints(&self) -> Vec<Placed> {
        let [_, _, deep] = self.sand.extents();
        let (print, [low, high]) = (self.print(), self.open);
        let ends = [low.then_some(-print), high.then_some(deep)];
        let at = |end: f64| Placed {
            solid: self.sand.as_long_as(print),
            frames: self
                .frames
                .iter()
                .map(|f| Frame { at: f.place([0.0, 0.0, end]), ..*f })
                .collect(),
            less: false,
            of: None,
        };
        ends.into_iter().flatten().map(at).collect()
    }

    /// Its core with prints, m: the sand, longer at each open end.
    pub fn core(&self) -> (Solid, Vec<Frame>) {
        let more = self.open.map(|open| if open { self.print() } else { 0.0 });
        let [_, _, deep] = self.sand.extents();
        let solid = self.sand.as_long_as(deep + more[0] + more[1]);
        let lower = |f: &Frame| Frame { at: f.place([0.0, 0.0, -more[0]]), ..*f };
        (solid, self.frames.iter().map(lower).collect())
    }
}

/// The cores of one casting as they are drawn, in the measure of its pattern and core boxes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrawnCores {
    /// What of them the metal flows around, m3.
    pub in_metal: f64,
    /// With their prints: what their boxes hold, m3.
    pub with_prints: f64,
}

impl DrawnCores {
    /// Whether a volume that is given is neither that of the holes nor that of the cores with their
    /// prints, nor lies between, by more than a tenth.
    pub fn disagrees(&self, given: &Figure<Volume>) -> bool {
        given.high() < 0.9 * self.in_metal || given.low() > 1.1 * self.with_prints
    }
}

impl Casting {
    /// Its cores as they are drawn; none where no hole of it is drawn that wants one.
    pub fn drawn_cores(&self, on: &Pattern) -> Option<DrawnCores> {
        let openings = self.openings(on);
        let cored = || openings.iter().filter(|o| o.how == Hole::Core);
        let times = 1.0 + self.alloy.contraction.as_ref().map_or(0.0, Figure::si);
        let all = |one: fn(&Opening) -> f64| {
            cored().map(|o| one(o) * o.frames.len() as f64).sum::<f64>() * times.powi(3)
        };
        cored().next().map(|_| DrawnCores {
            in_metal: all(|o| o.sand.volume()),
            with_prints: all(|o| o.core().0.volume()),
        })
    }

    /// Its holes with the likely stock in them; none where its solids are not placed.
    pub fn openings(&self, on: &Pattern) -> Vec<Opening> {
        let (ShapeGiven::Solids(solids), Some(body)) = (&self.given.shape, &self.given.body) else {
            return Vec::new();
        };
        let stock = self.stock(on).map_or(0.0, |stock| stock.si());
        let Some(cast) = self.with_stock(stock) else { return Vec::new() };
        let mut out = Vec::new();
        for (at, solid) in solids.iter().enumerate() {
            let hollow = solid.less || matches!(solid.solid, Solid::Tube { .. });
            for (_, placed) in cast.iter().filter(|(of, _)| *of == at && hollow) {
                let sand = match (&placed.solid, solid.less) {
                    (Solid::Tube { inside, length, .. }, false) => {
                        Solid::Cylinder { diameter: *inside, length: *length }
                    }
                    (_, false) => continue,
                    (sand, true) => sand.clone(),
                };
                out.push(opening(at, solid.name(), body, sand, &placed.frames));
            }
            let there = |opening: &Opening| opening.solid == at;
            if hollow && !out.iter().any(there) {
                let frames = solid.frames.clone().unwrap_or_else(|| vec![Frame::HOME]);
                let mut closed = opening(at, solid.name(), body, solid.solid.clone(), &frames);
                closed.how = Hole::Solid;
                out.push(closed);
            }
        }
        self.cored_as_said(&mut out);
        out
    }

    /// Where the builder gives cores and no hole asks for one, the largest is cored.
    fn cored_as_said(&self, openings: &mut [Opening]) {
        let cored = openings.iter().any(|o| o.how == Hole::Core);
        if self.given.cores.is_none() || cored {
            return;
        }
        let size = |o: &Opening| o.sand.volume() * o.frames.len() as f64;
        let green = openings.iter_mut().filter(|o| o.how == Hole::Green);
        if let Some(largest) = green.max_by(|a, b| size(a).total_cmp(&size(b))) {
            largest.how = Hole::Core;
        }
    }
}

fn opening(at: usize, name: &str, body: &Body, sand: Solid, frames: &[Frame]) -> Opening {
    let [x, y, z] = sand.extents();
    let (across, deep, round) = match sand {
        Solid::Tube { outside, inside, length } => ((outside - inside) / 2.0, length, false),
        Solid::Cylinder { diameter, length } => (diameter, length, true),
        Solid::Cone { bottom, top, length } => (bottom.min(top), length, true),
        _ => (x.min(y), z, false),
    };
    let frame = frames.first().copied().unwrap_or(Frame::HOME);
    let beyond = |z: f64| {
        let off = match sand {
            Solid::Tube { outside, inside, .. } => (outside + inside) / 4.0,
            // Beside what stands in its middle, such as the hub in a rim.
            _ if round => 0.45 * across,
            _ => 0.0,
        };
        !body.inside(frame.place([off, 0.0, z]))
    };
    const JUST: f64 = 1e-5;
    let open = [beyond(-JUST), beyond(z + JUST)];
    let upright = frame.axes[2][2].abs() > 0.99;
    // What is open to a side may be open upward too: a slot across, a trough.
    let trough = !round && !upright && {
        let up = (0..3).find(|i| frame.axes[*i][2].abs() > 0.99);
        up.is_some_and(|own| {
            let half = [x, y, z][own] / 2.0 + JUST;
            let mut middle = [0.0, 0.0, z / 2.0];
            [-half, half].into_iter().any(|off| {
                middle[own] = off;
                !body.inside(frame.place(middle))
            })
        })
    };
    let draws = (upright
        && (open[0] || open[1])
        && deep <= STANDS[usize::from(open[0] && open[1])] * across)
        || trough;
    let tapers = upright && matches!(sand, Solid::Cone { .. }) && (open[0] || open[1]);
    let how = match across {
        _ if draws || tapers => Hole::Green,
        _ if across < LEAST_CORED => Hole::Solid,
        _ => Hole::Core,
    };
    let name = name.to_owned();
    Opening { solid: at, name, how, across, deep, sand, frames: frames.to_vec(), open }
}
