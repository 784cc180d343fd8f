//! What cannot be planned, why, and all that waits for it.

use super::items::{Mould, Taken, Work};
use super::limits::{Hours, Limits, heap};
use crate::estimate::{CrucibleFit, FlaskFit, MouldEstimate};
use crate::figure::{Kind, show};
use crate::model::Build;
use crate::plan::calendar::Minute;
use crate::plan::subject::Subject;
use std::collections::BTreeSet;

/// What keeps a mould from ever being poured, in words.
pub(super) fn lacking(
    build: &Build,
    work: &Work,
    figures: &MouldEstimate,
    mould: &Mould,
    (limits, time): (&Limits, Hours<'_>),
) -> Vec<String> {
    let id = build.parts[mould.part].id();
    let mut out = Vec::new();
    if let FlaskFit::Lacking(reason) = &figures.flask {
        out.push(format!("{id}: {reason}"));
    }
    if let CrucibleFit::Lacking(reason) = &figures.crucible
        && work.pots_for(&[mould], limits).is_empty()
    {
        // Where none is left of its sort, two are not there either.
        let two = if build.shop.pours_from_two || mould.pots.is_empty() {
            ""
        } else {
            "; or `pours-from-two: yes` under `shop:`, where two people may pour at once"
        };
        out.push(format!("{id}: {reason}{two}"));
    }
    if let Some(heap) = heap(build).filter(|heap| mould.sand > *heap && mould.standing.is_none()) {
        let shown = |kg: f64| show(Kind::Mass, kg, build.header.units);
        for part in std::iter::once(mould.part).chain(mould.others.iter().map(|(i, _)| *i)) {
            out.push(format!(
                "{}: its mould takes {} of sand and the heap has {}: get {} more, or ram it in a \
                 smaller flask",
                build.parts[part].id(),
                shown(mould.sand),
                shown(heap),
                shown(mould.sand - heap)
            ));
        }
    }
    if build.shop.furnaces.is_empty() {
        out.push("the shop lists no furnace: add one under `shop: furnaces:`".into());
    }
    if !build.shop.knows_crucibles() {
        out.push("the shop lists no crucible: add one under `shop: crucibles:`".into());
    }
    let item = |i: usize| mould.items[i].map_or(0, |n| work.items[n].minutes);
    let dry = mould.items[0].map_or(0, |n| work.items[n].wait);
    let (ram, heat) = (item(0), work.shortest_heat(&[mould]) + item(1));
    let hours = |m: Minute| format!("{:.1} h", m as f64 / 60.0);
    let pour = time.longest_pour;
    if pour == 0 && time.longest > 0 {
        out.push(format!(
            "{id}: nobody has hours on a day on which the shop pours: see `pours:` under `shop:`"
        ));
    }
    let unbroken = match mould.stands {
        None if dry > 0 => {
            [("ramming, drying, melting, pouring and clearing up take", ram + dry + heat, pour)]
                .to_vec()
        }
        None => [("ramming, melting, pouring and clearing up take", ram + heat, pour)].to_vec(),
        Some(_) => [
            ("ramming takes", ram, time.longest),
            ("melting, pouring and clearing up take", heat, pour),
        ]
        .to_vec(),
    };
    if mould.stands.is_some_and(|stands| stands < dry) {
        out.push(format!(
            "{id}: its mould dries {}, and may stand no longer than {} before it is poured: a wash \
             that dries sooner, or a sand whose moulds stand longer",
            hours(dry),
            hours(mould.stands.unwrap_or(0))
        ));
    }
    // Rammed in one session and poured in another it stands through the time between.
    let stands_over = mould.stands.zip(time.shortest_break);
    if let Some((stands, idle)) = stands_over.filter(|_| ram > 0 && ram + dry + heat > pour)
        && idle + work.shortest_melt(&[mould]) > stands
    {
        out.push(format!(
            "{id}: its mould may stand {} to be safe before it is poured, and there are {} or more \
             between two sessions; ramming, melting, pouring and clearing up take {} in one, and the \
             longest is {}: plan a longer day, or give `stands` under `sand` what your sand bears",
            hours(stands),
            hours(idle),
            hours(ram + dry + heat),
            hours(pour)
        ));
    }
    for (what, whole, longest) in unbroken.into_iter().filter(|u| u.2 > 0 && u.1 > u.2) {
        let sand = match mould.stands {
            None => ", or a sand whose moulds may stand",
            Some(_) => "",
        };
        let slow = work.slow_melt(mould).filter(|_| what.contains("melting"));
        let slow = slow.map_or(String::new(), |melt| format!(", {} of it melting", hours(melt)));
        let clears = if what.contains("clearing up") { work.least_clear_up() } else { 0 };
        let clear_up = match clears - (whole - longest) {
            left if left > 0 => format!(
                ", or say under the furnace what clearing up takes you: it is taken as {clears} min, \
                 and with `clear-up: {left} min` the heat would fit"
            ),
            _ => String::new(),
        };
        out.push(format!(
            "{id}: {what} {} in one session{slow}; the longest is {}: plan a longer day{sand}\
             {clear_up}",
            hours(whole),
            hours(longest)
        ));
    }
    out
}

/// Leaves out what cannot be planned, and what waits for it.
pub(super) fn without(mut work: Work, mut blocked: BTreeSet<usize>) -> Work {
    if blocked.is_empty() {
        return work;
    }
    let mut stack: Vec<usize> = blocked.iter().copied().collect();
    while let Some(n) = stack.pop() {
        let mould = work.items[n].mould.map(|m| work.moulds[m].items);
        let follow = work.items[n].after.iter().copied();
        for next in follow.chain(mould.into_iter().flatten().flatten()) {
            if blocked.insert(next) {
                stack.push(next);
            }
        }
    }
    let waiting = blocked.iter().filter_map(|n| match work.items[*n].subject {
        Subject::Part(part) => Some(part),
        Subject::Pattern(_) => None,
    });
    let waiting = waiting.collect();
    let mut place = vec![usize::MAX; work.items.len()];
    let mut kept = 0;
    for (n, slot) in place.iter_mut().enumerate() {
        if !blocked.contains(&n) {
            *slot = kept;
            kept += 1;
        }
    }
    let mut moulds = Vec::new();
    let mut mould_place = vec![usize::MAX; work.moulds.len()];
    for (m, mut mould) in work.moulds.into_iter().enumerate() {
        if mould.items.iter().flatten().all(|n| !blocked.contains(n)) {
            mould.items = mould.items.map(|n| n.map(|n| place[n]));
            mould_place[m] = moulds.len();
            moulds.push(mould);
        }
    }
    let items = std::mem::take(&mut work.items);
    let kept = items.into_iter().enumerate().filter(|(n, _)| place[*n] != usize::MAX);
    let items = kept.map(|(_, mut item)| {
        let still =
            |list: &[usize]| list.iter().map(|n| place[*n]).filter(|n| *n != usize::MAX).collect();
        (item.before, item.after) = (still(&item.before), still(&item.after));
        item.mould = item.mould.map(|m| mould_place[m]);
        item
    });
    let cooling = work.cooling.into_iter().filter(|t| place[t.until] != usize::MAX);
    Work {
        items: items.collect(),
        moulds,
        cooling: cooling.map(|t| Taken { until: place[t.until], ..t }).collect(),
        batches: work.batches,
        gone: work.gone,
        alloys: work.alloys,
        awaited: work.awaited,
        missing: work.missing,
        waiting,
        firing: work.firing,
        melted: work.melted,
    }
}
