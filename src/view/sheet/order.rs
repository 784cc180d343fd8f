//! The order list: what to buy, from whom, with room to tick it off.

use super::{Paper, SheetHead, page};
use crate::figure::Figure;
use crate::manifest::Making;
use crate::model::Build;
use crate::supply::{Bill, Purchase};
use crate::view::page::{OrderGroup, order_groups};
use crate::view::page::{by_the_clock, plain};
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
        let priced = |price: &Decimal| format!("{price:.2} {}", plain(&build.header.currency));
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
                    price: line.price.as_ref().map(&priced),
                };
                (delivery.map_or(0.0, Figure::si), order)
            })
            .collect();
        parts.sort_by(|a, b| b.0.total_cmp(&a.0));
        Self {
            head: SheetHead::new(build, paper),
            orders: purchases.iter().flat_map(|p| order_groups(build, bill, p)).collect(),
            planned: bill.flow.is_some(),
            parts: parts.into_iter().map(|(_, line)| line).collect(),
            to_pay: (!bill.to_pay.is_zero()).then(|| priced(&bill.to_pay)),
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
