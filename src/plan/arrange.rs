//! From a build to its schedule: the work that is left, the hours for it, the search.

use super::calendar::{Calendar, Minute};
use super::schedule::{self, Laid, Schedule};
use super::search::{self, Aim, Budget, Found, Kept};
use super::work::{self, Limits, Work};
use crate::estimate::Estimates;
use crate::model::Build;
use std::sync::Arc;

/// How to look for a schedule.
pub struct SearchOptions<'a> {
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
pub fn schedule(
    build: &Build,
    estimates: &Estimates,
    options: SearchOptions<'_>,
) -> (Schedule, Kept) {
    let aim = options.aim;
    match arrange(build, estimates, options) {
        Ok(Arranged { work, limits, calendar, found, of }) => {
            let keep = Kept::new((of, aim), build, &work, &found.candidate);
            let mut schedule = schedule::schedule(build, (&work, &limits, &calendar), &found, aim);
            schedule.laid = Some(Arc::new(Laid { work, layout: found.layout }));
            (schedule, keep)
        }
        Err(missing) => (Schedule { missing, ..Schedule::default() }, Kept::default()),
    }
}

/// A plan before it is put into words of the build.
struct Arranged {
    work: Work,
    limits: Limits,
    calendar: Calendar,
    found: Found,
    /// Hash of all that it depends on.
    of: String,
}

/// The hours of the shop for the work, so many times over, and for what lies idle between.
pub(crate) fn hours(build: &Build, work: &Work, times: Minute) -> Calendar {
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
    options: SearchOptions<'_>,
) -> Result<Arranged, Vec<String>> {
    // Whoever is away now comes back within a year.
    let longest = Calendar::new(&build.shop, build.today, 0, 366).longest();
    let mut work = work::work(build, estimates, longest);
    if longest == 0 {
        work.missing.push(
            "nobody has hours in the shop: give them under `shop: people:`, such as \
             `hours: {sat: 6 h}`"
                .into(),
        );
        return Err(work.missing);
    }
    let limits = Limits::new(build, &work);
    let SearchOptions { aim, kept, gain, mut budget } = options;
    // More room where the first was not enough.
    for times in [2, 8, 64] {
        let calendar = hours(build, &work, times);
        let of = search::hash(&work, &limits, &calendar, aim);
        let candidate = kept.and_then(|k| k.candidate(build, &work, &limits, longest));
        if kept.is_some_and(|k| k.of == of && k.is_whole(build, &work)) {
            budget.tries = 0;
        }
        let in_force = candidate.map(|i| (i, gain));
        if let Ok(found) = search::search(&work, &limits, &calendar, aim, in_force, &mut budget) {
            return Ok(Arranged { work, limits, calendar, found, of });
        }
    }
    work.missing.push(
        "no order was found in which all of this can be done: moulds, flasks and the hours of a \
         session stand against each other"
            .into(),
    );
    Err(work.missing)
}
