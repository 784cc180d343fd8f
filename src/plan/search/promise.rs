//! What is kept of a plan, by name, and how the work of today is known again in it: moulds by what
//! they hold, whatever the journal calls them.

use super::aim::Aim;
use super::layout::Candidate;
use crate::manifest::{Id, Step};
use crate::model::{Attempt, Build};
use crate::plan::calendar::Calendar;
use crate::plan::subject::Subject;
use crate::plan::work::{Batches, Limits, Mould, Work, may_share};
use chrono::{NaiveDate, NaiveDateTime};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::{BTreeSet, HashMap};

/// A plan as it is kept beside the build.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Kept {
    /// Hash of the work, the shop and the hours it was made for.
    pub of: String,
    /// What came first when it was looked for.
    pub aim: Aim,
    /// When all is finished.
    pub finish: Option<NaiveDateTime>,
    /// Moulds that the journal named when it was made.
    pub rammed: BTreeSet<Id>,
    /// Jobs, the first placed first.
    pub jobs: Vec<PromisedJob>,
    /// Heats, by the clock.
    pub heats: Vec<PromisedHeat>,
}

/// A job of a plan that is kept.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PromisedJob {
    /// Its name.
    pub job: String,
    /// Minutes at the bench.
    pub minutes: i64,
    /// When it begins.
    pub start: NaiveDateTime,
    /// When the work on it is over.
    pub end: NaiveDateTime,
}

/// A heat of a plan that is kept.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PromisedHeat {
    /// Its name.
    pub heat: Id,
    /// When pouring begins.
    pub pour: NaiveDateTime,
    /// Its moulds.
    pub moulds: Vec<PromisedMould>,
}

/// A mould of a heat that is kept.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PromisedMould {
    /// Its name in `jobs`: that of the journal if it stood then.
    pub mould: String,
    /// Castings in it, by part.
    pub holds: String,
}

/// A hash of all that a plan depends on.
pub(crate) fn hash(work: &Work, limits: &Limits, calendar: &Calendar, aim: Aim) -> String {
    let mut hash = Sha256::new();
    let mut add = |text: String| hash.update(text.as_bytes());
    for item in &work.items {
        add(format!("{item:?}"));
    }
    for m in &work.moulds {
        add(format!(
            "{} {} {} {:?} {:?} {:?} {} {} {} {:?} {:?} {:?}",
            m.part,
            m.nth,
            m.castings,
            m.others,
            m.standing,
            m.flask,
            m.sand,
            m.charge,
            m.alloy,
            m.pots,
            m.stands,
            m.items
        ));
    }
    add(format!("{:?} {} {limits:?} {aim:?}", work.cooling, work.melt));
    // The first windows tell the hours and the day; the rest follow from them and days away.
    add(format!("{calendar:?}"));
    hash.finalize().iter().map(|b| format!("{b:02x}")).collect()
}

/// Castings by part, in words that do not depend on which part leads.
fn holds(build: &Build, lots: impl Iterator<Item = (usize, u32)>) -> String {
    let mut lots: Vec<String> =
        lots.map(|(part, n)| format!("{}={n}", build.parts[part].id())).collect();
    lots.sort_unstable();
    lots.join(" ")
}

fn holds_of(build: &Build, mould: &Mould) -> String {
    let lots = std::iter::once((mould.part, mould.castings)).chain(mould.others.iter().copied());
    holds(build, lots)
}

/// The name of a mould in a plan: its own if it stands; else the part's and which of those to come.
fn mould_name(build: &Build, mould: &Mould) -> String {
    match &mould.standing {
        Some((name, _)) => name.to_string(),
        None => format!("{}/{}", build.parts[mould.part].id(), mould.nth),
    }
}

fn step_of(mould: &str, step: Step) -> String {
    format!("{mould} {}", step.word())
}

/// The name of each item, where moulds have these names.
fn job_names(build: &Build, work: &Work, moulds: &[String]) -> Vec<String> {
    let names = work.items.iter().map(|item| {
        let on = match item.subject {
            Subject::Pattern(i) => &build.patterns[i].id,
            Subject::Part(i) => build.parts[i].id(),
        };
        step_of(item.mould.map_or(on, |m| &*moulds[m]), item.step)
    });
    let mut names: Vec<String> = names.collect();
    for taken in &work.cooling {
        names[taken.until] = step_of(&taken.mould, Step::ShakeOut);
    }
    names
}

/// A heat of the plan in words: its name, when it is poured, and its moulds.
pub(crate) type NamedHeat<'a> = (&'a Id, NaiveDateTime, &'a [usize]);

impl Kept {
    /// Of a plan: when each item begins and ends, and its heats by the clock.
    pub(crate) fn new<'a>(
        (of, aim): (String, Aim),
        build: &Build,
        work: &Work,
        candidate: &Candidate,
        (finish, spans): (Option<NaiveDateTime>, &[(NaiveDateTime, NaiveDateTime)]),
        heats: impl Iterator<Item = NamedHeat<'a>>,
    ) -> Self {
        let keys = &candidate.keys;
        let mut order: Vec<usize> = (0..work.items.len()).collect();
        order.sort_by(|a, b| keys[*b].total_cmp(&keys[*a]).then(a.cmp(b)));
        let moulds: Vec<String> = work.moulds.iter().map(|m| mould_name(build, m)).collect();
        let names = job_names(build, work, &moulds);
        let job = |n: usize| PromisedJob {
            job: names[n].clone(),
            minutes: work.items[n].minutes,
            start: spans[n].0,
            end: spans[n].1,
        };
        let mould = |m: &usize| PromisedMould {
            mould: moulds[*m].clone(),
            holds: holds_of(build, &work.moulds[*m]),
        };
        let heat = |(name, pour, moulds): NamedHeat<'_>| PromisedHeat {
            heat: name.clone(),
            pour,
            moulds: moulds.iter().map(mould).collect(),
        };
        Self {
            of,
            aim,
            finish,
            rammed: build.history.attempts.keys().cloned().collect(),
            jobs: order.into_iter().map(job).collect(),
            heats: heats.map(heat).collect(),
        }
    }

    /// Whether it names each job and each mould of the work once, and nothing else: a hash tells
    /// what a plan is of, not that the file says the whole of it.
    pub(crate) fn is_whole(&self, build: &Build, work: &Work) -> bool {
        let sorted = |mut names: Vec<String>| {
            names.sort_unstable();
            names
        };
        let moulds: Vec<String> = work.moulds.iter().map(|m| mould_name(build, m)).collect();
        let jobs = sorted(job_names(build, work, &moulds));
        let kept = self.heats.iter().flat_map(|h| &h.moulds).map(|m| m.mould.clone());
        sorted(self.jobs.iter().map(|j| j.job.clone()).collect()) == jobs
            && sorted(kept.collect()) == sorted(moulds)
    }

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
        let (candidate, of_mould) = (Candidate { keys, heats }, known.slots);
        Some(Promise { candidate, batches, torn, changes, of_mould })
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
        "{} were rammed for {} and cannot be poured from one melt any more: crucible, flasks or \
         the length of a session have changed since",
        names.join(", "),
        promised.heat
    )
}

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

/// What of a plan that is kept still stands.
pub(crate) struct Promise {
    pub candidate: Candidate,
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

/// A promised mould: the position of its heat, and its place in that.
type Slot = (usize, usize);

/// Moulds of today, known again among those that were promised.
struct Known<'a> {
    kept: &'a Kept,
    /// By mould of the work.
    slots: Vec<Option<Slot>>,
    /// The names of items when the plan was made.
    names: Vec<String>,
}

impl<'a> Known<'a> {
    fn new(kept: &'a Kept, build: &Build, work: &Work) -> Self {
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
        let slots: Vec<Option<Slot>> = work
            .moulds
            .iter()
            .map(|m| match &m.standing {
                Some((name, _)) => journal.get(name).copied(),
                None => free.holding(&holds_of(build, m)),
            })
            .collect();
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

    fn moulds_of(&self, heat: usize) -> Vec<usize> {
        let mut mine: Vec<(usize, usize)> = Vec::new();
        for (m, slot) in self.slots.iter().enumerate() {
            mine.extend(slot.filter(|s| s.0 == heat).map(|s| (s.1, m)));
        }
        mine.sort_unstable();
        mine.into_iter().map(|(_, m)| m).collect()
    }

    /// Items that are not what they were.
    fn changes(&self, build: &Build, work: &Work) -> Vec<(usize, Changed)> {
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
    fn keys(&self, work: &Work) -> Vec<f64> {
        let most = self.kept.jobs.len() as f64;
        let jobs = self.kept.jobs.iter().enumerate();
        let rank: HashMap<&str, f64> = jobs.map(|(i, job)| (&*job.job, most - i as f64)).collect();
        let mut keys: Vec<Option<f64>> =
            self.names.iter().map(|name| rank.get(&**name).copied()).collect();
        for (mould, slot) in work.moulds.iter().zip(&self.slots) {
            if mould.standing.is_some() && slot.is_none() {
                mould.items.iter().flatten().for_each(|n| keys[*n] = Some(most + 1.0));
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

/// A mould that was rammed since the plan was made.
struct New<'n> {
    mould: &'n Id,
    holds: String,
    lead: Option<&'n Id>,
    heat: Option<&'n Id>,
}

impl<'n> New<'n> {
    fn of(build: &'n Build, attempt: &'n Attempt) -> Self {
        Self {
            mould: &attempt.mould,
            holds: holds(build, attempt.castings.iter().copied()),
            lead: attempt.castings.first().map(|(part, _)| build.parts[*part].id()),
            heat: attempt.poured.as_ref().map(|(heat, _)| heat),
        }
    }
}

/// Promised moulds that nothing was found for yet.
struct Free<'a> {
    kept: &'a Kept,
    taken: Vec<Vec<bool>>,
}

impl<'a> Free<'a> {
    fn new(kept: &'a Kept) -> Self {
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
    fn named(&mut self, name: &Id) -> Option<Slot> {
        let stood = self.kept.rammed.contains(name);
        stood.then(|| self.take(|_, m| *m.mould == **name))?
    }

    /// Moulds that were poured in a heat of a promised name are of that heat.
    fn poured<'n>(&mut self, new: &mut Vec<New<'n>>) -> Vec<(&'n Id, Slot)> {
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
    fn complete<'n>(&mut self, new: &mut Vec<New<'n>>) -> Vec<(&'n Id, Slot)> {
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
    fn rammed<'n>(&mut self, new: &[New<'n>]) -> Vec<(&'n Id, Slot)> {
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

    /// For a mould to come.
    fn holding(&mut self, holds: &str) -> Option<Slot> {
        self.take_to_come(|_, m| m.holds == holds)
    }
}
