//! The bill: materials net of stock and of what the journal has used up.

use super::flow::Flow;
use super::flowing;
use super::in_shop::InShop;
use super::lines;
use super::walker::cored;
use super::wear::{Wear, wear};
use crate::estimate::Estimates;
use crate::figure::{Figure, Mass, Node};
use crate::manifest::{Id, Making, Step};
use crate::model::Build;
use crate::plan::Schedule;
use chrono::NaiveDate;
use rust_decimal::Decimal;
use std::sync::Arc;

/// One material.
#[derive(Debug, Clone)]
pub struct StockLine {
    /// Name that `why` answers to.
    pub id: Id,
    /// What it is.
    pub title: Arc<str>,
    /// Taken by the whole build, every mould summed up as if nothing came back.
    pub in_all: Option<Figure<Mass>>,
    /// Used up so far, by the journal.
    pub used: Option<Figure<Mass>>,
    /// Still to be used.
    pub left: Option<Figure<Mass>>,
    /// In the shop now.
    pub stock: Option<Figure<Mass>>,
    /// To buy.
    pub buy: Option<Figure<Mass>>,
    /// What one would buy by summing up mould after mould, where the plan knows better.
    pub summed: Option<Figure<Mass>>,
    /// To buy so that nine in ten replays of the plan have enough; [`sure`](super::sure) tells it.
    pub sure: Option<Figure<Mass>>,
    /// The day it runs short, if it is known.
    pub by: Option<NaiveDate>,
    /// What goes with it in words.
    pub note: Option<String>,
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
            buy: None,
            summed: None,
            sure: None,
            by: None,
            note: None,
        }
    }

    /// Its figures, by the name that `why` answers to.
    pub fn figures(&self) -> Vec<(&'static str, Node)> {
        [
            ("in-all", &self.in_all),
            ("used", &self.used),
            ("left", &self.left),
            ("stock", &self.stock),
            ("buy", &self.buy),
            ("summed", &self.summed),
            ("sure", &self.sure),
        ]
        .into_iter()
        .filter_map(|(name, f)| Some((name, f.as_ref()?.node().clone())))
        .collect()
    }
}

/// One bought-in part.
#[derive(Debug, Clone)]
pub struct BoughtLine {
    /// Its id.
    pub id: Id,
    /// What it is.
    pub name: Arc<str>,
    /// How many.
    pub quantity: u32,
    /// Price of all, if one was given.
    pub price: Option<Decimal>,
    /// Whether it is there.
    pub here: bool,
}

/// What the build takes.
#[derive(Debug, Clone)]
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
    /// Price of the bought-in parts that are not here yet, where prices were given.
    pub to_pay: Decimal,
    /// The materials walked through the plan, where there is one.
    pub flow: Option<Flow>,
}

impl Bill {
    /// Every material.
    pub fn lines(&self) -> impl Iterator<Item = &StockLine> {
        self.metal.iter().chain(&self.sand).chain(&self.consumables)
    }
}

/// Reckons what a build takes, and what must be bought for the work in this schedule.
pub fn bill(build: &Build, estimates: &Estimates, schedule: &Schedule) -> Bill {
    let bought = bought(build);
    let to_pay = bought.iter().filter(|l| !l.here).filter_map(|l| l.price).sum();
    let shop = InShop::new(build, estimates, &cored(schedule));
    let mut bill = Bill {
        metal: lines::metal(build, estimates, &shop),
        sand: lines::sand(build, estimates, &shop),
        consumables: lines::used_up(build, estimates, &shop),
        crucibles: wear(build, schedule),
        bought,
        to_pay,
        flow: Flow::new(build, estimates, schedule),
    };
    flowing::apply(build, schedule, &shop, &mut bill);
    bill
}

fn bought(build: &Build) -> Vec<BoughtLine> {
    let mut lines = Vec::new();
    for (i, part) in build.parts.iter().enumerate() {
        let Making::Bought(bought) = &part.given.making else { continue };
        let each: Option<Decimal> = bought.price.as_ref().and_then(|p| p.parse().ok());
        let later = part.steps().into_iter().any(|s| build.history.is_done(i, s));
        lines.push(BoughtLine {
            id: part.id().clone(),
            name: part.given.name.clone(),
            quantity: part.given.quantity,
            price: each.map(|p| p * Decimal::from(part.given.quantity)),
            here: build.history.is_done(i, Step::Receive) || later,
        });
    }
    lines
}
