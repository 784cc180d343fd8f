//! Which moulds may share a heat.

use super::items::{Mould, Work};
use super::limits::Limits;
use crate::plan::calendar::Minute;

/// Whether these moulds can be one heat at all: one alloy, one crucible that the people may lift full,
/// flasks enough, a session long enough, and none of them waiting for another.
pub fn may_share(work: &Work, limits: &Limits, group: &[usize], longest: Minute) -> bool {
    let moulds: Vec<&Mould> = group.iter().map(|m| &work.moulds[*m]).collect();
    let alloy = moulds.first().map(|m| m.alloy);
    if moulds.iter().any(|m| Some(m.alloy) != alloy) {
        return false;
    }
    if work.pots_for(&moulds, limits).is_empty() {
        return false;
    }
    let waits = |n: usize| {
        let others =
            work.items[n].before.iter().filter(|b| work.items[**b].mould != work.items[n].mould);
        others.filter_map(|b| work.items[*b].mould).any(|m| group.contains(&m))
    };
    if moulds.iter().flat_map(|m| m.items).flatten().any(waits) {
        return false;
    }
    let sand: f64 = moulds.iter().map(|m| m.sand).sum();
    if moulds.len() > 1 && limits.sand.is_some_and(|heap| sand > heap) {
        return false;
    }
    for (flask, count) in limits.flasks.iter().enumerate() {
        if moulds.iter().filter(|m| m.flask == Some(flask)).count() > *count {
            return false;
        }
    }
    if moulds.len() > 1 && stand_too_long(work, limits, &moulds) {
        return false;
    }
    let item = |n: Option<usize>| n.map_or(0, |n| work.items[n].minutes);
    let here = || moulds.iter().filter(|m| m.stands.is_none());
    let dry = here().filter_map(|m| m.items[0]).map(|n| work.items[n].wait).max().unwrap_or(0);
    let rams = || here().map(|m| item(m.items[0]));
    let pours: Minute = moulds.iter().map(|m| item(m.items[1])).sum();
    let heat = work.shortest_heat(&moulds) + pours;
    // Others ram beside, and while it melts.
    let others = Minute::from(limits.together().saturating_sub(1));
    let spread = (rams().sum::<Minute>() - others * heat).max(0) / (others + 1);
    let before = if others == 0 { rams().sum() } else { spread.max(rams().min().unwrap_or(0)) };
    before + dry + heat <= longest
}

/// Whether moulds that are rammed in the session of their heat stand too long by its first pour,
/// whichever of them is poured first: it stands while the others are rammed and the metal melts.
fn stand_too_long(work: &Work, limits: &Limits, moulds: &[&Mould]) -> bool {
    let melt = work.shortest_melt(moulds);
    let ram = |m: &Mould| m.items[0].map_or(0, |n| work.items[n].minutes);
    let here = || moulds.iter().filter(|m| m.stands.is_none() && m.items[0].is_some());
    // Others may ram the rest beside, and while it melts.
    let all: Minute = if limits.together() > 1 { 0 } else { here().map(|m| ram(m)).sum() };
    here().count() > 0
        && here().all(|m| m.keeps.is_some_and(|keeps| (all - ram(m)).max(0) + melt > keeps))
}
