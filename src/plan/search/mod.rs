//! Looking for a good plan: candidates are placed in time and compared.

mod aim;
mod bound;
mod forward;
mod heating;
mod heats;
mod layout;
mod local;
mod place;
mod placer;

pub use aim::{Aim, Budget};
pub(super) use bound::bound;
pub use layout::{Candidate, Layout, Obstacle, Piece, PlacedHeat};
pub(super) use local::{Found, search};
pub use place::place;
