//! Where all metal, sand and whatever else is used up is by now, as the journal tells it.
//!
//! What was charged is heel, melt loss or poured, and what was poured is in moulds, castings,
//! returns or lost: nothing is left over. The heel is pigged and melted again. A mould holds its
//! sand from ramming to shaking out; what that loses is lost from the heap. Charges and fuel count
//! as logged, all else as estimated, and fuel too where nobody logged it. A count replaces what
//! was reckoned.

use super::flow::Point;
use super::taking::{Castings, Packed, Pour, Taking, returns_of};
use crate::estimate::At;
use crate::figure::Figure;
use crate::journal::{Counted, Disposition, Done, Event, Inspected, Poured};
use crate::manifest::{Id, Step};
use crate::model::{Attempt, Build};
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet};

/// A stock by now; of an alloy, all of its metal.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Stock {
    /// Where it is, kg.
    pub now: Point,
    /// All that came in, less what was given away, kg.
    pub put_in: f64,
    /// Whether somebody told what is there: charging takes ingot from the stock only then.
    pub kept: bool,
    /// The day of the last count.
    pub counted: Option<NaiveDate>,
    /// What was there at that count, or by the manifest, kg.
    pub began: f64,
    /// What came since, less what was given away, kg.
    pub came: f64,
}

/// A mould that was rammed.
#[derive(Debug, Clone, Default)]
struct Held {
    sand: Option<Packed>,
    cores: Option<Packed>,
    out: bool,
    metal: Option<Filled>,
}

/// The metal in it.
#[derive(Debug, Clone)]
struct Filled {
    alloy: Id,
    pour: Pour,
    fettled: bool,
}

/// All stocks by now.
pub(super) struct Past<'a> {
    /// By name.
    pub stocks: BTreeMap<Id, Stock>,
    /// The end of every doubt that was taken.
    pub taking: Taking<'a>,
    moulds: BTreeMap<Id, Held>,
    /// Furnaces that were lit on a day.
    lit: BTreeSet<(Id, NaiveDate)>,
}

/// The stock of this name, and whether the returns of that alloy are meant.
fn meant<'n>(build: &Build, name: &'n str) -> (&'n str, bool) {
    let alloy = name.strip_suffix("-returns");
    match alloy.filter(|a| build.handbook.alloys.contains_key(*a)) {
        Some(alloy) => (alloy, true),
        None => (name, false),
    }
}

/// Moulds by the entry of the journal with which their cores were made: the last before that
/// tells of cores of a part in it, or its ramming. `made` are moulds to come.
fn coring(build: &Build, made: &[Vec<(usize, u32)>]) -> BTreeMap<usize, Vec<Vec<(usize, u32)>>> {
    let mut told: BTreeMap<usize, usize> = BTreeMap::new();
    let mut out: BTreeMap<usize, Vec<Vec<(usize, u32)>>> = BTreeMap::new();
    let last = |told: &BTreeMap<usize, usize>, lots: &Castings| {
        lots.iter().filter_map(|(part, _)| told.get(part)).max().copied()
    };
    let log = &build.history.log;
    for (n, entry) in log.iter().enumerate() {
        match &entry.event {
            Event::Done(e) if e.step == Step::Core => {
                let part = e.part.as_ref().and_then(|p| build.part(&p.value));
                told.extend(part.map(|part| (part, n)));
            }
            Event::Rammed(e) => {
                let attempt = build.history.attempts.get(&e.mould.value);
                let lots = attempt.map(|a| a.castings.clone()).unwrap_or_default();
                out.entry(last(&told, &lots).unwrap_or(n)).or_default().push(lots);
            }
            _ => {}
        }
    }
    for lots in made {
        out.entry(last(&told, lots).unwrap_or(log.len())).or_default().push(lots.clone());
    }
    out
}

impl<'a> Past<'a> {
    /// Follows the journal from its first entry, taking one end of every doubt. The cores of the
    /// moulds to come that are `made` were made with it.
    pub fn new(taking: Taking<'a>, made: &[Vec<(usize, u32)>]) -> Self {
        let (stocks, moulds, lit) = Default::default();
        let mut past = Self { stocks, taking, moulds, lit };
        let build = taking.build;
        for (name, mass) in build.given_stock() {
            past.comes(&name, mass);
        }
        for stock in past.stocks.values_mut() {
            stock.began = std::mem::take(&mut stock.came);
        }
        let mut cored = coring(build, made);
        for (n, entry) in build.history.log.iter().enumerate() {
            for lots in cored.remove(&n).unwrap_or_default() {
                past.cored(&lots);
            }
            let day = entry.at.date();
            match &entry.event {
                Event::Received(e) => {
                    if let (Some(stock), Some(mass)) = (&e.stock, &e.mass) {
                        past.comes(&stock.value, mass.si());
                    }
                }
                Event::GivenAway(e) => past.comes(&e.stock.value, -e.mass.si()),
                Event::Counted(e) => past.counted(e, day),
                Event::Rammed(e) => past.rammed(&e.mould.value),
                Event::Poured(e) => {
                    past.charged(e);
                    past.burnt(e, day);
                }
                Event::ShakenOut(e) => past.shaken_out(&e.mould.value),
                Event::Done(e) if e.step == Step::Fettle => past.fettled_all(e),
                Event::Inspected(e) => past.inspected(e),
                _ => {}
            }
        }
        cored.into_values().flatten().for_each(|lots| past.cored(&lots));
        for stock in past.stocks.values_mut() {
            // Taken though nobody gave it: it lay there.
            for pile in [&mut stock.now.stock, &mut stock.now.returns] {
                stock.put_in += (-*pile).max(0.0);
                *pile = pile.max(0.0);
            }
        }
        past
    }

    /// The metal of a mould that was poured and is not fettled yet.
    pub fn unfettled(&self, mould: &str) -> Option<(Id, Pour)> {
        let metal = self.moulds.get(mould)?.metal.as_ref()?;
        (!metal.fettled).then(|| (metal.alloy.clone(), metal.pour))
    }

    /// Sand in a mould that was rammed, and in its cores, until it is shaken out.
    pub fn packed(&self, mould: &str) -> [Option<Packed>; 2] {
        let held = self.moulds.get(mould).filter(|held| !held.out);
        held.map_or([None, None], |held| [held.sand.clone(), held.cores.clone()])
    }

    fn stock(&mut self, name: &str) -> &mut Stock {
        self.stocks.entry(name.into()).or_default()
    }

    fn comes(&mut self, name: &str, mass: f64) {
        let (name, returns) = meant(self.taking.build, name);
        let stock = self.stock(name);
        stock.put_in += mass;
        if returns {
            stock.now.returns += mass;
        } else {
            stock.kept = true;
            stock.now.stock += mass;
            stock.came += mass;
        }
    }

    fn counted(&mut self, e: &Counted, day: NaiveDate) {
        let (name, returns) = meant(self.taking.build, &e.stock.value);
        let (mass, stock) = (e.mass.si(), self.stock(name));
        let pile = if returns { &mut stock.now.returns } else { &mut stock.now.stock };
        let missing = *pile - mass;
        *pile = mass;
        stock.put_in += (-missing).max(0.0);
        stock.now.lost += missing.max(0.0);
        if !returns {
            (stock.kept, stock.counted) = (true, Some(day));
            (stock.began, stock.came) = (mass, 0.0);
        }
    }

    fn uses(&mut self, used: Vec<(Id, f64)>) {
        for (name, mass) in used {
            let now = &mut self.stock(&name).now;
            now.stock -= mass;
            now.lost += mass;
        }
    }

    fn cored(&mut self, lots: &Castings) {
        let Some(cores) = self.taking.cores(lots) else { return };
        cores.pack(&mut self.stock(&cores.of).now);
        self.uses(self.taking.used_up(lots, At::Coring));
    }

    fn rammed(&mut self, mould: &Id) {
        let build = self.taking.build;
        let Some(attempt) = build.history.attempts.get(mould) else { return };
        let lots = &attempt.castings;
        let rammed = self.taking.estimates.mould(build, lots).and_then(|m| m.sand.as_ref());
        let sand = self.taking.sand(lots, rammed);
        if let Some(sand) = &sand {
            sand.pack(&mut self.stock(&sand.of).now);
        }
        self.uses(self.taking.used_up(lots, At::Ramming));
        let held = Held { sand, cores: self.taking.cores(lots), ..Held::default() };
        self.moulds.insert(mould.clone(), held);
    }

    /// Metal goes into the crucible, and from there into the moulds.
    fn charged(&mut self, e: &Poured) {
        let (build, end) = (self.taking.build, self.taking.end);
        let alloy = &e.alloy.value;
        for (source, mass) in &e.charge {
            let mass = mass.si();
            let own = **source == *"ingot" || source == alloy;
            let metal = self.stock(alloy);
            if **source == *"returns" || *source == returns_of(alloy) {
                metal.now.returns -= mass;
                // More than came back: it lay there before the first heat.
                metal.put_in += (-metal.now.returns).max(0.0);
                metal.now.returns = metal.now.returns.max(0.0);
            } else if own && metal.kept {
                metal.now.stock -= mass;
            } else {
                metal.put_in += mass;
                let other = self.stocks.get_mut(source).filter(|other| !own && other.kept);
                if let Some(other) = other {
                    other.now.stock -= mass;
                    other.put_in -= mass;
                }
            }
        }
        let charged: f64 = e.charge.values().map(Figure::si).sum();
        let heel = e.heel.as_ref().map_or(0.0, Figure::si).min(charged);
        let loss = build.handbook.alloys.get(alloy).and_then(|a| a.melt_loss.as_ref());
        let loss = loss.map_or(0.0, |l| end.used(l.node().range())).min(1.0);
        let (lost, poured) = ((charged - heel) * loss, (charged - heel) * (1.0 - loss));
        let moulds: Vec<&Attempt> =
            e.moulds.iter().filter_map(|m| build.history.attempts.get(&m.value)).collect();
        let now = &mut self.stock(alloy).now;
        now.lost += lost;
        now.returns += heel;
        let Some(first) = moulds.first() else {
            now.returns += poured;
            return;
        };
        now.in_moulds += poured;
        self.uses(self.taking.fluxes(&first.castings, charged));
        let wanted = |a: &Attempt| -> f64 {
            let of = |(part, n): &(usize, u32)| {
                let casting = self.taking.estimates.castings[*part].as_ref();
                let each = casting.and_then(|e| e.poured.as_ref());
                each.map_or(0.0, Figure::si) * f64::from(*n)
            };
            a.castings.iter().map(of).sum()
        };
        let all: f64 = moulds.iter().map(|a| wanted(a)).sum();
        for attempt in &moulds {
            let share = if all > 0.0 { wanted(attempt) / all } else { 1.0 / moulds.len() as f64 };
            let poured = poured * share;
            let castings = self.taking.castings(&attempt.castings);
            let pour = Pour { poured, castings: castings.min(poured) };
            let metal = Filled { alloy: alloy.clone(), pour, fettled: false };
            self.moulds.entry(attempt.mould.clone()).or_default().metal = Some(metal);
        }
    }

    /// Fuel of a heat: as logged, or what its moulds ask for and the furnace where it was cold.
    fn burnt(&mut self, e: &Poured, day: NaiveDate) {
        let build = self.taking.build;
        let named = e.furnace.as_ref().map(|f| &f.value);
        let Some(id) = named.or_else(|| build.shop.furnaces.keys().next()) else { return };
        let Some(furnace) = build.shop.furnaces.get(id) else { return };
        let cold = self.lit.insert((id.clone(), day));
        let attempts = e.moulds.iter().filter_map(|m| build.history.attempts.get(&m.value));
        let moulds: Vec<Vec<(usize, u32)>> = attempts.map(|a| a.castings.clone()).collect();
        let logged = e.fuel.as_ref().map(Figure::si);
        let burnt = logged.or_else(|| self.taking.fuel(id, &moulds, 0.0, cold));
        self.uses(burnt.map(|mass| (furnace.fuel.clone(), mass)).into_iter().collect());
    }

    fn shaken_out(&mut self, mould: &Id) {
        let Some(held) = self.moulds.get_mut(mould).filter(|held| !held.out) else { return };
        held.out = true;
        let held = held.clone();
        for sand in held.sand.iter().chain(&held.cores) {
            sand.empty(&mut self.stock(&sand.of).now);
        }
        let attempt = self.taking.build.history.attempts.get(mould);
        let lots = attempt.map_or(&[] as &Castings, |a| &a.castings);
        self.uses(self.taking.used_up(lots, At::ShakingOut));
    }

    /// A part is fettled: whatever of it is out of the sand.
    fn fettled_all(&mut self, e: &Done) {
        let build = self.taking.build;
        let Some(part) = e.part.as_ref().and_then(|p| build.part(&p.value)) else { return };
        let holds = |m: &Id| {
            let attempt = build.history.attempts.get(m);
            attempt.is_some_and(|a| a.castings.iter().any(|c| c.0 == part))
        };
        let ready = self.moulds.iter().filter(|(m, held)| held.out && holds(m));
        let ready: Vec<Id> = ready.map(|(m, _)| m.clone()).collect();
        ready.iter().for_each(|m| self.fettled(m));
    }

    /// The gates of a mould come off.
    fn fettled(&mut self, mould: &Id) {
        let back = self.taking.end.saves(self.taking.build.handbook.fettled.node().range());
        let held = self.moulds.get_mut(mould).and_then(|held| held.metal.as_mut());
        let Some(metal) = held.filter(|metal| !metal.fettled) else { return };
        metal.fettled = true;
        if let Some(stock) = self.stocks.get_mut(&metal.alloy) {
            metal.pour.fettle(&mut stock.now, back);
        }
    }

    /// Castings are out of the sand and their gates off; scrap goes back to be melted.
    fn inspected(&mut self, e: &Inspected) {
        let mould = &e.mould.value;
        self.shaken_out(mould);
        self.fettled(mould);
        let part = self.taking.build.part(&e.part.value);
        let mass = part.map_or(0.0, |part| self.taking.castings(&[(part, e.pieces)]));
        let held = self.moulds.get_mut(mould).and_then(|held| held.metal.as_mut());
        let Some(metal) = held.filter(|_| e.disposition == Disposition::Scrap) else { return };
        let mass = mass.min(metal.pour.castings);
        metal.pour.castings -= mass;
        if let Some(stock) = self.stocks.get_mut(&metal.alloy) {
            stock.now.castings -= mass;
            stock.now.returns += mass;
        }
    }
}
