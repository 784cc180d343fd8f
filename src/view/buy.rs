//! What to order, from whom, and by when.

use super::bill::{LeftOut, as_billed, left_out, not_planned};
use super::csv::{Cell, table};
use super::page::late;
use super::text::{Look, Side, finished};
use super::{FigureView, Head};
use crate::manifest::Supplier;
use crate::model::Build;
use crate::supply::{Bill, Cover, Haste, Order, PartNeed, Purchase};
use rust_decimal::Decimal;
use serde::Serialize;

/// Orders to send.
#[derive(Debug, Clone, Serialize)]
pub struct BuyView {
    /// Which build.
    #[serde(flatten)]
    pub head: Head,
    /// Purchases in the order to make them; one unless stages were asked for.
    pub purchases: Vec<PurchaseView>,
    /// All of them together.
    pub total: String,
    /// Parts to order of which the manifest does not say who sells them.
    pub parts: Vec<PartRow>,
    /// Orders and those parts together, as far as prices are known.
    pub with_parts: String,
    /// What has no price and is in no total, by name.
    pub unpriced: Vec<String>,
    /// Castings that are wanted and not in the plan, with how many: nothing here is for them.
    pub left_out: Vec<LeftOut>,
    /// Currency of every price.
    pub currency: String,
    /// Whether the manifest names suppliers at all.
    pub suppliers: bool,
}

/// A bought-in part to order, or what a part is made of.
#[derive(Debug, Clone, Serialize)]
pub struct PartRow {
    /// Id of the part.
    pub id: String,
    /// What is ordered.
    pub name: String,
    /// How many.
    pub quantity: u32,
    /// The day it must be there, where the plan tells.
    pub by: Option<String>,
    /// The last day to order it, where its time of delivery is known.
    pub order_by: Option<String>,
    /// Price of all.
    pub price: Option<String>,
}

/// What is bought at one time.
#[derive(Debug, Clone, Serialize)]
pub struct PurchaseView {
    /// One order a supplier.
    pub orders: Vec<OrderView>,
    /// What the orders cover.
    pub covers: Vec<CoverView>,
    /// All orders together.
    pub total: String,
    /// Whether no cheaper way to cover the needs exists.
    pub proven: bool,
    /// Share of the total by which a cheaper way could be cheaper; 0 where proven.
    pub gap: f64,
    /// What is paid to have it in time, where a cheaper way comes too late.
    pub haste: Option<HasteView>,
}

/// What is paid beyond a cheaper way that comes too late.
#[derive(Debug, Clone, Serialize)]
pub struct HasteView {
    /// How much more this costs.
    pub more: String,
    /// What would come too late that way.
    pub slow: Vec<SlowView>,
}

/// A stock of somebody from whom it would come too late.
#[derive(Debug, Clone, Serialize)]
pub struct SlowView {
    /// Name of the stock.
    pub of: String,
    /// Who sells it.
    pub from: String,
    /// The first day on which it could be there; none where nobody knows.
    pub soonest: Option<String>,
}

/// An order to one supplier.
#[derive(Debug, Clone, Serialize)]
pub struct OrderView {
    /// Id of the supplier.
    pub supplier: String,
    /// What it is called.
    pub name: String,
    /// Last day to order, where a need has a day.
    pub order_by: Option<String>,
    /// Days since that day, where it is over: what is needed first comes late.
    pub days_late: Option<i64>,
    /// The lines.
    pub lines: Vec<LineView>,
    /// Bought-in parts, and what parts are made of.
    pub parts: Vec<PartRow>,
    /// Charge for the delivery, with carriage by mass; nothing where it is carried free.
    pub delivery: String,
    /// Tax on lines, parts and delivery.
    pub tax: String,
    /// All of it together, as far as prices are known.
    pub total: String,
    /// Lines and parts that have no price and are not in the total.
    pub unpriced: usize,
    /// The least that the supplier takes an order for, where this one is below it.
    pub below: Option<String>,
}

/// Packs of one kind.
#[derive(Debug, Clone, Serialize)]
pub struct LineView {
    /// Name of the stock.
    pub of: String,
    /// How many packs.
    pub packs: u32,
    /// What is in one: a mass, or pieces.
    pub size: FigureView,
    /// The same as it is sold, where that is by volume or energy.
    pub sold_as: Option<FigureView>,
    /// Price of one at this number.
    pub each: Option<String>,
    /// Price of all.
    pub total: Option<String>,
}

/// What a need comes to, in kg or pieces, with the text beside.
#[derive(Debug, Clone, Serialize)]
pub struct CoverView {
    /// Name of the stock.
    pub of: String,
    /// The day it must be there.
    pub by: Option<String>,
    /// Its unit: kg, or pieces.
    pub unit: &'static str,
    /// Needed, in its unit.
    pub needed_value: f64,
    /// Needed, in the units of the build.
    pub needed: String,
    /// Needed at the high end of every doubt, in its unit.
    pub most_value: f64,
    /// The same in the units of the build.
    pub most: String,
    /// Bought, in its unit.
    pub bought_value: f64,
    /// Bought, in the units of the build.
    pub bought: String,
    /// Bought and not needed, in its unit.
    pub left_over_value: f64,
    /// Bought and not needed, in the units of the build.
    pub left_over: String,
    /// What no supplier has, in its unit.
    pub missing_value: f64,
    /// What no supplier has, in the units of the build.
    pub missing: String,
}

/// A price as the supplier has it, which may have more digits than are paid.
fn shown(price: Decimal) -> String {
    let price = price.normalize();
    let scale = price.scale().max(2);
    format!("{price:.*}", scale as usize)
}

impl BuyView {
    /// Of the purchases of a build.
    pub fn new(build: &Build, bill: &Bill, purchases: &[Purchase]) -> Self {
        let total: Decimal = purchases.iter().map(|p| p.total).sum();
        let loose = || purchases.iter().flat_map(|p| &p.loose);
        let parts: Decimal = loose().filter_map(|l| l.price).sum();
        let purchase = |p: &Purchase| PurchaseView {
            orders: p.orders.iter().map(|o| order(build, o)).collect(),
            covers: p.covers.iter().map(|c| cover(build, bill, c)).collect(),
            total: shown(p.total),
            proven: p.gap == 0.0,
            gap: p.gap,
            haste: p.haste.as_ref().map(|h| haste(build, h)),
        };
        Self {
            head: Head::new(build),
            purchases: purchases.iter().map(purchase).collect(),
            total: shown(total),
            parts: loose().map(part).collect(),
            with_parts: shown(total + parts),
            unpriced: unpriced(build, purchases),
            left_out: left_out(bill),
            currency: build.header.currency.to_string(),
            suppliers: !build.suppliers.is_empty(),
        }
    }

    /// As an order list for a terminal.
    pub fn text(&self, look: &Look) -> String {
        let mut out = self.head.text(look);
        if self.purchases.is_empty() {
            out += "\nnothing is to be bought\n";
        }
        for (i, purchase) in self.purchases.iter().enumerate() {
            if self.purchases.len() > 1 {
                out += &look.heading(&format!("Stage {}", i + 1));
            }
            for order in &purchase.orders {
                out += &order.text(look, &self.currency);
            }
            if !purchase.covers.is_empty() {
                out += &covers(look, &purchase.covers);
            }
            if !purchase.orders.is_empty() {
                let how = if purchase.proven {
                    let in_time = if purchase.haste.is_some() { " in time" } else { "" };
                    format!("no cheaper way covers this{in_time}")
                } else {
                    format!("a way at most {:.1} % cheaper could exist", purchase.gap * 100.0)
                };
                let says = format!("together {} {}; {how}", purchase.total, self.currency);
                out += &format!("\n{}\n", look.wrapped(&says, 2));
            }
            if let Some(haste) = &purchase.haste {
                out += &(look.wrapped(&haste.says(&self.currency), 1) + "\n");
            }
        }
        if self.purchases.len() > 1 {
            out += &format!("\nall stages {} {}\n", self.total, self.currency);
        }
        out += &self.parts(look);
        out += &not_planned(look, &self.left_out);
        if !self.suppliers {
            let says = "the manifest names no `suppliers:` yet; with them this is an order list";
            out += &format!("\n{}\n", look.wrapped(says, 2));
        }
        out
    }

    /// Parts that nobody is named for, and all together.
    fn parts(&self, look: &Look) -> String {
        let mut out = String::new();
        if !self.parts.is_empty() {
            out += &look.heading("Parts from any supplier");
            let mut table = look.table(&[
                ("how many", Side::Right),
                ("what", Side::Left),
                ("order by", Side::Left),
                ("here by", Side::Left),
                (&self.currency, Side::Right),
            ]);
            for row in &self.parts {
                table.add_row([
                    row.quantity.to_string(),
                    row.name.clone(),
                    row.order_by.clone().unwrap_or_default(),
                    row.by.clone().unwrap_or_default(),
                    row.price.clone().unwrap_or_else(|| "no price".into()),
                ]);
            }
            out += &finished(&table);
            out += &format!("\nall together {} {}\n", self.with_parts, self.currency);
        }
        if !self.unpriced.is_empty() {
            let says = format!("without a price, and in no total: {}", self.unpriced.join("; "));
            out += &(look.wrapped(&says, 2) + "\n");
        }
        out
    }

    /// As comma-separated text, one line for each kind of pack and each delivery.
    pub fn csv(&self) -> String {
        let headings = [
            "stage",
            "order by",
            "supplier",
            "what",
            "packs",
            "one holds",
            "unit",
            "each",
            "total",
            "currency",
        ];
        let mut rows = Vec::new();
        for (stage, purchase) in self.purchases.iter().enumerate() {
            for order in &purchase.orders {
                let mut row = |stock: &str,
                               packs: Option<u32>,
                               size: Option<(f64, &'static str)>,
                               each: Option<String>,
                               total: Option<String>| {
                    rows.push(vec![
                        Cell::number(Some(stage + 1)),
                        Cell::text(order.order_by.clone()),
                        Cell::text(Some(order.name.clone())),
                        Cell::text(Some(stock)),
                        Cell::number(packs),
                        Cell::measure(size.map(|s| s.0)),
                        Cell::text(size.map(|s| s.1)),
                        Cell::number(each),
                        Cell::number(total),
                        Cell::text(Some(self.currency.clone())),
                    ]);
                };
                for l in &order.lines {
                    row(
                        &l.of,
                        Some(l.packs),
                        Some((l.size.value, l.size.unit)),
                        l.each.clone(),
                        l.total.clone(),
                    );
                }
                for p in &order.parts {
                    row(&p.name, Some(p.quantity), None, None, p.price.clone());
                }
                row("delivery", None, None, None, Some(order.delivery.clone()));
                if order.tax != "0.00" {
                    row("tax", None, None, None, Some(order.tax.clone()));
                }
            }
        }
        for part in &self.parts {
            let mut cells = vec![Cell::Empty; headings.len()];
            cells[3] = Cell::text(Some(part.name.clone()));
            cells[4] = Cell::number(Some(part.quantity));
            cells[8] = Cell::number(part.price.clone());
            cells[9] = Cell::text(Some(self.currency.clone()));
            rows.push(cells);
        }
        table(&headings, &rows)
    }
}

fn haste(build: &Build, of: &Haste) -> HasteView {
    let slow = of.slow.iter().map(|slow| SlowView {
        of: slow.of.to_string(),
        from: build.suppliers.get(&slow.from).map_or(&slow.from, |s| &s.name).to_string(),
        soonest: slow.soonest.map(|day| day.to_string()),
    });
    HasteView { more: shown(of.more), slow: slow.collect() }
}

impl HasteView {
    fn says(&self, currency: &str) -> String {
        let slow = self.slow.iter().map(|SlowView { of, from, soonest }| match soonest {
            Some(day) => format!("{of} of {from}, there by {day}"),
            None => format!("{of} of {from}, who gives no time of delivery"),
        });
        let slow: Vec<String> = slow.collect();
        let more = &self.more;
        format!(
            "({more} {currency} of it to have it in time; cheaper, but too late: {})",
            slow.join("; ")
        )
    }
}

/// What has no price, each named once.
fn unpriced(build: &Build, purchases: &[Purchase]) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for purchase in purchases {
        let parts = purchase.orders.iter().flat_map(|o| &o.parts).chain(&purchase.loose);
        let parts = parts.filter(|p| p.price.is_none()).map(|p| p.name.to_string());
        let lines = purchase.orders.iter().flat_map(|o| o.lines.iter().map(move |l| (o, l)));
        let lines = lines.filter(|(_, l)| l.total.is_none());
        let lines = lines.filter_map(|(o, l)| {
            Some(build.suppliers.get(&o.supplier)?.packs.get(l.pack)?.of.to_string())
        });
        for name in lines.chain(parts) {
            if !out.contains(&name) {
                out.push(name);
            }
        }
    }
    out
}

impl OrderView {
    fn text(&self, look: &Look, currency: &str) -> String {
        let by = self.order_by.as_ref().map_or(String::new(), |day| format!(", order by {day}"));
        let late = self.days_late.map_or(String::new(), |n| format!(": {}", late(n)));
        let mut out = look.heading(&format!("{}{by}{late}", self.name));
        let mut table = look.table(&[
            ("packs", Side::Right),
            ("of", Side::Left),
            ("one holds", Side::Right),
            ("each", Side::Right),
            (currency, Side::Right),
        ]);
        let row = |packs: String, of: &str, size: &str, each: &str, total: &str| {
            vec![packs, of.to_owned(), size.to_owned(), each.to_owned(), total.to_owned()]
        };
        for l in &self.lines {
            let (each, total) = (l.each.as_deref(), l.total.as_deref());
            let size = match &l.sold_as {
                Some(sold) => format!("{}, {}", sold.shown, l.size.shown),
                None => l.size.shown.clone(),
            };
            table.add_row(row(
                l.packs.to_string(),
                &l.of,
                &size,
                each.unwrap_or("no price"),
                total.unwrap_or(""),
            ));
        }
        for p in &self.parts {
            let price = p.price.as_deref().unwrap_or("no price");
            table.add_row(row(p.quantity.to_string(), &p.name, "", "", price));
        }
        if self.delivery != "0.00" || !self.lines.is_empty() {
            table.add_row(row(String::new(), "delivery", "", "", &self.delivery));
        }
        if self.tax != "0.00" {
            table.add_row(row(String::new(), "tax", "", "", &self.tax));
        }
        table.add_row(row(String::new(), "together", "", "", &self.total));
        out += &finished(&table);
        if let Some(least) = &self.below {
            let says = format!("(below the least order of {least} {currency}: ask, or add to it)");
            out += &(look.wrapped(&says, 1) + "\n");
        }
        out
    }
}

fn part(part: &PartNeed) -> PartRow {
    PartRow {
        id: part.id.to_string(),
        name: part.name.to_string(),
        quantity: part.quantity,
        by: part.by.map(|d| d.to_string()),
        order_by: part.order_by.map(|d| d.to_string()),
        price: part.price.map(shown),
    }
}

fn order(build: &Build, order: &Order) -> OrderView {
    let none = Supplier { name: order.supplier.clone(), ..Supplier::default() };
    let supplier = build.suppliers.get(&order.supplier).unwrap_or(&none);
    let line = |l: &crate::supply::OrderLine| LineView {
        of: supplier.packs[l.pack].of.to_string(),
        packs: l.count,
        size: FigureView::new(supplier.packs[l.pack].size.node(), build.header.units),
        sold_as: supplier.packs[l.pack]
            .sold
            .as_ref()
            .map(|sold| FigureView::new(sold, build.header.units)),
        each: l.each.map(shown),
        total: l.total.map(shown),
    };
    OrderView {
        supplier: order.supplier.to_string(),
        name: supplier.name.to_string(),
        order_by: order.order_by.map(|d| d.to_string()),
        days_late: order.days_late(build.today),
        lines: order.lines.iter().map(line).collect(),
        parts: order.parts.iter().map(part).collect(),
        delivery: shown(order.charge),
        tax: shown(order.tax),
        total: shown(order.total),
        unpriced: order.unpriced(),
        below: order.below.map(shown),
    }
}

fn cover(build: &Build, bill: &Bill, cover: &Cover) -> CoverView {
    let mass = |mass: f64| match mass == 0.0 {
        true => "-".to_owned(),
        false => as_billed(build, bill, &cover.need.of, mass),
    };
    CoverView {
        of: cover.need.of.to_string(),
        by: cover.need.by.map(|d| d.to_string()),
        unit: build.kind_of(&cover.need.of).symbol(),
        needed_value: cover.need.mass,
        needed: mass(cover.need.mass),
        most_value: cover.need.most,
        most: mass(cover.need.most),
        bought_value: cover.bought,
        bought: mass(cover.bought),
        left_over_value: cover.left_over,
        left_over: mass(cover.left_over),
        missing_value: cover.missing,
        missing: mass(cover.missing),
    }
}

fn covers(look: &Look, covers: &[CoverView]) -> String {
    let mut out = look.heading("What this covers");
    let mut table = look.table(&[
        ("material", Side::Left),
        ("by", Side::Left),
        ("needed", Side::Right),
        ("up to", Side::Right),
        ("bought", Side::Right),
        ("left over", Side::Right),
    ]);
    for c in covers {
        table.add_row([
            c.of.clone(),
            c.by.clone().unwrap_or_default(),
            c.needed.clone(),
            c.most.clone(),
            c.bought.clone(),
            c.left_over.clone(),
        ]);
    }
    out += &finished(&table);
    let (sold, not): (Vec<_>, Vec<_>) = covers.iter().partition(|c| c.missing_value == 0.0);
    let not: Vec<String> = not.iter().map(|c| format!("{} of {}", c.missing, c.of)).collect();
    if !not.is_empty() {
        let says = format!("(no supplier here sells {})", not.join(", "));
        out += &(look.wrapped(&says, 1) + "\n");
    }
    let short = sold.iter().filter(|c| c.bought_value < c.most_value).map(|c| &*c.of);
    let short = short.collect::<Vec<_>>().join(", ");
    if !short.is_empty() {
        let says = format!(
            "({short}: may come to more than is bought; `buy --sure` covers what nine in ten replays of the plan take)"
        );
        out += &(look.wrapped(&says, 1) + "\n");
    }
    out
}
