//! The pot for one melt, which may fill several moulds.

use super::handling::{self, Carry, HandlingEstimate};
use super::mould::{self, CrucibleFit};
use crate::figure::{Because, Figure, Mass, Range, System};
use crate::manifest::{Crucible, Id};
use crate::model::{Build, Casting};

/// The pot for a charge, and what it is to lift.
#[derive(Debug, Clone)]
pub struct Pot {
    /// The one that holds the charge below its working fill.
    pub crucible: CrucibleFit,
    /// What that one holds at its working fill.
    pub holds: Option<Figure<Mass>>,
    /// Metal that the moulds may take of it, and the heel where one is kept.
    pub asked: Option<Figure<Mass>>,
    /// Metal in it when it is full: that, and no more than the pot takes.
    pub metal: Option<Figure<Mass>>,
    /// Pot and metal, without tongs.
    pub full: Option<Figure<Mass>>,
    /// Pot, metal and tongs; the limit of one person and how many it takes.
    pub handling: HandlingEstimate,
}

/// What a pot asks of those who lift it by hand, at the safe end of each figure: what estimate, plan,
/// sheets and report go by.
#[derive(Debug, Clone, Copy)]
pub struct Lift {
    /// Pot and tongs, and the heel that is left in it, at the most, kg.
    pub empty: f64,
    /// What one person may lift so, at the least, kg.
    pub limit: f64,
    /// Whether it is lifted with a device.
    pub device: bool,
}

impl Lift {
    /// Of a crucible; none where its mass is not known.
    pub fn of(crucible: &Crucible) -> Option<Self> {
        let mut handling = HandlingEstimate::default();
        let pot = crucible.mass.as_ref()?;
        handling::crucible(&mut handling, pot, Some(crucible), System::Metric);
        Some(Self {
            empty: handling.crucible?.high() + crucible.heel.as_ref().map_or(0.0, Figure::high),
            limit: handling.crucible_limit?.node().range().low,
            device: crucible.device,
        })
    }

    /// Its load over what one person may lift, with so much metal beside its heel, kg.
    pub fn index(&self, metal: f64) -> f64 {
        (self.empty + metal) / self.limit
    }

    /// How it is lifted with so much metal beside its heel, kg.
    pub fn carry(&self, metal: f64) -> Carry {
        Carry::of_pot(self.device, self.index(metal))
    }

    /// The most metal beside its heel that so many people may lift together, kg; no limit where it
    /// has a device.
    pub fn most(&self, people: u32) -> f64 {
        match self.device {
            true => f64::INFINITY,
            false => Carry::most(people) * self.limit - self.empty,
        }
    }
}

/// Metal that is asked of a pot, held to what the pot takes of it at the safe end: what lies in it, and
/// is lifted. The likely charge is in it in any case, for a pot is chosen by that.
pub(crate) fn held(asked: &Figure<Mass>, room: Option<f64>) -> Figure<Mass> {
    let range = asked.node().range();
    let most = room.map_or(range.high, |room| range.high.min(room).max(range.likely));
    if most >= range.high {
        return asked.clone();
    }
    const SAYS: &str = "what the moulds may take; no more than the pot does at its working fill";
    let because = Because::Closed(SAYS, vec![asked.node().clone()]);
    Figure::new(asked.node().name().to_owned(), Range { high: most, ..range }, because)
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
    let asked = match (given.and_then(|c| c.heel.clone()), charge) {
        (Some(heel), Some(charge)) => Figure::sum("charge with the heel", &[charge.clone(), heel]),
        (_, charge) => charge.cloned(),
    };
    let metal = asked.as_ref().map(|asked| held(asked, holds.as_ref().map(Figure::low)));
    let full = given
        .and_then(|c| c.mass.clone())
        .zip(metal.clone())
        .and_then(|(pot, metal)| Figure::sum("full crucible, without tongs", &[pot, metal]));
    let mut handling = HandlingEstimate::default();
    if let Some(full) = &full {
        handling::crucible(&mut handling, full, given, build.header.units);
    }
    Pot { crucible, holds, asked, metal, full, handling }
}
