//! The pot for one melt, which may fill several moulds.

use super::handling::{self, HandlingEstimate};
use super::mould::{self, CrucibleFit};
use crate::figure::{Figure, Mass, System};
use crate::manifest::{Crucible, Id};
use crate::model::{Build, Casting};

/// The pot for a charge, and what it is to lift.
#[derive(Debug, Clone)]
pub struct Pot {
    /// The one that holds the charge below its working fill.
    pub crucible: CrucibleFit,
    /// What that one holds at its working fill.
    pub holds: Option<Figure<Mass>>,
    /// Metal in it when it is full: the charge, and the heel where one is kept.
    pub metal: Option<Figure<Mass>>,
    /// Pot and metal, without tongs.
    pub full: Option<Figure<Mass>>,
    /// Pot, metal and tongs; the limit of one person and how many it takes.
    pub handling: HandlingEstimate,
}

/// What an empty pot weighs in its tongs, and what one person may lift so; none where its mass is
/// not known.
pub fn lift_of(crucible: &Crucible) -> Option<[Figure<Mass>; 2]> {
    let mut handling = HandlingEstimate::default();
    handling::crucible(&mut handling, crucible.mass.as_ref()?, Some(crucible), System::Metric);
    Some([handling.crucible?, handling.crucible_limit?])
}

/// The pot for what is charged for moulds of this casting's alloy: the one that the plan lights, where it lights
/// one; else the smallest that holds it.
pub fn pot(build: &Build, casting: &Casting, lit: &[Id], charge: Option<&Figure<Mass>>) -> Pot {
    let named = match lit {
        [one] => Some(one),
        _ => casting.given.crucible.as_ref().map(|named| &named.value),
    };
    let (crucible, holds) = mould::crucible(build, &casting.alloy, named, charge);
    let given = match &crucible {
        CrucibleFit::Fits(id) => build.shop.crucibles.get(id),
        _ => None,
    };
    let metal = match (given.and_then(|c| c.heel.clone()), charge) {
        (Some(heel), Some(charge)) => Figure::sum("charge with the heel", &[charge.clone(), heel]),
        (_, charge) => charge.cloned(),
    };
    let full = given
        .and_then(|c| c.mass.clone())
        .zip(metal.clone())
        .and_then(|(pot, metal)| Figure::sum("full crucible, without tongs", &[pot, metal]));
    let mut handling = HandlingEstimate::default();
    if let Some(full) = &full {
        handling::crucible(&mut handling, full, given, build.header.units);
    }
    Pot { crucible, holds, metal, full, handling }
}
