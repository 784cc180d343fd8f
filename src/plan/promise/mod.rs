//! What a plan promised, and what of it still stands: a heat keeps its name, its moulds and its metal
//! while the journal goes on.
//!
//! A plan is kept by name ([`kept`], with the names in [`names`]). Later each mould of today is known
//! again among those that were promised ([`known`], matched in [`matching`]), and from that follows
//! what is still to be poured together, and in which order ([`stands`]).

mod inputs;
mod kept;
mod known;
mod matching;
mod names;
mod stands;

pub(super) use inputs::hash;
pub use kept::{Kept, PromisedHeat, PromisedJob, PromisedMould};
pub(super) use known::Changed;
pub(super) use names::names_of_today;
pub(super) use stands::Promise;
