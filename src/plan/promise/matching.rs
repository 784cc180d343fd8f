//! Which promised mould one of the journal is: by its name, by the heat it was poured in, with all
//! moulds of a heat, by what it holds, and last by the part that leads it.

use super::kept::{Kept, PromisedHeat, PromisedMould};
use super::names::holds;
use crate::manifest::Id;
use crate::model::{Attempt, Build};

/// A promised mould: the position of its heat, and its place in that.
pub(super) type Slot = (usize, usize);

/// A mould that was rammed since the plan was made.
pub(super) struct New<'n> {
    mould: &'n Id,
    holds: String,
    lead: Option<&'n Id>,
    heat: Option<&'n Id>,
}

impl<'n> New<'n> {
    /// Of an entry of the journal.
    pub fn of(build: &'n Build, attempt: &'n Attempt) -> Self {
        Self {
            mould: &attempt.mould,
            holds: holds(build, attempt.castings.iter().copied()),
            lead: attempt.castings.first().map(|(part, _)| build.parts[*part].id()),
            heat: attempt.poured.as_ref().map(|(heat, _)| heat),
        }
    }
}

/// Promised moulds that nothing was found for yet.
pub(super) struct Free<'a> {
    kept: &'a Kept,
    taken: Vec<Vec<bool>>,
}

impl<'a> Free<'a> {
    /// All of them.
    pub fn new(kept: &'a Kept) -> Self {
        let taken = kept.heats.iter().map(|h| vec![false; h.moulds.len()]).collect();
        Self { kept, taken }
    }

    /// The first that is free and right.
    fn take(&mut self, right: impl Fn(&PromisedHeat, &PromisedMould) -> bool) -> Option<Slot> {
        let heats = self.kept.heats.iter().enumerate();
        let mut slots = heats.flat_map(|(h, heat)| (0..heat.moulds.len()).map(move |m| (h, m)));
        let found = slots.find(|(h, m)| {
            let heat = &self.kept.heats[*h];
            !self.taken[*h][*m] && right(heat, &heat.moulds[*m])
        })?;
        self.taken[found.0][found.1] = true;
        Some(found)
    }

    /// The first that did not stand when the plan was made, is free and right.
    fn take_to_come(
        &mut self,
        right: impl Fn(&PromisedHeat, &PromisedMould) -> bool,
    ) -> Option<Slot> {
        let kept = self.kept;
        self.take(|h, m| !kept.rammed.contains(&*m.mould) && right(h, m))
    }

    /// The one that bears this name of the journal.
    pub fn named(&mut self, name: &Id) -> Option<Slot> {
        let stood = self.kept.rammed.contains(name);
        stood.then(|| self.take(|_, m| *m.mould == **name))?
    }

    /// Moulds that were poured in a heat of a promised name are of that heat.
    pub fn poured<'n>(&mut self, new: &mut Vec<New<'n>>) -> Vec<(&'n Id, Slot)> {
        let mut found = Vec::new();
        new.retain(|a| {
            let slot = self.take_to_come(|h, m| a.heat == Some(&h.heat) && m.holds == a.holds);
            found.extend(slot.map(|slot| (a.mould, slot)));
            slot.is_none()
        });
        found
    }

    /// Heats all of whose moulds were rammed, the one with most moulds first, the earlier first
    /// among such.
    pub fn complete<'n>(&mut self, new: &mut Vec<New<'n>>) -> Vec<(&'n Id, Slot)> {
        let mut found = Vec::new();
        let mut heats: Vec<usize> = (0..self.kept.heats.len()).collect();
        heats.sort_by_key(|h| std::cmp::Reverse(self.kept.heats[*h].moulds.len()));
        for h in heats {
            let mut mine: Vec<(usize, Slot)> = Vec::new();
            let slots = self.kept.heats[h].moulds.iter().enumerate();
            for (m, promised) in slots.filter(|(m, _)| !self.taken[h][*m]) {
                let free = |at: &usize| mine.iter().all(|(other, _)| other != at);
                let is = |at: &usize| free(at) && new[*at].holds == promised.holds;
                mine.extend((0..new.len()).find(is).map(|at| (at, (h, m))));
            }
            let open = self.taken[h].iter().filter(|taken| !**taken).count();
            if open == 0 || mine.len() < open {
                continue;
            }
            mine.iter().for_each(|(_, (h, m))| self.taken[*h][*m] = true);
            found.extend(mine.iter().map(|(at, slot)| (new[*at].mould, *slot)));
            let gone: Vec<&Id> = mine.iter().map(|(at, _)| new[*at].mould).collect();
            new.retain(|a| !gone.contains(&a.mould));
        }
        found
    }

    /// For moulds rammed since: one that holds the same; else one led by the same part.
    pub fn rammed<'n>(&mut self, new: &[New<'n>]) -> Vec<(&'n Id, Slot)> {
        let mut found = Vec::new();
        for a in new {
            let led = |m: &PromisedMould| {
                let part = m.mould.rsplit_once('/').map(|(part, _)| part);
                part.is_some() && part == a.lead.map(|lead| &**lead)
            };
            let slot = self
                .take_to_come(|_, m| m.holds == a.holds)
                .or_else(|| self.take_to_come(|_, m| led(m)));
            found.extend(slot.map(|slot| (a.mould, slot)));
        }
        found
    }

    /// The one to come that was called so and holds the same.
    pub fn called(&mut self, name: &str, holds: &str) -> Option<Slot> {
        self.take_to_come(|_, m| m.mould == name && m.holds == holds)
    }

    /// For a mould to come.
    pub fn holding(&mut self, holds: &str) -> Option<Slot> {
        self.take_to_come(|_, m| m.holds == holds)
    }
}
