//! From the bill to orders.

use super::flow::StockWalk;
use super::ordered::to_order;
use super::packs::{Need, PartNeed, Purchase, buy};
use super::{Bill, StockLine};
use crate::figure::Figure;
use crate::manifest::Id;
use crate::model::Build;
use chrono::{Datelike, Months, NaiveDate};
use std::collections::BTreeMap;

/// How to buy.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Wish {
    /// Cover what nine in ten replays of the plan take, castings made again included, where the bill
    /// tells it; the high end of the need where it does not.
    pub sure: bool,
    /// An order for each month in which something runs short, instead of one for all.
    pub stages: bool,
}

/// What the bill says must be bought, and the day by the same walk.
fn need(bill: &Bill, line: &StockLine, sure: bool) -> Option<Need> {
    let range = line.buy.as_ref()?.node().range();
    let most = || line.sure.as_ref().map_or(range.high, Figure::si).max(range.likely);
    let mass = if sure { most() } else { range.likely };
    let ordered = line.ordered.as_ref().map_or(0.0, Figure::si);
    let walk = bill.flow.as_ref().filter(|_| sure).and_then(|f| f.most.stocks.get(&line.id));
    let by = walk.and_then(|walk| walk.runs_short(ordered)).into_iter().chain(line.by).min();
    (mass > 0.0).then(|| Need { of: line.id.clone(), mass, most: range.high.max(mass), by })
}

/// The purchases that cover the bill, the first to be made first. Stages are by the month in which
/// something runs short; without a plan to say when, there is one.
pub fn purchases(build: &Build, bill: &Bill, wish: Wish) -> Vec<Purchase> {
    let needs: Vec<Need> = bill.lines().filter_map(|l| need(bill, l, wish.sure)).collect();
    let mut parts = to_order(build, bill);
    if needs.is_empty() && parts.is_empty() {
        return Vec::new();
    }
    if !wish.stages {
        return vec![buy(&build.suppliers, &needs, &parts, &BTreeMap::new(), build.today)];
    }
    let mut out = Vec::new();
    let mut bought: BTreeMap<Id, f64> = BTreeMap::new();
    let mut taken = BTreeMap::new();
    for until in months(bill) {
        let now: Vec<Need> =
            needs.iter().filter_map(|n| so_far(bill, n, wish, until, &bought)).collect();
        // A part without a day comes with the first of all.
        let is_due = |p: &PartNeed| p.by.zip(until).is_none_or(|(by, until)| by < until);
        let (due, later): (Vec<PartNeed>, Vec<PartNeed>) = parts.into_iter().partition(is_due);
        parts = later;
        if now.is_empty() && due.is_empty() {
            continue;
        }
        let purchase = buy(&build.suppliers, &now, &due, &taken, build.today);
        for cover in &purchase.covers {
            // What nobody has is not asked for again in the next stage.
            *bought.entry(cover.need.of.clone()).or_default() += cover.bought + cover.missing;
        }
        for order in &purchase.orders {
            let supplier = build.suppliers.get_index_of(&order.supplier).unwrap_or_default();
            for line in &order.lines {
                *taken.entry((supplier, line.pack)).or_default() += line.count;
            }
        }
        out.push(purchase);
    }
    out
}

/// The ends of the stages: the first of each month after one with work in it; none, which is the
/// end of the plan, for the last.
fn months(bill: &Bill) -> Vec<Option<NaiveDate>> {
    let walks = bill.flow.iter().flat_map(|f| f.most.stocks.values());
    let days = || walks.clone().flat_map(|w| w.points.iter().map(|(at, _)| at.date()));
    let (Some(first), Some(last)) = (days().min(), days().max()) else { return vec![None] };
    let mut ends = Vec::new();
    let mut month = first.with_day(1).unwrap_or(first);
    while let Some(next) = month.checked_add_months(Months::new(1)).filter(|next| *next <= last) {
        ends.push(Some(next));
        month = next;
    }
    ends.push(None);
    ends
}

/// What of a need must be bought by the end of a stage, beyond what was bought before.
fn so_far(
    bill: &Bill,
    need: &Need,
    wish: Wish,
    until: Option<NaiveDate>,
    bought: &BTreeMap<Id, f64>,
) -> Option<Need> {
    let before = bought.get(&need.of).copied().unwrap_or(0.0);
    let line = bill.lines().find(|l| l.id == need.of);
    let ordered = line.and_then(|l| l.ordered.as_ref()).map_or(0.0, Figure::si);
    let walk = bill.flow.as_ref().and_then(|flow| {
        let walk = if wish.sure { &flow.most } else { &flow.likely };
        walk.stocks.get(&need.of)
    });
    // What is mixed into new sand, which the walk does not take, is gone before the rest is used.
    let mixed = line.and_then(|l| l.left.as_ref()).zip(walk).map_or(0.0, |(left, walk)| {
        let left = if wish.sure { left.high() } else { left.si() };
        (left - walk.drawn()).max(0.0)
    });
    let mixed_by = line.and_then(|l| l.mixed_by);
    let runs_short = |walk: &StockWalk| walk.short_on(before + ordered, mixed, mixed_by);
    let (short, by) = match (walk, until) {
        // The last stage covers the whole need.
        (Some(walk), None) => (need.mass, runs_short(walk)),
        (Some(walk), until) => {
            // What castings made again take is bought with the first of what they take.
            let all = (walk.short(None) - ordered).max(0.0);
            let now = (walk.short(until) - ordered).max(0.0);
            let begun = now > 0.0 || need.by.zip(until).is_some_and(|(by, until)| by < until);
            let more = if begun { (need.mass - all).max(0.0) } else { 0.0 };
            ((now + more).min(need.mass), runs_short(walk))
        }
        (None, _) => (need.mass, need.by),
    };
    let mass = short - before;
    // It is needed with the sand, whatever the walk takes; a milligram is rounding.
    let by = by.or_else(|| need.by.filter(|_| mass > 1e-5));
    let most = mass * need.most / need.mass;
    (mass > 1e-9).then(|| Need { of: need.of.clone(), mass, most, by })
}
