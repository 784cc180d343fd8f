//! The work handed to the scheduling engine: hours of the shop laid end to end, people and
//! furnaces as resources, waits as the fewest hours that go by. The engine knows neither sessions
//! nor flasks; its order is one more candidate for the search, which does.

use crate::engine::{Activity, Budget, LONGEST, Precedence, Problem, solve};
use crate::manifest::Step;
use crate::plan::calendar::{Calendar, Minute};
use crate::plan::work::Work;

/// More than this is left to the rules of thumb.
const MOST: usize = 600;
/// Steps of the engine: a few tenths of a second.
const STEPS: u64 = 3_000;

/// Priorities in the order of the engine's schedule; none where the work is too much for it.
pub(super) fn order(
    work: &Work,
    calendar: &Calendar,
    furnaces: usize,
    seed: u64,
) -> Option<Vec<f64>> {
    let total: Minute = work.items.iter().map(|i| i.minutes + i.wait).sum();
    if work.items.is_empty() || work.items.len() > MOST || total >= LONGEST {
        return None;
    }
    let pour = |n: usize| work.items[n].step == Step::Pour && work.items[n].mould.is_some();
    let whole = |minutes: Minute| i32::try_from(minutes).ok();
    let activities = (0..work.items.len()).map(|n| {
        let minutes = work.items[n].minutes;
        let person = i32::from(minutes > 0);
        Some(Activity { duration: whole(minutes)?, demands: vec![person, i32::from(pour(n))] })
    });
    let mut precedences = Vec::new();
    for (after, item) in work.items.iter().enumerate() {
        for &before in &item.before {
            // The wait of a shake-out lies before it, any other after its step.
            let own = if item.step == Step::ShakeOut { item.wait } else { 0 };
            let theirs = match work.items[before].step {
                Step::ShakeOut => 0,
                _ => work.items[before].wait,
            };
            let lag = whole(calendar.least_worked(own.max(theirs)))?;
            precedences.push(Precedence { before, after, lag });
        }
    }
    let problem = Problem {
        capacities: vec![
            whole(calendar.people.len() as Minute)?,
            whole(furnaces.max(1) as Minute)?,
        ],
        activities: activities.collect::<Option<_>>()?,
        precedences,
    };
    let solution = solve(&problem, &Budget::steps(STEPS, seed), &mut |_| ()).ok()?;
    Some(solution.starts.iter().map(|s| -f64::from(*s)).collect())
}
