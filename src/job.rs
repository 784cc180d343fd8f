//! The job of a build: read, estimate, plan, supply, risk. Each step takes what the one before it
//! found, so that nothing is reckoned twice and all who ask are told the same.

use crate::estimate::{self, Estimates};
use crate::learn::{self, Learned};
use crate::model::{self, Build};
use crate::plan::{self, Aim, Awaited, Budget, Kept, Plan, SearchOptions};
use crate::risk::{self, NoPlan, Risk};
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
///
/// ```
/// use pourwright::job;
///
/// let clock = chrono::NaiveDate::from_ymd_opt(2026, 1, 10).ok_or("no such day")?;
/// let today = job::Today { asked: None, clock };
/// let read = |manifest: &str| job::read(manifest.into(), Vec::new(), today);
/// assert_eq!(read(&std::fs::read_to_string("templates/new/build.yaml")?).unwrap().parts.len(), 4);
/// // Each fault stands at its line and says how it is mended.
/// let faults = read("build: {titel: My machine}").unwrap_err();
/// assert!(faults[0].to_string().contains("did you mean `title`?"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn read(manifest: Vec<u8>, journal: Vec<u8>, today: Today) -> Result<Build, Vec<Faults>> {
    let none = |_: &str| Err(std::io::ErrorKind::Unsupported.into());
    read_beside(manifest, journal, today, &none)
}

/// Like [`read`], with `beside` giving the bytes of a file in the build's folder.
///
/// # Errors
/// Every fault of either file, and of the files that the manifest names.
///
/// ```
/// use pourwright::job;
/// use std::path::Path;
///
/// let folder = Path::new("templates/full");
/// let beside = |name: &str| std::fs::read(folder.join(name));
/// let clock = chrono::NaiveDate::from_ymd_opt(2026, 1, 10).ok_or("no such day")?;
/// let today = job::Today { asked: None, clock };
/// let manifest = std::fs::read(folder.join("build.yaml"))?;
/// assert!(job::read(manifest.clone(), Vec::new(), today).is_err());
/// assert!(job::read_beside(manifest, Vec::new(), today, &beside).is_ok());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
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
#[non_exhaustive]
pub struct Estimated {
    /// The build; where the manifest says `learn: yes`, with what its journal teaches.
    pub build: Build,
    /// Metal, sand, crucible and hours of each casting.
    pub estimates: Estimates,
    /// What the journal teaches, taken or not.
    pub learned: Learned,
}

/// Estimates the castings of a build.
///
/// ```
/// # use pourwright::job;
/// # let manifest = std::fs::read("templates/new/build.yaml")?;
/// # let clock = chrono::NaiveDate::from_ymd_opt(2026, 1, 10).ok_or("no such day")?;
/// # let today = job::Today { asked: None, clock };
/// # let build = job::read(manifest, Vec::new(), today).map_err(|faults| faults[0].to_string())?;
///
/// let estimated = job::estimate(build);
/// let base = estimated.estimates.castings[0].as_ref().ok_or("it is cast")?;
/// let charge = base.charge.as_ref().ok_or("it has a size")?;
/// // A figure has a likely value between its ends, and knows where it comes from.
/// assert!(charge.low() < charge.si() && charge.si() < charge.high());
/// let poured = base.poured.as_ref().ok_or("it has a size")?;
/// assert!(charge.si() > poured.si());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn estimate(build: Build) -> Estimated {
    let (build, estimates, learned) = learn::considered(build);
    Estimated { build, estimates, learned }
}

impl Estimated {
    /// The same with another build, such as one with a supposed change.
    ///
    /// ```
    /// # use pourwright::job;
    /// # let manifest = std::fs::read("templates/new/build.yaml")?;
    /// # let clock = chrono::NaiveDate::from_ymd_opt(2026, 1, 10).ok_or("no such day")?;
    /// # let today = job::Today { asked: None, clock };
    /// # let build = job::read(manifest, Vec::new(), today).map_err(|faults| faults[0].to_string())?;
    /// use pourwright::plan::Supposition;
    ///
    /// let estimated = job::estimate(build);
    /// let mut other = estimated.build.clone();
    /// Supposition::Alloy { part: "base".into(), alloy: "ZA-12".into() }.apply(&mut other)?;
    /// let then = estimated.otherwise(other);
    /// let mass = |of: &job::Estimated| of.estimates.castings[0].as_ref()?.size.net_mass.as_ref().map(|m| m.si());
    /// assert!(mass(&then) > mass(&estimated));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn otherwise(&self, build: Build) -> Self {
        let estimates = estimate::estimate(&build);
        Self { build, estimates, learned: self.learned.clone() }
    }
}

/// A build, its figures and its work in time.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct Planned {
    /// The build.
    pub build: Build,
    /// Its figures.
    pub estimates: Estimates,
    /// What its journal teaches.
    pub learned: Learned,
    /// The work, and the sessions and heats it is done in.
    pub plan: Plan,
    /// What the work takes, walked through the plan, and what there is.
    pub bill: Bill,
    /// What finds the plan again.
    pub kept: Option<Kept>,
}

impl From<Planned> for Estimated {
    fn from(of: Planned) -> Self {
        let Planned { build, estimates, learned, .. } = of;
        Self { build, estimates, learned }
    }
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

/// Tries of plans times steps of the build: a second or two for some dozens of castings, several for
/// hundreds, each of which is a longer look for a place.
const TRIED_STEPS: usize = 2_500_000;

/// A quick look tries so many times fewer plans, but these at least.
const QUICKER: usize = 16;
const LEAST_QUICK: usize = 40;

/// Puts the work into sessions and heats. The plan in force is taken as it is while all that it
/// depends on stands; else one is looked for, from the plan in force on. `stop` is told how many
/// plans of how many were tried, and says whether to look no further.
///
/// ```
/// # use pourwright::job;
/// # let manifest = std::fs::read("templates/new/build.yaml")?;
/// # let clock = chrono::NaiveDate::from_ymd_opt(2026, 1, 10).ok_or("no such day")?;
/// # let today = job::Today { asked: None, clock };
/// # let build = job::read(manifest, Vec::new(), today).map_err(|faults| faults[0].to_string())?;
/// # let estimated = job::estimate(build);
/// let planned = job::plan(estimated, None, None, &mut |tried, _tries| tried >= 50);
/// let first = planned.plan.schedule.sessions.first().ok_or("there is work")?.day;
/// // The plan in force is found again, without looking for another.
/// let kept = planned.kept.clone();
/// let again = job::plan(planned.into(), kept.as_ref(), None, &mut |_, _| false);
/// assert_eq!(again.plan.schedule.sessions.first().map(|s| s.day), Some(first));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
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
        let bill = supply::bill(&build, &estimates, &plan.schedule);
        return Planned { build, estimates, learned, plan, bill, kept: in_force.cloned() };
    }
    let search = search.unwrap_or_default();
    let usual = (TRIED_STEPS / steps.max(1)).clamp(1, 20_000);
    let tries = search.tries.map_or(usual, |tries| tries.clamp(1, 20_000));
    let aim = search.aim.or(in_force.map(|k| k.aim)).unwrap_or_default();
    let promised = in_force.filter(|_| !search.anew);
    let once_awaited = promised.map(|k| plan::still_awaited(&build, &estimates, k));
    let once_awaited = once_awaited.unwrap_or_default();
    let mut awaited = supply::still(&build, once_awaited.clone());
    // Where more is known of a material, what waits for it is seen by the plan in force as it is.
    let mut look = awaited.len() == once_awaited.len();
    // Each shortage is found by a plan, and what then waits takes another. Until nothing is short a
    // quick look will do; the plan that counts is looked for with all tries.
    let quick = (tries / QUICKER).max(LEAST_QUICK).min(tries);
    let mut looked = tries;
    let (mut schedule, kept, bill) = loop {
        let budget = Budget { tries: if look { looked } else { 0 }, seed: search.seed, stop };
        let options = SearchOptions {
            aim,
            kept: promised,
            awaited: &awaited,
            gain: search.gain,
            further: search.further,
            budget,
        };
        let (schedule, kept) = plan::schedule(&build, &estimates, options);
        let bill = supply::bill(&build, &estimates, &schedule);
        // All that is short waits longer than it did, and there are only so many days to wait for.
        let same = |a: &Awaited, b: &Awaited| (&a.job, &a.of) == (&b.job, &b.of);
        let mut short = supply::short(&build, &bill, &schedule, promised);
        short.retain(|a| !awaited.iter().any(|b| same(a, b) && a.until <= b.until));
        if short.is_empty() && look && (looked == tries || schedule.tried <= 1) {
            break (schedule, kept, bill);
        }
        looked = if short.is_empty() { tries } else { quick };
        awaited.retain(|a| !short.iter().any(|b| same(a, b)));
        awaited.extend(short);
        look = true;
    };
    schedule.supply = supply::waits(&build, &bill, &schedule, &awaited);
    schedule.supply.extend(supply::overdue(&build));
    plan.take(schedule);
    Planned { build, estimates, learned, plan, bill, kept: Some(kept) }
}

/// What the work takes, walked through the plan, and what there is.
///
/// ```
/// # use pourwright::job;
/// # let manifest = std::fs::read("templates/new/build.yaml")?;
/// # let clock = chrono::NaiveDate::from_ymd_opt(2026, 1, 10).ok_or("no such day")?;
/// # let today = job::Today { asked: None, clock };
/// # let build = job::read(manifest, Vec::new(), today).map_err(|faults| faults[0].to_string())?;
/// # let estimated = job::estimate(build);
/// # let planned = job::plan(estimated, None, None, &mut |_, _| false);
/// let bill = job::supply(&planned);
/// let aluminium = bill.metal.iter().find(|line| &*line.id == "A356").ok_or("no such metal")?;
/// assert!(aluminium.in_all.is_some());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn supply(of: &Planned) -> Bill {
    of.bill.clone()
}

/// Replays the plan under chance: so many times, with a seed. `progress` is told of replays done.
///
/// # Errors
/// That there is no plan, and what is missing for it.
///
/// ```
/// # use pourwright::job;
/// # let manifest = std::fs::read("templates/new/build.yaml")?;
/// # let clock = chrono::NaiveDate::from_ymd_opt(2026, 1, 10).ok_or("no such day")?;
/// # let today = job::Today { asked: None, clock };
/// # let build = job::read(manifest, Vec::new(), today).map_err(|faults| faults[0].to_string())?;
/// # let estimated = job::estimate(build);
/// # let planned = job::plan(estimated, None, None, &mut |_, _| false);
/// let risk = job::risk(&planned, (256, 1), &|_done| {})?;
/// let days: Vec<_> = risk.finish.iter().map(|p| p.value).collect();
/// assert!(days.is_sorted(), "P10, P50, P80, P90");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn risk(
    of: &Planned,
    (replays, seed): (u64, u64),
    progress: &(dyn Fn(u64) + Sync),
) -> Result<Risk, NoPlan> {
    risk::risk(&of.build, &of.estimates, &of.plan.schedule, (replays, seed), progress)
}

/// Replays, and their seed, where the risk is not the question itself: as many as are quick, so
/// that P90 is told to the week; the same for all who ask.
///
/// ```
/// # use pourwright::job;
/// # let manifest = std::fs::read("templates/new/build.yaml")?;
/// # let clock = chrono::NaiveDate::from_ymd_opt(2026, 1, 10).ok_or("no such day")?;
/// # let today = job::Today { asked: None, clock };
/// # let build = job::read(manifest, Vec::new(), today).map_err(|faults| faults[0].to_string())?;
/// # let estimated = job::estimate(build);
/// # let planned = job::plan(estimated, None, None, &mut |_, _| false);
/// let (replays, seed) = job::usual_replays(&planned);
/// assert!((512..=4096).contains(&replays) && seed == 1);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn usual_replays(of: &Planned) -> (u64, u64) {
    const STEPS: usize = 200_000;
    ((STEPS / of.plan.tasks.len().max(1)).clamp(512, 4096) as u64, 1)
}

/// The bill with what to buy so that nine in ten replays have enough.
///
/// ```
/// # use pourwright::job;
/// # let manifest = std::fs::read("templates/new/build.yaml")?;
/// # let clock = chrono::NaiveDate::from_ymd_opt(2026, 1, 10).ok_or("no such day")?;
/// # let today = job::Today { asked: None, clock };
/// # let build = job::read(manifest, Vec::new(), today).map_err(|faults| faults[0].to_string())?;
/// # let estimated = job::estimate(build);
/// # let planned = job::plan(estimated, None, None, &mut |_, _| false);
/// let risk = job::risk(&planned, (256, 1), &|_done| {})?;
/// let bill = job::supply_surely(&planned, &risk);
/// assert!(bill.metal.iter().any(|line| line.sure.is_some()));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn supply_surely(of: &Planned, risk: &Risk) -> Bill {
    let mut bill = supply(of);
    supply::sure(&of.build, risk, &mut bill);
    bill
}

/// What to order, from whom, by when.
///
/// ```
/// # use pourwright::job;
/// # let manifest = std::fs::read("templates/new/build.yaml")?;
/// # let clock = chrono::NaiveDate::from_ymd_opt(2026, 1, 10).ok_or("no such day")?;
/// # let today = job::Today { asked: None, clock };
/// # let build = job::read(manifest, Vec::new(), today).map_err(|faults| faults[0].to_string())?;
/// # let estimated = job::estimate(build);
/// # let planned = job::plan(estimated, None, None, &mut |_, _| false);
/// use pourwright::supply::Wish;
///
/// let bill = job::supply(&planned);
/// let wish = Wish { sure: false, stages: false };
/// let orders = job::purchases(&planned, &bill, wish);
/// // Nobody is named who sells the motor.
/// assert!(orders.iter().any(|all| all.loose.iter().any(|part| &*part.id == "motor")));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn purchases(of: &Planned, bill: &Bill, wish: Wish) -> Vec<Purchase> {
    supply::purchases(&of.build, bill, wish)
}
