//! How likely a mould is lost: what is believed beforehand, and what the journal says of it.

use super::{chance, measure};
use crate::chance::Beta;
use crate::figure::*;
use crate::manifest::Difficulty;
use crate::model::Build;
use std::sync::Arc;

/// Beta prior of the chance that a mould is lost, by difficulty: from memory, means of 10, 25 and
/// 40 %, each worth about four moulds or more.
pub fn scrap_prior(difficulty: Difficulty) -> (Beta, &'static str) {
    match difficulty {
        Difficulty::Easy => (Beta::EVEN.after(0, 8), "Beta(1, 9), mean 10 %, from memory"),
        Difficulty::Fair => (Beta::EVEN.after(0, 2), "Beta(1, 3), mean 25 %, from memory"),
        Difficulty::Hard => (Beta::EVEN.after(1, 2), "Beta(2, 3), mean 40 %, from memory"),
    }
}

/// Moulds lost and moulds decided on so far, by difficulty.
pub fn scrap_record(build: &Build) -> std::collections::BTreeMap<Difficulty, (u32, u32)> {
    let record = measure::scrap(build).into_iter();
    record.map(|(class, (nodes, lost))| (class, (lost, nodes.len() as u32))).collect()
}

/// What is believed of the chance that a mould of this difficulty is lost, with what the journal
/// says of it.
pub fn scrap_belief(build: &Build, difficulty: Difficulty) -> Beta {
    let (nodes, lost) = measure::scrap(build).remove(&difficulty).unwrap_or_default();
    scrap_prior(difficulty).0.after(u64::from(lost), nodes.len() as u64 - u64::from(lost))
}

/// The same as a figure.
pub fn scrap_chance(build: &Build, difficulty: Difficulty) -> Figure<Ratio> {
    let (nodes, _) = measure::scrap(build).remove(&difficulty).unwrap_or_default();
    let (prior, says) = scrap_prior(difficulty);
    let range = chance(scrap_belief(build, difficulty));
    let before = Node::new(
        "prior",
        Kind::Ratio,
        chance(prior),
        Because::Handbook(Arc::new(Source { citation: says.into(), known: Known::FromMemory })),
    );
    let because = Because::Closed(CHANCE, std::iter::once(before).chain(nodes).collect());
    Figure::new("chance that a mould is lost", range, because)
}

const CHANCE: &str = "(prior a + moulds lost) / (prior a + b + moulds); range: 5 and 95 %";
