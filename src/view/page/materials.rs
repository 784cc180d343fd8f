//! What the build takes, what is there, what to buy.

use super::orders::{OrderGroup, order_groups};
use super::{Shown, alike, plain, shown};
use crate::figure::System;
use crate::model::Build;
use crate::supply::{Bill, BoughtLine, Purchase, StockLine};
use rust_decimal::Decimal;
use serde::Serialize;

/// Most lines of a list in the first screen.
const MOST_LISTED: usize = 6;
/// Most bought parts that are listed.
const MOST_BOUGHT: usize = 300;

/// Metal of one alloy charged so far.
#[derive(Debug, Clone, Serialize)]
pub struct Melted {
    /// The alloy.
    pub alloy: String,
    /// How much.
    pub used: Shown,
}

/// The bill.
#[derive(Debug, Clone, Serialize)]
pub struct BillView {
    /// Metal, sand and what is used up.
    pub lines: Vec<StockView>,
    /// What goes with some of them, each said once.
    pub notes: Vec<String>,
    /// Those of which something is to be bought.
    pub buy: Vec<StockView>,
    /// Orders that cover those.
    pub orders: Vec<OrderGroup>,
    /// Bought-in parts, those that are not here first.
    pub bought: Vec<BoughtView>,
    /// How many more there are than the page lists.
    pub bought_more: usize,
    /// How many are not here.
    pub missing: usize,
    /// The first of those that are not here.
    pub missing_first: Vec<BoughtView>,
    /// How many more are missing.
    pub missing_more: usize,
    /// Whether the plan was walked through.
    pub planned: bool,
    /// What those cost, with the currency; none without prices.
    pub to_pay: Option<String>,
}

/// One material.
#[derive(Debug, Clone, Serialize)]
pub struct StockView {
    /// Its id.
    pub id: String,
    /// What it is.
    pub title: String,
    /// For the whole build.
    pub in_all: Option<Shown>,
    /// Used so far.
    pub used: Option<Shown>,
    /// Still needed.
    pub left: Option<Shown>,
    /// In the shop.
    pub stock: Option<Shown>,
    /// To buy.
    pub buy: Option<Shown>,
    /// To buy by summing up mould after mould, where the plan knows better.
    pub summed: Option<Shown>,
    /// To buy so that nine in ten replays of the plan have enough.
    pub sure: Option<Shown>,
    /// The day it runs short, if it is known.
    pub by: Option<String>,
}

/// One bought-in part.
#[derive(Debug, Clone, Serialize)]
pub struct BoughtView {
    /// Its name.
    pub name: String,
    /// How many.
    pub quantity: u32,
    /// Price of all.
    pub price: Option<String>,
    /// Whether it is here.
    pub here: bool,
}

fn stock(line: &StockLine, units: System) -> StockView {
    let figures = line.figures();
    let take = |name: &str| {
        let (_, node) = figures.iter().find(|(n, _)| *n == name)?;
        Some(shown(node, units, &line.id, name))
    };
    let mut view = StockView {
        id: plain(&line.id),
        title: plain(&line.title),
        in_all: take("in-all"),
        used: take("used"),
        left: take("left"),
        stock: take("stock"),
        buy: take("buy"),
        summed: take("summed"),
        sure: take("sure"),
        by: line.by.map(|day| day.to_string()),
    };
    let told = [&mut view.in_all, &mut view.used, &mut view.left, &mut view.stock];
    let told = told.into_iter().chain([&mut view.buy, &mut view.summed, &mut view.sure]);
    alike(told.flatten());
    view
}

/// The bill, and the orders that cover it.
pub(in crate::view) fn materials(build: &Build, bill: &Bill, purchases: &[Purchase]) -> BillView {
    let lines: Vec<StockView> = bill.lines().map(|l| stock(l, build.header.units)).collect();
    let currency = plain(&build.header.currency);
    let price = |p: &Decimal| format!("{p:.2} {currency}");
    let view = |line: &&BoughtLine| BoughtView {
        name: plain(&line.name),
        quantity: line.quantity,
        price: line.price.as_ref().map(price),
        here: line.here,
    };
    let wanting = bill.lines().map(|l| l.buy.as_ref().is_some_and(|b| b.si() > 0.0));
    let buy = lines.iter().zip(wanting).filter(|(_, w)| *w).map(|(l, _)| l.clone()).collect();
    let (here, missing): (Vec<&BoughtLine>, Vec<&BoughtLine>) =
        bill.bought.iter().partition(|l| l.here);
    let all = missing.iter().chain(&here);
    let mut notes: Vec<String> = Vec::new();
    for note in bill.lines().filter_map(StockLine::says).map(|said| plain(&said)) {
        if !notes.contains(&note) {
            notes.push(note);
        }
    }
    BillView {
        notes,
        orders: purchases.iter().flat_map(|p| order_groups(build, bill, p)).collect(),
        buy,
        bought: all.take(MOST_BOUGHT).map(view).collect(),
        bought_more: bill.bought.len().saturating_sub(MOST_BOUGHT),
        missing: missing.len(),
        missing_first: missing.iter().take(MOST_LISTED).map(view).collect(),
        missing_more: missing.len().saturating_sub(MOST_LISTED),
        planned: bill.flow.is_some(),
        to_pay: (bill.to_pay > Decimal::ZERO).then(|| price(&bill.to_pay)),
        lines,
    }
}

/// Metal that was charged, of the bill's lines.
pub(in crate::view) fn melted(bill: &Bill, lines: &[StockView]) -> Vec<Melted> {
    let used = |l: &StockLine| l.used.as_ref().is_some_and(|u| u.si() > 0.0);
    let lines = bill.metal.iter().zip(lines).filter(|(l, _)| used(l));
    lines.filter_map(|(_, v)| Some(Melted { alloy: v.id.clone(), used: v.used.clone()? })).collect()
}
