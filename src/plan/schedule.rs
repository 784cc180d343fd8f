//! A schedule: who does what, when, which moulds are poured from which heat, and why not earlier.

use super::Subject;
use super::calendar::{Calendar, Minute};
use super::next::next_name;
use super::place::{Layout, Piece};
use super::reasons::{Waited, reasons, slack};
use super::search::{Aim, Found};
use super::work::Work;
use crate::estimate;
use crate::figure::{Figure, Mass};
use crate::manifest::{Id, Step};
use crate::model::Build;
use chrono::{NaiveDate, NaiveDateTime};
use std::collections::{BTreeMap, BTreeSet};

/// Minutes from the end of a pour within which the next charge goes onto the heel, so that it does
/// not freeze in the pot. Common practice, no source.
pub const HEEL_WAITS: i64 = 30;

/// A day in the shop.
#[derive(Debug, Clone)]
pub struct Session {
    /// The day.
    pub day: NaiveDate,
    /// When the first person comes.
    pub opens: NaiveDateTime,
    /// When the last person leaves.
    pub closes: NaiveDateTime,
    /// The work of the day, by the clock.
    pub blocks: Vec<Block>,
}

/// An unbroken piece of a job, done by one person.
#[derive(Debug, Clone)]
pub struct Block {
    /// Index of the job.
    pub job: usize,
    /// Who.
    pub person: Id,
    /// Whether that is one who helps to lift and pour.
    pub helps: bool,
    /// From when.
    pub from: NaiveDateTime,
    /// Until when.
    pub to: NaiveDateTime,
}

/// A piece of work with its place in time.
#[derive(Debug, Clone)]
pub struct Job {
    /// On what.
    pub subject: Subject,
    /// Which step.
    pub step: Step,
    /// The mould, for ramming, pouring and shaking out; by index.
    pub mould: Option<usize>,
    /// When the work on it begins.
    pub start: NaiveDateTime,
    /// When the work on it is over.
    pub end: NaiveDateTime,
    /// When what waits for it can begin: after cooling, relieving or delivery.
    pub ready: NaiveDateTime,
    /// Minutes at the bench.
    pub minutes: Minute,
    /// The machine it is done on.
    pub machine: Option<Id>,
    /// Jobs that must be over before.
    pub after: Vec<usize>,
    /// What it waited for last.
    pub waited: Waited,
    /// Minutes by the clock that it could end later without moving the finish, all else in the
    /// same order.
    pub slack: Minute,
    /// Whether it is of the work that sets the finish.
    pub critical: bool,
}

/// A mould still to be made or poured.
#[derive(Debug, Clone)]
pub struct PlannedMould {
    /// Index of the part whose castings it holds.
    pub part: usize,
    /// Which mould of this part, from 1, counting only those to come; 0 for one that stands.
    pub nth: u32,
    /// Castings in it that the machine needs.
    pub castings: u32,
    /// Castings of other parts that stand in the same mould.
    pub others: Vec<(usize, u32)>,
    /// The flask it is rammed in.
    pub flask: Option<Id>,
    /// Metal poured into it.
    pub poured: Option<Figure<Mass>>,
    /// Metal charged for it.
    pub charge: Option<Figure<Mass>>,
    /// Sand rammed into it.
    pub sand: Option<Figure<Mass>>,
    /// When ramming begins, or began.
    pub rammed: NaiveDateTime,
    /// When it is empty again.
    pub shaken_out: NaiveDateTime,
    /// Index of its heat.
    pub heat: usize,
    /// The name of the mould in the journal, if it is rammed already.
    pub standing: Option<Id>,
}

impl PlannedMould {
    /// Castings of each part in it; the first leads.
    pub fn lots(&self) -> Vec<(usize, u32)> {
        [&[(self.part, self.castings)], &*self.others].concat()
    }
}

/// A melt, and what is poured from it.
#[derive(Debug, Clone)]
pub struct PlannedHeat {
    /// Its name: `H1`, `H2`, going on from those in the journal.
    pub name: Id,
    /// The alloy.
    pub alloy: Id,
    /// The crucible; two where a mould is poured from two at once.
    pub crucibles: Vec<Id>,
    /// The furnace.
    pub furnace: Id,
    /// When it is lit.
    pub lit: NaiveDateTime,
    /// When pouring begins.
    pub pour: NaiveDateTime,
    /// When pouring is over.
    pub over: NaiveDateTime,
    /// The moulds, in the order to pour them; by index.
    pub moulds: Vec<usize>,
    /// Metal to be charged: for all moulds, and for the heels that are not in the pots already.
    pub charge: Option<Figure<Mass>>,
    /// Metal that is left in the pots.
    pub heels: Vec<Heel>,
    /// People that the full pot asks for, lifted as the handbook says.
    pub people: Option<u32>,
    /// People who are there to lift and pour.
    pub hands: u32,
}

/// Metal that is left in a crucible after a pour. It stays molten where the very next heat of the
/// furnace is of the same alloy in the same pot, and begins within half an hour; else it is pigged
/// while it is hot, for a heel that froze in the pot may crack it when it is heated again. Common
/// practice.
#[derive(Debug, Clone)]
pub struct Heel {
    /// The crucible.
    pub crucible: Id,
    /// What is left.
    pub left: Figure<Mass>,
    /// The heat whose heel is in the pot when this one is charged.
    pub from: Option<Id>,
    /// The heat that it stays for; none where it is pigged.
    pub to: Option<Id>,
}

/// The work that is left, in time.
#[derive(Debug, Clone, Default)]
pub struct Schedule {
    /// Days in the shop with work in them, in order.
    pub sessions: Vec<Session>,
    /// Every piece of work that is left.
    pub jobs: Vec<Job>,
    /// Moulds to come.
    pub moulds: Vec<PlannedMould>,
    /// Heats to come, in order.
    pub heats: Vec<PlannedHeat>,
    /// When all that could be planned is finished, if nothing is cast again.
    pub finish: Option<NaiveDateTime>,
    /// The jobs that set the finish, in order.
    pub chain: Vec<usize>,
    /// No plan finishes before this.
    pub bound: Option<NaiveDateTime>,
    /// No plan has fewer heats.
    pub least_heats: usize,
    /// What came first when plans were compared.
    pub aim: Aim,
    /// Plans tried.
    pub tried: usize,
    /// Whether it is the plan in force, kept because no other gains enough.
    pub kept: bool,
    /// Why some of the work is not in it, in words.
    pub missing: Vec<String>,
}

impl Schedule {
    /// Days between its finish and the earliest that any plan could reach.
    pub fn gap_days(&self) -> Option<i64> {
        Some((self.finish?.date() - self.bound?.date()).num_days())
    }

    /// The index of a heat by its name.
    pub fn heat(&self, name: &str) -> Option<usize> {
        self.heats.iter().position(|h| *h.name == *name)
    }
}

/// Puts a plan that was found into words of the build.
pub(super) fn schedule(
    build: &Build,
    work: &Work,
    calendar: &Calendar,
    found: Found,
    aim: Aim,
) -> Schedule {
    let layout = &found.layout;
    let clock = |m: Minute| calendar.clock(m);
    let people: Vec<Id> = build.shop.people.keys().cloned().collect();
    let (waited, chain) = reasons(work, calendar, layout);
    let slack = slack(work, calendar, layout);
    let on_chain: BTreeSet<usize> = chain.iter().copied().collect();
    let jobs = work.items.iter().enumerate().map(|(n, item)| {
        let placed = &layout.items[n];
        Job {
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
            slack: slack[n],
            critical: on_chain.contains(&n),
        }
    });
    let jobs = jobs.collect();
    let mut order: Vec<usize> = (0..layout.heats.len()).collect();
    order.sort_by_key(|h| layout.heats[*h].lit);
    let mut taken: Vec<String> = build.history.heats.keys().map(ToString::to_string).collect();
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
        let name = next_name("H", taken.iter().map(|t| &**t));
        taken.push(name.clone());
        let metal = Figure::sum("charge of the heat", &charges);
        let casting =
            heat.moulds.first().and_then(|m| build.parts[work.moulds[*m].part].casting.as_ref());
        let crucibles: Vec<Id> = heat.pots.iter().filter_map(pot).collect();
        let people = casting.and_then(|c| {
            let pot = estimate::pot(build, c, &crucibles, metal.as_ref());
            pot.handling.crucible_people
        });
        heats.push(PlannedHeat {
            name: name.into(),
            alloy: work.alloys[alloy].clone(),
            crucibles,
            furnace: furnace.unwrap_or_default(),
            lit: clock(heat.lit),
            pour: clock(heat.pour),
            over: clock(heat.over),
            moulds: heat.moulds.clone(),
            charge: metal,
            heels: Vec::new(),
            people: people
                .map(|p| p.si() as u32)
                .max((heat.pots.len() > 1).then_some(heat.pots.len() as u32)),
            hands: 1 + heat.hands.len() as u32,
        });
    }
    keep_heels(build, &mut heats);
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
            rammed: clock(stood.or(placed(0).map(|p| p.start)).unwrap_or(0)),
            shaken_out: clock(placed(2).map_or(0, |p| p.end)),
            heat,
            standing: m.standing.as_ref().map(|s| s.0.clone()),
        }
    });
    let moulds = moulds.collect();
    let all_there = !work.items.is_empty();
    Schedule {
        sessions: sessions(work, calendar, layout, &people),
        jobs,
        moulds,
        heats,
        finish: all_there.then(|| clock(layout.finish())),
        chain,
        bound: all_there.then(|| clock(found.bound)),
        least_heats: found.least_heats,
        aim,
        tried: found.tried,
        kept: found.in_force,
        missing: work.missing.clone(),
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
