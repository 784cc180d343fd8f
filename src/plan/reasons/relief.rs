//! Whether what seems to hold up a job does: the same plan in a shop that has plenty of it.

use crate::plan::calendar::{Calendar, Minute};
use crate::plan::search::{Candidate, Layout, Obstacle, place};
use crate::plan::work::{Limits, Scarce, Work};
use std::collections::{BTreeMap, BTreeSet};

/// Larger plans are not tried again: what seems to hold them up is taken to do so.
const MOST: usize = 2_000;

/// When each item would begin with plenty of one thing; nothing where it was not tried.
pub struct Relief(BTreeMap<Scarce, Vec<Minute>>);

impl Relief {
    /// Of all that seems to hold up something in a plan.
    pub fn new(
        work: &Work,
        limits: &Limits,
        calendar: &Calendar,
        candidate: &Candidate,
        layout: &Layout,
    ) -> Self {
        let held = layout.heats.iter().filter_map(|heat| match heat.held?.0 {
            Obstacle::Furnace => Some(Scarce::Heats),
            Obstacle::Flask(kind) => Some(Scarce::Flask(kind)),
            Obstacle::Sand => Some(Scarce::Sand),
            Obstacle::Time | Obstacle::Crucible | Obstacle::Hands | Obstacle::Day => None,
        });
        let machines = work.items.iter().filter_map(|item| item.machine.map(Scarce::Machine));
        let small = work.items.len() <= MOST;
        let all: BTreeSet<Scarce> = held.chain(machines).filter(|_| small).collect();
        let starts = |scarce: Scarce| {
            let found = place(work, &limits.plenty(scarce), calendar, candidate)?;
            Some((scarce, found.items.iter().map(|placed| placed.start).collect()))
        };
        Self(all.into_iter().filter_map(starts).collect())
    }

    /// Whether an item that begins at a minute would begin earlier with plenty of something, or
    /// nobody knows.
    pub fn helps(&self, of: Scarce, item: usize, start: Minute) -> bool {
        self.0.get(&of).is_none_or(|starts| starts[item] < start)
    }
}
