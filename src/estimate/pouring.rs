//! The pouring time to aim at.

use super::freezing::FreezingEstimate;
use super::{rule, settled};
use crate::figure::*;
use crate::handbook::Family;
use crate::handbook::formulas::gating;
use crate::model::Casting;

/// Pouring time to aim at: the rule for iron, or one by the root of the mass; never longer than
/// the thinnest section stays liquid.
pub(super) fn wanted(
    casting: &Casting,
    freezing: &FreezingEstimate,
    through: &Figure<Mass>,
    system: System,
    warnings: &mut Vec<String>,
) -> Figure<Time> {
    let through = &settled(through, "metal-through-choke");
    let by_mass = match (casting.alloy.family, &casting.given.wall) {
        (Family::Iron, Some(wall)) => {
            let fluidity: Figure<Length> = rule(
                "fluidity",
                [0.55, 0.7, 0.9],
                Known::FromMemory,
                "spiral of a grey iron, 28 in usual",
            );
            gating::pour_time_iron::figure(through, wall, &fluidity)
        }
        _ => {
            let factor: Figure<Number> = rule(
                "seconds over root of kilograms",
                [1.0, 2.0, 3.0],
                Known::FromMemory,
                "1 to 3: no published rule for light metal or bronze was found",
            );
            let (m, f) = (through.node().range(), factor.node().range());
            let root = |m: f64, f: f64| f * m.sqrt();
            let range = Range {
                low: root(m.low, f.low),
                likely: root(m.likely, f.likely),
                high: root(m.high, f.high),
            };
            let nodes = vec![through.node().clone(), factor.node().clone()];
            Figure::new(
                "pouring time by mass",
                range,
                Because::Closed("factor x sqrt(mass / kg)", nodes),
            )
        }
    };
    let Some(first) = &freezing.freezes_first else {
        return by_mass.named("pouring time wanted");
    };
    let first = settled(first, "freezes-first");
    let half = Figure::<Time>::new(
        "half the freezing time of the thinnest section",
        first.node().range().map(|t| t / 2.0),
        Because::Closed("time / 2 (common practice)", vec![first.node().clone()]),
    );
    let (a, b) = (by_mass.node().range(), half.node().range());
    if half.si() < by_mass.si() {
        warnings.push(format!(
            "the thinnest section freezes in about {}: pour within {}, hot and without a pause",
            show(Kind::Time, first.si(), system),
            show(Kind::Time, half.si(), system)
        ));
    }
    let range =
        Range { low: a.low.min(b.low), likely: a.likely.min(b.likely), high: a.high.min(b.high) };
    let nodes = vec![by_mass.node().clone(), half.node().clone()];
    Figure::new(
        "pouring time wanted",
        range,
        Because::Chosen("the shorter of the two".into(), nodes),
    )
}
