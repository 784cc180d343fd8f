//! The pot for one melt, which may fill several moulds.

use super::handling::{self, HandlingEstimate};
use super::mould::{self, CrucibleFit};
use crate::build::{Build, Casting};
use crate::figure::{Figure, Mass};

/// The pot for a charge, and what it is to lift.
#[derive(Debug, Clone)]
pub struct Pot {
    /// The smallest that holds the charge below its working fill.
    pub crucible: CrucibleFit,
    /// What that one holds at its working fill.
    pub holds: Option<Figure<Mass>>,
    /// Pot and metal, without tongs.
    pub full: Option<Figure<Mass>>,
    /// Pot, metal and tongs; the limit of one person and how many it takes.
    pub handling: HandlingEstimate,
}

/// The pot for a charge of this casting's alloy.
pub fn pot(build: &Build, casting: &Casting, charge: Option<&Figure<Mass>>) -> Pot {
    let (crucible, holds) = mould::crucible(build, casting, charge);
    let given = match &crucible {
        CrucibleFit::Fits(id) => build.shop.crucibles.get(id),
        _ => None,
    };
    let full = given
        .and_then(|c| c.mass.clone())
        .zip(charge.cloned())
        .and_then(|(pot, metal)| Figure::sum("full crucible, without tongs", &[pot, metal]));
    let mut handling = HandlingEstimate::default();
    if let Some(full) = &full {
        handling::crucible(&mut handling, full, given, build.header.units);
    }
    Pot { crucible, holds, full, handling }
}
