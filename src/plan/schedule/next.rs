//! What is likely to be logged next: names, moulds that stand, the heat to come.

use super::names::next_name;
use crate::manifest::Id;
use crate::model::{Attempt, Build};
use crate::plan::tasks::Plan;

/// The heat that is likely to be poured next.
#[derive(Debug, Clone)]
pub struct NextHeat {
    /// Its name.
    pub name: String,
    /// Its alloy.
    pub alloy: Option<Id>,
    /// Its crucible.
    pub crucible: Option<Id>,
    /// Moulds for it that stand.
    pub moulds: Vec<Id>,
}

/// Moulds that are rammed and wait for metal, in the order they were rammed.
pub fn standing_moulds(build: &Build) -> impl Iterator<Item = &Attempt> {
    build.history.attempts.values().filter(|a| a.poured.is_none())
}

/// The first heat of the schedule whose moulds stand; else one for the moulds that stand and take
/// the alloy of the first.
pub fn next_heat(build: &Build, plan: &Plan) -> NextHeat {
    let planned = plan.schedule.heats.iter().find_map(|heat| {
        let moulds = heat.moulds.iter().filter_map(|m| plan.schedule.moulds.get(*m));
        let moulds: Vec<Id> = moulds.filter_map(|m| m.standing.clone()).collect();
        (!moulds.is_empty()).then_some((heat, moulds))
    });
    if let Some((heat, moulds)) = planned {
        return NextHeat {
            name: heat.name.to_string(),
            alloy: Some(heat.alloy.clone()),
            crucible: heat.crucibles.first().cloned(),
            moulds,
        };
    }
    let name = next_name("H", build.history.heats.keys().map(|k| &**k));
    let alloy_of = |attempt: &Attempt| {
        let (part, _) = attempt.castings.first()?;
        Some(build.parts[*part].casting.as_ref()?.alloy.id.clone())
    };
    let alloy = standing_moulds(build).find_map(alloy_of);
    let moulds =
        standing_moulds(build).filter(|a| alloy_of(a) == alloy).map(|a| a.mould.clone()).collect();
    let last = build.history.heats.values().rev();
    let crucible = alloy.as_ref().and_then(|alloy| {
        last.filter(|h| h.poured.alloy.value == *alloy)
            .find_map(|h| h.poured.crucible.as_ref().map(|c| c.value.clone()))
    });
    NextHeat { name, alloy, crucible, moulds }
}
