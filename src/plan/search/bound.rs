//! What no plan can beat.

use super::heats::least_heats;
use crate::manifest::Step;
use crate::plan::calendar::{Calendar, Minute};
use crate::plan::work::{Limits, Work};

/// No plan finishes before this minute: the longest chain with everybody free for it, and all
/// work from each moment on that is free only then, shared among all people.
pub fn bound(work: &Work, limits: &Limits, calendar: &Calendar) -> Minute {
    let shake = Step::ShakeOut;
    let mut heads = vec![0; work.items.len()];
    let mut best = 0;
    for n in work.order() {
        let item = &work.items[n];
        let before = |b: &usize| {
            let b = &work.items[*b];
            if b.step == shake { 0 } else { b.wait }
        };
        let ends = item.before.iter().filter_map(|b| {
            let end = calendar.alone(heads[*b], work.items[*b].minutes)?;
            Some(end + before(b))
        });
        let mut head = ends.max().unwrap_or(0).max(item.not_before);
        if item.step == shake {
            let poured = item.before.iter().filter(|b| work.items[**b].mould.is_some());
            let cooled =
                poured.filter_map(|b| calendar.alone(heads[*b], work.items[*b].minutes)).max();
            head = head.max(cooled.unwrap_or(0) + if item.mould.is_some() { item.wait } else { 0 });
        }
        heads[n] = head;
        let end = calendar.alone(head, item.minutes).unwrap_or(head);
        best = best.max(end + if item.step == shake { 0 } else { item.wait });
    }
    let mut by_head: Vec<usize> = (0..work.items.len()).collect();
    by_head.sort_by_key(|n| std::cmp::Reverse(heads[*n]));
    let melts = least_melting(work, limits, calendar);
    let mut minutes = 0;
    for (i, &n) in by_head.iter().enumerate() {
        minutes += work.items[n].minutes;
        let last = i + 1 == by_head.len();
        let all = minutes + if last { melts } else { 0 };
        if let Some(end) = calendar.together(heads[n], all) {
            best = best.max(end);
        }
    }
    best
}

/// Minutes of all heats before their first pours, and of clearing up, at the least: no furnace is hot for
/// the first heat of a day, and each day with a heat ends with clearing up; that of the last may come
/// after all else is finished.
fn least_melting(work: &Work, limits: &Limits, calendar: &Calendar) -> Minute {
    let heats = least_heats(work, limits, calendar);
    let [first, hot] = [false, true].map(|hot| work.least_melt(hot));
    let clear_up = work.least_clear_up();
    let per_day = limits.furnaces.iter().map(|(_, heats)| *heats as usize);
    let mut days = heats.div_ceil(per_day.clone().sum::<usize>().max(1));
    let mut cold = heats.div_ceil(per_day.max().unwrap_or(0).max(1));
    if calendar.people.len() == 1 {
        // One person's sessions hold the heats with all that is done in them.
        let room = calendar.longest_pour() - clear_up - (first - hot);
        let inside = minutes_in_heats(work) + heats as Minute * hot;
        days = days.max(usize::try_from((inside + room - 1) / room.max(1)).unwrap_or(0).min(heats));
        cold = cold.max(days);
    }
    cold as Minute * first
        + (heats - cold) as Minute * hot
        + days.saturating_sub(1) as Minute * clear_up
}

/// Minutes of pouring, and of ramming what is poured in the same session.
fn minutes_in_heats(work: &Work) -> Minute {
    let of = |item: Option<usize>| item.map_or(0, |n| work.items[n].minutes);
    let each = work.moulds.iter().map(|m| {
        let ram = if m.stands.is_none() { of(m.items[0]) } else { 0 };
        ram + of(m.items[1])
    });
    each.sum()
}
