//! What no plan can beat.

use super::heats::Least;
use crate::manifest::Step;
use crate::plan::calendar::{Calendar, Minute};
use crate::plan::work::{Limits, Mould, Work};

/// So many ways to share out minutes among heats and moulds are tried.
const PARTS: u32 = 20;
/// Sums of minutes may be off by so much.
const ROUNDING: f64 = 1e-3;

/// No plan finishes before this minute: the longest chain with everybody free for it, and all
/// work from each moment on that is free only then, shared among all people.
pub fn bound(work: &Work, limits: &Limits, calendar: &Calendar, least: &Least) -> Minute {
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
    let melts = least_melting(work, limits, calendar, least);
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
fn least_melting(work: &Work, limits: &Limits, calendar: &Calendar, least: &Least) -> Minute {
    let heats = least.heats;
    let [first, hot] = [false, true].map(|hot| work.least_melt(hot));
    let clear_up = work.least_clear_up();
    let per_day = limits.furnaces.iter().map(|(_, heats)| *heats as usize);
    let together = per_day.clone().sum::<usize>().max(1);
    let mut days = heats.div_ceil(together);
    let mut cold = heats.div_ceil(per_day.max().unwrap_or(0).max(1));
    // Furnaces that are hot from a heat of today that is poured are not set up again.
    let lit = work.hot_today();
    if calendar.people.len() == 1 {
        // One person's sessions hold the heats with all that is done in them.
        let room = calendar.longest_pour() - clear_up - (first - hot);
        let each = work.moulds.iter().map(|mould| minutes_in_heat(work, mould));
        let inside = each.sum::<Minute>() + heats as Minute * hot - lit as Minute * (first - hot);
        days = days.max(usize::try_from((inside + room - 1) / room.max(1)).unwrap_or(0).min(heats));
        cold = cold.max(days);
    }
    let cold = cold.saturating_sub(lit);
    let melts = cold as Minute * first + (heats - cold) as Minute * hot;
    let by_count = melts + days as Minute * clear_up;
    let by_days = match calendar.people.len() {
        1 if lit == 0 => by_days(work, calendar.longest_pour(), least, together),
        _ => 0,
    };
    (by_count.max(by_days) - clear_up).max(0)
}

/// The same of one person, by what a day holds: the more heats in it, the less time is left for moulds. Each
/// mould answers for some of the minutes and each heat for some, so that those of no day answer for more
/// than it takes; what all of them answer for is a bound (by duality, as the weights are).
fn by_days(work: &Work, session: Minute, least: &Least, most: usize) -> Minute {
    let [first, hot] = [false, true].map(|hot| work.least_melt(hot) as f64);
    // Of a day with so many heats: what it takes beside its moulds, and what is left for them.
    let day = |heats: usize| {
        let takes = first + (heats - 1) as f64 * hot + work.least_clear_up() as f64;
        let left = session as f64 - takes;
        (left > 0.0).then_some((heats as f64, takes, left))
    };
    let days: Vec<_> = (1..=most).map_while(day).collect();
    let Some(((_, one, _), more)) = days.split_first() else { return 0 };
    let all = |for_heat: f64| {
        let each = work.moulds.iter().zip(&least.weights).map(|(mould, weight)| {
            let minutes = minutes_in_heat(work, mould) as f64;
            let shares = more
                .iter()
                .map(|(heats, takes, left)| (takes - heats * for_heat).max(0.0) * (minutes / left));
            shares.fold((one - for_heat) * weight, f64::min)
        });
        for_heat * least.heats as f64 + each.sum::<f64>()
    };
    // A heat answers for nothing, for all that the day of one heat takes, or for something between.
    let least_of = days.iter().map(|(heats, takes, _)| takes / heats).fold(f64::INFINITY, f64::min);
    let best = (0..=PARTS).map(|part| all(least_of * f64::from(part) / f64::from(PARTS)));
    (best.fold(0.0, f64::max) - ROUNDING).ceil() as Minute
}

/// Minutes of pouring a mould, and of ramming it where that is done in the same session.
fn minutes_in_heat(work: &Work, mould: &Mould) -> Minute {
    let of = |item: Option<usize>| item.map_or(0, |n| work.items[n].minutes);
    let ram = if mould.stands.is_none() { of(mould.items[0]) } else { 0 };
    ram + of(mould.items[1])
}
