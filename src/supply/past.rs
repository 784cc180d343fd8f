//! Where all metal, sand and whatever else is used up is by now, as the journal tells it.
//!
//! What was charged is heel, melt loss or poured, and what was poured is in moulds, castings,
//! returns or lost: nothing is left over. The heel is pigged and melted again. A mould holds its
//! sand from ramming to shaking out; what that loses is lost from the heap. Charges and fuel count
//! as logged, all else as estimated, and those two where nobody logged them. A count replaces what
//! was reckoned. What is received is there in full: what was taken before, beyond what was on record,
//! lay there already.

use super::flow::Point;
use super::taking::{Castings, Packed, Pour, Taking};
use crate::estimate::At;
use crate::figure::{Figure, Mass};
use crate::journal::{Counted, Disposition, Done, Event, Inspected, Poured};
use crate::manifest::{Id, Step};
use crate::model::{Attempt, Build};
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet};

/// How a material came in, or where it went.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Way {
    /// It lay there at the start, by the manifest.
    Start,
    /// It was received.
    Received,
    /// A count, a scale or a charge found more than was known of.
    Found,
    /// It was charged out of another stock, or out of none that is kept.
    FromOther,
    /// It was charged for another alloy.
    ToOther,
    /// It was given away.
    GivenAway,
    /// Melting took it.
    Melted,
    /// Sawn off and not brought back: kerf, chips, what sand clings to.
    Sawn,
    /// Machined off castings.
    Chips,
    /// Sand that did not come back from a mould.
    SandLost,
    /// It was used up.
    UsedUp,
    /// A count or a scale missed it.
    Missing,
}

impl Way {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Start => "there at the start",
            Self::Received => "received",
            Self::Found => "more than was on record",
            Self::FromOther => "charged from other metal",
            Self::ToOther => "charged for another alloy",
            Self::GivenAway => "given away",
            Self::Melted => "lost in melting",
            Self::Sawn => "sawn off and lost",
            Self::Chips => "machined to chips",
            Self::SandLost => "sand lost in moulds",
            Self::UsedUp => "used up",
            Self::Missing => "missing at a count",
        }
    }

    /// Whether the material came in by it.
    pub fn is_in(self) -> bool {
        matches!(self, Self::Start | Self::Received | Self::Found | Self::FromOther)
    }
}

/// What came onto the pile of returns, or went from it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Back {
    /// Given, received, or given away.
    Came,
    /// Gates and feeders that were sawn off.
    Gates,
    /// Heels that were pigged, and what was poured into no mould.
    Pigged,
    /// Castings that were scrapped.
    Scrapped,
    /// Charged again.
    Charged,
    /// What lay there before anybody told of it, and what a count put right.
    Corrected,
}

impl Back {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Came => "given or received",
            Self::Gates => "gates and feeders, sawn off",
            Self::Pigged => "heels and pigs",
            Self::Scrapped => "castings scrapped",
            Self::Charged => "charged again",
            Self::Corrected => "corrected by a count or a charge",
        }
    }
}

/// A stock by now; of an alloy, all of its metal.
#[derive(Debug, Clone, Default)]
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
    /// All that ever came in, and all that is gone, kg.
    pub ways: BTreeMap<Way, f64>,
    /// What came onto the pile of returns, less what went from it, kg.
    pub back: BTreeMap<Back, f64>,
    /// Heats without a charge in the journal, and what was taken for each, as estimated, kg.
    pub uncharged: Vec<(Id, f64)>,
}

impl Stock {
    fn goes(&mut self, way: Way, mass: f64) {
        if mass != 0.0 {
            *self.ways.entry(way).or_default() += mass;
        }
    }

    /// More came in than was known of, or less is there than was.
    fn corrected(&mut self, more: f64) {
        self.put_in += more.max(0.0);
        self.now.lost += (-more).max(0.0);
        self.goes(Way::Found, more.max(0.0));
        self.goes(Way::Missing, (-more).max(0.0));
    }

    fn returns(&mut self, back: Back, mass: f64) {
        self.now.returns += mass;
        *self.back.entry(back).or_default() += mass;
    }

    /// What was taken of the shelf, or of the returns, though nobody gave it: it lay there.
    fn lay_there(&mut self, returns: bool) {
        let there = if returns { self.now.returns } else { self.now.stock };
        let found = (-there).max(0.0);
        self.corrected(found);
        match returns {
            true => self.returns(Back::Corrected, found),
            false => self.now.stock += found,
        }
    }
}

/// A mould that was rammed.
#[derive(Debug, Clone, Default)]
struct Held {
    sand: Option<Packed>,
    cores: Option<Packed>,
    out: bool,
    metal: Option<Filled>,
    /// Mass of one casting of each part in it that was weighed, kg.
    weighed: BTreeMap<Id, f64>,
    /// Castings of it that were scrapped, by part.
    scrapped: BTreeMap<usize, u32>,
    /// Parts in it that were machined.
    machined: BTreeSet<usize>,
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
            Event::Rammed(e) if e.again.is_none() => {
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
            past.comes(&name, mass, Way::Start);
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
                    if let (Some(stock), Some(much)) = (&e.stock, e.amount()) {
                        past.comes(&stock.value, much, Way::Received);
                    }
                }
                Event::GivenAway(e) => {
                    past.comes(&e.stock.value, -e.amount().unwrap_or(0.0), Way::GivenAway)
                }
                Event::Counted(e) => past.counted(e, day),
                Event::Rammed(e) if e.again.is_some() => past.rammed_again(&e.mould.value),
                Event::Rammed(e) => past.rammed(&e.mould.value),
                Event::Poured(e) => {
                    past.charged(e);
                    past.burnt(e, day);
                }
                Event::ShakenOut(e) => {
                    past.shaken_out(&e.mould.value);
                    past.weighed(&e.mould.value, e.mass.as_ref());
                }
                Event::Done(e) if e.step == Step::Fettle => past.fettled_all(e),
                Event::Done(e) if e.step == Step::Machine => past.machined(e),
                Event::Inspected(e) => past.inspected(e),
                _ => {}
            }
        }
        cored.into_values().flatten().for_each(|lots| past.cored(&lots));
        for stock in past.stocks.values_mut() {
            stock.lay_there(false);
            stock.lay_there(true);
        }
        past
    }

    /// How much of a stock there is, kg; none where nobody ever told.
    pub fn there(&self, name: &str) -> Option<f64> {
        let (name, returns) = meant(self.taking.build, name);
        match (self.stocks.get(name), returns) {
            (stock, true) => Some(stock.map_or(0.0, |s| s.now.returns)),
            (stock, false) => stock.filter(|s| s.kept).map(|s| s.now.stock),
        }
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

    /// It comes in; with a mass below zero it leaves.
    fn comes(&mut self, name: &str, mass: f64, way: Way) {
        let (name, returns) = meant(self.taking.build, name);
        let stock = self.stock(name);
        if way == Way::Received {
            // What comes now was not there to be taken before.
            stock.lay_there(returns);
        }
        stock.put_in += mass;
        stock.goes(way, mass.abs());
        if returns {
            stock.returns(Back::Came, mass);
        } else {
            stock.kept = true;
            stock.now.stock += mass;
            stock.came += mass;
        }
    }

    fn counted(&mut self, e: &Counted, day: NaiveDate) {
        let (name, returns) = meant(self.taking.build, &e.stock.value);
        let (mass, stock) = (e.amount().unwrap_or(0.0), self.stock(name));
        if returns {
            let more = mass - stock.now.returns;
            stock.corrected(more);
            stock.returns(Back::Corrected, more);
        } else {
            stock.corrected(mass - stock.now.stock);
            stock.now.stock = mass;
            (stock.kept, stock.counted) = (true, Some(day));
            (stock.began, stock.came) = (mass, 0.0);
        }
    }

    fn uses(&mut self, used: Vec<(Id, f64)>) {
        for (name, mass) in used {
            let stock = self.stock(&name);
            stock.now.stock -= mass;
            stock.now.lost += mass;
            stock.goes(Way::UsedUp, mass);
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

    /// Its sand and its cores are in it already.
    fn rammed_again(&mut self, mould: &Id) {
        let build = self.taking.build;
        let Some(attempt) = build.history.attempts.get(mould) else { return };
        self.uses(self.taking.used_up(&attempt.castings, At::Ramming));
    }

    /// Metal goes into the crucible, and from there into the moulds.
    fn charged(&mut self, e: &Poured) {
        let build = self.taking.build;
        let alloy = &e.alloy.value;
        let logged = e.charge.iter().map(|(source, mass)| (source.clone(), mass.si())).collect();
        let charge: Vec<(Id, f64)> = if e.charge.is_empty() { self.estimated(e) } else { logged };
        for (source, mass) in &charge {
            let mass = *mass;
            let from = build.charged_from(alloy, source);
            let (from, returns) = meant(build, &from);
            let own = *from == **alloy;
            let metal = self.stock(alloy);
            if own && returns {
                metal.returns(Back::Charged, -mass);
            } else if own && metal.kept {
                metal.now.stock -= mass;
            } else {
                metal.put_in += mass;
                metal.goes(if own { Way::Found } else { Way::FromOther }, mass);
                let other =
                    self.stocks.get_mut(from).filter(|other| !own && (returns || other.kept));
                if let Some(other) = other {
                    other.put_in -= mass;
                    other.goes(Way::ToOther, mass);
                    match returns {
                        true => other.returns(Back::Charged, -mass),
                        false => other.now.stock -= mass,
                    }
                }
            }
        }
        let charged: f64 = charge.iter().map(|(_, mass)| mass).sum();
        let heel = e.heel.as_ref().map_or(0.0, Figure::si).min(charged);
        let loss = self.melt_loss(alloy);
        let (lost, poured) = ((charged - heel) * loss, (charged - heel) * (1.0 - loss));
        let moulds: Vec<&Attempt> =
            e.moulds.iter().filter_map(|m| build.history.attempts.get(&m.value)).collect();
        let metal = self.stock(alloy);
        // More was charged or given away than came back.
        metal.lay_there(true);
        metal.now.lost += lost;
        metal.goes(Way::Melted, lost);
        metal.returns(Back::Pigged, heel);
        let Some(first) = moulds.first() else {
            metal.returns(Back::Pigged, poured);
            return;
        };
        metal.now.in_moulds += poured;
        self.uses(self.taking.fluxes(&first.castings, charged));
        let wanted = |a: &Attempt| self.taking.poured(&a.castings);
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

    /// Share of a charge that melting takes.
    fn melt_loss(&self, alloy: &Id) -> f64 {
        let loss = self.taking.build.handbook.alloys.get(alloy);
        let loss = loss.and_then(|a| a.melt_loss.as_ref());
        loss.map_or(0.0, |l| self.taking.end.used(l.node().range())).min(1.0)
    }

    /// The charge of a heat of which none is logged: what its moulds take, the heel and the melt loss,
    /// of returns what there is and a charge bears, the rest of ingot.
    fn estimated(&mut self, e: &Poured) -> Vec<(Id, f64)> {
        let Taking { build, end, .. } = self.taking;
        let alloy = &e.alloy.value;
        let kept = 1.0 - self.melt_loss(alloy);
        let moulds = e.moulds.iter().filter_map(|m| build.history.attempts.get(&m.value));
        let poured: f64 =
            moulds.map(|a| self.taking.poured(&self.taking.cavities(&a.castings))).sum();
        if poured <= 0.0 || kept <= 0.0 {
            return Vec::new();
        }
        let charge = poured / kept + e.heel.as_ref().map_or(0.0, Figure::si);
        let share = build.handbook.alloys.get(alloy).and_then(|a| a.returns_share.as_ref());
        let share = share.map_or(0.0, |s| end.saves(s.node().range()));
        let metal = self.stock(alloy);
        metal.uncharged.push((e.heat.value.clone(), charge));
        let returns = metal.now.returns.clamp(0.0, charge * share);
        [("returns".into(), returns), ("ingot".into(), charge - returns)]
            .into_iter()
            .filter(|c| c.1 > 0.0)
            .collect()
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
            let heap = self.stock(&sand.of);
            heap.goes(Way::SandLost, sand.lost);
            sand.empty(&mut heap.now);
        }
        let attempt = self.taking.build.history.attempts.get(mould);
        let lots = attempt.map_or(&[] as &Castings, |a| &a.castings);
        self.uses(self.taking.used_up(lots, At::ShakingOut));
    }

    /// All that came out of a mould, gates and all, was weighed.
    fn weighed(&mut self, mould: &Id, mass: Option<&Figure<Mass>>) {
        let held = self.moulds.get_mut(mould).and_then(|held| held.metal.as_mut());
        let Some((metal, mass)) = held.filter(|m| !m.fettled).zip(mass) else { return };
        let more = mass.si() - metal.pour.poured;
        metal.pour.poured += more;
        metal.pour.castings = metal.pour.castings.min(metal.pour.poured);
        let alloy = metal.alloy.clone();
        let stock = self.stock(&alloy);
        stock.corrected(more);
        stock.now.in_moulds += more;
    }

    /// Castings of a mould were weighed: what they weigh otherwise was or is in the gates.
    fn castings_weighed(&mut self, mould: &Id, more: f64) {
        let held = self.moulds.get_mut(mould).and_then(|held| held.metal.as_mut());
        let Some(metal) = held else { return };
        let more = more.clamp(-metal.pour.castings, metal.pour.poured - metal.pour.castings);
        metal.pour.castings += more;
        if metal.fettled
            && let Some(stock) = self.stocks.get_mut(&metal.alloy)
        {
            stock.now.castings += more;
            stock.returns(Back::Gates, -more);
        }
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
            let gates = metal.pour.poured - metal.pour.castings;
            metal.pour.fettle(&mut stock.now, back);
            *stock.back.entry(Back::Gates).or_default() += gates * back;
            stock.goes(Way::Sawn, gates * (1.0 - back));
        }
    }

    /// A part is machined: what of its castings is more than the finished part goes to chips.
    fn machined(&mut self, e: &Done) {
        let build = self.taking.build;
        let Some(part) = e.part.as_ref().and_then(|p| build.part(&p.value)) else { return };
        let Some(finished) = self.taking.finished(part) else { return };
        let id = build.parts[part].id();
        let rough = self.taking.castings(&[(part, 1)]);
        for (mould, held) in &mut self.moulds {
            let attempt = build.history.attempts.get(mould);
            let cast = attempt.and_then(|a| a.castings.iter().find(|c| c.0 == part));
            let fettled = held.metal.as_ref().is_some_and(|metal| metal.fettled);
            let Some((_, cast)) = cast.filter(|_| fettled && held.machined.insert(part)) else {
                continue;
            };
            let good = cast - held.scrapped.get(&part).copied().unwrap_or(0).min(*cast);
            let each = held.weighed.get(id).copied().unwrap_or(rough);
            let Some(metal) = &mut held.metal else { continue };
            let chips = (each - finished).max(0.0) * f64::from(good);
            let chips = chips.min(metal.pour.castings);
            metal.pour.castings -= chips;
            if let Some(stock) = self.stocks.get_mut(&metal.alloy) {
                stock.now.castings -= chips;
                stock.now.lost += chips;
                stock.goes(Way::Chips, chips);
            }
        }
    }

    /// Castings are out of the sand and their gates off; scrap goes back to be melted.
    fn inspected(&mut self, e: &Inspected) {
        let mould = &e.mould.value;
        self.shaken_out(mould);
        let part = self.taking.build.part(&e.part.value);
        let held = self.moulds.get(mould);
        let machined = part.filter(|p| held.is_some_and(|held| held.machined.contains(p)));
        // What was machined weighs what the finished part does.
        let finished = machined.and_then(|part| self.taking.finished(part));
        let finished = finished.map(|each| each * f64::from(e.pieces));
        let reckoned = part.map_or(0.0, |part| self.taking.castings(&[(part, e.pieces)]));
        let reckoned = finished.map_or(reckoned, |finished| finished.min(reckoned));
        let weighed = e.mass.as_ref().map(|each| each.si() * f64::from(e.pieces));
        // A piece that is looked at again was weighed before.
        let each = e.mass.as_ref().map(Figure::si);
        let first = |held: &mut Held| {
            each.is_some_and(|each| held.weighed.insert(e.part.value.clone(), each).is_none())
        };
        if self.moulds.get_mut(mould).is_some_and(first) {
            self.castings_weighed(mould, weighed.unwrap_or(reckoned) - reckoned);
        }
        self.fettled(mould);
        let mass = weighed.unwrap_or(reckoned);
        let held = self.moulds.get_mut(mould).filter(|_| e.disposition == Disposition::Scrap);
        let Some(held) = held else { return };
        if let Some(part) = part {
            *held.scrapped.entry(part).or_default() += e.pieces;
        }
        let Some(metal) = held.metal.as_mut() else { return };
        let mass = mass.min(metal.pour.castings);
        metal.pour.castings -= mass;
        if let Some(stock) = self.stocks.get_mut(&metal.alloy) {
            stock.now.castings -= mass;
            stock.returns(Back::Scrapped, mass);
        }
    }
}
