//! Everything that the shop keeps: where it is by now, how it came and went, what was paid for it and
//! what it stands at.

use super::flow::Point;
use super::in_shop::InShop;
use super::money;
use super::past::{Stock, Way};
use crate::estimate::Estimates;
use crate::figure::{Amount, Because, Figure, Node, Range};
use crate::manifest::Id;
use crate::model::{Build, OnOrder, Receipt, returns_of};
use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive;

/// One material of the shop.
#[derive(Debug, Clone)]
pub struct Holding {
    /// Name of the stock.
    pub id: Id,
    /// On the shelf; none where nobody told of any.
    pub there: Option<Figure<Amount>>,
    /// Gates, feeders, heels and scrapped castings, ready to be melted; none of what is no metal.
    pub returns: Option<Figure<Amount>>,
    /// Where all of it is, kg, as is likely.
    pub now: Point,
    /// All that ever came in and all that is gone, kg, as is likely.
    pub ways: Vec<(Way, f64)>,
    /// Heats of it without a charge in the journal, and what was taken for each, as is likely; kg.
    pub uncharged: Vec<(Id, f64)>,
    /// What is on its way.
    pub on_order: Vec<OnOrder>,
    /// What was received, in order.
    pub receipts: Vec<Receipt>,
    /// What was paid for it.
    pub spent: Decimal,
    /// What lies on the shelf, at what was paid for it last; none where no price is known of it.
    pub worth: Option<Decimal>,
}

impl Holding {
    /// What came in less what is gone and where all of it is: nothing, where the book is right; kg.
    pub fn unaccounted(&self) -> f64 {
        let way = |(way, mass): &(Way, f64)| if way.is_in() { *mass } else { -mass };
        let here = self.now.total() - self.now.lost;
        self.ways.iter().map(way).sum::<f64>() - here
    }

    /// Its figures, under the names that `why` answers to, each with the id of its stock.
    pub fn figures(&self) -> Vec<(Id, &'static str, Node)> {
        let there = self.there.iter().map(|f| (self.id.clone(), "stock", f.node().clone()));
        let returns = self.returns.iter();
        let returns = returns.map(|f| (returns_of(&self.id), "stock", f.node().clone()));
        there.chain(returns).collect()
    }
}

/// Everything that the shop keeps, by name: metal first, then the rest.
pub fn stock(build: &Build, estimates: &Estimates) -> Vec<Holding> {
    holdings(build, &InShop::new(build, estimates, &[]))
}

/// The same from the journal as it was followed already.
pub(super) fn holdings(build: &Build, shop: &InShop<'_>) -> Vec<Holding> {
    let likely = &shop.0[1].stocks;
    let metal = |id: &Id| build.handbook.alloys.contains_key(id);
    // Returns are of the stock of their alloy.
    let kept = |of: &Id| {
        let alloy = of.strip_suffix("-returns").map(Id::from);
        alloy.filter(|alloy| metal(alloy)).unwrap_or_else(|| of.clone())
    };
    let ordered = build.history.on_order.iter().filter(|o| build.part(&o.of).is_none());
    let mut names: Vec<Id> = likely.keys().cloned().chain(ordered.map(|o| kept(&o.of))).collect();
    names.sort_by_key(|id| (!metal(id), id.clone()));
    names.dedup();
    names.iter().map(|id| holding(build, shop, id, metal(id))).collect()
}

fn holding(build: &Build, shop: &InShop<'_>, id: &Id, metal: bool) -> Holding {
    let empty = Stock::default();
    let stock = shop.0[1].stocks.get(id).unwrap_or(&empty);
    let of = |name: &Id| *name == *id || (metal && *name == returns_of(id));
    let receipts: Vec<Receipt> =
        build.history.receipts.iter().filter(|r| of(&r.of)).cloned().collect();
    Holding {
        id: id.clone(),
        there: shop.of(id),
        returns: metal.then(|| returns(shop, id)),
        now: stock.now,
        ways: stock.ways.iter().map(|(way, mass)| (*way, *mass)).collect(),
        uncharged: stock.uncharged.clone(),
        on_order: build.history.on_order.iter().filter(|o| of(&o.of)).cloned().collect(),
        spent: receipts.iter().filter_map(|r| r.price).sum(),
        worth: worth(&receipts, id, stock.now.stock),
        receipts,
    }
}

/// The pile of returns, with what came onto it and went from it.
fn returns(shop: &InShop<'_>, alloy: &Id) -> Figure<Amount> {
    let ends = |of: &dyn Fn(&Stock) -> f64| {
        let [a, b, c] = shop.0.each_ref().map(|past| past.stocks.get(alloy).map_or(0.0, of) + 0.0);
        Range { low: a.min(b).min(c), likely: b, high: a.max(b).max(c) }
    };
    let backs = shop.0[1].stocks.get(alloy).map(|s| s.back.keys().copied().collect::<Vec<_>>());
    let each = backs.unwrap_or_default().into_iter().map(|back| {
        let range = ends(&|s| s.back.get(&back).copied().unwrap_or(0.0));
        let says = "the journal, mould by mould and heat by heat";
        Figure::<Amount>::new(back.words(), range, Because::Counted(says.into())).node().clone()
    });
    let because = Because::Closed("what came onto the pile less what went from it", each.collect());
    Figure::new("returns", ends(&|s| s.now.returns), because)
}

/// What lies there, at what was paid for it: what came last is what is left. None where it came
/// without a price.
fn worth(receipts: &[Receipt], id: &Id, there: f64) -> Option<Decimal> {
    let mut left = there;
    let mut worth = Decimal::ZERO;
    for receipt in receipts.iter().rev().filter(|r| r.of == *id && r.mass > 0.0) {
        if left <= 0.0 {
            break;
        }
        let share = (left / receipt.mass).min(1.0);
        worth += receipt.price? * Decimal::from_f64(share)?;
        left -= receipt.mass;
    }
    (there > 0.0 && left <= 1e-9).then(|| money::rounded(worth))
}
