//! Orders in words, as the report and the order list show them.

use super::{at_least, near_day, plain};
use crate::figure::{Kind, show};
use crate::manifest::Pack;
use crate::model::Build;
use crate::supply::{Bill, PartNeed, Purchase};
use crate::view::bill::as_billed;
use rust_decimal::Decimal;
use serde::Serialize;

/// Days within which an order stands out.
const SOON: i64 = 7;

/// What is ordered in one place.
#[derive(Debug, Clone, Serialize)]
pub struct OrderGroup {
    /// The supplier; none for what no supplier of the manifest sells.
    pub supplier: Option<String>,
    /// The last day to order, where a need has a day.
    pub order_by: Option<String>,
    /// The same in words.
    pub order_by_words: Option<String>,
    /// Whether that day is within a week.
    pub soon: bool,
    /// By how much that day is missed, where it is over.
    pub late: Option<String>,
    /// Packs or amounts, then parts.
    pub lines: Vec<MaterialLine>,
    /// Whether there is more than parts.
    pub material: bool,
    /// Charge for the delivery, where there is one.
    pub delivery: Option<String>,
    /// Tax on lines and delivery, where there is some.
    pub tax: Option<String>,
    /// Lines, delivery and tax together, as far as prices are known.
    pub total: Option<String>,
    /// Whether some line has no price.
    pub unpriced: bool,
    /// The least that the supplier takes an order for, where this one is below it.
    pub below: Option<String>,
}

/// Packs of one kind, or an amount that has no pack.
#[derive(Debug, Clone, Serialize)]
pub struct MaterialLine {
    /// Id that `log received` takes.
    pub id: String,
    /// What it is.
    pub name: String,
    /// How many packs and what is in one; an amount rounded up where nobody sells it.
    pub amount: String,
    /// How much the work needs beyond what is there.
    pub needed: String,
    /// How much that may come to, where it is more.
    pub most: Option<String>,
    /// The day it must be there.
    pub by: Option<String>,
    /// The last day to order it, of a part.
    pub order_by: Option<String>,
    /// Price of all.
    pub price: Option<String>,
}

/// What is said of an order whose last day was some days ago.
pub(in crate::view) fn late(days: i64) -> String {
    let days = if days == 1 { "1 day".to_owned() } else { format!("{days} days") };
    format!("{days} late, order at once")
}

/// An order for each supplier, the first to go out first, and what none of them sells.
pub(in crate::view) fn order_groups(
    build: &Build,
    bill: &Bill,
    purchase: &Purchase,
) -> Vec<OrderGroup> {
    let units = build.header.units;
    let currency = plain(&build.header.currency);
    let priced = |price: Decimal| format!("{price:.2} {currency}");
    let line = |of: &str, amount: String, price: Option<Decimal>| {
        let stock = bill.lines().find(|l| *l.id == *of);
        let cover = purchase.covers.iter().find(|c| *c.need.of == *of);
        MaterialLine {
            id: plain(of),
            name: plain(stock.map_or(of, |l| &l.title)),
            amount,
            needed: cover.map_or(String::new(), |c| as_billed(build, bill, of, c.need.mass)),
            most: cover
                .filter(|c| c.need.most > c.need.mass)
                .map(|c| as_billed(build, bill, of, c.need.most)),
            by: cover.and_then(|c| c.need.by).map(|day| day.to_string()),
            order_by: None,
            price: price.map(priced),
        }
    };
    let part = |p: &PartNeed| MaterialLine {
        id: plain(&p.id),
        name: plain(&p.name),
        amount: p.quantity.to_string(),
        needed: String::new(),
        most: None,
        by: p.by.map(|day| day.to_string()),
        order_by: p.order_by.map(|day| day.to_string()),
        price: p.price.map(priced),
    };
    let mut out: Vec<OrderGroup> = Vec::new();
    for order in &purchase.orders {
        let supplier = build.suppliers.get(&order.supplier);
        let lines = order.lines.iter().zip(supplier.into_iter().cycle()).map(|(l, supplier)| {
            let pack = &supplier.packs[l.pack];
            line(&pack.of, packs(build, pack, l.count), l.total)
        });
        out.push(OrderGroup {
            supplier: Some(plain(supplier.map_or(&order.supplier, |s| &s.name))),
            order_by: order.order_by.map(|day| day.to_string()),
            order_by_words: order.order_by.map(near_day),
            soon: order.order_by.is_some_and(|day| (day - build.today).num_days() <= SOON),
            late: order.days_late(build.today).map(late),
            lines: lines.chain(order.parts.iter().map(part)).collect(),
            material: !order.lines.is_empty(),
            delivery: (!order.charge.is_zero()).then(|| priced(order.charge)),
            tax: (!order.tax.is_zero()).then(|| priced(order.tax)),
            total: (!order.total.is_zero()).then(|| priced(order.total)),
            unpriced: order.unpriced() > 0,
            below: order.below.map(priced),
        });
    }
    out.sort_by_key(|o| (o.order_by.is_none(), o.order_by.clone()));
    let missing = purchase.covers.iter().filter(|c| c.missing > 0.0);
    let missing = missing.map(|c| {
        let much = match build.is_counted(&c.need.of) {
            true => show(Kind::Pieces, c.missing.ceil(), units),
            false => at_least(c.missing, units),
        };
        line(&c.need.of, much, None)
    });
    let lines: Vec<MaterialLine> = missing.chain(purchase.loose.iter().map(part)).collect();
    if !lines.is_empty() {
        let priced_at = purchase.loose.iter().filter_map(|p| p.price);
        let total = priced_at.sum::<Decimal>();
        let rest = OrderGroup {
            supplier: None,
            order_by: None,
            order_by_words: None,
            soon: false,
            late: None,
            unpriced: lines.iter().any(|l| l.price.is_none()),
            material: lines.len() > purchase.loose.len(),
            lines,
            delivery: None,
            tax: None,
            total: (!total.is_zero()).then(|| priced(total)),
            below: None,
        };
        out.push(rest);
    }
    out
}

/// So many packs of so much, as they are sold.
fn packs(build: &Build, pack: &Pack, count: u32) -> String {
    let units = build.header.units;
    let size = pack.sold.as_ref().unwrap_or_else(|| pack.size.node());
    let each = show(size.kind(), size.range().likely, units);
    match (size.kind(), pack.size.si()) {
        (Kind::Pieces, 1.0) => count.to_string(),
        _ => format!("{count} × {each}"),
    }
}
