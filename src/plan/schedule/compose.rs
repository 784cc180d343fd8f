//! A plan that was found, in words of the build.

use super::charge::{room, to_charge};
use super::lifts::{lifts, too_heavy};
use super::names::next_name;
use super::record::{Block, Does, Heel, Job, PlannedHeat, PlannedMould, Schedule, Session};
use super::stale::{overlong, stale};
use crate::figure::Figure;
use crate::manifest::Id;
use crate::model::Build;
use crate::plan::calendar::{Calendar, Minute};
use crate::plan::promise::names_of_today;
use crate::plan::reasons::{Waited, reasons, slack};
use crate::plan::search::{Aim, Found, Layout, Piece, PlacedHeat};
use crate::plan::work::{Limits, Mould, Work, in_pots};
use std::collections::{BTreeMap, BTreeSet};

/// Minutes from the end of a pour within which the next charge goes onto the heel, so that it does
/// not freeze in the pot. Common practice, no source.
pub const HEEL_WAITS: i64 = 30;

/// A plan that was found, beside what it was made for.
struct Composer<'a> {
    build: &'a Build,
    work: &'a Work,
    limits: &'a Limits,
    calendar: &'a Calendar,
    layout: &'a Layout,
}

/// Puts a plan that was found into words of the build; its heats, by the clock, keep the names that
/// they were promised by.
pub(crate) fn schedule(
    build: &Build,
    (work, limits, calendar): (&Work, &Limits, &Calendar),
    found: &Found,
    (aim, names): (Aim, Vec<Option<Id>>),
) -> Schedule {
    let layout = &found.layout;
    let composer = Composer { build, work, limits, calendar, layout };
    let (waited, chain) = reasons((work, limits, calendar), &found.candidate, layout);
    let heats = composer.heats(&names);
    let moulds = composer.moulds(&heats);
    let (any, whole) = (!work.items.is_empty(), work.missing.is_empty());
    let finish = any.then(|| calendar.clock(layout.finish()));
    Schedule {
        little_sand: super::sand::little_sand(build, (work, limits, calendar), &heats),
        sessions: composer.sessions(),
        jobs: composer.jobs(&waited, &chain),
        too_heavy: too_heavy(build, limits, &moulds, &heats),
        overlong: overlong(build, work, layout),
        moulds,
        heats,
        finish: finish.filter(|_| whole),
        rest: finish.filter(|_| !whole),
        chain,
        bound: any.then(|| calendar.clock(found.bound)),
        least_heats: found.least_heats,
        aim,
        tried: found.tried,
        cut_short: found.cut_short,
        kept: found.in_force,
        stale: stale(build, work),
        missing: work.missing.clone(),
        waiting: work.waiting.iter().copied().collect(),
        ..Schedule::default()
    }
}

impl Composer<'_> {
    fn jobs(&self, waited: &[Waited], chain: &[usize]) -> Vec<Job> {
        let clock = |m: Minute| self.calendar.clock(m);
        let slack = slack(self.work, self.calendar, self.layout);
        let on_chain: BTreeSet<usize> = chain.iter().copied().collect();
        let machine = |m: usize| self.build.machines.get_index(m).map(|(id, _)| id.clone());
        let names = names_of_today(self.build, self.work).into_iter();
        let items = names.zip(&self.work.items).zip(&self.layout.items).enumerate();
        let jobs = items.map(|(n, ((name, item), placed))| Job {
            name,
            subject: item.subject,
            step: item.step,
            mould: item.mould,
            start: clock(placed.start),
            end: clock(placed.end),
            ready: clock(placed.ready),
            minutes: placed.pieces.iter().map(|p| p.to - p.from).sum(),
            machine: item.machine.and_then(machine),
            after: item.before.clone(),
            waited: waited[n],
            awaits: item.awaits.map(|(i, _)| {
                let awaited = &self.work.awaited[i];
                (awaited.of.clone(), awaited.until)
            }),
            slack: slack[n],
            critical: on_chain.contains(&n),
        });
        jobs.collect()
    }

    /// Heats by the clock.
    fn heats(&self, names: &[Option<Id>]) -> Vec<PlannedHeat> {
        let mut order: Vec<&PlacedHeat> = self.layout.heats.iter().collect();
        order.sort_by_key(|heat| heat.lit);
        let journal = self.build.history.heats.keys();
        let mut taken: Vec<Id> = journal.chain(names.iter().flatten()).cloned().collect();
        let name = |name: Option<&Option<Id>>| {
            name.cloned().flatten().unwrap_or_else(|| {
                let name: Id = next_name("H", taken.iter().map(|t| &**t)).into();
                taken.push(name.clone());
                name
            })
        };
        let named: Vec<Id> = (0..order.len()).map(|place| names.get(place)).map(name).collect();
        let heats = order.into_iter().zip(named);
        let mut heats: Vec<PlannedHeat> = heats.map(|(heat, name)| self.heat(heat, name)).collect();
        keep_heels(self.build, &mut heats);
        for heat in &mut heats {
            let alloy = self.build.handbook.alloys.get(&heat.alloy);
            let room =
                alloy.and_then(|alloy| room(self.build, alloy, &heat.crucibles, &heat.heels));
            heat.charge = heat.charge.as_ref().map(|takes| to_charge(takes, room));
        }
        heats
    }

    fn heat(&self, heat: &PlacedHeat, name: Id) -> PlannedHeat {
        let shop = &self.build.shop;
        let clock = |m: Minute| self.calendar.clock(m);
        let inside: Vec<&Mould> = heat.moulds.iter().map(|m| &self.work.moulds[*m]).collect();
        let pot = |i: &usize| shop.crucibles.get_index(*i).map(|(id, _)| id.clone());
        let crucibles: Vec<Id> = heat.pots.iter().filter_map(pot).collect();
        let (lifts, people) = lifts(self.limits, &in_pots(&inside, &heat.pots), &crucibles);
        let furnace = shop.furnaces.get_index(heat.furnace).map(|(id, _)| id.clone());
        let charges: Vec<_> = inside.iter().filter_map(|m| m.figures[1].clone()).collect();
        PlannedHeat {
            name,
            alloy: self.work.alloys[inside.first().map_or(0, |m| m.alloy)].clone(),
            crucibles,
            furnace: furnace.unwrap_or_default(),
            lit: clock(heat.lit),
            hot: heat.hot,
            pour: clock(heat.pour),
            over: clock(heat.over),
            moulds: heat.moulds.clone(),
            charge: Figure::sum("charge of the heat", &charges),
            heels: Vec::new(),
            people,
            lifts,
            hands: 1 + heat.hands.len() as u32,
        }
    }

    /// The moulds, each with the place of its heat among these.
    fn moulds(&self, heats: &[PlannedHeat]) -> Vec<PlannedMould> {
        let heat_of = |m: usize| heats.iter().position(|heat| heat.moulds.contains(&m));
        let moulds = self.work.moulds.iter().enumerate().map(|(n, m)| {
            let placed = |i: usize| m.items[i].map(|n| &self.layout.items[n]);
            let [poured, charge, sand] = m.figures.clone();
            let stood = m.standing.as_ref().map(|s| s.1);
            let flask = m.flask.and_then(|f| self.build.shop.flasks.get_index(f));
            let rammed = placed(0).map(|p| p.start).or(stood).unwrap_or(0);
            PlannedMould {
                part: m.part,
                nth: m.nth,
                castings: m.castings,
                others: m.others.clone(),
                flask: flask.map(|(id, _)| id.clone()),
                poured,
                charge,
                sand,
                rammed: self.calendar.clock(rammed),
                shaken_out: self.calendar.clock(placed(2).map_or(0, |p| p.end)),
                heat: heat_of(n).unwrap_or(0),
                standing: m.standing.as_ref().map(|s| s.0.clone()),
                again: m.rammed_again().is_some(),
            }
        });
        moulds.collect()
    }

    fn sessions(&self) -> Vec<Session> {
        let mut by_day: BTreeMap<i64, Vec<(usize, Piece, Does)>> = BTreeMap::new();
        let mut add = |n: usize, piece: Piece, does: Does| {
            by_day.entry(Calendar::day(piece.from)).or_default().push((n, piece, does));
        };
        for (n, placed) in self.layout.items.iter().enumerate() {
            placed.pieces.iter().for_each(|piece| add(n, *piece, Does::Work));
        }
        for heat in &self.layout.heats {
            // Helpers are there from the lift to the last mould.
            for pour in heat.moulds.iter().filter_map(|m| self.work.moulds[*m].items[1]) {
                for piece in &self.layout.items[pour].pieces {
                    let from = piece.from.max(heat.pour);
                    let help = |person: &usize| Piece { person: *person, from, to: piece.to };
                    heat.hands.iter().map(help).for_each(|piece| add(pour, piece, Does::Help));
                }
            }
        }
        for piece in &self.layout.clear_ups {
            let mine = |heat: &&PlacedHeat| {
                heat.person == piece.person && Calendar::day(heat.melt) == Calendar::day(piece.from)
            };
            let last = self.layout.heats.iter().filter(mine).max_by_key(|heat| heat.over);
            let pour = last.and_then(|h| self.work.moulds[*h.moulds.last()?].items[1]);
            pour.into_iter().for_each(|pour| add(pour, *piece, Does::ClearUp));
        }
        let mut windows: BTreeMap<i64, (Minute, Minute)> = BTreeMap::new();
        for w in self.calendar.people.iter().flatten() {
            let span = windows.entry(Calendar::day(w.from)).or_insert((w.from, w.to));
            *span = (span.0.min(w.from), span.1.max(w.to));
        }
        let clock = |m: Minute| self.calendar.clock(m);
        let people: Vec<&Id> = self.build.shop.people.keys().collect();
        let sessions = by_day.into_iter().map(|(day, mut pieces)| {
            pieces.sort_by_key(|(n, p, does)| (p.from, p.to, *n, *does != Does::Work));
            let (opens, closes) = windows.get(&day).copied().unwrap_or_default();
            let blocks = pieces.into_iter().map(|(job, piece, does)| Block {
                job,
                person: people[piece.person].clone(),
                does,
                from: clock(piece.from),
                to: clock(piece.to),
            });
            Session {
                day: clock(opens).date(),
                opens: clock(opens),
                closes: clock(closes),
                blocks: blocks.collect(),
            }
        });
        sessions.collect()
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
