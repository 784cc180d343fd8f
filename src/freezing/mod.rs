//! The freezing of a casting in its mould, by heat flow: how long it takes, which place is last,
//! what is cut off from its feeders, and when it may be shaken out.
//!
//! Three runs give the range, for the sand decides: in the fast one it takes up the most heat and
//! touches the metal, in the slow one the least and touches badly. Nothing flows, no gas forms and
//! no mould wall moves; grey iron feeds itself in part by growing.

mod fields;
mod frozen;
mod mould;
mod setup;
mod tried;

pub use fields::{Fields, Stand};
pub use frozen::{Feeding, Frozen, Ingates, Pocket, Slice, Spot, WayIn, freeze};
pub use setup::{
    Advice, Alone, Chill, Fed, Feeders, Foot, Ingate, Refusal, Room, Run, Setup, Ways,
};

use frozen::LIMIT;
