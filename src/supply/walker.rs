//! The walk itself: what happens in the plan, one thing after the other.

use super::flow::{End, Flow, Gates, Happens, Point, StockWalk, Walk};
use super::in_shop::InShop;
use super::past::Past;
use super::taking::{Castings, Packed, Pour, Taking};
use crate::estimate::{At, Estimates};
use crate::figure::Figure;
use crate::manifest::{Id, Step};
use crate::model::Build;
use crate::plan::{Job, PlannedHeat, PlannedMould, Schedule, Subject};
use chrono::NaiveDateTime;
use indexmap::IndexMap;
use std::collections::BTreeMap;

/// How far a mould is when the walk begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Stage {
    ToCome,
    Rammed,
    Poured,
    ShakenOut,
}

/// A mould on its way.
struct Mould {
    planned: PlannedMould,
    stage: Stage,
    /// What is poured into it, whatever the part is meant to be of.
    alloy: Option<Id>,
    pour: Pour,
    sand: Option<Packed>,
    cores: Option<Packed>,
    /// When its cores are made, where that is still to be done.
    cored: Option<NaiveDateTime>,
}

struct Walker<'a> {
    taking: Taking<'a>,
    schedule: &'a Schedule,
    moulds: Vec<Mould>,
    walk: Walk,
    /// What happens now.
    now: Option<Happens>,
}

/// Walks the plan, taking one end of every doubt. `bought` is added to the stocks at the start.
pub fn walk(
    build: &Build,
    estimates: &Estimates,
    schedule: &Schedule,
    (end, gates): (End, Gates),
    bought: &BTreeMap<Id, f64>,
) -> Walk {
    let past = Past::new(Taking { build, estimates, end }, &cored(build, schedule));
    walk_on(&past, schedule, gates, bought)
}

/// Walks the plan from what the journal left, at both ends of every doubt; none where it has no
/// mould to ram and no heat to pour.
pub(super) fn flow(shop: &InShop<'_>, schedule: &Schedule) -> Option<Flow> {
    if schedule.moulds.is_empty() && schedule.heats.is_empty() {
        return None;
    }
    let walk = |past, gates| walk_on(past, schedule, gates, &BTreeMap::new());
    let [least, likely, most] = &shop.0;
    Some(Flow {
        least: walk(least, Gates::AtFettling),
        likely: walk(likely, Gates::AtFettling),
        most: walk(most, Gates::AtFettling),
        early: walk(likely, Gates::AtShakingOut),
    })
}

/// Walks the plan from where the journal ends.
fn walk_on(past: &Past<'_>, schedule: &Schedule, gates: Gates, bought: &BTreeMap<Id, f64>) -> Walk {
    let taking = past.taking;
    let build = taking.build;
    let walk = Walk { stocks: IndexMap::new() };
    let mut walker = Walker { taking, schedule, moulds: Vec::new(), walk, now: None };
    walker.moulds = walker.moulds(past);
    let mut happenings: Vec<(NaiveDateTime, Happens)> = Vec::new();
    for (i, mould) in walker.moulds.iter().enumerate() {
        let planned = &mould.planned;
        if mould.stage < Stage::Rammed {
            happenings.push((planned.rammed, Happens::Rammed(i)));
            happenings.extend(mould.cored.map(|at| (at, Happens::Cored(i))));
        } else if planned.again {
            happenings.push((planned.rammed, Happens::Again(i)));
        }
        if mould.stage < Stage::ShakenOut {
            happenings.push((planned.shaken_out, Happens::ShakenOut(i)));
        }
        let off = match gates {
            Gates::AtFettling => fettled(schedule, planned),
            Gates::AtShakingOut => planned.shaken_out,
        };
        happenings.push((off, Happens::Fettled(i)));
    }
    for (i, heat) in schedule.heats.iter().enumerate() {
        happenings.push((heat.lit, Happens::Charged(i)));
        let left = !heat.heels.is_empty() || walker.left_over(heat) > 0.0;
        happenings.extend(left.then_some((heat.over, Happens::Pigged(i))));
    }
    happenings.sort();
    let first = happenings.first().map_or_else(|| build.today.into(), |(at, _)| *at);
    walker.open(first.min(build.today.into()), past, bought);
    for (at, happens) in happenings {
        walker.now = Some(happens);
        match happens {
            Happens::Cored(i) => walker.cored(at, i),
            Happens::Rammed(i) => walker.rammed(at, i),
            // Its sand is in it already.
            Happens::Again(i) => walker.use_all(at, i, At::Ramming),
            Happens::Charged(i) => walker.charged(at, &schedule.heats[i]),
            Happens::Pigged(i) => walker.pigged(at, &schedule.heats[i]),
            Happens::ShakenOut(i) => walker.shaken_out(at, i),
            Happens::Fettled(i) => walker.fettled(at, i),
        }
    }
    walker.walk
}

/// When the gates of a mould are off: at the end of the first fettling of each part in it that
/// begins after it is shaken out, or at shaking out where none is planned.
fn fettled(schedule: &Schedule, mould: &PlannedMould) -> NaiveDateTime {
    let first = |part: usize| {
        let jobs = of_part(schedule, part, Step::Fettle);
        jobs.filter(|job| job.start >= mould.shaken_out).map(|job| job.end).min()
    };
    let parts = mould.lots().into_iter().filter_map(|(part, _)| first(part));
    parts.max().unwrap_or(mould.shaken_out)
}

fn of_part(schedule: &Schedule, part: usize, step: Step) -> impl Iterator<Item = &Job> {
    let jobs = schedule.jobs.iter();
    jobs.filter(move |job| job.step == step && job.subject == Subject::Part(part))
}

/// When the cores of a mould to come are made, where that is still to be done.
fn coring(build: &Build, schedule: &Schedule, at: usize) -> Option<NaiveDateTime> {
    let mould = &schedule.moulds[at];
    let lots = mould.lots();
    // Cores in hand go into the first moulds.
    let to_make = |part: &usize| {
        let held = |m: &PlannedMould| match &m.standing {
            None => m.lots().iter().filter(|l| l.0 == *part).map(|l| l.1).sum(),
            Some(_) => 0,
        };
        let upto: u32 = schedule.moulds[..=at].iter().map(held).sum();
        upto > build.to_cast(*part).saturating_sub(build.to_core(*part))
    };
    let parts = lots.iter().map(|(part, _)| part).filter(|part| to_make(part));
    let jobs = parts.flat_map(|part| of_part(schedule, *part, Step::Core));
    // Before the mould is closed, whatever else of the part is cored later.
    jobs.map(|job| job.start).min().map(|at| at.min(mould.rammed))
}

/// The moulds to come whose cores are made, or that have none.
pub(super) fn cored(build: &Build, schedule: &Schedule) -> Vec<Vec<(usize, u32)>> {
    let to_come = schedule.moulds.iter().enumerate().filter(|(_, m)| m.standing.is_none());
    let made = to_come.filter(|(at, _)| coring(build, schedule, *at).is_none());
    made.map(|(_, m)| m.lots()).collect()
}

impl Walker<'_> {
    /// Every mould of the plan, and those of the journal that still hold sand or metal.
    fn moulds(&self, past: &Past<'_>) -> Vec<Mould> {
        let taking = self.taking;
        let mut out: Vec<Mould> = Vec::new();
        for (at, planned) in self.schedule.moulds.iter().enumerate() {
            let lots = planned.lots();
            let (stage, [sand, cores]) = match &planned.standing {
                Some(name) => (Stage::Rammed, past.packed(name)),
                None => {
                    let sand = taking.sand(&lots, planned.sand.as_ref());
                    (Stage::ToCome, [sand, taking.cores(&lots)])
                }
            };
            let poured = planned.poured.as_ref().map_or(0.0, |f| taking.used(f));
            let castings = taking.castings(&taking.cavities(&lots));
            let pour = Pour { poured, castings: castings.min(poured) };
            let cored = coring(taking.build, self.schedule, at);
            let alloy = self.meant(planned);
            out.push(Mould { planned: planned.clone(), stage, alloy, pour, sand, cores, cored });
        }
        for attempt in taking.build.history.attempts.values() {
            let Some((alloy, pour)) = past.unfettled(&attempt.mould) else { continue };
            let Some(&(part, castings)) = attempt.castings.first() else { continue };
            let today: NaiveDateTime = taking.build.today.into();
            let shake = of_part(self.schedule, part, Step::ShakeOut).map(|job| job.end).min();
            let planned = PlannedMould {
                part,
                nth: 0,
                castings,
                others: attempt.castings[1..].to_vec(),
                flask: None,
                poured: None,
                charge: None,
                sand: None,
                rammed: attempt.rammed,
                shaken_out: attempt.shaken_out.or(shake).unwrap_or(today).max(today),
                heat: usize::MAX,
                standing: Some(attempt.mould.clone()),
                again: false,
            };
            let stage = if attempt.shaken_out.is_some() { Stage::ShakenOut } else { Stage::Poured };
            let [sand, cores] = past.packed(&attempt.mould);
            let alloy = Some(alloy);
            out.push(Mould { planned, stage, alloy, pour, sand, cores, cored: None });
        }
        out
    }

    fn meant(&self, mould: &PlannedMould) -> Option<Id> {
        Some(self.taking.build.parts[mould.part].casting.as_ref()?.alloy.id.clone())
    }

    /// Metal charged for the moulds of a heat.
    fn for_moulds(&self, heat: &PlannedHeat) -> f64 {
        let moulds = heat.moulds.iter().map(|i| &self.schedule.moulds[*i]);
        moulds.filter_map(|m| m.charge.as_ref()).map(|f| self.taking.used(f)).sum()
    }

    /// Metal charged for a heat, never less than what is poured of it and left in the pot.
    fn charge(&self, heat: &PlannedHeat) -> f64 {
        let heel = self.fresh_heel(heat);
        let single = || self.for_moulds(heat) + heel;
        let charge = heat.charge.as_ref().map_or_else(single, |f| self.taking.used(f));
        charge.max(self.poured(heat) + heel)
    }

    /// Metal that is laid in for a heat: enough for the most that its moulds may take, whatever they
    /// take then.
    fn laid_in(&self, heat: &PlannedHeat) -> f64 {
        heat.charge.as_ref().map_or(0.0, Figure::safe).max(self.charge(heat))
    }

    /// What is left of it beside the heel, less what melting takes: it is pigged.
    fn left_over(&self, heat: &PlannedHeat) -> f64 {
        let charge = self.charge(heat);
        let kept = self.poured(heat) + self.fresh_heel(heat);
        if charge > 0.0 { (self.laid_in(heat) - charge) * kept / charge } else { 0.0 }
    }

    /// Heel of a heat that must be charged for it: none is in the pot from the heat before.
    fn fresh_heel(&self, heat: &PlannedHeat) -> f64 {
        let fresh = heat.heels.iter().filter(|heel| heel.from.is_none());
        fresh.map(|heel| self.taking.used(&heel.left)).sum()
    }

    fn poured(&self, heat: &PlannedHeat) -> f64 {
        heat.moulds.iter().map(|i| self.moulds[*i].pour.poured).sum()
    }

    /// What a heat takes beside metal and fuel.
    fn fluxes(&self, heat: &PlannedHeat, charge: f64) -> Vec<(Id, f64)> {
        let first = heat.moulds.first().map(|i| self.schedule.moulds[*i].lots());
        first.map(|lots| self.taking.fluxes(&lots, charge)).unwrap_or_default()
    }

    /// Fuel of a heat in its furnace.
    fn fuel(&self, heat: &PlannedHeat) -> Option<(Id, f64)> {
        let furnace = self.taking.build.shop.furnaces.get(&heat.furnace)?;
        let lots = heat.moulds.iter().map(|i| self.schedule.moulds[*i].lots());
        let lots: Vec<Vec<(usize, u32)>> = lots.collect();
        // A heel that is charged takes its share of heat like the rest.
        let metal = self.for_moulds(heat);
        let heel = if metal > 0.0 { self.fresh_heel(heat) / metal } else { 0.0 };
        let burnt = self.taking.fuel(&heat.furnace, &lots, heel, !heat.hot)?;
        Some((furnace.fuel.clone(), burnt))
    }

    /// Every stock that the plan takes from, as it is at the start.
    fn open(&mut self, at: NaiveDateTime, past: &Past<'_>, bought: &BTreeMap<Id, f64>) {
        let mut names: Vec<Id> = self.schedule.heats.iter().map(|h| h.alloy.clone()).collect();
        let alloys = &self.taking.build.handbook.alloys;
        names.extend(past.stocks.keys().filter(|name| alloys.contains_key(*name)).cloned());
        let used_up =
            |lots: &Castings, at| self.taking.used_up(lots, at).into_iter().map(|(n, _)| n);
        for mould in &self.moulds {
            let lots = mould.planned.lots();
            names.extend(mould.alloy.clone());
            names.extend(mould.sand.iter().map(|sand| sand.of.clone()));
            for at in [At::ShakingOut, At::Ramming] {
                names.extend(used_up(&lots, at));
            }
        }
        names.extend(self.schedule.heats.iter().filter_map(|h| self.fuel(h)).map(|(name, _)| name));
        names.extend(self.schedule.heats.iter().flat_map(|h| self.fluxes(h, 0.0)).map(|(n, _)| n));
        for mould in &self.moulds {
            if let Some(cores) = &mould.cores {
                names.extend(used_up(&mould.planned.lots(), At::Coring));
                names.push(cores.of.clone());
            }
        }
        for name in names {
            let bought = bought.get(&name).copied().unwrap_or(0.0);
            let past = past.stocks.get(&name).cloned().unwrap_or_default();
            let mut start = past.now;
            start.stock += bought;
            let put_in = past.put_in + bought;
            let new = || StockWalk { points: vec![(at, start)], put_in, ..Default::default() };
            self.walk.stocks.entry(name).or_insert_with(new);
        }
    }

    /// Something happens to a stock.
    fn happen(&mut self, at: NaiveDateTime, name: &Id, change: impl FnOnce(&mut Point)) {
        let Some(walk) = self.walk.stocks.get_mut(name) else { return };
        let mut point = walk.points.last().map_or_else(Point::default, |(_, p)| *p);
        let before = point.stock;
        change(&mut point);
        walk.taken += (before - point.stock).max(0.0);
        walk.came_back += (point.stock - before).max(0.0);
        walk.points.push((at, point));
        walk.by.extend(self.now);
    }

    /// Something is used up.
    fn uses(&mut self, at: NaiveDateTime, name: &Id, mass: f64) {
        self.happen(at, name, |p| {
            p.stock -= mass;
            p.lost += mass;
        });
    }

    fn use_all(&mut self, at: NaiveDateTime, mould: usize, work: At) {
        for (name, mass) in self.taking.used_up(&self.moulds[mould].planned.lots(), work) {
            self.uses(at, &name, mass);
        }
    }

    fn cored(&mut self, at: NaiveDateTime, mould: usize) {
        let Some(cores) = self.moulds[mould].cores.clone() else { return };
        self.happen(at, &cores.of, |p| cores.pack(p));
        self.use_all(at, mould, At::Coring);
    }

    fn rammed(&mut self, at: NaiveDateTime, mould: usize) {
        if let Some(sand) = self.moulds[mould].sand.clone() {
            self.happen(at, &sand.of, |p| sand.pack(p));
        }
        self.use_all(at, mould, At::Ramming);
    }

    fn charged(&mut self, at: NaiveDateTime, heat: &PlannedHeat) {
        let (charge, poured) = (self.laid_in(heat), self.poured(heat));
        let kept = self.fresh_heel(heat) + self.left_over(heat);
        let Taking { build, end, .. } = self.taking;
        let alloy = build.handbook.alloys.get(&heat.alloy);
        let share = alloy.and_then(|a| a.returns_share.as_ref());
        let share = share.map_or(0.0, |s| end.saves(s.node().range()));
        let mut again = 0.0;
        self.happen(at, &heat.alloy, |p| {
            again = p.returns.min(charge * share);
            p.returns -= again;
            p.stock -= charge - again;
            p.in_moulds += poured + kept;
            p.lost += charge - poured - kept;
        });
        if let Some(walk) = self.walk.stocks.get_mut(&heat.alloy) {
            walk.melted_again += again;
        }
        // By what the moulds take, as sheet and risk have it; what is laid in beyond that lies within
        // the range of both.
        let fluxes = self.fluxes(heat, self.charge(heat));
        let used = self.fuel(heat).into_iter().chain(fluxes);
        for (name, mass) in used.collect::<Vec<_>>() {
            self.uses(at, &name, mass);
        }
    }

    /// What is left over, and does not stay in the pot for another heat, is pigged, to be melted again.
    fn pigged(&mut self, at: NaiveDateTime, heat: &PlannedHeat) {
        let over = heat.heels.iter().filter(|heel| heel.to.is_none());
        let heel: f64 = over.map(|heel| self.taking.used(&heel.left)).sum();
        let pigs = heel + self.left_over(heat);
        self.happen(at, &heat.alloy, |p| {
            p.in_moulds -= pigs;
            p.returns += pigs;
        });
    }

    fn shaken_out(&mut self, at: NaiveDateTime, mould: usize) {
        let Mould { sand, cores, .. } = &self.moulds[mould];
        let packed: Vec<Packed> = sand.iter().chain(cores).cloned().collect();
        for sand in packed {
            self.happen(at, &sand.of, |p| sand.empty(p));
        }
        self.use_all(at, mould, At::ShakingOut);
    }

    fn fettled(&mut self, at: NaiveDateTime, mould: usize) {
        let Mould { alloy, pour, .. } = &self.moulds[mould];
        let (Some(alloy), pour) = (alloy.clone(), *pour) else { return };
        let back = self.taking.end.saves(self.taking.build.handbook.fettled.node().range());
        self.happen(at, &alloy, |p| pour.fettle(p, back));
    }
}
