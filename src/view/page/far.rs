//! How far the build is.

use super::{STANDINGS, mark};
use crate::model::{Build, Standing};
use crate::plan::Plan;
use serde::Serialize;

/// How far the build is.
#[derive(Debug, Clone, Serialize)]
pub struct FarView {
    /// Parts that are finished.
    pub finished: usize,
    /// Parts in all.
    pub parts: usize,
    /// Good castings, in pieces.
    pub good: u32,
    /// Castings that the machine needs, in pieces.
    pub wanted: u32,
    /// Moulds rammed so far.
    pub moulds: usize,
    /// Heats poured so far.
    pub heats: usize,
    /// How many parts stand where.
    pub tally: Vec<TallyView>,
}

/// How many parts stand where.
#[derive(Debug, Clone, Serialize)]
pub struct TallyView {
    /// Standing in words.
    pub standing: &'static str,
    /// Name of its mark.
    pub mark: &'static str,
    /// How many.
    pub count: usize,
}

/// Counts parts, castings, moulds and heats.
pub(in crate::view) fn far(build: &Build, plan: &Plan) -> FarView {
    let count = |standing| plan.standings.iter().filter(|s| **s == standing).count();
    let tally = STANDINGS.map(|s| TallyView { standing: s.word(), mark: mark(s), count: count(s) });
    let (mut good, mut wanted) = (0, 0);
    let mut pieces = vec![0_u32; build.parts.len()];
    for attempt in build.history.attempts.values() {
        for (part, _) in &attempt.castings {
            pieces[*part] += 1;
        }
    }
    for (i, part) in build.parts.iter().enumerate().filter(|(_, p)| p.casting.is_some()) {
        wanted += part.given.quantity;
        if pieces[i] > 0 {
            good += build.history.pieces(i).good().min(part.given.quantity);
        }
    }
    FarView {
        finished: count(Standing::Finished),
        parts: build.parts.len(),
        good,
        wanted,
        moulds: build.history.attempts.len(),
        heats: build.history.heats.len(),
        tally: tally.into_iter().collect(),
    }
}
