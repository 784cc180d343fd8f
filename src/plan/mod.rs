//! The plan: what waits for what, in which order the work reads best, what can be done now, and
//! when, in sessions and heats that the people and the shop can keep.

mod amounts;
mod arrange;
mod calendar;
mod network;
mod reasons;
mod replay;
mod risk;
mod schedule;
mod search;
mod subject;
mod suppose;
mod tasks;
mod work;

pub use arrange::{SearchOptions, schedule};
pub use calendar::Minute;
pub use network::Network;
pub use reasons::Waited;
pub use replay::SHARED;
pub use risk::{Attempts, Driver, Percentile, Risk, Spread};
pub use schedule::{
    Block, Heel, Job, NextHeat, PlannedHeat, PlannedMould, Pour, PourMould, Progress, Schedule,
    Session, next_heat, next_name, progress, standing_moulds,
};
pub use search::{Aim, Budget, Kept};
pub use subject::Subject;
pub use suppose::Supposition;
pub use tasks::{Plan, Task, plan};

use crate::estimate::Estimates;
use crate::model::Build;
use arrange::{Arranged, arrange, hours};

/// Replays the plan in force under chance, so many times. `progress` is told of replays done.
///
/// # Errors
/// Why there is no plan, in words.
pub fn risk(
    build: &Build,
    estimates: &Estimates,
    options: SearchOptions<'_>,
    (replays, seed): (u64, u64),
    progress: &(dyn Fn(u64) + Sync),
) -> Result<Risk, Vec<String>> {
    // Castings made again take longer than the plan: hours must reach further.
    let Arranged { work, found, .. } = arrange(build, estimates, options)?;
    let calendar = hours(build, &work, 6);
    let parts = (&work, &calendar, &found.layout);
    Ok(risk::risk(build, estimates, parts, (replays, seed), progress))
}
