//! Which moulds may share a heat.

use super::items::{Mould, Work};
use super::limits::Limits;
use crate::plan::calendar::Minute;
use std::cmp::Reverse;

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
    if moulds.len() > 1 && stand_too_long(work, limits, &longest_first(work, group)) {
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

/// Moulds of a heat in the order in which they are rammed and poured: as they come, where none would stand
/// too long.
pub fn in_order(work: &Work, limits: &Limits, group: &[usize]) -> Vec<usize> {
    match stand_too_long(work, limits, group) {
        true => longest_first(work, group),
        false => group.to_vec(),
    }
}

/// The same in the order in which they stand least: first what may stand longest while the others are
/// rammed, its own ramming counted in.
pub fn longest_first(work: &Work, group: &[usize]) -> Vec<usize> {
    let may_stand = |m: &usize| {
        let mould = &work.moulds[*m];
        mould.keeps.map_or(Minute::MAX, |keeps| keeps + work.ramming(mould))
    };
    let mut group = group.to_vec();
    group.sort_by_key(|m| Reverse(may_stand(m)));
    group
}

/// Whether moulds that are rammed in the session of their heat, in this order, stand too long by their
/// pours: each stands while those behind it are rammed, the last dries, the metal melts, and those before
/// it are poured.
fn stand_too_long(work: &Work, limits: &Limits, group: &[usize]) -> bool {
    let moulds: Vec<&Mould> = group.iter().map(|m| &work.moulds[*m]).collect();
    let melt = work.shortest_melt(&moulds);
    let here = |m: &&Mould| m.stands.is_none() && m.items[0].is_some();
    // Others may ram the rest beside, and while it melts.
    if limits.together() > 1 {
        let mut all = moulds.iter().filter(|m| here(m)).peekable();
        return all.peek().is_some() && all.all(|m| m.keeps.is_some_and(|keeps| melt > keeps));
    }
    let (mut rammed, mut melts) = (0, 0);
    let mut over = Vec::with_capacity(moulds.len());
    for mould in &moulds {
        if here(mould) {
            rammed += work.ramming(mould);
            melts = melts.max(rammed + mould.items[0].map_or(0, |n| work.items[n].wait));
        }
        over.push(rammed);
    }
    let mut pour = melts + melt;
    moulds.into_iter().zip(over).any(|(mould, over)| {
        let stands = pour - over;
        pour += mould.items[1].map_or(0, |n| work.items[n].minutes);
        here(&mould) && mould.keeps.is_some_and(|keeps| stands > keeps)
    })
}
