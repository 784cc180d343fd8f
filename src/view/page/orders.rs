//! Orders in words, as the report and the order list show them.

use super::{at_least, near_day, plain};
use crate::figure::{Kind, show};
use crate::model::Build;
use crate::supply::{Bill, Purchase};
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
    /// Packs or amounts.
    pub lines: Vec<MaterialLine>,
    /// Charge for the delivery, where there is one.
    pub delivery: Option<String>,
    /// Lines and delivery together, as far as prices are known.
    pub total: Option<String>,
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
    /// The day it must be there.
    pub by: Option<String>,
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
    let mass = |kg: f64| show(Kind::Mass, kg, units);
    let priced = |price: Decimal| format!("{price:.2} {currency}");
    let line = |of: &str, amount: String, price: Option<Decimal>| {
        let stock = bill.lines().find(|l| *l.id == *of);
        let cover = purchase.covers.iter().find(|c| *c.need.of == *of);
        MaterialLine {
            id: plain(of),
            name: plain(stock.map_or(of, |l| &l.title)),
            amount,
            needed: cover.map_or(String::new(), |c| mass(c.need.mass)),
            by: cover.and_then(|c| c.need.by).map(|day| day.to_string()),
            price: price.map(priced),
        }
    };
    let mut out: Vec<OrderGroup> = Vec::new();
    for order in &purchase.orders {
        let supplier = &build.suppliers[&order.supplier];
        let lines = order.lines.iter().map(|l| {
            let pack = &supplier.packs[l.pack];
            line(&pack.of, format!("{} × {}", l.count, mass(pack.size.si())), l.total)
        });
        out.push(OrderGroup {
            supplier: Some(plain(&supplier.name)),
            order_by: order.order_by.map(|day| day.to_string()),
            order_by_words: order.order_by.map(near_day),
            soon: order.order_by.is_some_and(|day| (day - build.today).num_days() <= SOON),
            late: order.days_late(build.today).map(late),
            lines: lines.collect(),
            delivery: (!order.charge.is_zero()).then(|| priced(order.charge)),
            total: (!order.total.is_zero()).then(|| priced(order.total)),
        });
    }
    out.sort_by_key(|o| (o.order_by.is_none(), o.order_by.clone()));
    let missing = purchase.covers.iter().filter(|c| c.missing > 0.0);
    let lines: Vec<MaterialLine> =
        missing.map(|c| line(&c.need.of, at_least(c.missing, units), None)).collect();
    if !lines.is_empty() {
        let rest = OrderGroup {
            supplier: None,
            order_by: None,
            order_by_words: None,
            soon: false,
            late: None,
            lines,
            delivery: None,
            total: None,
        };
        out.push(rest);
    }
    out
}
