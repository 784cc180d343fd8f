use crate::figure::{Figure, Length, Mass, Ratio, Temperature, Time};
use crate::manifest::Step;
use crate::yaml::Given;
use chrono::NaiveDateTime;
use indexmap::IndexMap;
use std::sync::Arc;

/// A word with its place in the journal.
pub type Word = Given<Arc<str>>;

/// Something in the journal worth pointing out that is no fault.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
pub struct Remark {
    /// The line it is about; none where it is about the whole file.
    pub line: Option<usize>,
    /// In words.
    pub says: String,
}

impl Remark {
    /// About a line.
    pub fn at(line: usize, says: impl Into<String>) -> Self {
        Self { line: Some(line), says: says.into() }
    }
}

impl std::fmt::Display for Remark {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.line {
            Some(line) => write!(f, "journal.yaml:{line}: {}", self.says),
            None => write!(f, "journal.yaml: {}", self.says),
        }
    }
}

/// One entry of the journal.
#[derive(Debug, Clone)]
pub struct Entry {
    /// Its id; entries of two copies of a journal are told apart by it.
    pub id: Arc<str>,
    /// When it happened.
    pub at: NaiveDateTime,
    /// What happened.
    pub event: Event,
    /// In the builder's words.
    pub says: Option<Arc<str>>,
    /// A picture beside the build.
    pub photo: Option<Arc<str>>,
    /// The line that says what happened.
    pub line: usize,
}

impl Entry {
    /// The mould that it is about, if it is one.
    pub fn mould(&self) -> Option<&str> {
        match &self.event {
            Event::Rammed(e) => Some(&e.mould.value),
            Event::ShakenOut(e) => Some(&e.mould.value),
            Event::Inspected(e) => Some(&e.mould.value),
            Event::Note(e) => e.mould.as_ref().map(|w| &*w.value),
            _ => None,
        }
    }
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
    /// Stock left the shop unused.
    GivenAway(GivenAway),
    /// Something to remember.
    Note(Noted),
    /// An earlier entry does not count.
    Void(Void),
}

impl Event {
    /// Every word an entry may begin its last line with.
    pub const WORDS: [&'static str; 10] = [
        "rammed",
        "poured",
        "shaken-out",
        "inspected",
        "done",
        "received",
        "counted",
        "given-away",
        "note",
        "void",
    ];

    /// Its word.
    pub fn word(&self) -> &'static str {
        let at = match self {
            Event::Rammed(_) => 0,
            Event::Poured(_) => 1,
            Event::ShakenOut(_) => 2,
            Event::Inspected(_) => 3,
            Event::Done(_) => 4,
            Event::Received(_) => 5,
            Event::Counted(_) => 6,
            Event::GivenAway(_) => 7,
            Event::Note(_) => 8,
            Event::Void(_) => 9,
        };
        Self::WORDS[at]
    }
}

/// Sizes as measured, by the builder's name for each.
pub type Sizes = IndexMap<Arc<str>, Figure<Length>>;

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
    /// Water in the sand, by mass.
    pub moisture: Option<Figure<Ratio>>,
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
    /// The furnace.
    pub furnace: Option<Word>,
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
    /// Time a mould took to fill, by mould.
    pub filled: IndexMap<Arc<str>, Figure<Time>>,
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
    /// Time until the casting was frozen through, where it was timed.
    pub frozen: Option<Figure<Time>>,
    /// All the metal that came out, gates and feeders with it.
    pub mass: Option<Figure<Mass>>,
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

/// What the builder says can be done about a blemish.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
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

/// A blemish found.
#[derive(Debug, Clone)]
pub struct Blemish {
    /// Code of its group, such as `B200`, or of a member of the group, such as `B211`.
    pub class: Arc<str>,
    /// Where on the casting.
    pub place: Option<Arc<str>>,
    /// Faces that it touches.
    pub faces: Vec<Arc<str>>,
    /// What can be done about it.
    pub can_be: Vec<CanBe>,
}

impl Blemish {
    /// Code of the group that the handbook has it under.
    pub fn group(&self) -> String {
        format!("{}00", self.class.get(..2).unwrap_or_default())
    }
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
    /// Sizes of one, under the names of the pattern's sizes.
    pub sizes: Sizes,
    /// What was found.
    pub blemishes: Vec<Blemish>,
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
    /// Sizes of the pattern.
    pub sizes: Sizes,
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

/// Stock left the shop unused.
#[derive(Debug, Clone)]
pub struct GivenAway {
    /// Which.
    pub stock: Word,
    /// How much.
    pub mass: Figure<Mass>,
    /// To whom.
    pub to: Option<Arc<str>>,
}

/// A note; its words are the entry's.
#[derive(Debug, Clone)]
pub struct Noted {
    /// About this part.
    pub part: Option<Word>,
    /// About this mould.
    pub mould: Option<Word>,
}

/// An earlier entry does not count.
#[derive(Debug, Clone)]
pub struct Void {
    /// Which.
    pub entry: Word,
    /// Why.
    pub why: Arc<str>,
}
