//! The plan: what waits for what, in which order the work reads best, what can be done now, and
//! when, in sessions and heats that the people and the shop can keep.

mod arrange;
mod awaited;
mod calendar;
mod left;
mod moves;
mod network;
mod promise;
mod reasons;
mod schedule;
mod search;
mod subject;
mod suppose;
mod tasks;
mod work;

pub use arrange::{InTheWay, SearchOptions, in_the_way, schedule, still_awaited};
pub use awaited::Awaited;
pub use calendar::Minute;
pub use network::Network;
pub use promise::{Kept, PromisedHeat, PromisedJob, PromisedMould};
pub use reasons::Waited;
pub use schedule::{
    Block, Does, FirstHeat, HeatLift, Heel, Job, Laid, NextHeat, PlannedHeat, PlannedMould, Pour,
    PourMould, Progress, Schedule, Session, next_heat, next_name, progress, standing_moulds,
    stood_too_long,
};
pub use search::{Aim, Budget};
pub use subject::Subject;
pub use suppose::Supposition;
pub use tasks::{Plan, Task, plan};

pub(crate) use arrange::hours;
pub(crate) use calendar::{Calendar, Window};
pub(crate) use work::{Item, Mould, melting, span};
