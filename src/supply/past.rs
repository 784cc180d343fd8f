//! Where the metal of the heats that were poured is by now, as the journal tells it.
//!
//! What was charged is heel, melt loss or poured, and what was poured is in moulds, castings,
//! returns or lost: nothing is left over. The heel is pigged and melted again. Castings, and the
//! share of each mould in its heat, are as estimated; a count replaces what was reckoned.

use super::flow::{End, Point};
use super::walker::{Pour, returns_of};
use crate::build::Build;
use crate::estimate::Estimates;
use crate::figure::{Figure, Mass};
use crate::journal::{Disposition, Event, Poured};
use crate::manifest::{Id, Step};
use std::collections::BTreeMap;

/// An alloy by now.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Metal {
    /// Where it is, kg.
    pub now: Point,
    /// All that came in, less what was given away, kg.
    pub put_in: f64,
    /// Whether the ledger keeps ingot of it: charging takes from it only then.
    kept: bool,
}

/// A mould that was poured.
#[derive(Debug, Clone)]
struct Filled {
    alloy: Id,
    pour: Pour,
    out: bool,
    fettled: bool,
}

/// All metal by now.
#[derive(Debug, Clone, Default)]
pub(super) struct Past {
    /// By alloy.
    pub metals: BTreeMap<Id, Metal>,
    moulds: BTreeMap<Id, Filled>,
}

impl Past {
    /// Follows the journal from its first entry, taking one end of every doubt.
    pub fn new(build: &Build, estimates: &Estimates, end: End) -> Self {
        let mut past = Self::default();
        for (name, given) in &build.shop.stock {
            past.comes(build, name, given.si());
        }
        for entry in &build.history.log {
            match &entry.event {
                Event::Received(e) => {
                    if let (Some(stock), Some(mass)) = (&e.stock, &e.mass) {
                        past.comes(build, &stock.value, mass.si());
                    }
                }
                Event::GivenAway(e) => past.comes(build, &e.stock.value, -e.mass.si()),
                Event::Counted(e) => past.counted(build, &e.stock.value, e.mass.si()),
                Event::Poured(e) => past.poured(build, estimates, end, e),
                Event::ShakenOut(e) => {
                    if let Some(filled) = past.moulds.get_mut(&e.mould.value) {
                        filled.out = true;
                    }
                }
                Event::Done(e) if e.step == Step::Fettle => {
                    let part = e.part.as_ref().and_then(|p| build.part(&p.value));
                    let of_part = |m: &Id| {
                        let attempt = build.history.attempts.get(m);
                        part.is_some_and(|p| {
                            attempt.is_some_and(|a| a.castings.iter().any(|c| c.0 == p))
                        })
                    };
                    let ready = past.moulds.iter().filter(|(m, f)| f.out && of_part(m));
                    let ready: Vec<Id> = ready.map(|(m, _)| m.clone()).collect();
                    ready.iter().for_each(|m| past.fettled(build, end, m));
                }
                Event::Inspected(e) => {
                    past.fettled(build, end, &e.mould.value);
                    let part = build.part(&e.part.value);
                    let each = part.map_or(0.0, |p| casting(estimates, p, end));
                    if e.disposition == Disposition::Scrap {
                        past.scrapped(&e.mould.value, each * f64::from(e.pieces));
                    }
                }
                _ => {}
            }
        }
        for metal in past.metals.values_mut() {
            // Charged though nobody gave it: it lay there.
            for pile in [&mut metal.now.stock, &mut metal.now.returns] {
                metal.put_in += (-*pile).max(0.0);
                *pile = pile.max(0.0);
            }
        }
        past
    }

    /// The metal of a mould that was poured and is not fettled yet.
    pub fn unfettled(&self, mould: &str) -> Option<Pour> {
        self.moulds.get(mould).filter(|f| !f.fettled).map(|f| f.pour)
    }

    /// The pile that a stock of this name is, with its alloy: ingot or returns; none of no metal.
    fn pile(&mut self, build: &Build, name: &str) -> Option<(&mut f64, &mut f64)> {
        let alloys = &build.handbook.alloys;
        if alloys.contains_key(name) {
            let metal = self.metals.entry(name.into()).or_default();
            metal.kept = true;
            return Some((&mut metal.now.stock, &mut metal.put_in));
        }
        let alloy = name.strip_suffix("-returns").filter(|a| alloys.contains_key(*a))?;
        let metal = self.metals.entry(alloy.into()).or_default();
        Some((&mut metal.now.returns, &mut metal.put_in))
    }

    fn comes(&mut self, build: &Build, name: &str, mass: f64) {
        if let Some((pile, put_in)) = self.pile(build, name) {
            *pile += mass;
            *put_in += mass;
        }
    }

    fn counted(&mut self, build: &Build, name: &str, mass: f64) {
        let Some((pile, put_in)) = self.pile(build, name) else { return };
        let missing = *pile - mass;
        *pile = mass;
        *put_in += (-missing).max(0.0);
        let alloy = name.strip_suffix("-returns").unwrap_or(name);
        if let Some(metal) = self.metals.get_mut(alloy) {
            metal.now.lost += missing.max(0.0);
        }
    }

    fn poured(&mut self, build: &Build, estimates: &Estimates, end: End, e: &Poured) {
        let alloy = &e.alloy.value;
        let metal = self.metals.entry(alloy.clone()).or_default();
        for (source, mass) in &e.charge {
            let mass = mass.si();
            let returns = **source == *"returns" || *source == returns_of(alloy);
            if returns {
                metal.now.returns -= mass;
                // More than came back: it lay there before the first heat.
                metal.put_in += (-metal.now.returns).max(0.0);
                metal.now.returns = metal.now.returns.max(0.0);
            } else if metal.kept && (**source == *"ingot" || source == alloy) {
                metal.now.stock -= mass;
            } else {
                metal.put_in += mass;
            }
        }
        let charged: f64 = e.charge.values().map(Figure::si).sum();
        let heel = e.heel.as_ref().map_or(0.0, Figure::si).min(charged);
        let loss = build.handbook.alloys.get(alloy).and_then(|a| a.melt_loss.as_ref());
        let loss = loss.map_or(0.0, |l| end.used(l.node().range())).min(1.0);
        let (lost, poured) = ((charged - heel) * loss, (charged - heel) * (1.0 - loss));
        metal.now.lost += lost;
        metal.now.returns += heel;
        let moulds: Vec<&crate::build::Attempt> =
            e.moulds.iter().filter_map(|m| build.history.attempts.get(&m.value)).collect();
        if moulds.is_empty() {
            metal.now.returns += poured;
            return;
        }
        metal.now.in_moulds += poured;
        let wanted = |a: &crate::build::Attempt| -> f64 {
            let of = |(part, n): &(usize, u32)| {
                let each = estimates.castings[*part].as_ref().and_then(|e| e.poured.as_ref());
                each.map_or(0.0, Figure::si) * f64::from(*n)
            };
            a.castings.iter().map(of).sum()
        };
        let all: f64 = moulds.iter().map(|a| wanted(a)).sum();
        for attempt in &moulds {
            let share = if all > 0.0 { wanted(attempt) / all } else { 1.0 / moulds.len() as f64 };
            let poured = poured * share;
            let castings = attempt.castings.iter();
            let castings: f64 =
                castings.map(|(p, n)| casting(estimates, *p, end) * f64::from(*n)).sum();
            let pour = Pour { poured, castings: castings.min(poured) };
            let filled = Filled { alloy: alloy.clone(), pour, out: false, fettled: false };
            self.moulds.insert(attempt.mould.clone(), filled);
        }
    }

    /// The gates of a mould come off.
    fn fettled(&mut self, build: &Build, end: End, mould: &str) {
        let Some(filled) = self.moulds.get_mut(mould).filter(|f| !f.fettled) else { return };
        filled.fettled = true;
        if let Some(metal) = self.metals.get_mut(&filled.alloy) {
            filled.pour.fettle(&mut metal.now, end.saves(build.handbook.fettled.node().range()));
        }
    }

    /// Castings of a mould go back to be melted.
    fn scrapped(&mut self, mould: &str, mass: f64) {
        let Some(filled) = self.moulds.get_mut(mould) else { return };
        let mass = mass.min(filled.pour.castings);
        filled.pour.castings -= mass;
        if let Some(metal) = self.metals.get_mut(&filled.alloy) {
            metal.now.castings -= mass;
            metal.now.returns += mass;
        }
    }
}

/// Mass of one casting of a part, kg.
pub(super) fn casting(estimates: &Estimates, part: usize, end: End) -> f64 {
    let of = |f: &Figure<Mass>| end.used(f.node().range());
    estimates.castings[part].as_ref().and_then(|e| e.rough_mass.as_ref()).map_or(0.0, of)
}
