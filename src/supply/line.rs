//! The lines of a bill: each material, net of stock and of what the journal has used up.

use super::flow::Flow;
use super::stock::Holding;
use crate::figure::{Amount, Figure, Node, Number, Time};
use crate::manifest::{Id, Step};
use crate::model::OnOrder;
use chrono::NaiveDate;
use rust_decimal::Decimal;
use std::sync::Arc;

/// One material.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct StockLine {
    /// Name that `why` answers to.
    pub id: Id,
    /// What it is.
    pub title: Arc<str>,
    /// Taken by the whole build, every mould summed up as if nothing came back.
    pub in_all: Option<Figure<Amount>>,
    /// Used up so far, by the journal.
    pub used: Option<Figure<Amount>>,
    /// Still to be used.
    pub left: Option<Figure<Amount>>,
    /// In the shop now.
    pub stock: Option<Figure<Amount>>,
    /// Ordered and still to come.
    pub ordered: Option<Figure<Amount>>,
    /// To buy: what is still to be used, less what is there and what is on order.
    pub buy: Option<Figure<Amount>>,
    /// What one would buy by summing up mould after mould, where the plan knows better.
    pub summed: Option<Figure<Amount>>,
    /// To buy so that nine in ten replays of the plan have enough; [`sure`](super::sure) tells it.
    pub sure: Option<Figure<Amount>>,
    /// The day it runs short, if it is known.
    pub by: Option<NaiveDate>,
    /// The day on which some of it is mixed into new sand, where some is.
    pub mixed_by: Option<NaiveDate>,
    /// The work before which it must be there, where it is taken once for the whole build.
    pub before: Option<Step>,
    /// What goes with it in words.
    pub note: Option<String>,
    /// What of it could not be reckoned, and why.
    pub lacking: Option<String>,
}

impl StockLine {
    /// A line with nothing but its name.
    pub(super) fn new(id: impl Into<Id>, title: Arc<str>) -> Self {
        Self {
            id: id.into(),
            title,
            in_all: None,
            used: None,
            left: None,
            stock: None,
            ordered: None,
            buy: None,
            summed: None,
            sure: None,
            by: None,
            mixed_by: None,
            before: None,
            note: None,
            lacking: None,
        }
    }

    /// All that is said of it.
    pub fn says(&self) -> Option<String> {
        let said: Vec<&str> = self.lacking.iter().chain(&self.note).map(String::as_str).collect();
        (!said.is_empty()).then(|| said.join("; "))
    }

    /// Its figures, by the name that `why` answers to.
    pub fn figures(&self) -> Vec<(&'static str, Node)> {
        [
            ("in-all", &self.in_all),
            ("used", &self.used),
            ("left", &self.left),
            ("stock", &self.stock),
            ("on-order", &self.ordered),
            ("buy", &self.buy),
            ("summed", &self.summed),
            ("sure", &self.sure),
        ]
        .into_iter()
        .filter_map(|(name, f)| Some((name, f.as_ref()?.node().clone())))
        .collect()
    }
}

/// What is bought for one part: the part itself, or what it is made of.
#[derive(Debug, Clone)]
pub struct BoughtLine {
    /// The id of the part.
    pub id: Id,
    /// What is bought.
    pub name: Arc<str>,
    /// How many.
    pub quantity: u32,
    /// Price of all, if one was given.
    pub price: Option<Decimal>,
    /// Who sells it.
    pub supplier: Option<Id>,
    /// Its order, where it is on its way.
    pub ordered: Option<OnOrder>,
    /// Whether it is there.
    pub here: bool,
    /// The day on which the plan takes it in hand.
    pub by: Option<NaiveDate>,
    /// Time from order to arrival.
    pub delivery: Option<Figure<Time>>,
}

/// A crucible and its heats.
#[derive(Debug, Clone)]
pub struct Wear {
    /// Its id.
    pub crucible: Id,
    /// Heats in the journal.
    pub so_far: u32,
    /// Heats in the plan.
    pub to_come: u32,
    /// New ones of its kind that came to take its place.
    pub new: u32,
    /// Heats that one lasts, for the alloys it melts.
    pub life: Figure<Number>,
    /// The day of the heat that is likely its last, if the plan has it.
    pub spent: Option<NaiveDate>,
}

/// What the build takes.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct Bill {
    /// Metal, one line an alloy.
    pub metal: Vec<StockLine>,
    /// Sand, and what is mixed into it.
    pub sand: Vec<StockLine>,
    /// Fuel and other things used up.
    pub consumables: Vec<StockLine>,
    /// Crucibles that have heats behind or before them.
    pub crucibles: Vec<Wear>,
    /// Bought-in parts.
    pub bought: Vec<BoughtLine>,
    /// Bar, sheet and the like for the parts that are still to be made.
    pub made: Vec<BoughtLine>,
    /// Price of the bought-in parts that are not here yet, where prices were given.
    pub to_pay: Decimal,
    /// Everything that the shop keeps.
    pub holdings: Vec<Holding>,
    /// Castings that are wanted and not in the plan, each with how many: no amount is told for them.
    pub left_out: Vec<(Id, u32)>,
    /// The materials walked through the plan, where there is one.
    pub flow: Option<Flow>,
}

impl Bill {
    /// Every material.
    pub fn lines(&self) -> impl Iterator<Item = &StockLine> {
        self.metal.iter().chain(&self.sand).chain(&self.consumables)
    }
}
