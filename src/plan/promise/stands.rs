//! What of the plan that is kept still stands: heats with their moulds and names, and the order of work.

use super::kept::{Kept, PromisedHeat};
use super::known::{Changed, Known};
use super::matching::Slot;
use super::names::mould_name;
use crate::manifest::Id;
use crate::model::Build;
use crate::plan::search::Candidate;
use crate::plan::work::{Batches, Limits, Work, may_share};
use chrono::NaiveDate;

/// What of a plan that is kept still stands.
pub(crate) struct Promise {
    pub candidate: Candidate,
    /// Moulds that were promised for one heat, and its day.
    pub heats: Vec<(Vec<usize>, NaiveDate)>,
    /// Moulds that were rammed for one heat.
    pub batches: Batches,
    /// What was rammed for one heat and is not poured so, in words.
    pub torn: Vec<String>,
    /// Items that are not what they were when it was made.
    pub changes: Vec<(usize, Changed)>,
    /// The promised heat of each mould, and its place in it.
    of_mould: Vec<Option<Slot>>,
}

impl Promise {
    /// The promised heat of a mould of today, and its place in it.
    pub fn slot(&self, mould: usize) -> Option<Slot> {
        self.of_mould.get(mould).copied().flatten()
    }

    /// Lets moulds that were rammed for one heat be poured apart; false where none are held
    /// together.
    pub fn let_go(&mut self, batches: &mut Batches) -> bool {
        if batches.all().iter().all(|batch| batch.len() == 1) {
            return false;
        }
        *batches = Batches::apart(self.of_mould.len());
        self.candidate.heats = batches.all().to_vec();
        self.torn.push(
            "moulds that were rammed for one heat cannot wait for each other: what one of them \
             waits for needs the flask or the sand of another"
                .into(),
        );
        true
    }
}

impl Kept {
    /// What of it still stands for the work as it is now.
    pub(crate) fn stands(
        &self,
        build: &Build,
        work: &Work,
        limits: &Limits,
        longest: i64,
    ) -> Option<Promise> {
        if self.jobs.is_empty() {
            return None;
        }
        let known = Known::new(self, build, work);
        let (mut heats, mut torn) = (Vec::new(), Vec::new());
        for (h, promised) in self.heats.iter().enumerate() {
            let group: Vec<usize> = known.moulds_of(h);
            if group.is_empty() {
                continue;
            }
            if may_share(work, limits, &group, longest) {
                heats.push((Some(h), group));
                continue;
            }
            let standing = |m: &usize| work.moulds[*m].standing.is_some();
            let (ready, to_come): (Vec<usize>, Vec<usize>) = group.into_iter().partition(standing);
            if ready.len() > 1 && may_share(work, limits, &ready, longest) {
                heats.push((Some(h), ready));
            } else if ready.len() > 1 {
                torn.push(torn_apart(build, work, promised, &ready));
                heats.extend(ready.into_iter().map(|m| (Some(h), vec![m])));
            } else {
                heats.extend(ready.into_iter().map(|m| (Some(h), vec![m])));
            }
            heats.extend(to_come.into_iter().map(|m| (Some(h), vec![m])));
        }
        torn.extend(self.join_ready(work, limits, longest, &mut heats));
        let mut grouped = vec![false; work.moulds.len()];
        heats.iter().flat_map(|(_, g)| g).for_each(|m| grouped[*m] = true);
        let left = (0..work.moulds.len()).filter(|m| !grouped[*m]);
        for m in left {
            join(work, limits, longest, &mut heats, m);
        }
        let promised = heats.iter().filter(|(h, _)| h.is_some());
        let batches = Batches::of(work, promised.map(|(_, g)| &g[..]));
        let keys = known.keys(work);
        let heats = heats.into_iter().map(|(_, g)| g).collect();
        let changes = known.changes(build, work);
        let promised = self.heats.iter().enumerate();
        let promised = promised.map(|(h, heat)| (known.moulds_of(h), heat.pour.date()));
        let promised = promised.filter(|(moulds, _)| !moulds.is_empty()).collect();
        let (candidate, of_mould) = (Candidate { keys, heats }, known.slots);
        Some(Promise { candidate, heats: promised, batches, torn, changes, of_mould })
    }

    /// Heats of one day whose moulds all stand, and which one pot can hold, become one.
    fn join_ready(
        &self,
        work: &Work,
        limits: &Limits,
        longest: i64,
        heats: &mut Vec<(Option<usize>, Vec<usize>)>,
    ) -> Vec<String> {
        let name = |h: Option<usize>| h.map_or("", |h| &*self.heats[h].heat);
        let mut joined = Vec::new();
        let ready = |g: &[usize]| g.iter().all(|m| work.moulds[*m].standing.is_some());
        let day = |h: Option<usize>| h.map(|h| self.heats[h].pour.date());
        let mut i = 0;
        while i < heats.len() {
            let (of, group) = &heats[i];
            let with = heats[..i].iter().position(|(other, g)| {
                let both = [&g[..], group].concat();
                day(*other) == day(*of) && ready(&both) && may_share(work, limits, &both, longest)
            });
            match with {
                Some(earlier) => {
                    let (of, group) = heats.remove(i);
                    heats[earlier].1.extend(group);
                    joined.extend((of != heats[earlier].0).then(|| {
                        let (one, other) = (name(heats[earlier].0), name(of));
                        format!(
                            "{other} is poured with {one}: both are ready, and one pot holds them"
                        )
                    }));
                }
                None => i += 1,
            }
        }
        joined
    }

    /// The name that each heat of a plan was promised by: that with which it has most moulds in
    /// common, once; a name that the journal gave to a heat is gone.
    pub(crate) fn names(
        &self,
        build: &Build,
        promise: &Promise,
        heats: &[&[usize]],
    ) -> Vec<Option<Id>> {
        let mut shared: Vec<(usize, usize, usize)> = Vec::new();
        for (h, group) in heats.iter().enumerate() {
            let mut count = vec![0; self.heats.len()];
            group.iter().filter_map(|m| promise.of_mould[*m]).for_each(|slot| count[slot.0] += 1);
            shared
                .extend(count.into_iter().enumerate().filter(|c| c.1 > 0).map(|(p, n)| (n, p, h)));
        }
        shared.sort_by_key(|(n, p, h)| (std::cmp::Reverse(*n), *p, *h));
        let mut names: Vec<Option<Id>> = vec![None; heats.len()];
        let mut used = vec![false; self.heats.len()];
        for (_, p, h) in shared {
            let name = &self.heats[p].heat;
            if names[h].is_none() && !used[p] && !build.history.heats.contains_key(name) {
                used[p] = true;
                names[h] = Some(name.clone());
            }
        }
        names
    }
}

/// Puts a mould without a promise together with others that stand and have none, if it stands too
/// and fits; else alone.
fn join(
    work: &Work,
    limits: &Limits,
    longest: i64,
    heats: &mut Vec<(Option<usize>, Vec<usize>)>,
    m: usize,
) {
    let ready = |g: &[usize]| g.iter().all(|m| work.moulds[*m].standing.is_some());
    let with = heats.iter_mut().find(|(promised, g)| {
        let both = [&g[..], &[m]].concat();
        promised.is_none() && ready(&both) && may_share(work, limits, &both, longest)
    });
    match with {
        Some((_, group)) => group.push(m),
        None => heats.push((None, vec![m])),
    }
}

fn torn_apart(build: &Build, work: &Work, promised: &PromisedHeat, ready: &[usize]) -> String {
    let names: Vec<String> = ready.iter().map(|m| mould_name(build, &work.moulds[*m])).collect();
    format!(
        "{} were rammed for {} and cannot be poured from one melt any more: crucible, flasks, \
         the length of a session or what the people may lift have changed since",
        names.join(", "),
        promised.heat
    )
}
