//! Metal, sand and fuel as they flow: the plan walked through in time.
//!
//! A naive sum buys the sand of every mould and forgets that gates and feeders are melted again.
//! The walk begins with what the journal left behind: ingot, returns, moulds that stand or are not
//! emptied yet. From there it takes from each stock what the plan takes, when it takes it, and gives back what comes
//! back: sand at shaking out, gates and feeders after fettling, as much of them as a charge of the
//! alloy bears. The deepest dip of a stock below nothing is what must be bought.

use crate::figure::Range;
use crate::manifest::Id;
use chrono::{NaiveDate, NaiveDateTime};
use indexmap::IndexMap;

/// Which end of every doubt the walk takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// Little is used and much comes back.
    Least,
    /// What is likely.
    Likely,
    /// Much is used and little comes back.
    Most,
}

impl End {
    /// Of something that is used.
    pub(super) fn used(self, range: Range) -> f64 {
        match self {
            Self::Least => range.low,
            Self::Likely => range.likely,
            Self::Most => range.high,
        }
    }

    /// Of something that saves.
    pub(super) fn saves(self, range: Range) -> f64 {
        match self {
            Self::Least => range.high,
            Self::Likely => range.likely,
            Self::Most => range.low,
        }
    }
}

/// When gates and feeders come off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gates {
    /// With the fettling of the part, when the plan has it.
    AtFettling,
    /// Sawn off as soon as the mould is shaken out.
    AtShakingOut,
}

/// Where all of a material is at a moment, kg.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Point {
    /// On the shelf: ingot, the heap of sand, the bag, the bottle. Below zero it is short.
    pub stock: f64,
    /// Gates and feeders, fettled and ready to be melted.
    pub returns: f64,
    /// In moulds and cores: sand rammed, or metal poured and not shaken out and fettled; and metal
    /// kept in the pot.
    pub in_moulds: f64,
    /// In castings.
    pub castings: f64,
    /// Burnt, drossed, sawn to chips, thrown out.
    pub lost: f64,
}

impl Point {
    /// All of it: the same at every moment, but for what is bought.
    pub fn total(self) -> f64 {
        self.stock + self.returns + self.in_moulds + self.castings + self.lost
    }
}

/// Something that happens in a plan to a mould or a heat, by index; what comes back goes before what
/// is taken at the same moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Happens {
    /// Gates and feeders of a mould come off.
    Fettled(usize),
    /// What is left of a heat is pigged.
    Pigged(usize),
    /// A mould is shaken out.
    ShakenOut(usize),
    /// The cores of a mould are made.
    Cored(usize),
    /// A mould is rammed.
    Rammed(usize),
    /// A mould that stood too long is rammed again, with its own sand.
    Again(usize),
    /// A heat is charged.
    Charged(usize),
}

/// One material through the plan.
#[derive(Debug, Clone, Default)]
pub struct StockWalk {
    /// Where it is at the start, and after each thing that happens to it.
    pub points: Vec<(NaiveDateTime, Point)>,
    /// What happened before each point but the first.
    pub by: Vec<Happens>,
    /// All that came in before the walk begins, by manifest and journal: given, received, found at a
    /// count, and returns that lay there before the first heat; less what was given away; kg.
    pub put_in: f64,
    /// Taken from the stock, all together, kg.
    pub taken: f64,
    /// Melted again, kg.
    pub melted_again: f64,
    /// Came back into the stock, kg.
    pub came_back: f64,
}

impl StockWalk {
    /// The least that lies in the stock at any moment before `until`, and when.
    pub fn lowest(&self, until: Option<NaiveDate>) -> Option<(NaiveDateTime, f64)> {
        let before = self.points.iter().filter(|(at, _)| until.is_none_or(|day| at.date() < day));
        before.map(|(at, p)| (*at, p.stock)).min_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// Where the metal is before and after a heat is charged; `nth` of those lit at the same moment.
    pub(super) fn charging(&self, lit: NaiveDateTime, nth: usize) -> Option<[Point; 2]> {
        let charged =
            |w: &&[(NaiveDateTime, Point)]| w[1].0 == lit && w[1].1.in_moulds > w[0].1.in_moulds;
        let at = self.points.windows(2).filter(charged).nth(nth)?;
        Some([at[0].1, at[1].1])
    }

    /// What the work draws from what lies there at the start, at the most at one time, kg.
    pub fn drawn(&self) -> f64 {
        let start = self.points.first().map_or(0.0, |(_, p)| p.stock);
        start - self.lowest(None).map_or(start, |(_, least)| least)
    }

    /// What must be bought so that it never runs short before `until`, kg.
    pub fn short(&self, until: Option<NaiveDate>) -> f64 {
        self.lowest(until).map_or(0.0, |(_, least)| (-least).max(0.0))
    }

    /// The day it first runs short when so much is bought at the start.
    pub fn runs_short(&self, bought: f64) -> Option<NaiveDate> {
        let first = self.points.iter().find(|(_, p)| p.stock + bought < -1e-9);
        first.map(|(at, _)| at.date())
    }

    /// The day it first runs short, with so much bought at the start of which some is mixed into new
    /// sand on a day, and not before; at once where nobody knows that day.
    pub fn short_on(&self, bought: f64, mixed: f64, on: Option<NaiveDate>) -> Option<NaiveDate> {
        let after = self.runs_short(bought - mixed).into_iter().map(|day| {
            let mixed = on.filter(|_| mixed > 0.0);
            mixed.map_or(day, |on| day.max(on))
        });
        self.runs_short(bought).into_iter().chain(after).min()
    }

    /// When it first runs short with what has arrived by then (day and kg), and the most that is
    /// lacking before a day, kg.
    pub fn first_short(
        &self,
        arrivals: &[(NaiveDate, f64)],
        before: NaiveDate,
    ) -> Option<(NaiveDateTime, f64)> {
        const NONE: f64 = 1e-6;
        let here = |at: NaiveDateTime| -> f64 {
            arrivals.iter().filter(|(day, _)| *day <= at.date()).map(|(_, mass)| mass).sum()
        };
        let until = self.points.iter().filter(|(at, _)| at.date() < before);
        let mut lacks = until.map(|(at, point)| (*at, -(point.stock + here(*at))));
        let (at, first) = lacks.find(|(_, lack)| *lack > NONE)?;
        Some((at, lacks.map(|(_, lack)| lack).fold(first, f64::max)))
    }

    /// Day and amount in stock, for a chart.
    pub fn curve(&self) -> Vec<(NaiveDate, f64)> {
        self.points.iter().map(|(at, p)| (at.date(), p.stock)).collect()
    }
}

/// Every material through the plan.
#[derive(Debug, Clone)]
pub struct Walk {
    /// By the name of the stock.
    pub stocks: IndexMap<Id, StockWalk>,
}

/// The plan walked at both ends of every doubt and in the middle.
#[derive(Debug, Clone)]
pub struct Flow {
    /// Little used, much back.
    pub least: Walk,
    /// Likely.
    pub likely: Walk,
    /// Much used, little back.
    pub most: Walk,
    /// Likely, were every gate sawn off at shaking out.
    pub early: Walk,
}

impl Flow {
    /// A figure of a stock over the three walks, low to high.
    pub fn range(&self, name: &str, of: impl Fn(&StockWalk) -> f64) -> Option<Range> {
        let of = |walk: &Walk| walk.stocks.get(name).map(&of);
        let (least, likely, most) = (of(&self.least)?, of(&self.likely)?, of(&self.most)?);
        Some(Range { low: least.min(likely).min(most), likely, high: least.max(likely).max(most) })
    }
}
