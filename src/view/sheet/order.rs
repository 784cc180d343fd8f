//! The order list: what to buy, from whom, with room to tick it off.

use super::{Paper, SheetHead, page};
use crate::model::{Build, OnOrder};
use crate::supply::{Bill, Purchase};
use crate::view::bill::as_billed;
use crate::view::page::Unfilled;
use crate::view::page::plain;
use crate::view::page::{OrderGroup, order_groups};
use rust_decimal::Decimal;
use serde::Serialize;

/// What to order.
#[derive(Debug, Clone, Serialize)]
pub struct OrderSheet {
    /// What stands at the head.
    pub head: SheetHead,
    /// An order for each supplier: material, bought parts, and what parts are made of. Then what no
    /// supplier sells.
    pub orders: Vec<OrderGroup>,
    /// Whether the plan says when each is needed.
    pub planned: bool,
    /// All orders together, as far as prices are known.
    pub total: Option<String>,
    /// Whether something has no price.
    pub unpriced: bool,
    /// What was ordered and has not come.
    pub on_order: Vec<OnItsWay>,
    /// Castings that are wanted and not in the plan, with how many: nothing here is for them.
    pub left_out: Vec<String>,
}

/// Something that was ordered and has not come.
#[derive(Debug, Clone, Serialize)]
pub struct OnItsWay {
    /// What it is.
    pub name: String,
    /// How much; none for a part.
    pub amount: Option<String>,
    /// Who sells it.
    pub from: Option<String>,
    /// The day it was ordered.
    pub ordered: String,
    /// The day it is expected.
    pub expected: Option<String>,
}

const TEMPLATE: &str = include_str!("../../../templates/sheet-order.html");

impl OrderSheet {
    /// Gathers what the sheet shows; the purchases are those of `buy`.
    pub fn new(build: &Build, bill: &Bill, purchases: &[Purchase], paper: Paper) -> Self {
        let loose = purchases.iter().flat_map(|p| &p.loose).filter_map(|l| l.price);
        let total = purchases.iter().map(|p| p.total).chain(loose).sum::<Decimal>();
        let orders: Vec<OrderGroup> =
            purchases.iter().flat_map(|p| order_groups(build, bill, p)).collect();
        Self {
            head: SheetHead::new(build, paper),
            planned: bill.flow.is_some(),
            total: (!total.is_zero())
                .then(|| format!("{total:.2} {}", plain(&build.header.currency))),
            unpriced: orders.iter().any(|o| o.unpriced),
            on_order: build.history.on_order.iter().map(|o| on_its_way(build, bill, o)).collect(),
            left_out: bill.left_out.iter().map(|(id, n)| format!("{} ({n})", plain(id))).collect(),
            orders,
        }
    }

    /// As HTML.
    ///
    /// # Errors
    /// In words, where the template does not take what it is given.
    pub fn html(&self) -> Result<String, Unfilled> {
        page(self, "sheet-order.html", TEMPLATE)
    }
}

fn on_its_way(build: &Build, bill: &Bill, order: &OnOrder) -> OnItsWay {
    let part = build.part(&order.of).map(|i| &build.parts[i].given.name);
    let stock = bill.lines().find(|l| l.id == order.of).map(|l| &l.title);
    let much = (order.mass > 0.0).then(|| as_billed(build, bill, &order.of, order.mass));
    OnItsWay {
        name: plain(part.or(stock).unwrap_or(&order.of)),
        amount: much,
        from: order
            .from
            .as_deref()
            .map(|from| plain(build.suppliers.get(from).map_or(from, |supplier| &supplier.name))),
        ordered: order.ordered.to_string(),
        expected: order.expected.map(|day| day.to_string()),
    }
}
