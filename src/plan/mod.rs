//! The plan: what waits for what, in which order the work reads best, what can be done now, and
//! when, in sessions and heats that the people and the shop can keep.

mod amounts;
mod calendar;
mod forward;
mod heating;
mod heats;
mod kept;
mod lacking;
mod limits;
mod making;
mod network;
mod next;
mod place;
mod placer;
mod pots;
mod pour;
mod progress;
mod reasons;
mod relax;
mod replay;
mod risk;
mod schedule;
mod search;
mod suppose;
mod tasks;
mod work;

pub use calendar::Minute;
pub use kept::Kept;
pub use network::Network;
pub use next::{NextHeat, next_heat, next_name, standing_moulds};
pub use pour::{Pour, PourMould};
pub use progress::{Progress, progress};
pub use reasons::Waited;
pub use replay::SHARED;
pub use risk::{Attempts, Driver, Percentile, Risk, Spread};
pub use schedule::{Block, Heel, Job, PlannedHeat, PlannedMould, Schedule, Session};
pub use search::{Aim, Budget};
pub use suppose::Change;
pub use tasks::{Plan, Subject, Task, plan};

use crate::estimate::Estimates;
use crate::model::Build;
use calendar::Calendar;
use limits::Limits;

/// How to look for a schedule.
pub struct Looking<'a> {
    /// What comes first.
    pub aim: Aim,
    /// The plan in force.
    pub kept: Option<&'a Kept>,
    /// Days that another plan must gain before promised sessions are moved.
    pub gain: i64,
    /// How long to look.
    pub budget: Budget<'a>,
}

/// Puts the work that is left into time. Also gives what to keep of the plan, so that it can be
/// found again without looking.
pub fn schedule(build: &Build, estimates: &Estimates, looking: Looking<'_>) -> (Schedule, Kept) {
    let aim = looking.aim;
    match arrange(build, estimates, looking) {
        Ok(Arranged { work, calendar, found, of }) => {
            let keep = Kept::new((of, aim), build, &work, &found);
            (schedule::schedule(build, &work, &calendar, found, aim), keep)
        }
        Err(missing) => (Schedule { missing, ..Schedule::default() }, Kept::default()),
    }
}

/// Replays the plan in force under chance, so many times. `progress` is told of replays done.
///
/// # Errors
/// Why there is no plan, in words.
pub fn risk(
    build: &Build,
    estimates: &Estimates,
    looking: Looking<'_>,
    (replays, seed): (u64, u64),
    progress: &(dyn Fn(u64) + Sync),
) -> Result<Risk, Vec<String>> {
    // Castings made again take longer than the plan: hours must reach further.
    let Arranged { work, found, .. } = arrange(build, estimates, looking)?;
    let calendar = hours(build, &work, 6);
    let parts = (&work, &calendar, &found.layout);
    Ok(risk::risk(build, estimates, parts, (replays, seed), progress))
}

/// A plan before it is put into words of the build.
struct Arranged {
    work: work::Work,
    calendar: Calendar,
    found: search::Found,
    /// Hash of all that it depends on.
    of: String,
}

/// The hours of the shop for the work, so many times over, and for what lies idle between.
fn hours(build: &Build, work: &work::Work, times: Minute) -> Calendar {
    let bench: Minute = work.items.iter().map(|i| i.minutes).sum();
    let melts = work.moulds.len() as Minute * work.melt;
    let waits: Minute = work.items.iter().map(|i| i.wait).max().unwrap_or(0);
    let latest = work.items.iter().map(|i| i.not_before).max().unwrap_or(0);
    let beyond = 60 + (10 * waits + latest) / (24 * 60);
    Calendar::new(&build.shop, build.today, times * (bench + melts), beyond)
}

fn arrange(
    build: &Build,
    estimates: &Estimates,
    looking: Looking<'_>,
) -> Result<Arranged, Vec<String>> {
    // Whoever is away now comes back within a year.
    let longest = Calendar::new(&build.shop, build.today, 0, 366).longest();
    let mut work = making::work(build, estimates, longest);
    if longest == 0 {
        work.missing.push(
            "nobody has hours in the shop: give them under `shop: people:`, such as \
             `hours: {sat: 6 h}`"
                .into(),
        );
        return Err(work.missing);
    }
    let limits = Limits::new(build, &work);
    let Looking { aim, kept, gain, mut budget } = looking;
    // More room where the first was not enough.
    for times in [2, 8, 64] {
        let calendar = hours(build, &work, times);
        let of = kept::hash(&work, &limits, &calendar, aim);
        let idea = kept.and_then(|k| k.idea(build, &work, &limits, longest));
        if kept.is_some_and(|k| k.of == of) {
            budget.tries = 0;
        }
        let in_force = idea.map(|i| (i, gain));
        if let Ok(found) = search::search(&work, &limits, &calendar, aim, in_force, &mut budget) {
            return Ok(Arranged { work, calendar, found, of });
        }
    }
    work.missing.push(
        "no order was found in which all of this can be done: moulds, flasks and the hours of a \
         session stand against each other"
            .into(),
    );
    Err(work.missing)
}
