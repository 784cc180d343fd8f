//! One entry of the journal: what can happen, and the keys of each event.

use super::key::{Form, Key, Readable, class, keys, photo, price};
use super::word::{Again, CanBe, Disposition, Word};
use crate::figure::{Figure, Length, Mass, Number, Ratio, Temperature, Time};
use crate::handbook::Handbook;
use crate::manifest::Step;
use crate::yaml::{Code, Cursor, Fields};
use chrono::{NaiveDate, NaiveDateTime};
use indexmap::IndexMap;
use std::sync::Arc;

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

/// Sizes as measured, by the builder's name for each.
pub type Sizes = IndexMap<Arc<str>, Figure<Length>>;

/// What went into the crucible, by source (ingot, returns, scrap ...).
pub type Charge = IndexMap<Arc<str>, Figure<Mass>>;

/// How an event goes with the builder's words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Says {
    /// They may be added, and a picture.
    May,
    /// It is nothing without them.
    Needed,
    /// It has none.
    Never,
}

/// What sort of event it is: its word and its keys.
#[derive(Debug, Clone, Copy)]
pub struct EventKind {
    /// The word that an entry has it under.
    pub word: &'static str,
    /// What happened, in a few words.
    pub help: &'static str,
    /// Its keys, in the order in which they are written.
    pub keys: &'static [Key],
    /// Whether it goes with words of the builder's.
    pub says: Says,
    /// Reads it.
    pub(super) read: fn(&mut Fields<'_>, &Handbook) -> Option<Event>,
}

/// The builder's words beside any event.
pub const SAYS: Key = Key::of("says").help("More of it, in your words");
/// A note is nothing without its words.
pub const WORDS: Key =
    Key::of("says").help("The words").needed("what to remember").asks("What is to be remembered?");
/// A picture beside any event.
pub const PHOTO: Key = Key::of("photo").help("A picture beside the build").checked(photo);

/// The events: each with its word, how it goes with the builder's words, and its keys.
macro_rules! events {
    ($(
        #[doc = $help:literal]
        $name:ident $word:literal $says:ident $check:ident { $($keys:tt)* }
    )*) => {
        keys! { $(#[doc = $help] $name { $($keys)* })* }

        /// What can happen.
        #[derive(Debug, Clone)]
        #[non_exhaustive]
        pub enum Event { $(#[doc = $help] $name($name),)* }

        impl Event {
            /// Every word an entry may begin its last line with.
            pub const WORDS: &'static [&'static str] = &[$($word),*];

            /// Every sort of event.
            pub const KINDS: &'static [EventKind] = &[$(EventKind {
                word: $word,
                help: $help.trim_ascii(),
                keys: $name::KEYS,
                says: Says::$says,
                read: |f, book| $name::read(f, book).filter(|e| $check(e, f)).map(Event::$name),
            }),*];

            /// Its word.
            pub fn word(&self) -> &'static str {
                match self { $(Event::$name(_) => $word,)* }
            }
        }
    };
}

events! {
    /// A mould was rammed
    Rammed "rammed" May sound {
        /// Name of the mould, such as M7
        mould: Word = Key::of("mould").needed("M7").asks("Name of the mould?");
        /// The pattern in it
        pattern: Word =
            Key::of("pattern").needed("base-pattern").asks("Which pattern is in it?");
        /// The flask
        flask: Option<Word> = Key::of("flask").asks("In which flask?");
        /// Castings in it, as PART=HOW-MANY; may be repeated
        castings: Vec<(Word, u32)> = Key::of("castings")
            .needed("{base: 1}")
            .each("casting", "PART=COUNT", "base=1")
            .asks("How many of {} are in it? (0: none)");
        /// Time it took
        hours: Option<Figure<Time>> =
            Key::of("hours").figure("time to ram").asks("How long did it take?");
        /// Water in the sand, by mass
        moisture: Option<Figure<Ratio>> = Key::of("moisture")
            .figure("water in the sand")
            .asks("Water in the sand, if it was measured?");
        /// A mould of this name that stood too long was knocked out and rammed again
        again: Option<Again> = Key::of("again");
    }
    /// A heat was melted and poured
    Poured "poured" May sound {
        /// Name of the heat, such as H3
        heat: Word = Key::of("heat").needed("H3").asks("Name of the heat?");
        /// The alloy
        alloy: Word = Key::of("alloy").needed("A356").asks("Which alloy?");
        /// The crucible
        crucible: Option<Word> = Key::of("crucible").asks("Which crucible?");
        /// The furnace
        furnace: Option<Word> = Key::of("furnace");
        /// What went in, as SOURCE=MASS (ingot, returns, scrap); may be repeated
        charge: Charge = Key::of("charge")
            .figure("charged")
            .each("charge", "SOURCE=MASS", "ingot='3.2 kg'")
            .asks("What went in?");
        /// Pouring temperature
        temperature: Option<Figure<Temperature>> = Key::of("temperature")
            .figure("pouring temperature as logged")
            .asks("Pouring temperature?");
        /// Moulds in order; may be repeated
        moulds: Vec<Word> = Key::of("moulds")
            .needed("[M7]")
            .each("mould", "MOULD", "M7")
            .asks("Which moulds, in order?");
        /// Metal left in the crucible
        heel: Option<Figure<Mass>> = Key::of("heel")
            .figure("left in the crucible")
            .or_zero()
            .asks("What was left in the crucible?");
        /// Fuel burnt
        fuel: Option<Figure<Mass>> = Key::of("fuel").figure("fuel burnt").asks("Fuel burnt?");
        /// Time to melt
        melt_time: Option<Figure<Time>> = Key::of("melt-time")
            .figure("time to melt")
            .asks("How long did it take to melt?");
        /// Time a mould took to fill, as MOULD=TIME; may be repeated
        filled: IndexMap<Arc<str>, Figure<Time>> = Key::of("filled")
            .figure("time to fill")
            .each("filled", "MOULD=TIME", "M7='8 s'");
        /// Weather of the day
        weather: Option<Arc<str>> = Key::of("weather").asks("Weather of the day?");
    }
    /// A mould was shaken out
    ShakenOut "shaken-out" May sound {
        /// The mould
        mould: Word = Key::of("mould").needed("M7").asks("Which mould?");
        /// Time since pouring
        after: Option<Figure<Time>> =
            Key::of("after").figure("time in the mould").asks("How long after pouring?");
        /// Time until the casting was frozen through, if you timed it
        frozen: Option<Figure<Time>> = Key::of("frozen")
            .figure("time until frozen")
            .asks("How long until it was frozen, if you timed it?");
        /// All the metal that came out, gates and feeders with it
        mass: Option<Figure<Mass>> = Key::of("mass")
            .figure("metal out of the mould")
            .asks("All the metal that came out, gates with it?");
    }
    /// Castings were inspected
    Inspected "inspected" May sound {
        /// The mould they came from
        mould: Word = Key::of("mould").needed("M7");
        /// The part
        part: Word = Key::of("part").needed("base");
        /// How many pieces
        pieces: u32 =
            Key::of("pieces").usually("1").asks("How many pieces does this hold for?");
        /// accept, concession, rework or scrap
        disposition: Disposition =
            Key::of("disposition").needed("accept").asks("What becomes of them?");
        /// Mass of one
        mass: Option<Figure<Mass>> =
            Key::of("mass").figure("casting as weighed").asks("Mass of one?");
        /// A size, under the name it has on the pattern, as NAME=LENGTH; may be repeated
        sizes: Sizes = Key::of("sizes")
            .figure("casting as measured")
            .each("size", "NAME=LENGTH", "width='120 mm'")
            .asks("A measured size?");
        /// What was found, as CLASS or CLASS=WHERE (such as B200='at the boss'); may be repeated
        blemishes: Vec<Blemish> = Key::of("blemishes")
            .each("blemish", "CLASS=WHERE", "B200='at the boss'")
            .asks("What was found?");
    }
    /// A step of a part, or a pattern, was finished
    Done "done" May names_a_step {
        /// The part
        part: Option<Word> = Key::of("part").or("pattern");
        /// Or the pattern
        pattern: Option<Word> = Key::of("pattern").not_with("part");
        /// Which step of the part
        step: Step = Key::of("step");
        /// Time it took, from first to last
        hours: Option<Figure<Time>> =
            Key::of("hours").figure("time taken").asks("How long did it take, from first to last?");
        /// Mass of the pattern
        mass: Option<Figure<Mass>> = Key::of("mass")
            .figure("pattern as weighed")
            .with("pattern")
            .asks("What does it weigh?");
        /// A size of the pattern, as NAME=LENGTH; may be repeated
        sizes: Sizes = Key::of("sizes")
            .figure("pattern as measured")
            .each("size", "NAME=LENGTH", "width='120 mm'")
            .with("pattern")
            .asks("A measured size?");
    }
    /// Hours were worked on a step of a part, or on a pattern, that is not finished
    Worked "worked" May names_what_was_worked_on {
        /// The part
        part: Option<Word> = Key::of("part").or("pattern");
        /// Or the pattern
        pattern: Option<Word> = Key::of("pattern").not_with("part");
        /// Which step of the part
        step: Step = Key::of("step");
        /// Time at the bench since the last entry about it
        hours: Figure<Time> = Key::of("hours")
            .figure("time worked")
            .needed("2.5 h")
            .asks("How long did you work on it?");
        /// Time at the bench that is still to go
        left: Option<Figure<Time>> =
            Key::of("left").figure("time left").asks("How long is still to go?");
    }
    /// A bought part or stock was ordered
    Ordered "ordered" May names_what_was_ordered {
        /// The part
        part: Option<Word> = Key::of("part").or("stock");
        /// Or stock under this name
        stock: Option<Word> =
            Key::of("stock").not_with("part").asks("Under which name?");
        /// How much
        mass: Option<Figure<Mass>> = Key::of("mass").figure("ordered").asks("How much?");
        /// Or how many pieces, of what is counted
        pieces: Option<Figure<Number>> = Key::of("pieces")
            .figure("pieces ordered")
            .or_zero()
            .not_with("mass");
        /// From which supplier
        from: Option<Arc<str>> = Key::of("from").asks("From whom?");
        /// The day it is expected, such as 2026-07-20
        expected: Option<NaiveDate> = Key::of("expected").asks("When is it expected?");
        /// What it costs
        price: Option<Arc<str>> = Key::of("price").checked(price).asks("What does it cost?");
    }
    /// A bought part or stock arrived
    Received "received" May names_what_came {
        /// The part
        part: Option<Word> = Key::of("part").or("stock");
        /// Or stock under this name
        stock: Option<Word> = Key::of("stock").not_with("part");
        /// How much
        mass: Option<Figure<Mass>> = Key::of("mass").figure("received").asks("How much?");
        /// Or how many pieces, of what is counted
        pieces: Option<Figure<Number>> = Key::of("pieces")
            .figure("pieces received")
            .or_zero()
            .not_with("mass");
        /// What was paid
        price: Option<Arc<str>> = Key::of("price").checked(price).asks("What was paid?");
    }
    /// Stock was counted
    Counted "counted" May says_how_much_there_is {
        /// Which
        stock: Word = Key::of("stock").needed("sand").asks("Which?");
        /// How much there is
        mass: Option<Figure<Mass>> = Key::of("mass")
            .figure("counted")
            .or_zero()
            .asks("How much is there?");
        /// Or how many pieces, of what is counted
        pieces: Option<Figure<Number>> = Key::of("pieces")
            .figure("pieces counted")
            .or_zero()
            .not_with("mass");
    }
    /// Stock left the shop unused
    GivenAway "given-away" May says_how_much_left {
        /// Which
        stock: Word = Key::of("stock").needed("A356").asks("Which?");
        /// How much
        mass: Option<Figure<Mass>> =
            Key::of("mass").figure("given away").asks("How much?");
        /// Or how many pieces, of what is counted
        pieces: Option<Figure<Number>> = Key::of("pieces")
            .figure("pieces given away")
            .or_zero()
            .not_with("mass");
        /// To whom
        to: Option<Arc<str>> = Key::of("to").asks("To whom?");
    }
    /// A flask or a crucible is gone: broken or worn out
    Retired "retired" May names_what_is_gone {
        /// The flask
        flask: Option<Word> = Key::of("flask").or("crucible");
        /// Or the crucible
        crucible: Option<Word> = Key::of("crucible").not_with("flask");
        /// How many of equal ones
        pieces: u32 = Key::of("pieces").usually("1").asks("How many of them?");
    }
    /// Something to remember
    Note "note" Needed sound {
        /// About this part
        part: Option<Word> = Key::of("part").asks("About which part?");
        /// About this mould
        mould: Option<Word> = Key::of("mould");
    }
    /// An earlier entry does not count
    Void "void" Never sound {
        /// Its id
        entry: Word =
            Key::of("entry").needed("20260307-1420-a1").asks("Which does not count?");
        /// Why
        why: Arc<str> = Key::of("why").needed("what was wrong").asks("Why?");
    }
}

keys! {
    /// A blemish found.
    Blemish {
        /// Code of its group, such as `B200`, or of a member of the group, such as `B211`
        class: Arc<str> = Key::of("class").needed("B200").checked(class);
        /// Where on the casting
        place: Option<Arc<str>> = Key::of("where");
        /// A face that they touch; may be repeated
        faces: Vec<Arc<str>> = Key::of("faces")
            .each("face", "FACE", "top")
            .with("blemish")
            .asks("Which faces does it touch?");
        /// What can be done: turned-back, welded, filled, machined-away; may be repeated
        can_be: Vec<CanBe> = Key::of("can-be")
            .each("can-be", "CAN_BE", "welded")
            .with("blemish")
            .asks("What could be done about it?");
    }
}

impl Readable for Vec<Blemish> {
    const FORM: Form = Form::Blemishes;
    fn read(cursor: &Cursor<'_>, _: &Key, book: &Handbook) -> Option<Self> {
        let each = |c: &Cursor<'_>| {
            let mut f = c.fields()?;
            let blemish = Blemish::read(&mut f, book);
            f.done();
            blemish
        };
        Some(cursor.items().iter().filter_map(each).collect())
    }
    fn missing() -> Option<Self> {
        Some(Vec::new())
    }
}

impl Blemish {
    /// Code of the group that the handbook has it under.
    pub fn group(&self) -> String {
        format!("{}00", self.class.get(..2).unwrap_or_default())
    }
}

/// Nothing but its keys is to be checked.
fn sound<T>(_: &T, _: &Fields<'_>) -> bool {
    true
}

fn names_a_step(done: &Done, f: &Fields<'_>) -> bool {
    names_one(&done.part, &done.pattern, done.step, f)
}

fn names_what_was_worked_on(worked: &Worked, f: &Fields<'_>) -> bool {
    names_one(&worked.part, &worked.pattern, worked.step, f)
}

/// A step of a part, or a pattern: one of the two.
fn names_one(part: &Option<Word>, pattern: &Option<Word>, step: Step, f: &Fields<'_>) -> bool {
    let named = !f.present(&["step"]).is_empty();
    let sound = match (part, pattern) {
        (None, Some(_)) => step == Step::Pattern,
        (Some(_), None) => named,
        _ => false,
    };
    if !sound {
        f.cursor().fault(
            Code::Shape,
            "this does not say which step of what it is about",
            "write {part: base, step: machine} or {pattern: base-pattern}",
        );
    }
    sound
}

/// A flask or a crucible: one of the two.
fn names_what_is_gone(retired: &Retired, f: &Fields<'_>) -> bool {
    let sound = retired.flask.is_some() != retired.crucible.is_some();
    if !sound && f.present(&["flask", "crucible"]).len() != 1 {
        f.cursor().fault(
            Code::Shape,
            "this does not say which flask or which crucible is gone",
            "write {flask: small-box} or {crucible: A10}",
        );
    }
    sound
}

/// So much of a stock: a mass in kg, or whole pieces.
macro_rules! amounts {
    ($($event:ident),*) => {$(
        impl $event {
            /// How much: kg, or pieces of what is counted.
            pub fn amount(&self) -> Option<f64> {
                self.mass.as_ref().map(Figure::si).or(self.pieces.as_ref().map(Figure::si))
            }
        }
    )*};
}
amounts!(Ordered, Received, Counted, GivenAway);

fn says_how_much_there_is(counted: &Counted, f: &Fields<'_>) -> bool {
    says_how_much(counted.amount(), f)
}

fn says_how_much_left(given: &GivenAway, f: &Fields<'_>) -> bool {
    says_how_much(given.amount(), f)
}

/// A mass or a number of pieces.
fn says_how_much(amount: Option<f64>, f: &Fields<'_>) -> bool {
    if amount.is_none() && f.present(&["mass", "pieces"]).is_empty() {
        let says = "nothing says how much";
        f.cursor().fault(
            Code::MissingKey,
            says,
            "add `mass: 2 kg`, or `pieces: 4` of what is counted",
        );
    }
    amount.is_some()
}

/// A part, or so much of a stock.
fn names_what_was_ordered(ordered: &Ordered, f: &Fields<'_>) -> bool {
    let named = ordered.part.is_some() || (ordered.stock.is_some() && ordered.amount().is_some());
    if !named {
        f.cursor().fault(
            Code::MissingKey,
            "nothing says what was ordered",
            "add `part: motor`, or `stock: A356` with its `mass:`",
        );
    }
    named
}

/// A part or a stock arrived.
fn names_what_came(received: &Received, f: &Fields<'_>) -> bool {
    let named = received.part.is_some() || received.stock.is_some();
    if !named {
        f.cursor().fault(
            Code::MissingKey,
            "nothing says what arrived",
            "add `part: motor` or `stock: A356`",
        );
    }
    named
}
