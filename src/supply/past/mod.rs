//! Where all metal, sand and whatever else is used up is by now, as the journal tells it.
//!
//! What was charged is heel, melt loss or poured, and what was poured is in moulds, castings,
//! returns or lost: nothing is left over. The heel is pigged and melted again. A mould holds its
//! sand from ramming to shaking out; what that loses is lost from the heap. Charges and fuel count
//! as logged, all else as estimated, and those two where nobody logged them. A count replaces what
//! was reckoned. What is received is there in full: what was taken before, beyond what was on record,
//! lay there already.

mod account;
mod castings;
mod melts;
mod sand;

pub use account::Way;
pub(super) use account::{Back, Stock};

use super::taking::{Packed, Pour, Taking};
use crate::journal::{Counted, Event};
use crate::manifest::{Id, Step};
use crate::model::Build;
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet};

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
}

/// The stock of this name, and whether the returns of that alloy are meant.
fn meant<'n>(build: &Build, name: &'n str) -> (&'n str, bool) {
    let alloy = name.strip_suffix("-returns");
    match alloy.filter(|a| build.handbook.alloys.contains_key(*a)) {
        Some(alloy) => (alloy, true),
        None => (name, false),
    }
}

impl<'a> Past<'a> {
    /// Follows the journal from its first entry, taking one end of every doubt. The cores of the
    /// moulds to come that are `made` were made with it.
    pub fn new(taking: Taking<'a>, made: &[Vec<(usize, u32)>]) -> Self {
        let (stocks, moulds) = Default::default();
        let mut past = Self { stocks, taking, moulds };
        let build = taking.build;
        for (name, mass) in build.given_stock() {
            past.comes(&name, mass, Way::Start);
        }
        for stock in past.stocks.values_mut() {
            stock.began = std::mem::take(&mut stock.came);
        }
        let mut cored = sand::coring(build, made);
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
                    past.burnt(e);
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
}
