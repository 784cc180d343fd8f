//! A plan that was found, in words of the build.

use super::charge::{room, to_charge};
use super::lifts::{lifts, too_heavy};
use super::names::next_name;
use super::record::{Block, Heel, Job, PlannedHeat, PlannedMould, Schedule, Session};
use super::stale::stale;
use crate::figure::Figure;
use crate::manifest::Id;
use crate::model::Build;
use crate::plan::calendar::{Calendar, Minute};
use crate::plan::promise::names_of_today;
use crate::plan::reasons::{reasons, slack};
use crate::plan::search::{Aim, Found, Layout, Piece};
use crate::plan::work::{Limits, Mould, Work, in_pots};
use std::collections::{BTreeMap, BTreeSet};

/// Minutes from the end of a pour within which the next charge goes onto the heel, so that it does
/// not freeze in the pot. Common practice, no source.
pub const HEEL_WAITS: i64 = 30;

/// Puts a plan that was found into words of the build; its heats, by the clock, keep the names that
/// they were promised by.
pub(crate) fn schedule(
    build: &Build,
    (work, limits, calendar): (&Work, &Limits, &Calendar),
    found: &Found,
    (aim, names): (Aim, Vec<Option<Id>>),
) -> Schedule {
    let layout = &found.layout;
    let clock = |m: Minute| calendar.clock(m);
    let people: Vec<Id> = build.shop.people.keys().cloned().collect();
    let (waited, chain) = reasons((work, limits, calendar), &found.candidate, layout);
    let slack = slack(work, calendar, layout);
    let on_chain: BTreeSet<usize> = chain.iter().copied().collect();
    let names_of_jobs = names_of_today(build, work);
    let jobs = work.items.iter().enumerate().map(|(n, item)| {
        let placed = &layout.items[n];
        let awaits = item.awaits.map(|(i, _)| &work.awaited[i]);
        Job {
            name: names_of_jobs[n].clone(),
            subject: item.subject,
            step: item.step,
            mould: item.mould,
            start: clock(placed.start),
            end: clock(placed.end),
            ready: clock(placed.ready),
            minutes: placed.pieces.iter().map(|p| p.to - p.from).sum(),
            machine: item
                .machine
                .and_then(|m| build.machines.get_index(m))
                .map(|(id, _)| id.clone()),
            after: item.before.clone(),
            waited: waited[n],
            awaits: awaits.map(|a| (a.of.clone(), a.until)),
            slack: slack[n],
            critical: on_chain.contains(&n),
        }
    });
    let jobs = jobs.collect();
    let mut order: Vec<usize> = (0..layout.heats.len()).collect();
    order.sort_by_key(|h| layout.heats[*h].lit);
    let journal = build.history.heats.keys();
    let mut taken: Vec<Id> = journal.chain(names.iter().flatten()).cloned().collect();
    let mut heat_of = vec![0; work.moulds.len()];
    let mut heats = Vec::new();
    for (place, h) in order.iter().enumerate() {
        let heat = &layout.heats[*h];
        for &m in &heat.moulds {
            heat_of[m] = place;
        }
        let charges: Vec<_> =
            heat.moulds.iter().filter_map(|m| work.moulds[*m].figures[1].clone()).collect();
        let alloy = heat.moulds.first().map_or(0, |m| work.moulds[*m].alloy);
        let pot = |i: &usize| build.shop.crucibles.get_index(*i).map(|(id, _)| id.clone());
        let furnace = build.shop.furnaces.get_index(heat.furnace).map(|(id, _)| id.clone());
        let name = names.get(place).cloned().flatten().unwrap_or_else(|| {
            let name: Id = next_name("H", taken.iter().map(|t| &**t)).into();
            taken.push(name.clone());
            name
        });
        let metal = Figure::sum("charge of the heat", &charges);
        let crucibles: Vec<Id> = heat.pots.iter().filter_map(pot).collect();
        let inside: Vec<&Mould> = heat.moulds.iter().map(|m| &work.moulds[*m]).collect();
        let (lifts, people) = lifts(limits, &in_pots(&inside, &heat.pots), &crucibles);
        heats.push(PlannedHeat {
            name,
            alloy: work.alloys[alloy].clone(),
            crucibles,
            furnace: furnace.unwrap_or_default(),
            lit: clock(heat.lit),
            pour: clock(heat.pour),
            over: clock(heat.over),
            moulds: heat.moulds.clone(),
            charge: metal,
            heels: Vec::new(),
            people,
            lifts,
            hands: 1 + heat.hands.len() as u32,
        });
    }
    keep_heels(build, &mut heats);
    for heat in &mut heats {
        let alloy = build.handbook.alloys.get(&heat.alloy);
        let room = alloy.and_then(|alloy| room(build, alloy, &heat.crucibles, &heat.heels));
        heat.charge = heat.charge.as_ref().map(|takes| to_charge(takes, room));
    }
    let moulds = work.moulds.iter().zip(heat_of).map(|(m, heat)| {
        let placed = |i: usize| m.items[i].map(|n| &layout.items[n]);
        let [poured, charge, sand] = m.figures.clone();
        let stood = m.standing.as_ref().map(|s| s.1);
        PlannedMould {
            part: m.part,
            nth: m.nth,
            castings: m.castings,
            others: m.others.clone(),
            flask: m.flask.and_then(|f| build.shop.flasks.get_index(f)).map(|(id, _)| id.clone()),
            poured,
            charge,
            sand,
            rammed: clock(placed(0).map(|p| p.start).or(stood).unwrap_or(0)),
            shaken_out: clock(placed(2).map_or(0, |p| p.end)),
            heat,
            standing: m.standing.as_ref().map(|s| s.0.clone()),
            again: m.rammed_again().is_some(),
        }
    });
    let moulds: Vec<PlannedMould> = moulds.collect();
    let too_heavy = too_heavy(build, limits, &moulds, &heats);
    let (any, whole) = (!work.items.is_empty(), work.missing.is_empty());
    Schedule {
        sessions: sessions(work, calendar, layout, &people),
        jobs,
        moulds,
        heats,
        finish: (any && whole).then(|| clock(layout.finish())),
        rest: (any && !whole).then(|| clock(layout.finish())),
        chain,
        bound: any.then(|| clock(found.bound)),
        least_heats: found.least_heats,
        aim,
        tried: found.tried,
        cut_short: found.cut_short,
        kept: found.in_force,
        moved: Vec::new(),
        too_heavy,
        stale: stale(build, work),
        brimming: None,
        slow: Vec::new(),
        supply: Vec::new(),
        firsts: Vec::new(),
        missing: work.missing.clone(),
        laid: None,
        waiting: work.waiting.iter().copied().collect(),
    }
}

/// What is left in the pots of heats by the clock, and what must be charged for it.
fn keep_heels(build: &Build, heats: &mut [PlannedHeat]) {
    for h in 0..heats.len() {
        for crucible in heats[h].crucibles.clone() {
            let given = build.shop.crucibles.get(&crucible);
            let Some(left) = given.and_then(|c| c.heel.clone()) else { continue };
            let (before, now) = heats.split_at_mut(h);
            let now = &mut now[0];
            let mine = |b: &PlannedHeat| b.crucibles.contains(&crucible);
            let last = before.iter_mut().rev().find(|b| b.furnace == now.furnace || mine(b));
            let hot = last.filter(|b| {
                let waits = (now.lit - b.over).num_minutes();
                b.furnace == now.furnace && mine(b) && b.alloy == now.alloy && waits <= HEEL_WAITS
            });
            let from = hot.map(|before| {
                let kept = before.heels.iter_mut().filter(|heel| heel.crucible == crucible);
                kept.for_each(|heel| heel.to = Some(now.name.clone()));
                before.name.clone()
            });
            if from.is_none() {
                let charge = now.charge.iter().chain([&left]).cloned().collect::<Vec<_>>();
                now.charge = Figure::sum("charge of the heat, heel included", &charge);
            }
            now.heels.push(Heel { crucible, left, from, to: None });
        }
    }
}

fn sessions(work: &Work, calendar: &Calendar, layout: &Layout, people: &[Id]) -> Vec<Session> {
    let mut by_day: BTreeMap<i64, Vec<(usize, Piece, bool)>> = BTreeMap::new();
    for (n, placed) in layout.items.iter().enumerate() {
        for &piece in &placed.pieces {
            by_day.entry(Calendar::day(piece.from)).or_default().push((n, piece, false));
        }
    }
    // Helpers are there from the lift to the last mould.
    for heat in &layout.heats {
        for pour in heat.moulds.iter().filter_map(|m| work.moulds[*m].items[1]) {
            for piece in &layout.items[pour].pieces {
                let from = piece.from.max(heat.pour);
                let help =
                    |person: &usize| (pour, Piece { person: *person, from, to: piece.to }, true);
                by_day.entry(Calendar::day(from)).or_default().extend(heat.hands.iter().map(help));
            }
        }
    }
    let mut windows: BTreeMap<i64, (Minute, Minute)> = BTreeMap::new();
    for w in calendar.people.iter().flatten() {
        let span = windows.entry(Calendar::day(w.from)).or_insert((w.from, w.to));
        *span = (span.0.min(w.from), span.1.max(w.to));
    }
    let sessions = by_day.into_iter().map(|(day, mut pieces)| {
        pieces.sort_by_key(|(n, p, helps)| (p.from, p.to, *n, *helps));
        let (opens, closes) = windows.get(&day).copied().unwrap_or_default();
        let blocks = pieces.into_iter().map(|(job, piece, helps)| Block {
            job,
            person: people[piece.person].clone(),
            helps,
            from: calendar.clock(piece.from),
            to: calendar.clock(piece.to),
        });
        Session {
            day: calendar.clock(opens).date(),
            opens: calendar.clock(opens),
            closes: calendar.clock(closes),
            blocks: blocks.collect(),
        }
    });
    sessions.collect()
}
