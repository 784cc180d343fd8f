//! What a heat has room for, and how much of it each mould takes.

use crate::plan::calendar::Calendar;
use crate::plan::work::{Limits, Mould, Work};

/// Things of which there is so much room in a heat.
pub const ROOMS: usize = 6;

/// Shares of what there is room for: of the crucible, of the heap of sand, of a session beside the melt,
/// of what the people may lift, of a session with the metal melted, and of the time that a mould may
/// stand rammed.
pub type Size = [f64; ROOMS];

/// Shares that moulds of one alloy take of a heat; no grouping can give them more room than this.
pub fn sizes(work: &Work, limits: &Limits, calendar: &Calendar, moulds: &[usize]) -> Vec<Size> {
    let most = moulds.iter().filter_map(|m| work.moulds[*m].pots.last()).map(|p| p.1);
    let most = most.fold(0.0, f64::max);
    let pots = moulds.iter().flat_map(|m| &work.moulds[*m].pots);
    let lifted = pots.map(|p| limits.most_lifted(p.0, p.1)).fold(0.0, f64::max);
    let session = calendar.longest_pour() as f64;
    let alone = calendar.people.len() == 1;
    // Of one person's session a heat on a hot furnace leaves less: the one before is in it too.
    let firing = match alone {
        true => work.least_melt(false) + work.least_clear_up(),
        false => work.least_melt(true),
    };
    let mut beside = session - firing as f64;
    if alone && work.hot_today() > 0 {
        // What is left of today has room for a heat on a furnace that is hot from one that is poured.
        let hot = work.least_melt(true) + work.least_clear_up();
        beside = beside.max((calendar.left_of_today() - hot) as f64);
    }
    let cleared = if alone { work.least_clear_up() as f64 } else { 0.0 };
    let stands = stands(work, moulds, alone);
    let share = |much: f64, room: f64| if room > 0.0 { (much / room).min(1.0) } else { 1.0 };
    // A heat melts no quicker than its metal does in the best furnace.
    let quickest =
        |mould: &Mould| mould.melting.iter().map(|melts| melts[1]).reduce(f64::min).unwrap_or(0.0);
    let size = |m: &usize| {
        let mould = &work.moulds[*m];
        let minutes = |n: Option<usize>| n.map_or(0, |n| work.items[n].minutes);
        // Several people may ram at a time.
        let ram = if alone && mould.stands.is_none() { minutes(mould.items[0]) } else { 0 };
        let hands = (ram + minutes(mould.items[1])) as f64;
        [
            share(mould.charge, most),
            limits.sand.map_or(0.0, |heap| share(mould.sand, heap)),
            share(hands, beside),
            share(mould.charge_most, lifted),
            share(quickest(mould) + hands, session - cleared),
            stands.map_or(0.0, |stands| share(ram as f64, stands)),
        ]
    };
    moulds.iter().map(size).collect()
}

/// Minutes in which one person may ram all moulds of a heat, at the most: the first stands while the others
/// are rammed and the metal melts. None where one of these moulds may stand for as long as it likes, or
/// where others ram beside.
fn stands(work: &Work, moulds: &[usize], alone: bool) -> Option<f64> {
    let here = moulds.iter().map(|m| &work.moulds[*m]).filter(|m| m.stands.is_none());
    let mut most = None;
    for mould in here.filter(|m| m.items[0].is_some()) {
        most = most.max(Some(mould.keeps? + work.ramming(mould)));
    }
    most.filter(|_| alone).map(|most| (most - work.least_melt(true)) as f64)
}
