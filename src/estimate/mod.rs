//! Estimates for each casting and each mould: metal, sand, flask, crucible, hours.

mod casting;
mod hours;
mod meshed;
mod mould;

pub use casting::CastingEstimate;
pub use hours::{StepTime, pattern_time, step_time};
pub use mould::{CrucibleFit, FlaskFit, MouldEstimate};

use crate::build::Build;
use crate::figure::{Because, Figure, Node, Quantity, Range};

/// The estimates of a build.
#[derive(Debug, Clone)]
pub struct Estimates {
    /// By part index; none for what is not cast.
    pub castings: Vec<Option<CastingEstimate>>,
}

/// Estimates every casting of a build.
pub fn estimate(build: &Build) -> Estimates {
    let castings =
        build.parts.iter().map(|part| Some(casting::estimate(build, part.casting.as_ref()?)));
    Estimates { castings: castings.collect() }
}

/// A figure a whole number of times.
fn times<Q: Quantity>(figure: &Figure<Q>, count: u32, name: &'static str) -> Figure<Q> {
    let n = f64::from(count);
    let range = figure.node().range().map(|v| v * n);
    let count =
        Figure::<crate::figure::Number>::counted("how many", n, "counted from the manifest");
    Figure::new(
        name,
        range,
        Because::Closed("each x how many", vec![figure.node().clone(), count.node().clone()]),
    )
}

/// A figure less others, never below zero.
fn less<Q: Quantity>(name: &'static str, from: &Figure<Q>, taken: &[Figure<Q>]) -> Figure<Q> {
    let mut range = from.node().range();
    for t in taken {
        let t = t.node().range();
        range = Range {
            low: (range.low - t.high).max(0.0),
            likely: (range.likely - t.likely).max(0.0),
            high: (range.high - t.low).max(0.0),
        };
    }
    let nodes: Vec<Node> =
        std::iter::once(from.node()).chain(taken.iter().map(Figure::node)).cloned().collect();
    Figure::new(name, range, Because::Closed("the first less the others", nodes))
}
