//! Looking for a good plan: candidates are placed in time and compared.

mod aim;
mod bound;
mod forward;
mod heating;
mod heats;
mod kept;
mod layout;
mod local;
mod place;
mod placer;
mod relax;

pub use aim::{Aim, Budget};
pub use kept::Kept;
pub(super) use kept::hash;
pub use layout::{Layout, Obstacle, Piece, PlacedHeat};
pub(super) use local::{Found, search};
