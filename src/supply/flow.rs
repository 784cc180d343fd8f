//! Metal, sand and fuel as they flow: the plan walked through in time.
//!
//! A naive sum buys the sand of every mould and forgets that gates and feeders are melted again.
//! The walk takes from each stock what the plan takes, when it takes it, and gives back what comes
//! back: sand at shaking out, gates and feeders after fettling, as much of them as a charge of the
//! alloy bears. The deepest dip of a stock below nothing is what must be bought.

use crate::build::Build;
use crate::estimate::Estimates;
use crate::figure::{Mass, Range};
use crate::handbook::formulas::heat;
use crate::handbook::{Alloy, Sand};
use crate::manifest::{Id, Step};
use crate::plan::{PlannedHeat, PlannedMould, Schedule, Subject};
use chrono::{NaiveDate, NaiveDateTime};
use indexmap::IndexMap;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Which end of every doubt the walk takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// Little is used and much comes back.
    Lean,
    /// What is likely.
    Likely,
    /// Much is used and little comes back.
    Hungry,
}

impl End {
    /// Of something that is used.
    fn used(self, range: Range) -> f64 {
        match self {
            Self::Lean => range.low,
            Self::Likely => range.likely,
            Self::Hungry => range.high,
        }
    }

    /// Of something that saves.
    fn saves(self, range: Range) -> f64 {
        match self {
            Self::Lean => range.high,
            Self::Likely => range.likely,
            Self::Hungry => range.low,
        }
    }
}

/// When gates and feeders come off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gates {
    /// With the fettling of the part, when the plan has it.
    AtFettling,
    /// Sawn off as soon as the mould is shaken out.
    AtShakingOut,
}

/// Where all of a material is at a moment, kg.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Point {
    /// On the shelf: ingot, the heap of sand, the bag, the bottle. Below zero it is short.
    pub stock: f64,
    /// Gates and feeders, fettled and ready to be melted.
    pub returns: f64,
    /// In moulds: sand rammed, or metal poured and not shaken out and fettled.
    pub in_moulds: f64,
    /// In castings.
    pub castings: f64,
    /// Burnt, drossed, sawn to chips, thrown out.
    pub lost: f64,
}

impl Point {
    /// All of it: the same at every moment, but for what is bought.
    pub fn total(self) -> f64 {
        self.stock + self.returns + self.in_moulds + self.castings + self.lost
    }
}

/// One material through the plan.
#[derive(Debug, Clone, Default)]
pub struct StockWalk {
    /// Where it is at the start, and after each thing that happens to it.
    pub points: Vec<(NaiveDateTime, Point)>,
    /// Taken from the stock, all together, kg.
    pub taken: f64,
    /// Melted again, kg.
    pub melted_again: f64,
    /// Came back into the stock, kg.
    pub came_back: f64,
}

impl StockWalk {
    /// The least that lies in the stock at any moment before `until`, and when.
    pub fn lowest(&self, until: Option<NaiveDate>) -> Option<(NaiveDateTime, f64)> {
        let before = self.points.iter().filter(|(at, _)| until.is_none_or(|day| at.date() < day));
        before.map(|(at, p)| (*at, p.stock)).min_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// What must be bought so that it never runs short before `until`, kg.
    pub fn short(&self, until: Option<NaiveDate>) -> f64 {
        self.lowest(until).map_or(0.0, |(_, least)| (-least).max(0.0))
    }

    /// The day it first runs short when so much is bought at the start.
    pub fn runs_short(&self, bought: f64) -> Option<NaiveDate> {
        let first = self.points.iter().find(|(_, p)| p.stock + bought < -1e-9);
        first.map(|(at, _)| at.date())
    }

    /// Day and amount in stock, for a chart.
    pub fn curve(&self) -> Vec<(NaiveDate, f64)> {
        self.points.iter().map(|(at, p)| (at.date(), p.stock)).collect()
    }
}

/// Every material through the plan.
#[derive(Debug, Clone)]
pub struct Walk {
    /// By the name of the stock.
    pub stocks: IndexMap<Id, StockWalk>,
}

/// Something that happens; what comes back goes before what is taken at the same moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Happens {
    Fettled(usize),
    ShakenOut(usize),
    Rammed(usize),
    Charged(usize),
}

struct Walker<'a> {
    build: &'a Build,
    estimates: &'a Estimates,
    schedule: &'a Schedule,
    end: End,
    walk: Walk,
}

/// Name of the stock of returns of an alloy: count them under it.
pub fn returns_of(alloy: &str) -> Id {
    format!("{alloy}-returns").into()
}

/// Walks the plan, taking one end of every doubt. `bought` is added to the stocks at the start.
pub fn walk(
    build: &Build,
    estimates: &Estimates,
    schedule: &Schedule,
    (end, gates): (End, Gates),
    bought: &BTreeMap<Id, f64>,
) -> Walk {
    let mut happenings: Vec<(NaiveDateTime, Happens)> = Vec::new();
    for (i, mould) in schedule.moulds.iter().enumerate() {
        happenings.push((mould.rammed, Happens::Rammed(i)));
        happenings.push((mould.shaken_out, Happens::ShakenOut(i)));
        let off = match gates {
            Gates::AtFettling => fettled(schedule, mould),
            Gates::AtShakingOut => mould.shaken_out,
        };
        happenings.push((off, Happens::Fettled(i)));
    }
    for (i, heat) in schedule.heats.iter().enumerate() {
        happenings.push((heat.lit, Happens::Charged(i)));
    }
    happenings.sort();
    let walk = Walk { stocks: IndexMap::new() };
    let mut walker = Walker { build, estimates, schedule, end, walk };
    let first = happenings.first().map_or_else(|| build.today.into(), |(at, _)| *at);
    walker.open(first.min(build.today.into()), bought);
    for (at, happens) in happenings {
        match happens {
            Happens::Rammed(i) => walker.rammed(at, &schedule.moulds[i]),
            Happens::Charged(i) => walker.charged(at, &schedule.heats[i]),
            Happens::ShakenOut(i) => walker.shaken_out(at, &schedule.moulds[i]),
            Happens::Fettled(i) => walker.fettled(at, &schedule.moulds[i]),
        }
    }
    walker.walk
}

/// When the gates of a mould are off: at the end of the first fettling of each part in it that
/// begins after it is shaken out, or at shaking out where none is planned.
fn fettled(schedule: &Schedule, mould: &PlannedMould) -> NaiveDateTime {
    let first = |part: usize| {
        let jobs = schedule.jobs.iter().filter(|job| {
            job.step == Step::Fettle
                && job.subject == Subject::Part(part)
                && job.start >= mould.shaken_out
        });
        jobs.map(|job| job.end).min()
    };
    let parts = mould.lots().into_iter().filter_map(|(part, _)| first(part));
    parts.max().unwrap_or(mould.shaken_out)
}

/// The metal of a mould at one end of its doubt: poured, and of that in castings.
struct Pour {
    poured: f64,
    castings: f64,
}

impl Walker<'_> {
    fn alloy(&self, mould: &PlannedMould) -> Option<&Arc<Alloy>> {
        Some(&self.build.parts[mould.part].casting.as_ref()?.alloy)
    }

    fn sand(&self, mould: &PlannedMould) -> Option<(Id, Arc<Sand>)> {
        let casting = self.build.parts[mould.part].casting.as_ref()?;
        let sand = self.build.patterns[casting.pattern].sand.clone()?;
        Some((sand_stock(self.build, &sand), sand))
    }

    fn pour(&self, mould: &PlannedMould) -> Pour {
        let poured = mould.poured.as_ref().map_or(0.0, |f| self.end.used(f.node().range()));
        let estimate = |part: usize| self.estimates.castings[part].as_ref();
        let each = |part: usize| {
            let mass = estimate(part).and_then(|e| e.rough_mass.as_ref());
            mass.map_or(0.0, |f| self.end.used(f.node().range()))
        };
        // Every cavity is filled, whether the machine needs the casting or it lies by as a spare.
        let lots = mould.lots();
        let pattern = |part: usize| self.build.parts[part].casting.as_ref().map(|c| c.pattern);
        let filled = |(part, n): &(usize, u32)| {
            let alone = lots.iter().filter(|l| pattern(l.0) == pattern(*part)).count() == 1;
            let cavities = estimate(*part).filter(|_| alone).map_or(0, |e| e.mould.cavities);
            each(*part) * f64::from(cavities.max(*n))
        };
        let castings: f64 = lots.iter().map(filled).sum();
        Pour { poured, castings: castings.min(poured) }
    }

    /// Metal charged for a heat, never less than what is poured of it.
    fn charge(&self, heat: &PlannedHeat) -> f64 {
        let moulds = || heat.moulds.iter().map(|i| &self.schedule.moulds[*i]);
        let poured: f64 = moulds().map(|m| self.pour(m).poured).sum();
        let of = |f: &crate::figure::Figure<Mass>| self.end.used(f.node().range());
        let single = || moulds().filter_map(|m| m.charge.as_ref()).map(of).sum();
        heat.charge.as_ref().map_or_else(single, of).max(poured)
    }

    /// Every stock that the plan takes from, as it is at the start.
    fn open(&mut self, at: NaiveDateTime, bought: &BTreeMap<Id, f64>) {
        let history = &self.build.history.stock;
        let mut names: Vec<(Id, f64)> = Vec::new();
        for heat in &self.schedule.heats {
            let returns = history.get(&returns_of(&heat.alloy)).copied().unwrap_or(0.0);
            names.push((heat.alloy.clone(), returns.max(0.0)));
        }
        for mould in &self.schedule.moulds {
            if let Some((name, sand)) = self.sand(mould) {
                names.push((name, 0.0));
                let mixed = sand.additions.iter().filter(|(a, _)| **a != *"water");
                names.extend(mixed.map(|(addition, _)| (addition.clone(), 0.0)));
            }
        }
        let burn = self.schedule.heats.iter().filter_map(|h| self.fuel(h));
        names.extend(burn.map(|(fuel, _)| (fuel, 0.0)).collect::<Vec<_>>());
        for (name, returns) in names {
            let there = history.get(&name).copied().unwrap_or(0.0).max(0.0);
            let stock = there + bought.get(&name).copied().unwrap_or(0.0);
            let start = Point { stock, returns, ..Point::default() };
            self.walk
                .stocks
                .entry(name)
                .or_insert_with(|| StockWalk { points: vec![(at, start)], ..Default::default() });
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

    fn rammed(&mut self, at: NaiveDateTime, mould: &PlannedMould) {
        let (Some((name, _)), Some(sand)) = (self.sand(mould), &mould.sand) else { return };
        let sand = self.end.used(sand.node().range());
        self.happen(at, &name, |p| {
            p.stock -= sand;
            p.in_moulds += sand;
        });
    }

    fn charged(&mut self, at: NaiveDateTime, heat: &PlannedHeat) {
        let charge = self.charge(heat);
        let poured: f64 =
            heat.moulds.iter().map(|i| self.pour(&self.schedule.moulds[*i]).poured).sum();
        let alloy = self.build.handbook.alloys.get(&heat.alloy);
        let share = alloy.and_then(|a| a.returns_share.as_ref());
        let share = share.map_or(0.0, |s| self.end.saves(s.node().range()));
        let mut again = 0.0;
        self.happen(at, &heat.alloy, |p| {
            again = p.returns.min(charge * share);
            p.returns -= again;
            p.stock -= charge - again;
            p.in_moulds += poured;
            p.lost += charge - poured;
        });
        if let Some(walk) = self.walk.stocks.get_mut(&heat.alloy) {
            walk.melted_again += again;
        }
        if let Some((fuel, burnt)) = self.fuel(heat) {
            self.happen(at, &fuel, |p| {
                p.stock -= burnt;
                p.lost += burnt;
            });
        }
    }

    /// Fuel of a heat in its furnace, warm-up not counted.
    fn fuel(&self, heat: &PlannedHeat) -> Option<(Id, f64)> {
        let furnace = self.build.shop.furnaces.get(&heat.furnace)?;
        let value = self.build.handbook.fuels.get(&furnace.fuel)?.as_ref()?;
        let efficiency = furnace.efficiency.as_ref()?;
        let burnt = heat.moulds.iter().filter_map(|i| {
            let lots = self.schedule.moulds[*i].lots();
            let melt = self.estimates.mould(self.build, &lots)?.melt_heat.as_ref()?;
            let fuel = heat::fuel_mass::figure(melt, efficiency, value);
            Some(self.end.used(fuel.node().range()))
        });
        Some((furnace.fuel.clone(), burnt.sum()))
    }

    fn shaken_out(&mut self, at: NaiveDateTime, mould: &PlannedMould) {
        let (Some((name, sand)), Some(rammed)) = (self.sand(mould), &mould.sand) else { return };
        let rammed = self.end.used(rammed.node().range());
        let loss = sand.loss.as_ref().map_or(0.0, |l| self.end.used(l.node().range()));
        let lost = rammed * loss;
        self.happen(at, &name, |p| {
            p.in_moulds -= rammed;
            p.stock += rammed - lost;
            p.lost += lost;
        });
        // The sand that is lost is made up again with what is mixed into it.
        for (addition, share) in sand.additions.iter().filter(|(a, _)| **a != *"water") {
            let mixed = lost * self.end.used(share.node().range());
            self.happen(at, addition, |p| {
                p.stock -= mixed;
                p.lost += mixed;
            });
        }
    }

    fn fettled(&mut self, at: NaiveDateTime, mould: &PlannedMould) {
        let Some(alloy) = self.alloy(mould).map(|a| a.id.clone()) else { return };
        let Pour { poured, castings } = self.pour(mould);
        let back = self.end.saves(self.build.handbook.fettled.node().range());
        let gates = poured - castings;
        self.happen(at, &alloy, |p| {
            p.in_moulds -= poured;
            p.castings += castings;
            p.returns += gates * back;
            p.lost += gates * (1.0 - back);
        });
    }
}

/// Name of the stock that a sand is kept under.
pub(super) fn sand_stock(build: &Build, sand: &Sand) -> Id {
    let main = build.sand.as_ref().is_some_and(|s| s.id == sand.id);
    if main { "sand".into() } else { sand.id.clone() }
}

/// The plan walked at both ends of every doubt and in the middle.
#[derive(Debug, Clone)]
pub struct Flow {
    /// Little used, much back.
    pub lean: Walk,
    /// Likely.
    pub likely: Walk,
    /// Much used, little back.
    pub hungry: Walk,
    /// Likely, were every gate sawn off at shaking out.
    pub early: Walk,
}

impl Flow {
    /// Walks a schedule; none where it has no mould to ram or heat to pour.
    pub fn new(build: &Build, estimates: &Estimates, schedule: &Schedule) -> Option<Self> {
        if schedule.moulds.is_empty() && schedule.heats.is_empty() {
            return None;
        }
        let walk = |end, gates| walk(build, estimates, schedule, (end, gates), &BTreeMap::new());
        Some(Self {
            lean: walk(End::Lean, Gates::AtFettling),
            likely: walk(End::Likely, Gates::AtFettling),
            hungry: walk(End::Hungry, Gates::AtFettling),
            early: walk(End::Likely, Gates::AtShakingOut),
        })
    }

    /// A figure of a stock over the three walks, low to high.
    pub fn range(&self, name: &str, of: impl Fn(&StockWalk) -> f64) -> Option<Range> {
        let of = |walk: &Walk| walk.stocks.get(name).map(&of);
        let (lean, likely, hungry) = (of(&self.lean)?, of(&self.likely)?, of(&self.hungry)?);
        Some(Range {
            low: lean.min(likely).min(hungry),
            likely,
            high: lean.max(likely).max(hungry),
        })
    }
}
