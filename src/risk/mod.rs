//! The plan under chance: castings that must be made again, hours and yields that turn out
//! otherwise. Replays the plan in memory many times and tells when it may be finished and what it
//! may take; how many moulds to allow for is reckoned, not drawn.

mod amounts;
mod bench;
mod line;
mod loss;
#[cfg(test)]
mod numpy;
mod replay;
mod script;
mod told;

pub use bench::MISSED;
pub use replay::SHARED;
pub use script::OWN;

use crate::chance::{Beta, replay};
use crate::estimate::{Estimates, Gone};
use crate::figure::Kind;
use crate::manifest::{Difficulty, Id};
use crate::model::Build;
use crate::plan::{Schedule, hours};
use chrono::NaiveDate;

/// Castings made again take longer than the plan: the hours reach so many times as far.
const REACH: i64 = 6;

/// A value below which a share of the replays lies.
#[derive(Debug, Clone, Copy)]
pub struct Percentile<T> {
    /// The share.
    pub share: f64,
    /// The value.
    pub value: T,
    /// With 95 % confidence the true one is not below this ...
    pub low: T,
    /// ... nor above this: the sampling error of so many replays.
    pub high: T,
}

/// An amount under chance, in its SI unit.
#[derive(Debug, Clone)]
pub struct Spread {
    /// Name, such as the alloy.
    pub of: Id,
    /// What becomes of it.
    pub what: Gone,
    /// Kind of quantity.
    pub kind: Kind,
    /// The amount if nothing is lost and all is as likely.
    pub planned: f64,
    /// P10, P50, P80, P90.
    pub told: Vec<Percentile<f64>>,
}

/// How often the moulds of one part may have to be made: each of those to come until it is good,
/// with the belief about the chance that one is lost.
#[derive(Debug, Clone)]
pub struct Attempts {
    /// Index of the part.
    pub part: usize,
    /// Mean number of moulds to come, lost ones made again counted.
    pub moulds: f64,
    /// Moulds to come if none is lost.
    pub least: u32,
    /// Moulds to allow for: enough with a chance of 80 % and of 90 %.
    pub allow: [u32; 2],
    /// Chance that at least one mould of it is lost.
    pub lost: f64,
}

/// How a kind of work adds to the spread.
#[derive(Debug, Clone, Copy)]
pub struct Driver {
    /// In words.
    pub what: &'static str,
    /// Mean minutes at the bench.
    pub minutes: f64,
    /// Its covariance with the moment of finish, as a share of that of all bench time.
    pub share: f64,
}

/// What is believed of a class of difficulty.
#[derive(Debug, Clone, Copy)]
pub struct Class {
    /// Which.
    pub difficulty: Difficulty,
    /// Before the journal.
    pub prior: Beta,
    /// With the journal.
    pub now: Beta,
    /// Moulds lost so far.
    pub lost: u32,
    /// Moulds decided upon so far.
    pub of: u32,
}

/// The plan under chance.
#[derive(Debug, Clone)]
pub struct Risk {
    /// How often it was replayed.
    pub replays: u64,
    /// Seed of the draws.
    pub seed: u64,
    /// The day it is all finished: P10, P50, P80, P90.
    pub finish: Vec<Percentile<NaiveDate>>,
    /// Metal, sand and fuel.
    pub amounts: Vec<Spread>,
    /// Kinds of work, the one that drives the spread most first.
    pub drivers: Vec<Driver>,
    /// Parts with moulds to come, the one that loses most moulds first.
    pub attempts: Vec<Attempts>,
    /// Replays finished in each week, by its first day.
    pub weeks: Vec<(NaiveDate, u32)>,
    /// Each class of difficulty.
    pub classes: Vec<Class>,
    /// Mean number of moulds lost.
    pub lost: f64,
}

/// That there is no plan to replay.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub struct NoPlan {
    /// What cannot be made, or is missing for it, in words.
    pub missing: Vec<String>,
}

impl std::fmt::Display for NoPlan {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "there is no plan: {}", self.missing.join("; "))
    }
}

impl std::error::Error for NoPlan {}

/// Replays a plan under chance, so many times. `progress` is told of replays done.
///
/// # Errors
/// That there is no plan, and what is missing for it.
pub fn risk(
    build: &Build,
    estimates: &Estimates,
    schedule: &Schedule,
    (replays, seed): (u64, u64),
    progress: &(dyn Fn(u64) + Sync),
) -> Result<Risk, NoPlan> {
    let none = || NoPlan { missing: schedule.missing.clone() };
    let laid = schedule.laid.as_ref().ok_or_else(none)?;
    let hours = hours(build, &laid.work, REACH);
    let (script, names) = script::script(build, estimates, laid, &hours);
    let outcomes = replay(replays, seed, |random| {
        progress(1);
        replay::once(&script, random)
    });
    Ok(told::told(build, &hours, (&script, names), outcomes, seed))
}
