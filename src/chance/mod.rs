//! Chance: what is believed about a proportion, how many tries that takes, durations given as three
//! estimates, and samples drawn the same way on any number of threads.
//!
//! Nothing here knows what is tried. Special functions are those of `statrs`, variates those of
//! `rand_distr`, random bits ChaCha with 8 rounds.

mod beta;
mod counts;
mod pert;
mod sample;
mod streams;
mod table;

pub use beta::Beta;
pub use counts::{BetaNegativeBinomial, Counts, Mixed, NegativeBinomial};
pub use pert::Pert;
pub use sample::{Quantile, Sample};
pub use streams::{Stream, replay};
pub use table::{Tables, Together, Uncertain};
