//! A plan as it is kept beside the build: jobs, heats and moulds by name.

use super::inputs;
use super::names::{holds_of, mould_name, names_of_today};
use crate::manifest::Id;
use crate::model::{Build, Gone, Part};
use crate::plan::awaited::Awaited;
use crate::plan::search::{Aim, Candidate};
use crate::plan::work::{Mould, Work};
use chrono::{NaiveDateTime, Timelike};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

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
    /// Of these, moulds that are rammed again, and when they had been.
    #[serde(default)]
    pub again: BTreeMap<Id, NaiveDateTime>,
    /// Materials that some of its jobs wait for.
    #[serde(default)]
    pub awaited: Vec<Awaited>,
    /// Castings that were scrapped by then, by part; none where that was not kept.
    #[serde(default)]
    pub scrapped: Option<BTreeMap<Id, u32>>,
    /// Flasks and crucibles that were retired by then.
    #[serde(default)]
    pub retired: BTreeMap<Id, u32>,
    /// A hash of hours and equipment of the shop; none where that was not kept.
    #[serde(default)]
    pub shop: Option<String>,
    /// Days that small, easy heats first would have cost, where that was too many and they are left out.
    #[serde(default)]
    pub firsts_cost: Option<i64>,
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
    /// When it is lit.
    #[serde(default)]
    pub lit: Option<NaiveDateTime>,
    /// When pouring begins.
    pub pour: NaiveDateTime,
    /// The crucibles it is melted in.
    #[serde(default)]
    pub crucibles: Vec<Id>,
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
    /// The flask it is rammed in.
    #[serde(default)]
    pub flask: Option<Id>,
}

/// A heat of the plan in words: its name, when it is lit and poured, its crucibles, and its moulds.
pub(crate) type NamedHeat<'a> = (&'a Id, [NaiveDateTime; 2], &'a [Id], &'a [usize]);

/// Flasks and crucibles that are retired, by id.
fn retired(build: &Build) -> BTreeMap<Id, u32> {
    let mut out: BTreeMap<Id, u32> = BTreeMap::new();
    let gone = build.history.retired.iter();
    gone.for_each(|gone| *out.entry(gone.of.clone()).or_default() += gone.pieces);
    out
}

/// Castings that were scrapped so far, by part.
fn scrapped(build: &Build) -> BTreeMap<Id, u32> {
    let lost = |(i, part): (usize, &Part)| (part.id().clone(), build.history.pieces(i).scrapped);
    build.parts.iter().enumerate().map(lost).filter(|(_, lost)| *lost > 0).collect()
}

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
        let names = names_of_today(build, work);
        let job = |n: usize| PromisedJob {
            job: names[n].clone(),
            minutes: work.items[n].minutes,
            start: spans[n].0,
            end: spans[n].1,
        };
        let mould = |m: &usize| PromisedMould {
            mould: moulds[*m].clone(),
            holds: holds_of(build, &work.moulds[*m]),
            flask: work.moulds[*m]
                .flask
                .and_then(|f| build.shop.flasks.get_index(f))
                .map(|(id, _)| id.clone()),
        };
        let heat = |(name, [lit, pour], crucibles, moulds): NamedHeat<'_>| PromisedHeat {
            heat: name.clone(),
            lit: Some(lit),
            pour,
            crucibles: crucibles.to_vec(),
            moulds: moulds.iter().map(mould).collect(),
        };
        let again = work.moulds.iter().filter_map(Mould::rammed_again);
        let again = again.filter_map(|name| {
            let attempt = build.history.attempts.get(name)?;
            Some((name.clone(), attempt.rammed))
        });
        Self {
            of,
            aim,
            finish,
            rammed: build.history.attempts.keys().cloned().collect(),
            again: again.collect(),
            awaited: work.awaited.clone(),
            scrapped: Some(scrapped(build)),
            retired: retired(build),
            shop: Some(inputs::of_shop(build)),
            firsts_cost: None,
            jobs: order.into_iter().map(job).collect(),
            heats: heats.map(heat).collect(),
        }
    }

    /// Whether the hours or the equipment of the shop are not what they were.
    pub(crate) fn other_shop(&self, build: &Build) -> bool {
        self.shop.as_ref().is_some_and(|shop| *shop != inputs::of_shop(build))
    }

    /// Flasks and crucibles that were retired since it was made, each with the last such entry.
    pub(crate) fn retired_since<'b>(&self, build: &'b Build) -> Vec<&'b Gone> {
        let now = retired(build);
        let more =
            now.into_iter().filter(|(id, n)| *n > self.retired.get(id).copied().unwrap_or(0));
        let last = more.filter_map(|(id, _)| build.history.retired.iter().rfind(|g| g.of == id));
        last.collect()
    }

    /// When the first of its heats of today that is not poured was to be lit, minutes from midnight.
    pub(crate) fn lit_today(&self, build: &Build) -> Option<i64> {
        let to_come = self.heats.iter().filter(|h| !build.history.heats.contains_key(&h.heat));
        let lit = to_come.filter_map(|h| h.lit.filter(|lit| lit.date() == build.today));
        lit.map(|lit| i64::from(lit.num_seconds_from_midnight()) / 60).min()
    }

    /// Moulds that it rams again, and that stand as they did then.
    pub(crate) fn still_again(&self, build: &Build) -> BTreeSet<Id> {
        let stands = |(name, rammed): &(&Id, &NaiveDateTime)| {
            let attempt = build.history.attempts.get(*name);
            attempt.is_some_and(|a| a.poured.is_none() && a.rammed == **rammed)
        };
        self.again.iter().filter(stands).map(|(name, _)| name.clone()).collect()
    }

    /// Whether it names each job and each mould of the work once, and nothing else: a hash tells
    /// what a plan is of, not that the file says the whole of it.
    pub(crate) fn is_whole(&self, build: &Build, work: &Work) -> bool {
        let sorted = |mut names: Vec<String>| {
            names.sort_unstable();
            names
        };
        let moulds: Vec<String> = work.moulds.iter().map(|m| mould_name(build, m)).collect();
        let jobs = sorted(names_of_today(build, work));
        let kept = self.heats.iter().flat_map(|h| &h.moulds).map(|m| m.mould.clone());
        sorted(self.jobs.iter().map(|j| j.job.clone()).collect()) == jobs
            && sorted(kept.collect()) == sorted(moulds)
    }
}
