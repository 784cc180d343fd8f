//! Castings by the builder's own clock (`froze-in`): what they teach of their metal and sand.

use super::sections::Section;
use crate::figure::*;
use crate::handbook::formulas::cooling::{self, Body};
use crate::model::{Build, Casting};
use std::sync::Arc;

/// What the castings teach that were timed.
#[derive(Debug, Clone, Default)]
pub(super) struct Clocks {
    constants: Vec<Timed>,
    sands: Vec<Clocked>,
}

/// What is known of a casting that was timed.
pub(super) struct Reckoned<'a> {
    pub casting: &'a Casting,
    /// Its section that freezes last.
    pub last: Option<Section>,
    /// When it is solid in the fast, the likely and the slow run, where its field holds.
    pub solid: Option<[f64; 3]>,
}

impl Clocks {
    /// From every casting that was timed.
    pub(super) fn of(build: &Build, timed: &[Reckoned<'_>]) -> Self {
        Self { constants: Timed::all(build, timed), sands: Clocked::all(build, timed) }
    }

    /// The mould constant of this metal in this sand.
    pub(super) fn constant(
        &self,
        build: &Build,
        casting: &Casting,
    ) -> Option<&Figure<TimePerArea>> {
        self.constants.iter().find(|t| t.serves(build, casting)).map(|t| &t.constant)
    }

    /// Where the sand of a casting lies between the runs.
    pub(super) fn sand(&self, build: &Build, casting: &Casting) -> Option<&Clocked> {
        self.sands.iter().find(|s| s.serves(build, casting))
    }
}

/// The mould constant of an alloy in a sand by the builder's own clock.
#[derive(Debug, Clone)]
struct Timed {
    alloy: std::sync::Arc<str>,
    sand: Option<std::sync::Arc<str>>,
    constant: Figure<TimePerArea>,
}

impl Timed {
    fn serves(&self, build: &Build, casting: &Casting) -> bool {
        let sand = build.patterns[casting.pattern].sand.as_ref().map(|s| &s.id);
        self.alloy == casting.alloy.id && self.sand.as_ref() == sand
    }

    /// From every casting that was timed: its section that freezes last must have taken so long.
    fn all(build: &Build, timed: &[Reckoned<'_>]) -> Vec<Self> {
        let mut out: Vec<(Self, Vec<Node>)> = Vec::new();
        for Reckoned { casting, last, .. } in timed {
            let of = casting.given.froze_in.as_ref().zip(last.as_ref());
            let Some((time, last)) = of else { continue };
            let constant = of_section(time, last);
            match out.iter_mut().find(|(t, _)| t.serves(build, casting)) {
                Some((_, nodes)) => nodes.push(constant.node().clone()),
                None => {
                    let sand = build.patterns[casting.pattern].sand.as_ref();
                    let nodes = vec![constant.node().clone()];
                    let sand = sand.map(|s| s.id.clone());
                    out.push((Self { alloy: casting.alloy.id.clone(), sand, constant }, nodes));
                }
            }
        }
        for (timed, nodes) in &mut out {
            let ranges = || nodes.iter().map(Node::range);
            let range = Range {
                low: ranges().map(|r| r.low).fold(f64::INFINITY, f64::min),
                likely: ranges().map(|r| r.likely).sum::<f64>() / nodes.len() as f64,
                high: ranges().map(|r| r.high).fold(0.0, f64::max),
            };
            timed.constant = Figure::new(
                "mould constant",
                range,
                Because::Chosen(
                    "the mean of the castings of this alloy in this sand that were timed".into(),
                    std::mem::take(nodes),
                ),
            );
        }
        out.into_iter().map(|(timed, _)| timed).collect()
    }
}

/// The constant at which this section takes so long.
fn of_section(time: &Figure<Time>, last: &Section) -> Figure<TimePerArea> {
    let body = Figure::<Body>::counted("body", last.body.si(), last.body_word());
    cooling::mould_constant_of_section::figure(time, &last.modulus, &body)
        .named(format!("mould constant from the time of {}", last.name))
}

/// A sand by the builder's own clock: where between the fast run (-1), the likely one (0) and the
/// slow one (1) the castings lie that were timed in it.
#[derive(Debug, Clone)]
pub(super) struct Clocked {
    sand: Option<Arc<str>>,
    places: Vec<f64>,
    pub(super) nodes: Vec<Node>,
}

/// Another mould of the same sand, either way; from memory.
const ANOTHER: f64 = 0.1;

impl Clocked {
    fn serves(&self, build: &Build, casting: &Casting) -> bool {
        self.sand == sand(build, casting)
    }

    /// Of every sand in which a casting was timed whose field holds.
    fn all(build: &Build, timed: &[Reckoned<'_>]) -> Vec<Self> {
        let mut out: Vec<Self> = Vec::new();
        for Reckoned { casting, solid, .. } in timed {
            let Some((time, solid)) = casting.given.froze_in.as_ref().zip(*solid) else { continue };
            let place = place(solid, time.si());
            let node = time.node().clone();
            match out.iter_mut().find(|c| c.serves(build, casting)) {
                Some(clocked) => {
                    clocked.places.push(place);
                    clocked.nodes.push(node);
                }
                None => {
                    let sand = sand(build, casting);
                    out.push(Self { sand, places: vec![place], nodes: vec![node] });
                }
            }
        }
        out
    }

    /// Low, likely and high: the temperatures to which it goes give the rows.
    pub(super) fn range(&self, [soon, likely, late]: [[f64; 3]; 3]) -> [f64; 3] {
        let least = self.places.iter().copied().fold(f64::INFINITY, f64::min);
        let most = self.places.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let mean = self.places.iter().sum::<f64>() / self.places.len() as f64;
        [at(soon, least) * (1.0 - ANOTHER), at(likely, mean), at(late, most) * (1.0 + ANOTHER)]
    }
}

fn sand(build: &Build, casting: &Casting) -> Option<Arc<str>> {
    build.patterns[casting.pattern].sand.as_ref().map(|s| s.id.clone())
}

/// Where a time lies between the three runs.
fn place([fast, likely, slow]: [f64; 3], time: f64) -> f64 {
    let over = (time / likely).ln();
    if over < 0.0 { over / (likely / fast).ln() } else { over / (slow / likely).ln() }
}

/// The time at a place between the three runs.
fn at([fast, likely, slow]: [f64; 3], place: f64) -> f64 {
    let step = if place < 0.0 { likely / fast } else { slow / likely };
    likely * step.powf(place)
}
