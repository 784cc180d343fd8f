//! The pouring time to aim at.

use super::freezing::FreezingEstimate;
use super::rule;
use crate::figure::*;
use crate::handbook::formulas::gating;
use crate::handbook::{Alloy, Family};
use crate::model::Casting;

/// The lowest temperature to pour at: the low end of what is usual for the alloy, and never where it
/// may not be all molten.
pub fn coldest(alloy: &Alloy) -> Option<Figure<Temperature>> {
    let usual = alloy.pours.as_ref()?;
    let molten = alloy.liquidus.as_ref();
    let least = usual.node().range().low.max(molten.map_or(0.0, Figure::high));
    let nodes = std::iter::once(usual).chain(molten).map(|f| f.node().clone()).collect();
    const WHY: &str =
        "the lowest that is usual for the alloy, and never below where it surely is all molten";
    let figure = Figure::new(
        "lowest pouring temperature",
        Range::exact(least),
        Because::Chosen(WHY.into(), nodes),
    );
    Some(figure.safe_at(SafeEnd::High))
}

/// Pouring time to aim at: the rule for iron, or one by the root of the mass; never longer than
/// the thinnest section stays liquid.
pub(super) fn wanted(
    casting: &Casting,
    freezing: &FreezingEstimate,
    through: &Figure<Mass>,
    system: System,
    warnings: &mut Vec<String>,
) -> Figure<Time> {
    let through = &through.reference("metal-through-choke");
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
            gating::pour_time::figure(through, &factor)
        }
    };
    let Some(first) = &freezing.freezes_first else {
        return by_mass.named("pouring time needed");
    };
    let first = first.reference("freezes-first");
    let half = gating::pour_before_freezing::figure(&first);
    if half.si() < by_mass.si() {
        warnings.push(format!(
            "the thinnest section freezes in about {}: pour within {}, hot and without a pause",
            show(Kind::Time, first.si(), system),
            show(Kind::Time, half.si(), system)
        ));
    }
    by_mass.smaller(&half, "pouring time needed", "the shorter of the two")
}
