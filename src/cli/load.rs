//! Loading a build from its folder.

use super::{Common, Stop};
use crate::estimate::Estimates;
use crate::learn::{Learned, considered};
use crate::model::Build;
use crate::plan::{Aim, Budget, Kept, Plan, Pour, Risk, SearchOptions, plan};
use crate::supply::{Bill, bill};
use crate::yaml::{Faults, MAX_BYTES};
use crate::{JOURNAL, MANIFEST, Today};
use std::fs::{self, File};
use std::io::{ErrorKind, IsTerminal, Read};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// The plan in force, beside the manifest.
const KEPT: &str = ".plan.json";

/// Everything that is reckoned of a build.
pub struct Loaded {
    pub build: Build,
    pub estimates: Estimates,
    pub plan: Plan,
    pub learned: Learned,
}

/// Reads at most one byte more than a build can have, so that a huge file ends at once.
fn bytes(path: &Path) -> std::io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    File::open(path)?.take(MAX_BYTES as u64 + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// The bytes of the manifest.
pub fn manifest(common: &Common) -> Result<Vec<u8>, Stop> {
    bytes(&common.build.join(MANIFEST)).map_err(|e| match e.kind() {
        ErrorKind::NotFound => Stop::Fault(format!(
            "no {MANIFEST} in {}\n`pourwright new FOLDER` starts a build; --build FOLDER names the one to look at",
            common.build.display()
        )),
        _ => Stop::Fault(format!("{}: {e}", common.build.join(MANIFEST).display())),
    })
}

/// The bytes of manifest and journal; a build without a journal has an empty one.
pub fn files(common: &Common) -> Result<(Vec<u8>, Vec<u8>), Stop> {
    let manifest = manifest(common)?;
    let journal = match bytes(&common.build.join(JOURNAL)) {
        Ok(bytes) => bytes,
        Err(e) if e.kind() == ErrorKind::NotFound => Vec::new(),
        Err(e) => {
            return Err(Stop::Fault(format!("{}: {e}", common.build.join(JOURNAL).display())));
        }
    };
    Ok((manifest, journal))
}

/// The day to look at a build.
fn today(common: &Common) -> Today {
    Today { asked: common.today, clock: chrono::Local::now().date_naive() }
}

/// Reads a build whose folder may hold meshes beside the manifest.
pub fn read(common: &Common, manifest: Vec<u8>, journal: Vec<u8>) -> Result<Build, Vec<Faults>> {
    let beside = |path: &str| std::fs::read(common.build.join(path));
    crate::read_beside(manifest, journal, today(common), &beside)
}

/// All faults as text.
pub fn faults(all: &[Faults]) -> String {
    all.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n\n")
}

/// The checked build of the folder.
pub fn build(common: &Common) -> Result<Build, Stop> {
    let (manifest, journal) = files(common)?;
    read(common, manifest, journal).map_err(|all| Stop::Fault(faults(&all)))
}

/// The build and all that is reckoned of it.
pub fn all(common: &Common) -> Result<Loaded, Stop> {
    let (build, estimates, learned) = considered(build(common)?);
    Ok(reckoned(build, estimates, learned))
}

/// Everything that is reckoned of estimates.
pub fn reckoned(build: Build, estimates: Estimates, learned: Learned) -> Loaded {
    let plan = plan(&build, &estimates);
    Loaded { build, estimates, plan, learned }
}

/// How a command looks for a plan.
pub struct Search {
    pub aim: Aim,
    pub seconds: f64,
    pub tries: Option<usize>,
    pub seed: u64,
    pub gain: i64,
    pub anew: bool,
}

impl Default for Search {
    fn default() -> Self {
        Self { aim: Aim::Finish, seconds: 2.0, tries: None, seed: 1, gain: 3, anew: false }
    }
}

/// Looks for plans with the aim of the one in force, so many and no clock.
pub fn search_in_force(common: &Common, tries: usize) -> Search {
    let aim = kept(common).map_or(Aim::Finish, |k| k.aim);
    Search { aim, seconds: 1e6, tries: Some(tries), seed: 1, gain: 0, anew: false }
}

/// Builds with more steps than this are planned only when `plan` is asked for.
const MOST_UNASKED: usize = 10_000;

/// The build and all that is reckoned of it, in time. Without a `search` the plan in force is
/// taken as it is; where there is none, one is looked for and kept.
pub fn planned(common: &Common, search: Option<&Search>) -> Result<Loaded, Stop> {
    let mut all = all(common)?;
    if search.is_none() && all.plan.tasks.len() > MOST_UNASKED {
        let steps = all.plan.tasks.len();
        let says =
            format!("{steps} steps are put into time only by `pourwright plan`: it takes a while");
        all.plan.schedule.missing.push(says);
        return Ok(all);
    }
    let usual = Search::default();
    let search = search.or_else(|| kept(common).is_none().then_some(&usual));
    schedule(common, &mut all, search);
    Ok(all)
}

/// What the work takes, walked through the plan.
pub fn supplied(all: &Loaded) -> Bill {
    bill(&all.build, &all.estimates, &all.plan.schedule)
}

/// Puts the work into time, and keeps the plan if it was looked for.
fn schedule(common: &Common, all: &mut Loaded, search: Option<&Search>) {
    let in_force = kept(common);
    let aim = search.map_or(in_force.as_ref().map_or(Aim::Finish, |k| k.aim), |s| s.aim);
    let from = in_force.as_ref().filter(|_| search.is_none_or(|s| !s.anew));
    let gain = search.map_or(0, |s| s.gain);
    let keep = look(all, search, (aim, from, gain));
    // A folder that may not be written to has no plan in force; all else works.
    if search.is_some()
        && in_force.as_ref() != Some(&keep)
        && let Ok(text) = serde_json::to_vec_pretty(&keep)
    {
        let _ = write_whole(&common.build.join(KEPT), &text);
    }
}

/// Puts the work into time without keeping anything, starting from a plan.
pub fn try_schedule(
    common: &Common,
    all: &mut Loaded,
    search: &Search,
    from: Option<&Kept>,
) -> Kept {
    let in_force = if from.is_none() { kept(common) } else { None };
    look(all, Some(search), (search.aim, from.or(in_force.as_ref()), 0))
}

fn look(
    all: &mut Loaded,
    search: Option<&Search>,
    (aim, kept, gain): (Aim, Option<&Kept>, i64),
) -> Kept {
    let began = Instant::now();
    let most = search.map_or(Duration::ZERO, |s| Duration::from_secs_f64(s.seconds));
    let bar =
        search.filter(|_| std::io::stderr().is_terminal()).map(|_| progress("planning", "plans"));
    let mut stop = |tried: usize, tries: usize| {
        if let Some(bar) = &bar {
            bar.set_length(tries as u64);
            bar.set_position(tried as u64);
        }
        began.elapsed() >= most
    };
    // Well within two seconds on any machine of today, so that the clock seldom decides.
    let usual: usize = 2_500_000 / all.plan.tasks.len().max(1);
    let tries = search.map_or(0, |s| s.tries.unwrap_or(usual).clamp(1, 20_000));
    let seed = search.map_or(1, |s| s.seed);
    let budget = Budget { tries, seed, stop: &mut stop };
    let looking = SearchOptions { aim, kept, gain, budget };
    let (schedule, keep) = crate::plan::schedule(&all.build, &all.estimates, looking);
    if let Some(bar) = &bar {
        bar.finish_and_clear();
    }
    all.plan.take(schedule);
    keep
}

/// The plan in force, if one is kept and can be read; another is found where it cannot.
fn kept(common: &Common) -> Option<Kept> {
    serde_json::from_slice(&bytes(&common.build.join(KEPT)).ok()?).ok()
}

/// Replays the plan in force under chance.
pub fn risk(common: &Common, all: &Loaded, replays: u64, seed: u64) -> Result<Risk, Stop> {
    let kept = kept(common);
    let looking = SearchOptions {
        aim: kept.as_ref().map_or(Aim::Finish, |k| k.aim),
        kept: kept.as_ref(),
        gain: 0,
        budget: Budget { tries: 0, seed: 1, stop: &mut |_, _| true },
    };
    let bar = std::io::stderr().is_terminal().then(|| progress("replaying", "replays"));
    let told = |done: u64| {
        if let Some(bar) = &bar {
            bar.set_length(replays);
            bar.inc(done);
        }
    };
    let risk = crate::plan::risk(&all.build, &all.estimates, looking, (replays, seed), &told);
    if let Some(bar) = &bar {
        bar.finish_and_clear();
    }
    risk.map_err(|missing| Stop::Fault(missing.join("\n")))
}

/// Replays the plan where the risk is not the question itself: as often as is quick, so that P90
/// is told to the week; the same for each command.
pub fn usual_risk(common: &Common, all: &Loaded) -> Result<Risk, Stop> {
    const STEPS: usize = 200_000;
    let replays = STEPS / all.plan.tasks.len().max(1);
    risk(common, all, replays.clamp(512, 4096) as u64, 1)
}

fn progress(doing: &str, what: &str) -> indicatif::ProgressBar {
    let bar = indicatif::ProgressBar::new(1);
    let style = indicatif::ProgressStyle::with_template(&format!(
        "{doing} {{bar:30}} {{pos}} of {{len}} {what}"
    ));
    if let Ok(style) = style {
        bar.set_style(style);
    }
    bar
}

/// Writes beside the file and then renames, so that nothing half-written is ever seen. The
/// manifest and the journal are never written over; a link is followed; what is no file, such as
/// a terminal, is written to as it is.
pub fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), Stop> {
    let told = |e: std::io::Error| Stop::Fault(format!("{}: {e}", path.display()));
    if path.file_name().is_some_and(|name| name == MANIFEST || name == JOURNAL) {
        let says = "this is the name of a manifest or a journal; choose another";
        return Err(Stop::Fault(format!("{}: {says}", path.display())));
    }
    let there = fs::metadata(path);
    if there.as_ref().is_ok_and(|m| !m.is_file()) {
        return fs::write(path, bytes).map_err(told);
    }
    let path = if there.is_ok() { fs::canonicalize(path).map_err(told)? } else { path.into() };
    let mut beside = path.as_os_str().to_owned();
    beside.push(".part");
    let beside = PathBuf::from(beside);
    let written = fs::write(&beside, bytes).and_then(|()| fs::rename(&beside, &path));
    written.map_err(|e| {
        let _ = fs::remove_file(&beside);
        told(e)
    })
}

/// A heat of the plan.
pub fn heat(all: &Loaded, name: &str) -> Result<Pour, Stop> {
    let schedule = &all.plan.schedule;
    if let Some(pour) = Pour::planned(&all.build, schedule, name) {
        return Ok(pour);
    }
    if let Some(heat) = all.build.history.heats.get(name) {
        let day = heat.at.date();
        return Err(Stop::Usage(format!(
            "heat {name} was poured on {day}; the report tells of it"
        )));
    }
    let names: Vec<&str> = schedule.heats.iter().map(|h| &*h.name).collect();
    Err(Stop::Usage(if names.is_empty() {
        format!("no heat {name} is planned; name the parts instead: --parts base,cap")
    } else {
        format!("no heat {name} is planned; the plan has {}", names.join(", "))
    }))
}
