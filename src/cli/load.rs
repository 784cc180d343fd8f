//! Loading a build from its folder.

use super::{Common, Stop, files, terminal};
use crate::job::{self, Estimated, Planned};
use crate::model::Build;
use crate::plan::{Kept, Pour};
use crate::risk::Risk;
use crate::shape::memo;
use crate::supply::{AtLighting, Bill};
use crate::yaml::{Faults, MAX_BYTES};
use crate::{JOURNAL, MANIFEST, Today};
use std::io::{ErrorKind, IsTerminal};
use std::time::{Duration, Instant};

/// Bytes that a mesh beside the manifest has at most.
const MOST_BESIDE: u64 = 100 << 20;

/// The plan in force, beside the manifest.
const KEPT: &str = ".plan.json";

/// Castings whose freezing was reckoned, beside the manifest.
pub const FIELDS: &str = ".freezing.json";

/// Bodies that were joined, beside the manifest.
const BODIES: &str = ".bodies.bin";

/// The bytes of the manifest.
pub fn manifest(common: &Common) -> Result<Vec<u8>, Stop> {
    files::read(&common.build.join(MANIFEST), MAX_BYTES as u64).map_err(|e| match e.kind() {
        ErrorKind::NotFound => Stop::Fault(format!(
            "no {MANIFEST} in {}\n`pourwright new FOLDER` starts a build; --build FOLDER names another one",
            common.build.display()
        )),
        _ => Stop::Fault(format!("{}: {e}", common.build.join(MANIFEST).display())),
    })
}

/// The bytes of manifest and journal; a build without a journal has an empty one.
pub fn files(common: &Common) -> Result<(Vec<u8>, Vec<u8>), Stop> {
    let manifest = manifest(common)?;
    let journal = match files::read(&common.build.join(JOURNAL), MAX_BYTES as u64) {
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
    let beside = |path: &str| files::beside(&common.build, path, MOST_BESIDE);
    // Where none are there, or none that hold, they are joined anew.
    memo::begin(&beside(BODIES).unwrap_or_default());
    let mut build = crate::read_beside(manifest, journal, today(common), &beside)?;
    // What cannot be read is reckoned anew.
    let kept = beside(FIELDS).ok().and_then(|text| serde_json::from_slice(&text).ok());
    build.fields = kept.unwrap_or_default();
    Ok(build)
}

/// Keeps the bodies that were joined for the next command, where the folder may be written to:
/// without them it only takes longer.
pub fn keep_bodies(common: &Common) {
    if let Some(bytes) = memo::end() {
        let _ = files::keep(common, BODIES, &bytes);
    }
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

/// The build and the figures of its castings.
pub fn estimated(common: &Common) -> Result<Estimated, Stop> {
    Ok(job::estimate(build(common)?))
}

/// The plan in force, if one is kept and can be read; another is found where it cannot.
pub fn kept(common: &Common) -> Option<Kept> {
    serde_json::from_slice(&files::beside(&common.build, KEPT, MAX_BYTES as u64).ok()?).ok()
}

/// The build, its figures and its plan in force: the one that is kept while all that it depends on
/// stands; else one is looked for and kept, by whichever command needs it first, and a line says so.
pub fn planned(common: &Common, search: Option<Search>) -> Result<Planned, Stop> {
    let of = estimated(common)?;
    let in_force = kept(common);
    let planned = planned_from(of, in_force.as_ref(), search);
    // A folder that may not be written to has no plan in force; all else works.
    // Of what it was made of nothing has changed: it is the plan in force and stays as it is.
    let stands = |keep: &Kept| {
        in_force.as_ref().is_some_and(|k| {
            k == keep || (search.is_none() && k.of == keep.of && k.awaited == keep.awaited)
        })
    };
    if let Some(keep) = planned.kept.as_ref().filter(|keep| !stands(keep))
        && let Ok(text) = serde_json::to_vec_pretty(keep)
        && keep_plan(common, &text)
        && search.is_none()
    {
        let why = match in_force {
            None => "there was no plan yet, so one was made",
            Some(_) => "the plan was updated for what has changed since it was made",
        };
        terminal::note(common, &format!("{why}; it is kept beside the build"));
        for moved in &planned.plan.schedule.moved {
            terminal::note(common, moved);
        }
    }
    Ok(planned)
}

/// How a command looks for a plan: for so many seconds at most, if it is told.
#[derive(Debug, Clone, Copy)]
pub struct Search {
    pub how: job::Search,
    pub seconds: Option<f64>,
}

/// The same from a plan, which may be none; nothing is kept.
pub fn planned_from(of: Estimated, from: Option<&Kept>, search: Option<Search>) -> Planned {
    let began = Instant::now();
    let most = search.and_then(|s| s.seconds).map(Duration::from_secs_f64);
    let bar = shown("planning", "plans");
    let mut stop = |tried: usize, tries: usize| {
        if let Some(bar) = &bar {
            bar.set_length(tries as u64);
            bar.set_position(tried as u64);
        }
        most.is_some_and(|most| began.elapsed() >= most)
    };
    let planned = job::plan(of, from, search.map(|s| s.how), &mut stop);
    if let Some(bar) = &bar {
        bar.finish_and_clear();
    }
    planned
}

/// Keeps a plan; whether it could. A file of that name which is none of ours stays as it is, and that is told.
fn keep_plan(common: &Common, text: &[u8]) -> bool {
    let kept = files::keep(common, KEPT, text);
    let is_kept = kept.is_ok();
    if let Err(Stop::Fault(says) | Stop::Usage(says)) = kept
        && common.build.join(KEPT).symlink_metadata().is_ok()
    {
        terminal::note(common, &format!("the plan is not kept: {says}"));
    }
    is_kept
}

/// Replays the plan under chance.
pub fn risk(of: &Planned, (replays, seed): (u64, u64)) -> Result<Risk, Stop> {
    let bar = shown("replaying", "replays");
    let told = |done: u64| {
        if let Some(bar) = &bar {
            bar.set_length(replays);
            bar.inc(done);
        }
    };
    let risk = job::risk(of, (replays, seed), &told);
    if let Some(bar) = &bar {
        bar.finish_and_clear();
    }
    risk.map_err(|none| Stop::Fault(none.missing.join("\n")))
}

/// Replays the plan as often as is usual.
pub fn usual_risk(of: &Planned) -> Result<Risk, Stop> {
    risk(of, job::usual_replays(of))
}

/// The bill; with what is surely enough where that is asked for.
pub fn supplied(of: &Planned, surely: bool) -> Result<Bill, Stop> {
    Ok(if surely { job::supply_surely(of, &usual_risk(of)?) } else { job::supply(of) })
}

/// A bar of progress, on a terminal.
pub fn shown(doing: &str, what: &str) -> Option<indicatif::ProgressBar> {
    if !std::io::stderr().is_terminal() {
        return None;
    }
    let bar = indicatif::ProgressBar::new(1);
    let style = indicatif::ProgressStyle::with_template(&format!(
        "{doing} {{bar:30}} {{pos}} of {{len}} {what}"
    ));
    if let Ok(style) = style {
        bar.set_style(style);
    }
    Some(bar)
}

/// The metal that there is when a heat of the plan is lit.
pub fn lighting(all: &Planned, pour: &Pour) -> Option<AtLighting> {
    AtLighting::of(&all.build, all.bill.flow.as_ref()?, &all.plan.schedule, pour)
}

/// A heat of the plan.
pub fn heat(all: &Planned, name: &str) -> Result<Pour, Stop> {
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
