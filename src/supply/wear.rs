//! Crucibles wear out: heats so far and to come against the life that the trade tells.

use crate::figure::{Figure, Number};
use crate::manifest::Id;
use crate::model::Build;
use crate::plan::Schedule;
use chrono::NaiveDate;

/// A crucible and its heats.
#[derive(Debug, Clone)]
pub struct Wear {
    /// Its id.
    pub crucible: Id,
    /// Heats in the journal.
    pub so_far: u32,
    /// Heats in the plan.
    pub to_come: u32,
    /// Heats that one lasts, for the alloys it melts.
    pub life: Figure<Number>,
    /// The day of the heat that is likely its last, if the plan has it.
    pub spent: Option<NaiveDate>,
}

/// Every crucible of the shop that has a heat, so far or to come.
pub(super) fn wear(build: &Build, schedule: &Schedule) -> Vec<Wear> {
    let mut out = Vec::new();
    for (id, crucible) in &build.shop.crucibles {
        let logged = build.history.heats.values();
        let logged = logged.filter(|h| h.poured.crucible.as_ref().is_some_and(|c| c.value == *id));
        let planned: Vec<_> = schedule.heats.iter().filter(|h| h.crucibles.contains(id)).collect();
        let mut alloys =
            planned.iter().map(|h| &h.alloy).chain(logged.clone().map(|h| &h.poured.alloy.value));
        let melted = || build.handbook.alloys.get(alloys.next()?).map(|alloy| alloy.family);
        let Some(family) = crucible.family.or_else(melted) else { continue };
        let Some(life) = build.handbook.crucible_life.get(&family) else { continue };
        let so_far = logged.count() as u32;
        let to_come = planned.len() as u32;
        if so_far + to_come == 0 {
            continue;
        }
        let left = (life.si() - f64::from(so_far)).max(1.0) as usize;
        out.push(Wear {
            crucible: id.clone(),
            so_far,
            to_come,
            life: life.clone(),
            spent: planned.get(left - 1).map(|h| h.lit.date()),
        });
    }
    out
}
