//! What is charged for a heat.

use super::record::Heel;
use crate::estimate::held;
use crate::figure::{Figure, Mass, SafeEnd};
use crate::handbook::Alloy;
use crate::manifest::Id;
use crate::model::Build;

/// Metal that these pots take together at their working fill, beside a heel that is in them from the
/// heat before, kg: at the safe end of each. None where that is not known of every pot.
pub(super) fn room(build: &Build, alloy: &Alloy, pots: &[Id], heels: &[Heel]) -> Option<f64> {
    let density = alloy.liquid_density.as_ref().filter(|_| !pots.is_empty())?;
    let takes = |id: &Id| Some(build.shop.crucibles.get(id)?.takes(density).low());
    let takes = pots.iter().map(takes).sum::<Option<f64>>()?;
    let inside = heels.iter().filter(|heel| heel.from.is_some());
    Some(takes - inside.map(|heel| heel.left.high()).sum::<f64>())
}

/// Metal to be charged where the moulds, and the heels that are charged with them, take so much: a
/// figure to go by at its high end, which is what they may take, and no more than the pots do.
/// What is left over is pigged.
pub(super) fn to_charge(takes: &Figure<Mass>, room: Option<f64>) -> Figure<Mass> {
    held(takes, room).safe_at(SafeEnd::High)
}
