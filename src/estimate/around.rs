//! The mould around a casting while heat flow tries its feeders: where they can stand, and the way in
//! as it is laid out with them.

use super::field::Field;
use super::layout;
use super::ready::{Ready, in_own, with_feeders};
use super::timed::Clocks;
use crate::freezing::{Fed, Feeders, Foot, Room, Setup, Ways};
use crate::model::{Build, Lying, Part};

/// The mould of one casting, as heat flow tries its feeders.
pub(super) struct Around<'a> {
    build: &'a Build,
    part: &'a Part,
    clocks: Clocks,
    lying: Lying,
    oversize: f64,
    gate_across: Option<[[f64; 3]; 2]>,
}

impl<'a> Around<'a> {
    /// None where its body is not known.
    pub fn of(build: &'a Build, part: &'a Part, setup: &Setup, clocks: Clocks) -> Option<Self> {
        let casting = part.casting.as_ref()?;
        let lying = casting.lying(&build.patterns[casting.pattern])?;
        let gate_across = setup.gate_across.then(|| setup.bounds());
        Some(Self { build, part, clocks, lying, oversize: setup.oversize, gate_across })
    }
}

impl Room for Around<'_> {
    fn way_in(&self, fed: Option<&Fed>) -> Option<Ways> {
        let mut ready = Ready::of(self.build, self.part, &self.clocks, Some(Field::Missing))?;
        if let Some(fed) = fed {
            ready.feeding.found(fed, self.oversize, &ready.casting.alloy);
            ready.each = with_feeders(&ready.size, &ready.feeding);
        }
        let ways = ready.ways(&in_own(&ready)?)?;
        Some(match self.gate_across {
            Some(bounds) => ways.across(bounds),
            None => ways,
        })
    }

    fn foot(&self, near: Foot, of: &Feeders, beside: &[Foot]) -> Option<Foot> {
        let lies = |foot: &Foot| self.lying.lies(foot.map(|x| x * self.oversize));
        let beside: Vec<[f64; 2]> = beside.iter().map(lies).map(|[x, y, _]| [x, y]).collect();
        let foot = layout::foot(&self.lying, lies(&near), [of.diameter, of.neck], &beside)?;
        // To a thousandth of a millimetre.
        Some(self.lying.in_shape(foot).map(|x| (x / self.oversize * 1e6).round() / 1e6))
    }
}
