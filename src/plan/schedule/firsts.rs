//! First heats of what is new in the shop, in words.

use super::record::{FirstHeat, Schedule};
use crate::model::Build;
use crate::plan::work::{FirstOf, Firsts, Work};

/// What the first heats of a shop, an alloy and a sand are, and why.
pub(crate) fn firsts(
    build: &Build,
    work: &Work,
    firsts: &Firsts,
    schedule: &Schedule,
) -> Vec<FirstHeat> {
    let word = |of: &FirstOf| match of {
        FirstOf::Shop => "this shop".to_owned(),
        FirstOf::Alloy(id) | FirstOf::Sand(id) => id.to_string(),
    };
    if let Some(days) = firsts.would_cost {
        let of: Vec<String> = firsts.first.iter().map(|f| word(&f.of)).collect();
        let says = format!(
            "a small, easy heat first, to learn {}, would move the finish by {days} days, more \
             than a week: it is left out; go carefully",
            of.join(", ")
        );
        return vec![FirstHeat { heat: None, of, says }];
    }
    let mut out: Vec<FirstHeat> = Vec::new();
    let moulds: indexmap::IndexSet<usize> = firsts.first.iter().map(|f| f.mould).collect();
    for mould in moulds {
        let of: Vec<String> =
            firsts.first.iter().filter(|f| f.mould == mould).map(|f| word(&f.of)).collect();
        let heat = schedule.moulds.get(mould).and_then(|m| schedule.heats.get(m.heat));
        let part = build.parts[work.moulds[mould].part].id();
        let says = format!(
            "{} is {part} alone: the first heat of {} is the easiest and then the lightest \
             casting, so that little is lost while you learn",
            heat.map_or("the first", |h| &h.name),
            of.join(", ")
        );
        out.push(FirstHeat { heat: heat.map(|h| h.name.clone()), of, says });
    }
    out
}
