//! Moulds and jobs of today, known again in the plan that is kept, and how they differ from it.

use super::kept::{Kept, PromisedJob};
use super::matching::{Free, New, Slot};
use super::names::{holds_of, job_names, mould_name, names_of_today, step_of};
use crate::manifest::{Id, Step};
use crate::model::{Attempt, Build};
use crate::plan::awaited::Awaited;
use crate::plan::work::Work;
use chrono::NaiveDate;
use std::collections::HashMap;

/// How an item is not what it was when the plan was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Changed {
    /// It should be over, and is still to do; the day it was planned for.
    Late(NaiveDate),
    /// It takes so many minutes more.
    Longer(i64),
    /// It takes so many minutes less.
    Shorter(i64),
    /// It has come in addition.
    New,
}

impl Changed {
    /// Minutes that it comes to.
    pub fn minutes(self, work: &Work, item: usize) -> i64 {
        match self {
            Self::Late(_) | Self::New => work.items[item].minutes,
            Self::Longer(minutes) | Self::Shorter(minutes) => minutes,
        }
    }
}

/// Moulds of today, known again among those that were promised.
pub(super) struct Known<'a> {
    kept: &'a Kept,
    /// By mould of the work.
    pub slots: Vec<Option<Slot>>,
    /// The names of items when the plan was made.
    pub names: Vec<String>,
}

impl<'a> Known<'a> {
    /// Those of the journal by name, by heat, and by what they hold; those to come by name, so that
    /// nothing changes places where nothing has changed, and else by what they hold.
    pub fn new(kept: &'a Kept, build: &Build, work: &Work) -> Self {
        let mut free = Free::new(kept);
        // Moulds of the journal, by name: those that stood, and those rammed since.
        let mut journal: HashMap<&Id, Slot> = HashMap::new();
        let mut attempts: Vec<&Attempt> = build.history.attempts.values().collect();
        attempts.sort_by_key(|a| a.rammed);
        for attempt in &attempts {
            if let Some(slot) = free.named(&attempt.mould) {
                journal.insert(&attempt.mould, slot);
            }
        }
        let new = attempts.into_iter().filter(|a| !kept.rammed.contains(&a.mould));
        let mut new: Vec<New<'_>> = new.map(|attempt| New::of(build, attempt)).collect();
        journal.extend(free.poured(&mut new));
        journal.extend(free.complete(&mut new));
        journal.extend(free.rammed(&new));
        let mut slots: Vec<Option<Slot>> = work
            .moulds
            .iter()
            .map(|m| match &m.standing {
                Some((name, _)) => journal.get(name).copied(),
                None => free.called(&mould_name(build, m), &holds_of(build, m)),
            })
            .collect();
        for (m, slot) in work.moulds.iter().zip(&mut slots) {
            if m.standing.is_none() && slot.is_none() {
                *slot = free.holding(&holds_of(build, m));
            }
        }
        let name = |slot: Slot| kept.heats[slot.0].moulds[slot.1].mould.clone();
        let moulds: Vec<String> = work
            .moulds
            .iter()
            .zip(&slots)
            .map(|(m, slot)| slot.map_or_else(|| format!("? {}", mould_name(build, m)), name))
            .collect();
        let mut names = job_names(build, work, &moulds);
        for taken in &work.cooling {
            if let Some(slot) = journal.get(&taken.mould) {
                names[taken.until] = step_of(&name(*slot), Step::ShakeOut);
            }
        }
        Self { kept, slots, names }
    }

    /// Moulds of today that are of a promised heat, in its order.
    pub fn moulds_of(&self, heat: usize) -> Vec<usize> {
        let mut mine: Vec<(usize, usize)> = Vec::new();
        for (m, slot) in self.slots.iter().enumerate() {
            mine.extend(slot.filter(|s| s.0 == heat).map(|s| (s.1, m)));
        }
        mine.sort_unstable();
        mine.into_iter().map(|(_, m)| m).collect()
    }

    /// Items that are not what they were.
    pub fn changes(&self, build: &Build, work: &Work) -> Vec<(usize, Changed)> {
        let jobs: HashMap<&str, &PromisedJob> =
            self.kept.jobs.iter().map(|job| (&*job.job, job)).collect();
        let changed = |n: usize| {
            let minutes = work.items[n].minutes;
            let Some(job) = jobs.get(&*self.names[n]) else { return Some(Changed::New) };
            if job.end.date() < build.today {
                return Some(Changed::Late(job.start.date()));
            }
            match minutes - job.minutes {
                more if more > 0 => Some(Changed::Longer(more)),
                less if less < 0 && job.start.date() >= build.today => {
                    Some(Changed::Shorter(-less))
                }
                _ => None,
            }
        };
        (0..work.items.len()).filter_map(|n| Some((n, changed(n)?))).collect()
    }

    /// Priorities as they were. Jobs that are new come just before what waits for them; moulds that
    /// stand without a promise come first.
    pub fn keys(&self, work: &Work) -> Vec<f64> {
        let most = self.kept.jobs.len() as f64;
        let jobs = self.kept.jobs.iter().enumerate();
        let rank: HashMap<&str, f64> = jobs.map(|(i, job)| (&*job.job, most - i as f64)).collect();
        let mut keys: Vec<Option<f64>> =
            self.names.iter().map(|name| rank.get(&**name).copied()).collect();
        for (mould, slot) in
            work.moulds.iter().zip(&self.slots).filter(|(m, _)| m.standing.is_some())
        {
            let Some((h, m)) = slot else {
                mould.items.iter().flatten().for_each(|n| keys[*n] = Some(most + 1.0));
                continue;
            };
            // Rammed, it is as urgent as its ramming was: it does not fall behind what was rammed after it.
            let rammed = rank.get(&*step_of(&self.kept.heats[*h].moulds[*m].mould, Step::Ram));
            if let Some((pour, rammed)) = mould.items[1].zip(rammed) {
                keys[pour] = Some(keys[pour].map_or(*rammed, |key| key.max(*rammed)));
            }
        }
        for &n in work.order().iter().rev() {
            if keys[n].is_none() {
                let after = work.items[n].after.iter().filter_map(|a| keys[*a]);
                keys[n] = Some(after.fold(0.0, f64::max) + 0.5);
            }
        }
        keys.into_iter().flatten().collect()
    }
}

impl Kept {
    /// What its jobs wait for, under the names that they have in today's work.
    pub(crate) fn awaited_in(&self, build: &Build, work: &Work) -> Vec<Awaited> {
        let known = Known::new(self, build, work);
        let today = names_of_today(build, work);
        let now = |awaited: &Awaited| {
            let n = known.names.iter().position(|name| *name == awaited.job)?;
            Some(Awaited { job: today[n].clone(), ..awaited.clone() })
        };
        self.awaited.iter().filter_map(now).collect()
    }
}
