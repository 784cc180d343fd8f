//! The work that is left, as items that can be put into time, and what the shop has for it.

mod firing;
mod firsts;
mod heat;
mod items;
mod lacking;
mod limits;
mod making;
mod minutes;
mod pots;
mod sharing;

pub use firing::Firing;
pub(crate) use firing::{before_pour, melting, melts};
pub use firsts::{FirstOf, Firsts, learn_first};
pub use items::{Batches, InPot, Item, Mould, Work};
pub(crate) use limits::heap;
pub(super) use limits::{Hold, Hours, most, overlapping};
pub use limits::{Limits, Scarce};
pub(super) use making::work;
pub(crate) use minutes::span;
pub use pots::in_pots;
pub use sharing::{in_order, longest_first, may_share};
