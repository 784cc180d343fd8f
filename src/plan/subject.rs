//! What work is done on, and how far it is.

use crate::manifest::Step;
use crate::model::{Bench, Build, Part, Standing};

/// What a piece of work is done on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Subject {
    /// A pattern, by index.
    Pattern(usize),
    /// A part, by index.
    Part(usize),
}

impl Subject {
    /// What the hours of a step are spent on.
    pub fn bench(self, step: Step) -> Bench {
        match self {
            Self::Pattern(pattern) => Bench::Pattern(pattern),
            Self::Part(part) => Bench::Part(part, step),
        }
    }
}

/// Whether the journal says that a step of a part is over.
pub fn is_done(build: &Build, index: usize, part: &Part, step: Step) -> bool {
    let history = &build.history;
    let logged = history.is_done(index, step);
    let later = || {
        part.steps()
            .into_iter()
            .skip_while(|s| *s != step)
            .skip(1)
            .any(|s| history.is_done(index, s))
    };
    if part.casting.is_none() {
        return logged || later();
    }
    let p = history.pieces(index);
    let wanted = part.given.quantity;
    let shaken = p.shaken_out + p.reworked + p.good();
    match step {
        Step::Core => build.to_core(index) == 0,
        Step::Ram => p.rammed + p.poured + shaken >= wanted,
        Step::Pour => p.poured + shaken >= wanted,
        Step::ShakeOut => shaken >= wanted,
        Step::Fettle => p.good() >= wanted || (shaken >= wanted && logged),
        Step::Inspect => p.good() >= wanted,
        _ => p.good() >= wanted && (logged || later()),
    }
}

/// Where a part stands.
pub fn standing(build: &Build, index: usize) -> Standing {
    let part = &build.parts[index];
    let steps = part.steps();
    let done = |s: &Step| is_done(build, index, part, *s);
    if steps.iter().all(done) && !steps.is_empty() {
        return Standing::Finished;
    }
    let Some(casting) = &part.casting else {
        return if steps.iter().any(done) { Standing::InHand } else { Standing::Waiting };
    };
    let p = build.history.pieces(index);
    if p.good() >= part.given.quantity {
        Standing::Cast
    } else if p.scrapped > 0 && build.to_cast(index) > 0 {
        Standing::Redo
    } else if p.good() + p.under_way() > 0 || build.history.patterns.contains(&casting.pattern) {
        Standing::InHand
    } else {
        Standing::Waiting
    }
}
