//! What the shop has, and how much of it is taken at a time.

use super::items::InPot;
use crate::estimate::{Carry, Lift};
use crate::manifest::Id;
use crate::model::Build;
use crate::plan::calendar::{Calendar, Minute};
use std::collections::BTreeSet;

/// Something taken from one moment to another.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Hold {
    pub from: Minute,
    pub to: Minute,
    pub much: f64,
}

/// Most that is taken at once within `from..to`, of holds that all may overlap.
pub(crate) fn most(holds: &[Hold], from: Minute, to: Minute) -> f64 {
    let within = || holds.iter().filter(|h| h.from < to && h.to > from);
    let at = |t: Minute| within().filter(|h| h.from <= t && h.to > t).map(|h| h.much).sum::<f64>();
    within().map(|h| at(h.from.max(from))).fold(0.0, f64::max)
}

/// Something of which the shop may have too little.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Scarce {
    /// Heats that a furnace melts in a session.
    Heats,
    /// Flasks of a kind.
    Flask(usize),
    /// Sand in the heap.
    Sand,
    /// Machines of a kind.
    Machine(usize),
}

/// What the shop has.
#[derive(Debug, Clone)]
pub struct Limits {
    pub(crate) flasks: Vec<usize>,
    pub(crate) machines: Vec<usize>,
    /// Sand in the heap, kg.
    pub(crate) sand: Option<f64>,
    pub(crate) furnaces: Vec<(Minute, u32)>,
    pub(crate) pots: usize,
    /// Of each pot, where its mass is known.
    lifts: Vec<Option<Lift>>,
    /// People who are ever in the shop together.
    together: u32,
    pub(crate) from_two: bool,
}

impl Limits {
    /// How many people a pour takes that lift so much metal in each of its pots, at the most, kg.
    pub(crate) fn people(&self, pots: &[InPot]) -> u32 {
        pots.iter().map(|p| self.lifts[p.pot].map_or(1, |lift| lift.carry(p.most).people())).sum()
    }

    /// Whether those who are ever in the shop together may lift these pots: by hand, or with the
    /// device of each. Of a pot whose mass is not known nobody can tell.
    pub(crate) fn may_lift(&self, pots: &[InPot]) -> bool {
        let by_hand = pots.iter().filter_map(|p| Some((self.lifts[p.pot]?, p.most)));
        let by_hand: Vec<_> = by_hand.filter(|(lift, _)| !lift.device).collect();
        let no_team = by_hand.iter().any(|(lift, most)| lift.carry(*most) == Carry::Device);
        let people: u32 = by_hand.iter().map(|(lift, most)| lift.carry(*most).people()).sum();
        !no_team && (people <= self.together || by_hand.is_empty())
    }

    /// The most metal beside its heel that may be lifted in a pot that holds so much, kg: no limit
    /// where it may be lifted full, for there is never more in it.
    pub(crate) fn most_lifted(&self, pot: usize, holds: f64) -> f64 {
        let most = self.lifts[pot].map_or(f64::INFINITY, |lift| lift.most(self.together));
        if most >= holds { f64::INFINITY } else { most }
    }

    /// What a pot asks of those who lift it.
    pub(crate) fn lift(&self, pot: usize) -> Option<Lift> {
        self.lifts[pot]
    }

    /// People who are ever in the shop together.
    pub(crate) fn together(&self) -> u32 {
        self.together
    }

    /// The same shop with so much of something that it holds up nothing.
    pub fn plenty(&self, of: Scarce) -> Self {
        const MANY: usize = 1_000;
        let mut more = self.clone();
        match of {
            Scarce::Heats => more.furnaces.iter_mut().for_each(|(_, heats)| *heats = MANY as u32),
            Scarce::Flask(kind) => more.flasks[kind] = MANY,
            Scarce::Sand => more.sand = None,
            Scarce::Machine(kind) => more.machines[kind] = MANY,
        }
        more
    }

    /// Of a build's shop with these hours.
    pub fn new(build: &Build, calendar: &Calendar) -> Self {
        let shop = &build.shop;
        let minutes = |f: &crate::figure::Figure<_>| (f.si() / 60.0).ceil() as Minute;
        Self {
            flasks: shop.flasks.values().map(|f| f.count as usize).collect(),
            machines: build.machines.values().map(|count| *count as usize).collect(),
            sand: heap(build),
            furnaces: shop
                .furnaces
                .values()
                .map(|f| (f.warm_up.as_ref().map_or(0, minutes), f.heats_per_session.max(1)))
                .collect(),
            pots: shop.crucibles.len(),
            lifts: shop.crucibles.values().map(Lift::of).collect(),
            together: calendar.most_together(),
            from_two: shop.pours_from_two,
        }
    }
}

/// Sand of the shop that its moulds can be made of, kg: what was given, received and counted; none
/// where the manifest does not say, and where the shop is empty: then it is bought as large as the plan
/// asks.
pub(crate) fn heap(build: &Build) -> Option<f64> {
    build.shop.sand.as_ref()?.on_hand.as_ref()?;
    build.history.stock.get("sand").copied().filter(|kg| *kg > 0.0)
}

/// The hours that work is made for.
#[derive(Clone, Copy)]
pub struct Hours<'a> {
    /// The longest session that anybody works.
    pub longest: Minute,
    /// The same on a day on which the shop pours.
    pub longest_pour: Minute,
    /// The shortest stretch between two sessions.
    pub shortest_break: Option<Minute>,
    /// Nothing is poured before this minute.
    pub pours: Minute,
    /// Moulds that stood too long, by name, though they might have been poured in time.
    pub again: &'a BTreeSet<Id>,
}

pub(crate) fn overlapping(holds: &[Hold], with: &Hold) -> Vec<Hold> {
    holds.iter().filter(|h| h.from < with.to && h.to > with.from).copied().collect()
}
