//! The job of a build: read, estimate, plan, supply, risk. Each step takes what the one before it
//! found, so that nothing is reckoned twice and all who ask are told the same.

use crate::estimate::{self, Estimates};
use crate::learn::{self, Learned};
use crate::model::{self, Build};
use crate::plan::{self, Aim, Budget, Kept, Plan, SearchOptions};
use crate::risk::{self, Risk};
use crate::supply::{self, Bill, Purchase, Wish};
use crate::yaml::{Beside, Faults, one_line_end};
use crate::{JOURNAL, MANIFEST, journal, manifest};
use chrono::NaiveDate;

/// Which day a build is looked at.
#[derive(Debug, Clone, Copy)]
pub struct Today {
    /// The day the builder asked for.
    pub asked: Option<NaiveDate>,
    /// The day on the clock; a day pinned in the manifest goes before it.
    pub clock: NaiveDate,
}

/// Reads manifest and journal and makes the build of them. Files that the manifest names beside
/// it, such as meshes, are faults here; [`read_beside`] takes them too.
///
/// # Errors
/// Every fault of either file.
pub fn read(manifest: Vec<u8>, journal: Vec<u8>, today: Today) -> Result<Build, Vec<Faults>> {
    let none = |_: &str| Err(std::io::ErrorKind::Unsupported.into());
    read_beside(manifest, journal, today, &none)
}

/// Like [`read`], with `beside` giving the bytes of a file in the build's folder.
///
/// # Errors
/// Every fault of either file, and of the files that the manifest names.
pub fn read_beside(
    manifest: Vec<u8>,
    journal: Vec<u8>,
    today: Today,
    beside: Beside<'_>,
) -> Result<Build, Vec<Faults>> {
    let (manifest, faults) = manifest::read(MANIFEST, manifest, beside).map_err(|f| vec![f])?;
    let day = today.asked.or(manifest.header.looked_at).unwrap_or(today.clock);
    let journal_text = one_line_end(String::from_utf8_lossy(&journal).into_owned());
    let (journal, mut all) = match journal::read(JOURNAL, journal, &manifest.handbook) {
        Ok(journal) => (journal, Vec::new()),
        Err(faults) => (journal::Journal::default(), vec![faults]),
    };
    match model::check(manifest, faults, journal, day) {
        Ok((build, list)) if list.is_empty() && all.is_empty() => Ok(build),
        Ok((_, list)) => {
            if !list.is_empty() {
                all.push(Faults { file: JOURNAL.into(), text: journal_text, list });
            }
            Err(all)
        }
        Err((text, list)) => {
            all.insert(0, Faults { file: MANIFEST.into(), text, list });
            Err(all)
        }
    }
}

/// A build and the figures of its castings.
#[derive(Debug, Clone)]
pub struct Estimated {
    /// The build; where the manifest says `learn: yes`, with what its journal teaches.
    pub build: Build,
    /// Metal, sand, crucible and hours of each casting.
    pub estimates: Estimates,
    /// What the journal teaches, taken or not.
    pub learned: Learned,
}

/// Estimates the castings of a build.
pub fn estimate(build: Build) -> Estimated {
    let (build, estimates, learned) = learn::considered(build);
    Estimated { build, estimates, learned }
}

impl Estimated {
    /// The same with another build, such as one with a supposed change.
    pub fn otherwise(&self, build: Build) -> Self {
        let estimates = estimate::estimate(&build);
        Self { build, estimates, learned: self.learned.clone() }
    }
}

/// A build, its figures and its work in time.
#[derive(Debug, Clone)]
pub struct Planned {
    /// The build.
    pub build: Build,
    /// Its figures.
    pub estimates: Estimates,
    /// What its journal teaches.
    pub learned: Learned,
    /// The work, and the sessions and heats it is done in.
    pub plan: Plan,
    /// What finds the plan again.
    pub kept: Option<Kept>,
}

/// How a plan is looked for.
#[derive(Debug, Clone, Copy)]
pub struct Search {
    /// What comes first; where nobody says, what came first in the plan in force.
    pub aim: Option<Aim>,
    /// Plans to try at most; by the size of the build where none is given.
    pub tries: Option<usize>,
    /// Another seed looks elsewhere.
    pub seed: u64,
    /// Days that another plan must gain before promised sessions are moved.
    pub gain: i64,
    /// Does not start from the plan in force.
    pub anew: bool,
    /// Looks on where the plan in force stands.
    pub further: bool,
}

impl Default for Search {
    fn default() -> Self {
        Self { aim: None, tries: None, seed: 1, gain: 3, anew: false, further: false }
    }
}

/// Builds with more steps than this are put into time only where a search is asked for.
const MOST_UNASKED: usize = 10_000;

/// Tries of plans times steps of the build: well within two seconds on any machine of today.
const TRIED_STEPS: usize = 2_500_000;

/// Puts the work into sessions and heats. The plan in force is taken as it is while all that it
/// depends on stands; else one is looked for, from the plan in force on. `stop` is told how many
/// plans of how many were tried, and says whether to look no further.
pub fn plan(
    of: Estimated,
    in_force: Option<&Kept>,
    search: Option<Search>,
    stop: &mut dyn FnMut(usize, usize) -> bool,
) -> Planned {
    let Estimated { build, estimates, learned } = of;
    let mut plan = plan::plan(&build, &estimates);
    let steps = plan.tasks.len();
    if search.is_none() && steps > MOST_UNASKED {
        let says =
            format!("{steps} steps are put into time only by `pourwright plan`: it takes a while");
        plan.schedule.missing.push(says);
        return Planned { build, estimates, learned, plan, kept: in_force.cloned() };
    }
    let search = search.unwrap_or_default();
    let usual = (TRIED_STEPS / steps.max(1)).clamp(1, 20_000);
    let tries = search.tries.map_or(usual, |tries| tries.clamp(1, 20_000));
    let options = SearchOptions {
        aim: search.aim.or(in_force.map(|k| k.aim)).unwrap_or_default(),
        kept: in_force.filter(|_| !search.anew),
        gain: search.gain,
        further: search.further,
        budget: Budget { tries, seed: search.seed, stop },
    };
    let (schedule, kept) = plan::schedule(&build, &estimates, options);
    plan.take(schedule);
    Planned { build, estimates, learned, plan, kept: Some(kept) }
}

/// What the work takes, walked through the plan, and what there is.
pub fn supply(of: &Planned) -> Bill {
    supply::bill(&of.build, &of.estimates, &of.plan.schedule)
}

/// Replays the plan under chance: so many times, with a seed. `progress` is told of replays done.
///
/// # Errors
/// Why there is no plan, in words.
pub fn risk(
    of: &Planned,
    (replays, seed): (u64, u64),
    progress: &(dyn Fn(u64) + Sync),
) -> Result<Risk, Vec<String>> {
    risk::risk(&of.build, &of.estimates, &of.plan.schedule, (replays, seed), progress)
}

/// Replays, and their seed, where the risk is not the question itself: as many as are quick, so
/// that P90 is told to the week; the same for all who ask.
pub fn usual_replays(of: &Planned) -> (u64, u64) {
    const STEPS: usize = 200_000;
    ((STEPS / of.plan.tasks.len().max(1)).clamp(512, 4096) as u64, 1)
}

/// The bill with what to buy so that nine in ten replays have enough.
pub fn supply_surely(of: &Planned, risk: &Risk) -> Bill {
    let mut bill = supply(of);
    supply::sure(&of.build, risk, &mut bill);
    bill
}

/// What to order, from whom, by when.
pub fn purchases(of: &Planned, bill: &Bill, wish: Wish) -> Vec<Purchase> {
    supply::purchases(&of.build, bill, wish)
}
