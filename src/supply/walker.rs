//! The walk itself: what happens in the plan, one thing after the other.

use super::flow::{End, Gates, Point, StockWalk, Walk};
use super::past::{Past, casting};
use crate::build::Build;
use crate::estimate::{At, Estimates, Takes, warm_up};
use crate::figure::{Figure, Mass};
use crate::handbook::Sand;
use crate::handbook::formulas::heat;
use crate::journal::Event;
use crate::manifest::{Id, Step};
use crate::plan::{Job, PlannedHeat, PlannedMould, Schedule, Subject};
use chrono::NaiveDateTime;
use indexmap::IndexMap;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Name of the stock of returns of an alloy: count them under it.
pub fn returns_of(alloy: &str) -> Id {
    format!("{alloy}-returns").into()
}

/// The metal of a mould at one end of its doubt.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pour {
    /// Poured, kg.
    pub poured: f64,
    /// Of that in castings, kg.
    pub castings: f64,
}

impl Pour {
    /// Gates and feeders come off; `back` of them is melted again.
    pub fn fettle(self, point: &mut Point, back: f64) {
        let gates = self.poured - self.castings;
        point.in_moulds -= self.poured;
        point.castings += self.castings;
        point.returns += gates * back;
        point.lost += gates * (1.0 - back);
    }
}

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
    pour: Pour,
    /// When its cores are made, where that is still to be done.
    cored: Option<NaiveDateTime>,
}

/// Something that happens; what comes back goes before what is taken at the same moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Happens {
    Fettled(usize),
    Pigged(usize),
    ShakenOut(usize),
    Cored(usize),
    Rammed(usize),
    Charged(usize),
}

struct Walker<'a> {
    build: &'a Build,
    estimates: &'a Estimates,
    schedule: &'a Schedule,
    end: End,
    moulds: Vec<Mould>,
    walk: Walk,
}

/// Walks the plan, taking one end of every doubt. `bought` is added to the stocks at the start.
pub fn walk(
    build: &Build,
    estimates: &Estimates,
    schedule: &Schedule,
    (end, gates): (End, Gates),
    bought: &BTreeMap<Id, f64>,
) -> Walk {
    let past = Past::new(build, estimates, end);
    let walk = Walk { stocks: IndexMap::new() };
    let mut walker = Walker { build, estimates, schedule, end, moulds: Vec::new(), walk };
    walker.moulds = walker.moulds(&past);
    let mut happenings: Vec<(NaiveDateTime, Happens)> = Vec::new();
    for (i, mould) in walker.moulds.iter().enumerate() {
        let planned = &mould.planned;
        if mould.stage < Stage::Rammed {
            happenings.push((planned.rammed, Happens::Rammed(i)));
            happenings.extend(mould.cored.map(|at| (at, Happens::Cored(i))));
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
        happenings.extend((!heat.heels.is_empty()).then_some((heat.over, Happens::Pigged(i))));
    }
    happenings.sort();
    let first = happenings.first().map_or_else(|| build.today.into(), |(at, _)| *at);
    walker.open(first.min(build.today.into()), &past, bought);
    for (at, happens) in happenings {
        match happens {
            Happens::Cored(i) => walker.cored(at, i),
            Happens::Rammed(i) => walker.rammed(at, i),
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

/// Whether a furnace is cold when a heat is lit: the first of its day.
pub(super) fn is_cold(schedule: &Schedule, heat: &PlannedHeat) -> bool {
    let same = |h: &&PlannedHeat| h.furnace == heat.furnace && h.lit.date() == heat.lit.date();
    !schedule.heats.iter().filter(same).any(|h| h.over <= heat.lit)
}

impl Walker<'_> {
    fn used(&self, figure: &Figure<Mass>) -> f64 {
        self.end.used(figure.node().range())
    }

    /// Every mould of the plan, and those of the journal that still hold sand or metal.
    fn moulds(&self, past: &Past) -> Vec<Mould> {
        let mut out: Vec<Mould> = Vec::new();
        for planned in &self.schedule.moulds {
            let stage = if planned.standing.is_some() { Stage::Rammed } else { Stage::ToCome };
            let cores = planned.lots().into_iter();
            let cores = cores.flat_map(|(part, _)| of_part(self.schedule, part, Step::Core));
            let cores = cores.map(|job| job.start).min();
            // Cores are made before the mould is closed, whatever else of the part is cored later.
            let cored = cores.map(|at| at.min(planned.rammed));
            out.push(Mould { pour: self.pour(planned), planned: planned.clone(), stage, cored });
        }
        for attempt in self.build.history.attempts.values() {
            let Some(pour) = past.unfettled(&attempt.mould) else { continue };
            let Some(&(part, castings)) = attempt.castings.first() else { continue };
            let today: NaiveDateTime = self.build.today.into();
            let shake = of_part(self.schedule, part, Step::ShakeOut).map(|job| job.end).min();
            let estimate = self.estimates.mould(self.build, &attempt.castings);
            let planned = PlannedMould {
                part,
                nth: 0,
                castings,
                others: attempt.castings[1..].to_vec(),
                flask: None,
                poured: None,
                charge: None,
                sand: estimate.and_then(|m| m.sand.clone()),
                rammed: attempt.rammed,
                shaken_out: attempt.shaken_out.or(shake).unwrap_or(today).max(today),
                heat: usize::MAX,
                standing: Some(attempt.mould.clone()),
            };
            let stage = if attempt.shaken_out.is_some() { Stage::ShakenOut } else { Stage::Poured };
            out.push(Mould { planned, stage, pour, cored: None });
        }
        out
    }

    fn alloy(&self, mould: &PlannedMould) -> Option<Id> {
        Some(self.build.parts[mould.part].casting.as_ref()?.alloy.id.clone())
    }

    fn sand(&self, mould: &PlannedMould) -> Option<(Id, Arc<Sand>)> {
        let casting = self.build.parts[mould.part].casting.as_ref()?;
        let sand = self.build.patterns[casting.pattern].sand.clone()?;
        Some((self.build.sand_stock(&sand), sand))
    }

    /// Sand of the cores of a mould, kg.
    fn core_sand(&self, mould: &PlannedMould) -> Option<(Id, Arc<Sand>, f64)> {
        let sand = self.build.core_sand.clone()?;
        let mass: f64 = self
            .cavities(mould)
            .into_iter()
            .map(|(part, n)| {
                let estimate = self.estimates.castings[part].as_ref();
                let of = |e: &crate::estimate::CastingEstimate| {
                    Some(
                        self.used(e.mould.core_sand.as_ref()?) / f64::from(e.mould.cavities.max(1)),
                    )
                };
                estimate.and_then(of).unwrap_or(0.0) * f64::from(n)
            })
            .sum();
        (mass > 0.0).then(|| (self.build.sand_stock(&sand), sand, mass))
    }

    /// Parts in a mould and how many of each. Every cavity is filled, whether the machine needs
    /// the casting or it lies by as a spare.
    fn cavities(&self, mould: &PlannedMould) -> Vec<(usize, u32)> {
        let lots = mould.lots();
        let pattern = |part: usize| self.build.parts[part].casting.as_ref().map(|c| c.pattern);
        let filled = |&(part, n): &(usize, u32)| {
            let alone = lots.iter().filter(|l| pattern(l.0) == pattern(part)).count() == 1;
            let estimate = self.estimates.castings[part].as_ref().filter(|_| alone);
            (part, estimate.map_or(0, |e| e.mould.cavities).max(n))
        };
        lots.iter().map(filled).collect()
    }

    fn takes(&self, mould: &PlannedMould, at: At) -> Vec<(Id, f64)> {
        let estimate = self.estimates.mould(self.build, &mould.lots());
        let takes = estimate.map_or(&[] as &[Takes], |m| &m.takes);
        let known = takes.iter().filter(|t| t.at == at);
        known.filter_map(|t| Some((t.of.clone(), self.used(t.mass.as_ref().ok()?)))).collect()
    }

    fn pour(&self, mould: &PlannedMould) -> Pour {
        let poured = mould.poured.as_ref().map_or(0.0, |f| self.used(f));
        let each = |(part, n): (usize, u32)| casting(self.estimates, part, self.end) * f64::from(n);
        let castings: f64 = self.cavities(mould).into_iter().map(each).sum();
        Pour { poured, castings: castings.min(poured) }
    }

    /// Metal charged for the moulds of a heat.
    fn for_moulds(&self, heat: &PlannedHeat) -> f64 {
        let moulds = heat.moulds.iter().map(|i| &self.schedule.moulds[*i]);
        moulds.filter_map(|m| m.charge.as_ref()).map(|f| self.used(f)).sum()
    }

    /// Metal charged for a heat, never less than what is poured of it and left in the pot.
    fn charge(&self, heat: &PlannedHeat) -> f64 {
        let heel = self.fresh_heel(heat);
        let single = || self.for_moulds(heat) + heel;
        heat.charge.as_ref().map_or_else(single, |f| self.used(f)).max(self.poured(heat) + heel)
    }

    /// Heel of a heat that must be charged for it: none is in the pot from the heat before.
    fn fresh_heel(&self, heat: &PlannedHeat) -> f64 {
        let fresh = heat.heels.iter().filter(|heel| heel.from.is_none());
        fresh.map(|heel| self.used(&heel.left)).sum()
    }

    fn poured(&self, heat: &PlannedHeat) -> f64 {
        heat.moulds.iter().map(|i| self.moulds[*i].pour.poured).sum()
    }

    /// What a heat takes beside metal and fuel.
    fn fluxes(&self, heat: &PlannedHeat, charge: f64) -> Vec<(Id, f64)> {
        let Some(first) = heat.moulds.first() else { return Vec::new() };
        let lots = self.schedule.moulds[*first].lots();
        let estimate = self.estimates.mould(self.build, &lots);
        let takes = estimate.map_or(&[] as &[Takes], |m| &m.takes);
        let share = |t: &Takes| Some(self.end.used(t.of_metal.as_ref()?.node().range()));
        takes.iter().filter_map(|t| Some((t.of.clone(), charge * share(t)?))).collect()
    }

    /// Every stock that the plan takes from, as it is at the start.
    fn open(&mut self, at: NaiveDateTime, past: &Past, bought: &BTreeMap<Id, f64>) {
        let mut names: Vec<Id> = self.schedule.heats.iter().map(|h| h.alloy.clone()).collect();
        names.extend(past.metals.keys().cloned());
        for mould in &self.moulds {
            names.extend(self.alloy(&mould.planned));
            names.extend(self.sand(&mould.planned).map(|(name, _)| name));
            for at in [At::ShakingOut, At::Ramming] {
                names.extend(self.takes(&mould.planned, at).into_iter().map(|(name, _)| name));
            }
        }
        names.extend(self.schedule.heats.iter().filter_map(|h| self.fuel(h)).map(|(name, _)| name));
        names.extend(self.schedule.heats.iter().flat_map(|h| self.fluxes(h, 0.0)).map(|(n, _)| n));
        for mould in &self.moulds {
            let core = self.core_sand(&mould.planned);
            if core.is_some() {
                names.extend(self.takes(&mould.planned, At::Coring).into_iter().map(|(n, _)| n));
            }
            names.extend(core.map(|(name, ..)| name));
        }
        for name in names {
            let bought = bought.get(&name).copied().unwrap_or(0.0);
            let mut start = Point::default();
            let mut put_in = bought;
            if let Some(metal) = past.metals.get(&name) {
                start = metal.now;
                put_in += metal.put_in;
            } else {
                start.stock = self.build.history.stock.get(&name).copied().unwrap_or(0.0).max(0.0);
                put_in += start.stock;
            }
            start.stock += bought;
            let new = || StockWalk { points: vec![(at, start)], put_in, ..Default::default() };
            self.walk.stocks.entry(name).or_insert_with(new);
        }
        self.standing_sand();
    }

    /// Sand that is in moulds and cores when the walk begins. It is part of the ledger's heap
    /// unless the heap was counted since.
    fn standing_sand(&mut self) {
        let mut held: Vec<(Id, NaiveDateTime, f64)> = Vec::new();
        for mould in self.moulds.iter().filter(|m| m.stage < Stage::ShakenOut) {
            let planned = &mould.planned;
            if mould.stage >= Stage::Rammed
                && let (Some((name, _)), Some(sand)) = (self.sand(planned), &planned.sand)
            {
                held.push((name, planned.rammed, self.used(sand)));
            }
            if (mould.stage >= Stage::Rammed || mould.cored.is_none())
                && let Some((name, _, mass)) = self.core_sand(planned)
            {
                held.push((name, planned.rammed.min(self.build.today.into()), mass));
            }
        }
        // What is not on the heap by the ledger was there besides.
        let mut heaps: BTreeMap<Id, f64> = BTreeMap::new();
        for (name, since, mass) in held {
            let ledger = self.build.history.stock.get(&name).copied().unwrap_or(0.0).max(0.0);
            let heap = heaps.entry(name.clone()).or_insert(ledger);
            let mut log = self.build.history.log.iter().rev().take_while(|e| e.at >= since);
            let of_it = |e: &Event| matches!(e, Event::Counted(c) if c.stock.value == name);
            let from_heap = if log.any(|e| of_it(&e.event)) { 0.0 } else { mass.min(*heap) };
            *heap -= from_heap;
            let Some(walk) = self.walk.stocks.get_mut(&name) else { continue };
            walk.put_in += mass - from_heap;
            walk.points[0].1.stock -= from_heap;
            walk.points[0].1.in_moulds += mass;
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
    }

    /// Something is used up.
    fn uses(&mut self, at: NaiveDateTime, name: &Id, mass: f64) {
        self.happen(at, name, |p| {
            p.stock -= mass;
            p.lost += mass;
        });
    }

    fn use_all(&mut self, at: NaiveDateTime, mould: usize, work: At) {
        for (name, mass) in self.takes(&self.moulds[mould].planned, work) {
            self.uses(at, &name, mass);
        }
    }

    fn packed(&mut self, at: NaiveDateTime, name: &Id, mass: f64) {
        self.happen(at, name, |p| {
            p.stock -= mass;
            p.in_moulds += mass;
        });
    }

    fn emptied(&mut self, at: NaiveDateTime, (name, sand): (&Id, &Sand), mass: f64) {
        let lost = mass * sand.loss.as_ref().map_or(0.0, |l| self.end.used(l.node().range()));
        self.happen(at, name, |p| {
            p.in_moulds -= mass;
            p.stock += mass - lost;
            p.lost += lost;
        });
    }

    fn cored(&mut self, at: NaiveDateTime, mould: usize) {
        let Some((name, _, mass)) = self.core_sand(&self.moulds[mould].planned) else { return };
        self.packed(at, &name, mass);
        self.use_all(at, mould, At::Coring);
    }

    fn rammed(&mut self, at: NaiveDateTime, mould: usize) {
        let planned = &self.moulds[mould].planned;
        if let (Some((name, _)), Some(sand)) = (self.sand(planned), &planned.sand) {
            let mass = self.used(sand);
            self.packed(at, &name, mass);
        }
        self.use_all(at, mould, At::Ramming);
    }

    fn charged(&mut self, at: NaiveDateTime, heat: &PlannedHeat) {
        let (charge, poured) = (self.charge(heat), self.poured(heat));
        let heel = self.fresh_heel(heat);
        let alloy = self.build.handbook.alloys.get(&heat.alloy);
        let share = alloy.and_then(|a| a.returns_share.as_ref());
        let share = share.map_or(0.0, |s| self.end.saves(s.node().range()));
        let mut again = 0.0;
        self.happen(at, &heat.alloy, |p| {
            again = p.returns.min(charge * share);
            p.returns -= again;
            p.stock -= charge - again;
            p.in_moulds += poured + heel;
            p.lost += charge - poured - heel;
        });
        if let Some(walk) = self.walk.stocks.get_mut(&heat.alloy) {
            walk.melted_again += again;
        }
        let used = self.fuel(heat).into_iter().chain(self.fluxes(heat, charge));
        for (name, mass) in used.collect::<Vec<_>>() {
            self.uses(at, &name, mass);
        }
    }

    /// What does not stay in the pot for another heat is pigged, to be melted again.
    fn pigged(&mut self, at: NaiveDateTime, heat: &PlannedHeat) {
        let over = heat.heels.iter().filter(|heel| heel.to.is_none());
        let heel: f64 = over.map(|heel| self.used(&heel.left)).sum();
        self.happen(at, &heat.alloy, |p| {
            p.in_moulds -= heel;
            p.returns += heel;
        });
    }

    /// Fuel of a heat in its furnace, and to warm it where it is cold and that is known.
    fn fuel(&self, heat: &PlannedHeat) -> Option<(Id, f64)> {
        let furnace = self.build.shop.furnaces.get(&heat.furnace)?;
        let value = self.build.handbook.fuels.get(&furnace.fuel)?.as_ref()?;
        let efficiency = furnace.efficiency.as_ref()?;
        let burnt = heat.moulds.iter().filter_map(|i| {
            let lots = self.schedule.moulds[*i].lots();
            let melt = self.estimates.mould(self.build, &lots)?.melt_heat.as_ref()?;
            Some(self.used(&heat::fuel_mass::figure(melt, efficiency, value)))
        });
        // A heel that is charged takes its share of heat like the rest.
        let metal = self.for_moulds(heat);
        let heel = if metal > 0.0 { self.fresh_heel(heat) / metal } else { 0.0 };
        let burnt = burnt.sum::<f64>() * (1.0 + heel);
        let warm = Some(heat).filter(|h| is_cold(self.schedule, h));
        let warm = warm.and_then(|h| warm_up(self.build, &h.furnace));
        Some((furnace.fuel.clone(), burnt + warm.map_or(0.0, |f| self.used(&f))))
    }

    fn shaken_out(&mut self, at: NaiveDateTime, mould: usize) {
        let planned = &self.moulds[mould].planned;
        let core = self.core_sand(planned);
        if let (Some((name, sand)), Some(rammed)) = (self.sand(planned), &planned.sand) {
            let mass = self.used(rammed);
            self.emptied(at, (&name, &sand), mass);
        }
        if let Some((name, sand, mass)) = core {
            self.emptied(at, (&name, &sand), mass);
        }
        self.use_all(at, mould, At::ShakingOut);
    }

    fn fettled(&mut self, at: NaiveDateTime, mould: usize) {
        let Mould { planned, pour, .. } = &self.moulds[mould];
        let (Some(alloy), pour) = (self.alloy(planned), *pour) else { return };
        let back = self.end.saves(self.build.handbook.fettled.node().range());
        self.happen(at, &alloy, |p| pour.fettle(p, back));
    }
}
