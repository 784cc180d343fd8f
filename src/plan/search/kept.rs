//! What is kept of a plan: the order of its jobs and the moulds of its heats, by name, under a
//! hash of all that it depends on.

use super::aim::Aim;
use super::layout::Candidate;
use crate::model::Build;
use crate::plan::calendar::Calendar;
use crate::plan::subject::Subject;
use crate::plan::work::{Limits, may_share};
use crate::plan::work::{Mould, Work};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::HashMap;

/// A plan as it is kept beside the build.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Kept {
    /// Hash of the work, the shop and the hours it was made for.
    pub of: String,
    /// What came first when it was looked for.
    pub aim: Aim,
    /// Jobs, the first placed first.
    pub order: Vec<String>,
    /// Moulds of each heat.
    pub heats: Vec<Vec<String>>,
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

/// The name of a job that stays the same while the build goes on.
fn job_name(build: &Build, work: &Work, n: usize) -> String {
    let item = &work.items[n];
    let on = match item.subject {
        Subject::Pattern(i) => &build.patterns[i].id,
        Subject::Part(i) => build.parts[i].id(),
    };
    match item.mould {
        Some(m) => format!("{} {}", mould_name(build, &work.moulds[m]), item.step.word()),
        None => format!("{on} {}", item.step.word()),
    }
}

/// The name of a mould: its own if it stands; else the part's and which of those to come.
fn mould_name(build: &Build, mould: &Mould) -> String {
    match &mould.standing {
        Some((name, _)) => name.to_string(),
        None => format!("{}/{}", build.parts[mould.part].id(), mould.nth),
    }
}

impl Kept {
    pub(crate) fn new(
        (of, aim): (String, Aim),
        build: &Build,
        work: &Work,
        candidate: &Candidate,
    ) -> Self {
        let mut order: Vec<usize> = (0..work.items.len()).collect();
        order.sort_by(|a, b| candidate.keys[*b].total_cmp(&candidate.keys[*a]).then(a.cmp(b)));
        let heats = candidate.heats.iter();
        let names =
            |g: &Vec<usize>| g.iter().map(|m| mould_name(build, &work.moulds[*m])).collect();
        Self {
            of,
            aim,
            order: order.into_iter().map(|n| job_name(build, work, n)).collect(),
            heats: heats.map(names).collect(),
        }
    }

    /// Whether it names each job and each mould of the work once, and nothing else: a hash tells
    /// what a plan is of, not that the file says the whole of it.
    pub(crate) fn is_whole(&self, build: &Build, work: &Work) -> bool {
        let sorted = |mut names: Vec<String>| {
            names.sort_unstable();
            names
        };
        let jobs = (0..work.items.len()).map(|n| job_name(build, work, n)).collect();
        let moulds = work.moulds.iter().map(|m| mould_name(build, m)).collect();
        sorted(self.order.clone()) == sorted(jobs) && sorted(self.heats.concat()) == sorted(moulds)
    }

    /// The candidate behind it, for the work as it is now. Jobs that are new come just before what
    /// waits for them; moulds that are new melt alone until the search finds them company.
    pub(crate) fn candidate(
        &self,
        build: &Build,
        work: &Work,
        limits: &Limits,
        longest: i64,
    ) -> Option<Candidate> {
        if self.order.is_empty() {
            return None;
        }
        let most = self.order.len() as f64;
        let rank: HashMap<&str, f64> =
            self.order.iter().enumerate().map(|(i, name)| (&**name, most - i as f64)).collect();
        let mut keys: Vec<Option<f64>> =
            (0..work.items.len()).map(|n| rank.get(&*job_name(build, work, n)).copied()).collect();
        for &n in work.order().iter().rev() {
            if keys[n].is_none() {
                let after = work.items[n].after.iter().filter_map(|a| keys[*a]);
                keys[n] = Some(after.fold(0.0, f64::max) + 0.5);
            }
        }
        let mould: HashMap<String, usize> = work
            .moulds
            .iter()
            .enumerate()
            .map(|(m, mould)| (mould_name(build, mould), m))
            .collect();
        let mut heats: Vec<Vec<usize>> = Vec::new();
        let mut grouped = vec![false; work.moulds.len()];
        for names in &self.heats {
            // A mould is poured once, whatever the file says.
            let mut group: Vec<usize> = Vec::with_capacity(names.len());
            for &m in names.iter().filter_map(|n| mould.get(n)) {
                if !grouped[m] && !group.contains(&m) {
                    group.push(m);
                }
            }
            if !group.is_empty() && may_share(work, limits, &group, longest) {
                group.iter().for_each(|m| grouped[*m] = true);
                heats.push(group);
            }
        }
        heats.extend((0..work.moulds.len()).filter(|m| !grouped[*m]).map(|m| vec![m]));
        Some(Candidate { keys: keys.into_iter().flatten().collect(), heats })
    }
}
