//! What happened, folded out of the journal.

use crate::figure::{Figure, Mass, Time};
use crate::journal::{Blemish, Disposition, Entry, Poured, Remark};
use crate::manifest::{Id, Step};
use chrono::{NaiveDate, NaiveDateTime};
use indexmap::IndexMap;
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// One mould: an attempt at the castings in it.
#[derive(Debug, Clone)]
pub struct Attempt {
    /// The mould's name.
    pub mould: Id,
    /// Index of the pattern.
    pub pattern: usize,
    /// Castings in it, by part index.
    pub castings: Vec<(usize, u32)>,
    /// When it was rammed.
    pub rammed: NaiveDateTime,
    /// Water in its sand, if it was measured.
    pub moisture: Option<f64>,
    /// The heat it was poured from, and when.
    pub poured: Option<(Id, NaiveDateTime)>,
    /// When it was shaken out.
    pub shaken_out: Option<NaiveDateTime>,
    /// What was found.
    pub findings: Vec<Finding>,
}

/// An inspection.
#[derive(Debug, Clone)]
pub struct Finding {
    /// When.
    pub at: NaiveDateTime,
    /// Index of the part.
    pub part: usize,
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

/// A heat that was poured.
#[derive(Debug, Clone)]
pub struct Heat {
    /// When.
    pub at: NaiveDateTime,
    /// As logged.
    pub poured: Poured,
    /// The furnace: the first of the shop where the journal does not say.
    pub furnace: Option<Id>,
    /// Whether the furnace was hot when it was lit: it melted another heat earlier that day. A heat to
    /// come finds it hot by the same rule, after one of the journal or of the plan.
    pub hot: bool,
}

/// What hours at the bench are spent on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Bench {
    /// A pattern, by index.
    Pattern(usize),
    /// A step of a part, by index.
    Part(usize, Step),
}

/// Hours that were worked on something that was not finished then.
#[derive(Debug, Clone)]
pub struct Worked {
    /// When.
    pub at: NaiveDateTime,
    /// At the bench since the last such entry.
    pub hours: Figure<Time>,
    /// What the builder says is still to go.
    pub left: Option<Figure<Time>>,
}

/// Where the pieces of a part stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Pieces {
    /// Rammed and not yet poured.
    pub rammed: u32,
    /// Poured and not yet shaken out.
    pub poured: u32,
    /// Shaken out and not yet inspected.
    pub shaken_out: u32,
    /// Accepted.
    pub accepted: u32,
    /// Used as they are, blemish known.
    pub conceded: u32,
    /// To be put right.
    pub reworked: u32,
    /// Scrapped.
    pub scrapped: u32,
}

impl Attempt {
    /// Where the pieces of a part that this mould held stand. A piece put right is inspected
    /// again, and a good one may turn out bad later, under the cutter: the later finding counts.
    pub fn pieces(&self, part: usize) -> Pieces {
        let mut pieces = Pieces::default();
        let Some((_, cast)) = self.castings.iter().find(|(p, _)| *p == part) else {
            return pieces;
        };
        let mut left = *cast;
        for finding in self.findings.iter().filter(|f| f.part == part) {
            let mut undecided = finding.pieces;
            let mut take = |from: &mut u32| {
                let taken = undecided.min(*from);
                *from -= taken;
                undecided -= taken;
            };
            take(&mut pieces.reworked);
            take(&mut left);
            take(&mut pieces.accepted);
            take(&mut pieces.conceded);
            *match finding.disposition {
                Disposition::Accept => &mut pieces.accepted,
                Disposition::Concession => &mut pieces.conceded,
                Disposition::Rework => &mut pieces.reworked,
                Disposition::Scrap => &mut pieces.scrapped,
            } += finding.pieces;
        }
        *match (&self.poured, &self.shaken_out) {
            (None, _) => &mut pieces.rammed,
            (Some(_), None) => &mut pieces.poured,
            (Some(_), Some(_)) => &mut pieces.shaken_out,
        } += left;
        pieces
    }
}

impl Pieces {
    /// Both together.
    fn plus(self, other: Self) -> Self {
        Self {
            rammed: self.rammed + other.rammed,
            poured: self.poured + other.poured,
            shaken_out: self.shaken_out + other.shaken_out,
            accepted: self.accepted + other.accepted,
            conceded: self.conceded + other.conceded,
            reworked: self.reworked + other.reworked,
            scrapped: self.scrapped + other.scrapped,
        }
    }

    /// Good enough to go on with.
    pub fn good(&self) -> u32 {
        self.accepted + self.conceded
    }

    /// Somewhere between ramming and a decision.
    pub fn under_way(&self) -> u32 {
        self.rammed + self.poured + self.shaken_out + self.reworked
    }
}

/// Where a part stands, in one word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// Nothing has happened yet.
    Waiting,
    /// Its pattern, cores, mould or stock is in hand.
    InHand,
    /// Its last castings were scrapped: it must be cast again.
    Redo,
    /// Cast and found good; work on it remains.
    Cast,
    /// Finished.
    Finished,
}

impl Standing {
    /// In words.
    pub fn word(self) -> &'static str {
        match self {
            Self::Waiting => "waiting",
            Self::InHand => "in hand",
            Self::Redo => "cast again",
            Self::Cast => "cast",
            Self::Finished => "finished",
        }
    }
}

/// Something that came in.
#[derive(Debug, Clone)]
pub struct Receipt {
    /// When.
    pub at: NaiveDateTime,
    /// Name of the stock, or id of the part.
    pub of: Id,
    /// How much of a stock, kg; 0 for a part.
    pub mass: f64,
    /// What was paid for all of it.
    pub price: Option<Decimal>,
}

/// Something that was ordered and has not come.
#[derive(Debug, Clone)]
pub struct OnOrder {
    /// The day it was ordered.
    pub ordered: NaiveDate,
    /// Name of the stock, or id of the part.
    pub of: Id,
    /// How much of a stock is still to come, kg; 0 for a part.
    pub mass: f64,
    /// The day it is expected.
    pub expected: Option<NaiveDate>,
    /// Price of all that was ordered.
    pub price: Option<Decimal>,
    /// Who sells it.
    pub from: Option<Id>,
}

/// A flask or a crucible of the shop that is gone: broken or worn out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Gone {
    /// When.
    pub at: NaiveDateTime,
    /// What it is.
    pub what: Equipment,
    /// Its id.
    pub of: Id,
    /// How many of equal ones.
    pub pieces: u32,
}

/// What of a shop may be gone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Equipment {
    /// A flask.
    Flask,
    /// A crucible.
    Crucible,
}

impl Equipment {
    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Flask => "flask",
            Self::Crucible => "crucible",
        }
    }
}

/// The journal as a history of this build.
#[derive(Debug, Clone, Default)]
pub struct History {
    /// Attempts by mould, in order.
    pub attempts: IndexMap<Id, Attempt>,
    /// Heats by name, in order.
    pub heats: IndexMap<Id, Heat>,
    /// Steps finished, by part index.
    pub done: BTreeMap<usize, BTreeSet<Step>>,
    /// Steps that were finished, and how many castings they were finished on that were scrapped since:
    /// the work is to do again on as many.
    pub again: BTreeMap<(usize, Step), u32>,
    /// Castings of a part that cores were made for, by part index, those that are gone counted too.
    pub cores: BTreeMap<usize, u32>,
    /// Patterns finished, by index.
    pub patterns: BTreeSet<usize>,
    /// Hours worked on what is, or was, unfinished, in the order they were worked.
    pub worked: BTreeMap<Bench, Vec<Worked>>,
    /// What lies in the shop by name, kg: given and received, less what was charged as ingot; a
    /// count replaces all before it.
    pub stock: BTreeMap<Id, f64>,
    /// What of each stock ever came, by name, kg or pieces: what lay there at the start and what was
    /// received, less what was given away, whatever became of it.
    pub came: BTreeMap<Id, f64>,
    /// What came in, in order.
    pub receipts: Vec<Receipt>,
    /// What was ordered and has not come, the first ordered first.
    pub on_order: Vec<OnOrder>,
    /// Flasks and crucibles that are gone, in order.
    pub retired: Vec<Gone>,
    /// Things worth pointing out about the journal as a file.
    pub remarks: Vec<Remark>,
    /// Entries that count, though what they say is unlikely.
    pub odd: Vec<Remark>,
    /// How many entries there are.
    pub entries: usize,
    /// The entries that count, in the order they happened.
    pub log: Vec<Entry>,
}

impl History {
    /// Where the pieces of a part stand.
    pub fn pieces(&self, part: usize) -> Pieces {
        self.attempts.values().map(|a| a.pieces(part)).fold(Pieces::default(), Pieces::plus)
    }

    /// Whether a step of a part was logged as finished.
    pub fn is_done(&self, part: usize, step: Step) -> bool {
        self.done.get(&part).is_some_and(|steps| steps.contains(&step))
    }

    /// Hours worked on a step of the castings, or the work, that there is now: those worked on
    /// castings that were scrapped since are lost.
    pub fn worked_on(&self, bench: Bench) -> &[Worked] {
        let all = self.worked.get(&bench).map_or(&[][..], |w| w);
        let Bench::Part(part, _) = bench else { return all };
        let findings = self.attempts_of(part).flat_map(|a| &a.findings);
        let scrapped = findings
            .filter(|f| f.part == part && f.disposition == Disposition::Scrap)
            .map(|f| f.at)
            .max();
        let lost = scrapped.map_or(0, |at| all.partition_point(|w| w.at <= at));
        &all[lost..]
    }

    /// Entries that tell of a flask or a crucible that is gone, in order.
    pub fn gone<'h>(
        &'h self,
        what: Equipment,
        id: &'h str,
    ) -> impl DoubleEndedIterator<Item = &'h Gone> {
        self.retired.iter().filter(move |gone| gone.what == what && *gone.of == *id)
    }

    /// How many of a flask or a crucible are gone.
    pub fn retired(&self, what: Equipment, id: &str) -> u32 {
        self.gone(what, id).map(|gone| gone.pieces).sum()
    }

    /// How many heats a furnace melted on a day.
    pub fn melted_on(&self, furnace: &str, day: NaiveDate) -> u32 {
        let that_day = self.heats.values().rev().filter(|heat| heat.at.date() == day);
        that_day.filter(|heat| heat.furnace.as_deref() == Some(furnace)).count() as u32
    }

    /// Castings of a part that a mould was ever rammed for.
    pub fn cast(&self, part: usize) -> u32 {
        let lots = self.attempts.values().flat_map(|a| &a.castings);
        lots.filter(|(p, _)| *p == part).map(|(_, n)| n).sum()
    }

    /// Attempts that held castings of this part, in order.
    pub fn attempts_of(&self, part: usize) -> impl Iterator<Item = &Attempt> {
        self.attempts.values().filter(move |a| a.castings.iter().any(|(p, _)| *p == part))
    }
}
