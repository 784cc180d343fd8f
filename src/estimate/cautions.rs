//! The dangers of casting these parts: one answer for every view.

use super::Estimates;
use crate::figure::Figure;
use crate::handbook::formulas::gating::Gate;
use crate::handbook::{Caution, Work};
use crate::model::Build;

/// Dangers of casting these parts (by index), those of every pour too, in the handbook's order.
pub fn cautions(
    build: &Build,
    estimates: &Estimates,
    parts: impl IntoIterator<Item = usize>,
) -> Vec<Caution> {
    let mut work = Work { burning: burning(build), lifts: Some(0.0), ..Work::default() };
    for part in parts {
        let casting = build.parts[part].casting.as_ref();
        let Some((casting, estimate)) = casting.zip(estimates.castings[part].as_ref()) else {
            continue;
        };
        let pattern = &build.patterns[casting.pattern];
        work.alloys.push(&casting.alloy);
        work.sands.extend(pattern.sand.as_deref());
        let lifts = [&estimate.handling.crucible, &estimate.loads.cope_mass];
        let known = lifts.map(|lift| lift.as_ref().map(Figure::high));
        work.lifts = work.lifts.zip(known[0]).zip(known[1]).map(|((a, b), c)| a.max(b).max(c));
        let given = &pattern.given;
        if let (Gate::Parting, Some(gating)) = (given.gate, &estimate.gating) {
            work.falls = work.falls.max(gating.sprue.fall.si());
        }
    }
    build.handbook.cautions_for(&work)
}

/// Whether a furnace of the shop burns fuel; none where it lists no furnace.
fn burning(build: &Build) -> Option<bool> {
    let burns = |fuel| !matches!(build.handbook.fuels.get(fuel), Some(None));
    let mut furnaces = build.shop.furnaces.values().peekable();
    furnaces.peek()?;
    Some(furnaces.any(|f| burns(&f.fuel)))
}
