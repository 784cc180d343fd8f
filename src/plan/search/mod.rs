//! Looking for a good plan: candidates are placed in time and compared.

mod aim;
mod bound;
mod forward;
mod grouping;
mod heating;
mod heats;
mod layout;
mod local;
mod place;
mod placer;
mod rooms;
mod weights;

pub use aim::{Aim, Budget};
pub use layout::{Candidate, Layout, Obstacle, Piece, PlacedHeat};
pub(super) use local::{Found, Promised, search, soonest};
pub use place::place;
