use crate::figure::{Figure, Mass, Temperature, Time};
use crate::manifest::Step;
use crate::yaml::Given;
use chrono::NaiveDateTime;
use indexmap::IndexMap;
use std::sync::Arc;

/// A word with its place in the journal.
pub type Word = Given<Arc<str>>;

/// One entry of the journal.
#[derive(Debug, Clone)]
pub struct Entry {
    /// Its id; entries of two copies of a journal are told apart by it.
    pub id: Arc<str>,
    /// When it happened.
    pub at: NaiveDateTime,
    /// What happened.
    pub event: Event,
    /// The line that says what happened.
    pub line: usize,
}

/// What can happen.
#[derive(Debug, Clone)]
pub enum Event {
    /// A mould was rammed.
    Rammed(Rammed),
    /// A heat was melted and poured.
    Poured(Poured),
    /// A mould was shaken out.
    ShakenOut(ShakenOut),
    /// Castings were inspected.
    Inspected(Inspected),
    /// Another step of a part or a pattern was finished.
    Done(Done),
    /// A bought part or stock arrived.
    Received(Received),
    /// Stock was counted.
    Counted(Counted),
    /// Something to remember.
    Note(Noted),
    /// An earlier entry does not count.
    Void(Void),
}

/// A mould was rammed.
#[derive(Debug, Clone)]
pub struct Rammed {
    /// The mould's name.
    pub mould: Word,
    /// The pattern in it.
    pub pattern: Word,
    /// The flask.
    pub flask: Option<Word>,
    /// Castings in it, by part.
    pub castings: Vec<(Word, u32)>,
    /// Time it took.
    pub hours: Option<Figure<Time>>,
}

/// What went into the crucible, by source (ingot, returns, scrap ...).
pub type Charge = IndexMap<Arc<str>, Figure<Mass>>;

/// A heat was melted and poured.
#[derive(Debug, Clone)]
pub struct Poured {
    /// The heat's name.
    pub heat: Word,
    /// The alloy.
    pub alloy: Word,
    /// The crucible.
    pub crucible: Option<Word>,
    /// What went in.
    pub charge: Charge,
    /// Pouring temperature.
    pub temperature: Option<Figure<Temperature>>,
    /// The moulds, in order.
    pub moulds: Vec<Word>,
    /// What was left in the crucible.
    pub heel: Option<Figure<Mass>>,
    /// Fuel burnt.
    pub fuel: Option<Figure<Mass>>,
    /// Time to melt.
    pub melt_time: Option<Figure<Time>>,
    /// Weather of the day.
    pub weather: Option<Arc<str>>,
}

/// A mould was shaken out.
#[derive(Debug, Clone)]
pub struct ShakenOut {
    /// The mould.
    pub mould: Word,
    /// Time since pouring.
    pub after: Option<Figure<Time>>,
}

/// What becomes of a casting; the words are those of ISO 9000.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "lowercase")]
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

/// A blemish found.
#[derive(Debug, Clone)]
pub struct Blemish {
    /// Code of its group, such as `B200`.
    pub class: Arc<str>,
    /// Where on the casting.
    pub place: Option<Arc<str>>,
}

/// Castings were inspected.
#[derive(Debug, Clone)]
pub struct Inspected {
    /// The mould they came from.
    pub mould: Word,
    /// Which part.
    pub part: Word,
    /// How many pieces.
    pub pieces: u32,
    /// What becomes of them.
    pub disposition: Disposition,
    /// Mass of one.
    pub mass: Option<Figure<Mass>>,
    /// What was found.
    pub blemishes: Vec<Blemish>,
    /// In the builder's words.
    pub says: Option<Arc<str>>,
}

/// A step was finished.
#[derive(Debug, Clone)]
pub struct Done {
    /// The part, unless it is a pattern.
    pub part: Option<Word>,
    /// The pattern.
    pub pattern: Option<Word>,
    /// Which step.
    pub step: Step,
    /// Time it took.
    pub hours: Option<Figure<Time>>,
    /// Mass of the pattern.
    pub mass: Option<Figure<Mass>>,
}

/// Something arrived.
#[derive(Debug, Clone)]
pub struct Received {
    /// A bought part.
    pub part: Option<Word>,
    /// Or stock under this name.
    pub stock: Option<Word>,
    /// How much.
    pub mass: Option<Figure<Mass>>,
    /// What was paid, as written.
    pub price: Option<Arc<str>>,
}

/// Stock was counted.
#[derive(Debug, Clone)]
pub struct Counted {
    /// Which.
    pub stock: Word,
    /// How much there is.
    pub mass: Figure<Mass>,
}

/// A note.
#[derive(Debug, Clone)]
pub struct Noted {
    /// The words.
    pub says: Arc<str>,
    /// About this part.
    pub part: Option<Word>,
    /// A picture beside the build.
    pub photo: Option<Arc<str>>,
}

/// An earlier entry does not count.
#[derive(Debug, Clone)]
pub struct Void {
    /// Which.
    pub entry: Word,
    /// Why.
    pub why: Arc<str>,
}
