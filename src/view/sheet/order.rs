//! The order list: what to buy, from whom, with room to tick it off.

use super::{Paper, SheetHead, page};
use crate::build::Build;
use crate::figure::{Figure, Kind, show};
use crate::manifest::Making;
use crate::supply::{Bill, Purchase};
use crate::view::report::figures::{at_least, by_the_clock, plain};
use rust_decimal::Decimal;
use serde::Serialize;

/// What to order.
#[derive(Debug, Clone, Serialize)]
pub struct OrderSheet {
    /// What stands at the head.
    pub head: SheetHead,
    /// Metal, sand, fuel and what is used up: an order each, then what no supplier sells.
    pub orders: Vec<OrderGroup>,
    /// Whether the plan says when each is needed.
    pub planned: bool,
    /// Bought parts, those that take longest to come first.
    pub parts: Vec<OrderLine>,
    /// What the bought parts cost, where prices are known.
    pub to_pay: Option<String>,
    /// Whether some bought part has no price.
    pub unpriced: bool,
}

/// What is ordered in one place.
#[derive(Debug, Clone, Serialize)]
pub struct OrderGroup {
    /// The supplier; none for what no supplier of the manifest sells.
    pub supplier: Option<String>,
    /// The last day to order, where a need has a day.
    pub order_by: Option<String>,
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

/// A line of the list of bought parts.
#[derive(Debug, Clone, Serialize)]
pub struct OrderLine {
    /// Id that `log received` takes.
    pub id: String,
    /// What it is.
    pub name: String,
    /// How many.
    pub amount: String,
    /// Who sells it.
    pub supplier: Option<String>,
    /// How long it takes to come.
    pub delivery: Option<String>,
    /// Price of all.
    pub price: Option<String>,
}

const TEMPLATE: &str = include_str!("../../../templates/sheet-order.html");

impl OrderSheet {
    /// Gathers what the sheet shows; the purchases are those of `buy`.
    pub fn new(build: &Build, bill: &Bill, purchases: &[Purchase], paper: Paper) -> Self {
        let units = build.header.units;
        let currency = plain(&build.header.currency);
        let missing: Vec<_> = bill.bought.iter().filter(|l| !l.here).collect();
        let mut parts: Vec<(f64, OrderLine)> = missing
            .iter()
            .map(|line| {
                let part = build.part(&line.id).map(|i| &build.parts[i].given.making);
                let bought = match part {
                    Some(Making::Bought(bought)) => Some(bought),
                    _ => None,
                };
                let delivery = bought.and_then(|b| b.delivery.as_ref());
                let order = OrderLine {
                    id: plain(&line.id),
                    name: plain(&line.name),
                    amount: line.quantity.to_string(),
                    supplier: bought.and_then(|b| b.supplier.as_deref()).map(plain),
                    delivery: delivery
                        .map(|d| by_the_clock(d.node(), units, &line.id, "wait-receive").shown),
                    price: line.price.as_ref().map(|p| format!("{p} {currency}")),
                };
                (delivery.map_or(0.0, Figure::si), order)
            })
            .collect();
        parts.sort_by(|a, b| b.0.total_cmp(&a.0));
        Self {
            head: SheetHead::new(build, paper),
            orders: purchases.iter().flat_map(|p| groups(build, bill, p)).collect(),
            planned: bill.flow.is_some(),
            parts: parts.into_iter().map(|(_, line)| line).collect(),
            to_pay: (!bill.to_pay.is_zero()).then(|| format!("{} {currency}", bill.to_pay)),
            unpriced: missing.iter().any(|l| l.price.is_none()),
        }
    }

    /// As HTML.
    ///
    /// # Errors
    /// In words, where the template does not take what it is given.
    pub fn html(&self) -> Result<String, String> {
        page(self, "sheet-order.html", TEMPLATE)
    }
}

/// An order for each supplier, and what none of them sells.
fn groups(build: &Build, bill: &Bill, purchase: &Purchase) -> Vec<OrderGroup> {
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
            lines: lines.collect(),
            delivery: (!order.charge.is_zero()).then(|| priced(order.charge)),
            total: (!order.total.is_zero()).then(|| priced(order.total)),
        });
    }
    let missing = purchase.covers.iter().filter(|c| c.missing > 0.0);
    let lines: Vec<MaterialLine> =
        missing.map(|c| line(&c.need.of, at_least(c.missing, units), None)).collect();
    if !lines.is_empty() {
        let rest =
            OrderGroup { supplier: None, order_by: None, lines, delivery: None, total: None };
        out.push(rest);
    }
    out
}
