//! The work that is left, as items that can be put into time, and what the shop has for it.

mod firing;
mod firsts;
mod items;
mod lacking;
mod limits;
mod making;
mod pots;

pub use firing::Firing;
pub(crate) use firing::{melting, melts};
pub use firsts::{First, FirstOf, learn_first};
pub use items::{Batches, Item, Mould, Work};
pub(super) use limits::{Hold, most, overlapping};
pub use limits::{Limits, Scarce, may_share};
pub(crate) use making::span;
pub(super) use making::{Hours, work};
pub use pots::{InPot, in_pots};
