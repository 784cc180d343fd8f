//! The plan in words of the build: sessions, heats, moulds, and what comes next.

mod charge;
mod compose;
mod firsts;
mod lifts;
mod names;
mod next;
mod pour;
mod progress;
mod record;
mod sand;
mod stale;

pub(super) use compose::schedule;
pub(super) use firsts::firsts;
pub use names::next_name;
pub use next::{NextHeat, next_heat, standing_moulds};
pub(super) use pour::brimming;
pub use pour::{Pour, PourMould};
pub use progress::{Progress, progress};
pub use record::{
    Block, Does, FirstHeat, HeatLift, Heel, Job, Laid, PlannedHeat, PlannedMould, Schedule, Session,
};
pub use stale::stood_too_long;
pub(super) use stale::{first_pour, stale};
