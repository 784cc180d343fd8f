//! The plan: what waits for what, in which order the work reads best, what can be done now, and
//! when, in sessions and heats that the people and the shop can keep.

mod calendar;
mod heats;
mod kept;
mod network;
mod place;
mod reasons;
mod schedule;
mod search;
mod tasks;
mod work;

pub use calendar::Minute;
pub use kept::Kept;
pub use network::Network;
pub use reasons::Waited;
pub use schedule::{Block, Job, PlannedHeat, PlannedMould, Schedule, Session};
pub use search::{Aim, Budget};
pub use tasks::{Plan, Subject, Task, plan};

use crate::build::Build;
use crate::estimate::Estimates;
use calendar::Calendar;
use place::Limits;

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
    let hours = Calendar::new(&build.shop, build.today, 0, 14);
    let mut work = work::work(build, estimates, hours.longest());
    let nobody =
        |work: &work::Work| Schedule { missing: work.missing.clone(), ..Schedule::default() };
    if hours.longest() == 0 {
        work.missing.push(
            "nobody has hours in the shop: give them under `shop: people:`, such as `hours: {sat: 6 h}`".into(),
        );
        return (nobody(&work), Kept::default());
    }
    let bench: Minute = work.items.iter().map(|i| i.minutes).sum();
    let melts = work.moulds.len() as Minute * work.melt;
    let waits: Minute = work.order().iter().map(|n| work.items[*n].wait).max().unwrap_or(0);
    let latest = work.items.iter().map(|i| i.not_before).max().unwrap_or(0);
    let beyond = 60 + (10 * waits + latest) / (24 * 60);
    let limits = Limits::new(build, &work);
    let Looking { aim, kept, gain, mut budget } = looking;
    // Room for what lies idle between sessions; more where that was not enough.
    for factor in [2, 8, 64] {
        let calendar = Calendar::new(&build.shop, build.today, factor * (bench + melts), beyond);
        let of = kept::hash(&work, &limits, &calendar, aim);
        let same = kept.is_some_and(|k| k.of == of);
        let idea = kept.and_then(|k| k.idea(build, &work, &limits, calendar.longest()));
        if same {
            budget.tries = 0;
        }
        let in_force = idea.map(|i| (i, gain));
        let had = in_force.is_some();
        let found = search::search(&work, &limits, &calendar, aim, in_force, &mut budget);
        if let Ok(found) = found {
            let keep = Kept::new((of, aim), build, &work, &found);
            let kept = had && found.in_force;
            let mut schedule = schedule::schedule(build, &work, &calendar, found, aim);
            schedule.kept = kept;
            return (schedule, keep);
        }
    }
    work.missing.push(
        "no order was found in which all of this can be done; moulds, flasks and the hours of a \
         session stand against each other"
            .into(),
    );
    (nobody(&work), Kept::default())
}
