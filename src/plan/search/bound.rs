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
    let melts = least_melting(work, limits, least_heats(work, limits, calendar));
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

/// Minutes of so many heats before their first pours, and of clearing up: no furnace is hot for the first
/// heat of a day, and each day with a heat ends with clearing up.
fn least_melting(work: &Work, limits: &Limits, heats: usize) -> Minute {
    let most = |heats: usize| heats.max(1);
    let per_day = limits.furnaces.iter().map(|(_, heats)| *heats as usize);
    let cold = heats.div_ceil(most(per_day.clone().max().unwrap_or(0)));
    let days = heats.div_ceil(most(per_day.sum()));
    let [first, hot] = [false, true].map(|hot| work.least_melt(hot));
    let clear_up = (0..limits.furnaces.len()).map(|f| work.clear_up(f)).min().unwrap_or(0);
    cold as Minute * first + (heats - cold) as Minute * hot + days as Minute * clear_up
}
