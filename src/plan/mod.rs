//! The plan: what waits for what, in which order the work reads best, what can be done now.

mod network;
mod next;
mod pour;
mod progress;
mod schedule;
mod tasks;

pub use network::Network;
pub use next::{NextHeat, next_heat, next_name, standing_moulds};
pub use pour::{Pour, PourMould};
pub use progress::{Progress, progress};
pub use schedule::{Block, Job, PlannedHeat, PlannedMould, Schedule, Session};
pub use tasks::{Plan, Subject, Task, plan};
