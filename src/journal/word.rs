//! The words that an entry may use: what becomes of a casting, what can be done about a blemish.

use crate::yaml::Given;
use std::sync::Arc;

/// A word with its place in the journal.
pub type Word = Given<Arc<str>>;

/// What becomes of a casting; the words are those of ISO 9000.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "lowercase")]
#[non_exhaustive]
pub enum Disposition {
    /// As it should be.
    Accept,
    /// Used as it is, blemish known.
    Concession,
    /// Can be put right.
    Rework,
    /// Cast again.
    Scrap,
}

impl Disposition {
    /// The words a journal uses.
    pub const WORDS: &'static [(&'static str, Disposition)] = &[
        ("accept", Disposition::Accept),
        ("concession", Disposition::Concession),
        ("rework", Disposition::Rework),
        ("scrap", Disposition::Scrap),
    ];

    /// Its word.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, d)| *d == self).map_or("", |(w, _)| w)
    }
}

/// Said of a mould that was knocked out and rammed again under its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Again {
    /// It was.
    Yes,
}

impl Again {
    /// The words a journal uses.
    pub const WORDS: &'static [(&'static str, Again)] = &[("yes", Again::Yes)];
}

/// What the builder says can be done about a blemish.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum CanBe {
    /// The face that has it can be turned to the back.
    TurnedBack,
    /// Welded or brazed up.
    Welded,
    /// Filled.
    Filled,
    /// Gone with the machining stock.
    MachinedAway,
}

impl CanBe {
    /// The words a journal uses.
    pub const WORDS: &'static [(&'static str, CanBe)] = &[
        ("turned-back", CanBe::TurnedBack),
        ("welded", CanBe::Welded),
        ("filled", CanBe::Filled),
        ("machined-away", CanBe::MachinedAway),
    ];

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::TurnedBack => "turned to the back",
            Self::Welded => "welded",
            Self::Filled => "filled",
            Self::MachinedAway => "machined away",
        }
    }
}
