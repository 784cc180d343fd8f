//! The bill as a table.

use super::csv::{self, table};
use super::text::{Look, Side, finished};
use super::{FigureView, Head};
use crate::figure::{Alike, Because, Figure, Known};
use crate::model::Build;
use crate::supply::{Bill, BoughtLine, StockLine, Wear, money};
use comfy_table::Cell;
use serde::Serialize;

/// What a build takes.
#[derive(Debug, Clone, Serialize)]
pub struct BillView {
    /// Which build.
    #[serde(flatten)]
    pub head: Head,
    /// Metal.
    pub metal: Vec<StockRow>,
    /// Sand and what is mixed in.
    pub sand: Vec<StockRow>,
    /// What is used up.
    pub consumables: Vec<StockRow>,
    /// Crucibles that have heats behind or before them.
    pub crucibles: Vec<CrucibleRow>,
    /// Bought-in parts.
    pub bought: Vec<BoughtRow>,
    /// Bar, sheet and the like for the parts that are still to be made.
    pub made: Vec<MadeRow>,
    /// Castings that are wanted and not in the plan: nothing here is for them.
    pub left_out: Vec<LeftOut>,
    /// Price of what is not here yet, where prices were given.
    pub to_pay: String,
    /// Its currency.
    pub currency: String,
}

/// One material.
#[derive(Debug, Clone, Serialize)]
pub struct StockRow {
    /// Name that `why` answers to.
    pub id: String,
    /// What it is.
    pub title: String,
    /// By the whole build.
    pub in_all: Option<FigureView>,
    /// So far.
    pub used: Option<FigureView>,
    /// Still to come.
    pub left: Option<FigureView>,
    /// In the shop.
    pub stock: Option<FigureView>,
    /// On order.
    pub on_order: Option<FigureView>,
    /// To buy.
    pub buy: Option<FigureView>,
    /// The span of what is to buy as text.
    #[serde(skip)]
    pub between: String,
    /// To buy by summing up mould after mould, where the plan knows better.
    pub summed: Option<FigureView>,
    /// To buy so that nine in ten replays of the plan have enough, where it was asked for.
    pub sure: Option<FigureView>,
    /// The day it runs short, if it is known.
    pub by: Option<String>,
    /// What goes with it.
    pub note: Option<String>,
}

/// A part that is still to be made, and what of.
#[derive(Debug, Clone, Serialize)]
pub struct MadeRow {
    /// Its id.
    pub id: String,
    /// What it is made of.
    pub from: String,
    /// How many are made of it.
    pub quantity: u32,
    /// Price of it for all.
    pub price: Option<String>,
    /// Whether it is here.
    pub here: bool,
    /// Whether it is on order.
    pub on_order: bool,
    /// The day on which it is expected.
    pub expected: Option<String>,
}

/// A casting that is wanted and not in the plan.
#[derive(Debug, Clone, Serialize)]
pub struct LeftOut {
    /// Id of the part.
    pub id: String,
    /// How many pieces.
    pub pieces: u32,
}

/// A crucible and the heats it has seen and will see.
#[derive(Debug, Clone, Serialize)]
pub struct CrucibleRow {
    /// Its id.
    pub id: String,
    /// Heats in the journal.
    pub heats_so_far: u32,
    /// Heats in the plan.
    pub heats_to_come: u32,
    /// Heats that one lasts, likely.
    pub lasts: f64,
    /// Heats that one lasts, at the least and at the most.
    pub lasts_between: [f64; 2],
    /// How far to trust that.
    pub known: Option<Known>,
    /// The day of the heat that is likely its last, if the plan has it.
    pub spent: Option<String>,
}

/// One bought-in part.
#[derive(Debug, Clone, Serialize)]
pub struct BoughtRow {
    /// Its id.
    pub id: String,
    /// What it is.
    pub name: String,
    /// How many.
    pub quantity: u32,
    /// Price of all.
    pub price: Option<String>,
    /// Whether it is here.
    pub here: bool,
    /// Whether it is on order.
    pub on_order: bool,
    /// The day on which it is expected.
    pub expected: Option<String>,
}

/// The day on which what is on order is expected.
fn expected(line: &BoughtLine) -> Option<String> {
    Some(line.ordered.as_ref()?.expected?.to_string())
}

impl BillView {
    /// Of a build.
    pub fn new(build: &Build, bill: &Bill) -> Self {
        let units = build.header.units;
        let view = |f: &Option<Figure<_>>| f.as_ref().map(|f| FigureView::new(f.node(), units));
        let rows = |lines: &[StockLine]| {
            lines
                .iter()
                .map(|l| {
                    let mut row = StockRow {
                        id: l.id.to_string(),
                        title: l.title.to_string(),
                        in_all: view(&l.in_all),
                        used: view(&l.used),
                        left: view(&l.left),
                        stock: view(&l.stock),
                        on_order: view(&l.ordered),
                        buy: view(&l.buy),
                        between: String::new(),
                        summed: view(&l.summed),
                        sure: view(&l.sure),
                        by: l.by.map(|d| d.to_string()),
                        note: l.says(),
                    };
                    let unit = unit(build, l);
                    row.figures().for_each(|figure| figure.tell(unit));
                    row.between = row.buy.as_ref().map_or(String::new(), |buy| between(buy, unit));
                    row
                })
                .collect()
        };
        Self {
            head: Head::new(build),
            metal: rows(&bill.metal),
            sand: rows(&bill.sand),
            consumables: rows(&bill.consumables),
            crucibles: bill.crucibles.iter().map(crucible).collect(),
            bought: bill
                .bought
                .iter()
                .map(|l| BoughtRow {
                    id: l.id.to_string(),
                    name: l.name.to_string(),
                    quantity: l.quantity,
                    price: l.price.map(money::shown),
                    here: l.here,
                    on_order: l.ordered.is_some() && !l.here,
                    expected: expected(l),
                })
                .collect(),
            made: bill
                .made
                .iter()
                .map(|l| MadeRow {
                    id: l.id.to_string(),
                    from: l.name.to_string(),
                    quantity: l.quantity,
                    price: l.price.map(money::shown),
                    here: l.here,
                    on_order: l.ordered.is_some() && !l.here,
                    expected: expected(l),
                })
                .collect(),
            left_out: left_out(bill),
            to_pay: money::shown(bill.to_pay),
            currency: build.header.currency.to_string(),
        }
    }

    /// As comma-separated text, one line a material or bought-in part; its unit is kg or pieces.
    pub fn csv(&self) -> String {
        let headings = [
            "group",
            "id",
            "what",
            "unit",
            "in all",
            "used",
            "to come",
            "in shop",
            "on order",
            "to buy",
            "to buy low",
            "to buy high",
            "summed",
            "sure",
            "by",
            "pieces",
            "price",
            "currency",
            "here",
        ];
        let groups = [("metal", &self.metal), ("sand", &self.sand), ("used up", &self.consumables)];
        let mut rows = Vec::new();
        for (group, row) in groups.iter().flat_map(|(g, rows)| rows.iter().map(move |r| (g, r))) {
            let mass = |f: &Option<FigureView>| csv::Cell::measure(f.as_ref().map(|f| f.value));
            let mut cells = vec![
                csv::Cell::text(Some(*group)),
                csv::Cell::text(Some(row.id.clone())),
                csv::Cell::text(Some(row.title.clone())),
                csv::Cell::text(row.unit()),
            ];
            cells.extend(
                [&row.in_all, &row.used, &row.left, &row.stock, &row.on_order, &row.buy].map(mass),
            );
            cells.push(csv::Cell::measure(row.buy.as_ref().map(|f| f.low)));
            cells.push(csv::Cell::measure(row.buy.as_ref().map(|f| f.high)));
            cells.extend([&row.summed, &row.sure].map(mass));
            cells.push(csv::Cell::text(row.by.clone()));
            cells.extend([csv::Cell::Empty, csv::Cell::Empty, csv::Cell::Empty, csv::Cell::Empty]);
            rows.push(cells);
        }
        let bought =
            self.bought.iter().map(|r| ("bought in", &r.id, &r.name, r.quantity, &r.price, r.here));
        let made = self
            .made
            .iter()
            .map(|r| ("bar and sheet", &r.id, &r.from, r.quantity, &r.price, r.here));
        for (group, id, what, quantity, price, here) in bought.chain(made) {
            let mut cells = vec![
                csv::Cell::text(Some(group)),
                csv::Cell::text(Some(id.clone())),
                csv::Cell::text(Some(what.clone())),
            ];
            cells.resize(15, csv::Cell::Empty);
            cells.push(csv::Cell::number(Some(quantity)));
            cells.push(csv::Cell::number(price.clone()));
            cells.push(csv::Cell::text(price.as_ref().map(|_| self.currency.clone())));
            cells.push(csv::Cell::text(Some(if here { "yes" } else { "no" })));
            rows.push(cells);
        }
        table(&headings, &rows)
    }

    /// As tables.
    pub fn text(&self, look: &Look) -> String {
        let mut out = self.head.text(look);
        for (title, rows) in [
            ("Metal", &self.metal),
            ("Sand and what is mixed in", &self.sand),
            ("Used up", &self.consumables),
        ] {
            if rows.is_empty() {
                continue;
            }
            out += &look.heading(title);
            out += &stock(look, rows);
        }
        let rows = || self.metal.iter().chain(&self.sand).chain(&self.consumables);
        if rows().any(StockRow::has_summed) {
            let says =
                "(summed: what to buy if each mould is counted alone and nothing is used again)";
            out += &(look.wrapped(says, 1) + "\n");
        }
        if rows().any(|r| r.sure.is_some()) {
            let says = "(at P90: what to buy so that nine in ten replays of the plan have enough, failed castings made again; see `risk`)";
            out += &(look.wrapped(says, 1) + "\n");
        }
        out += &not_planned(look, &self.left_out);
        if !self.crucibles.is_empty() {
            out += &look.heading("Crucibles");
            out += &crucibles(look, &self.crucibles);
        }
        if !self.bought.is_empty() {
            out += &look.heading("Bought in");
            let mut table = look.table(&[
                ("part", Side::Left),
                ("what", Side::Left),
                ("how many", Side::Right),
                ("price", Side::Right),
                ("", Side::Left),
            ]);
            for row in &self.bought {
                table.add_row(vec![
                    row.id.clone(),
                    row.name.clone(),
                    row.quantity.to_string(),
                    row.price.clone().unwrap_or_default(),
                    standing(row.here, row.on_order, &row.expected),
                ]);
            }
            out += &finished(&table);
            out += &format!(
                "\nstill to pay, where a price is known: {} {}\n",
                self.to_pay, self.currency
            );
        }
        if !self.made.is_empty() {
            out += &look.heading("Bar and sheet");
            let columns = [
                ("part", Side::Left),
                ("how many", Side::Right),
                ("made of", Side::Left),
                ("price", Side::Right),
                ("", Side::Left),
            ];
            let mut table = look.table(&columns);
            for row in &self.made {
                table.add_row([
                    row.id.clone(),
                    row.quantity.to_string(),
                    row.from.clone(),
                    row.price.clone().unwrap_or_default(),
                    standing(row.here, row.on_order, &row.expected),
                ]);
            }
            out += &finished(&table);
        }
        out
    }
}

/// The unit of a material, whoever tells it: that of its row in the bill, whether or not more is asked
/// for there; where it has none, that of these amounts.
pub(in crate::view) fn unit_of(build: &Build, bill: &Bill, of: &str, amounts: &[f64]) -> Alike {
    match bill.lines().find(|l| *l.id == *of && !l.figures().is_empty()) {
        Some(line) => unit(build, line),
        None => Alike::of(build.kind_of(of), amounts.iter().copied(), build.header.units),
    }
}

/// The unit of a row of the bill. What it comes to at P90 has no say in it.
fn unit(build: &Build, line: &StockLine) -> Alike {
    let figures = line.figures();
    let plain = figures.iter().filter(|(name, _)| *name != "sure").map(|(_, f)| f.range());
    Alike::of_ranges(build.kind_of(&line.id), plain, build.header.units)
}

/// An amount of a material in the unit of its row in the bill, whoever tells it; told like the bill's
/// own figure where it is that.
pub(in crate::view) fn as_billed(build: &Build, bill: &Bill, of: &str, amount: f64) -> String {
    let line = bill.lines().find(|l| *l.id == *of);
    let alike = unit_of(build, bill, of, &[amount]);
    let own = line.and_then(|l| l.buy.as_ref()).filter(|f| f.si() == amount);
    own.map_or_else(|| alike.show(amount), |f| alike.spanned(f.node().range()).0)
}

/// Castings that are wanted and not in the plan.
pub(super) fn left_out(bill: &Bill) -> Vec<LeftOut> {
    let each = bill.left_out.iter();
    each.map(|(id, pieces)| LeftOut { id: id.to_string(), pieces: *pieces }).collect()
}

/// Says which castings nothing of this is for.
pub(super) fn not_planned(look: &Look, left_out: &[LeftOut]) -> String {
    if left_out.is_empty() {
        return String::new();
    }
    let each = left_out.iter().map(|l| format!("{} ({})", l.id, l.pieces));
    let list = each.collect::<Vec<_>>().join("; ");
    let says = format!("not in the plan, and nothing above is for them: {list}; `plan` says why");
    look.wrapped(&says, 1) + "\n"
}

impl StockRow {
    /// All that it tells of one material.
    fn figures(&mut self) -> impl Iterator<Item = &mut FigureView> {
        let all = [&mut self.in_all, &mut self.used, &mut self.left, &mut self.stock];
        let more = [&mut self.on_order, &mut self.buy, &mut self.summed, &mut self.sure];
        all.into_iter().chain(more).flatten()
    }

    /// Whether a sum mould by mould comes to more than the plan.
    fn has_summed(&self) -> bool {
        let value = |f: &Option<FigureView>| f.as_ref().map_or(0.0, |f| f.value);
        let shown = |f: &Option<FigureView>| f.as_ref().map(|f| f.shown.clone());
        value(&self.summed) > value(&self.buy) && shown(&self.summed) != shown(&self.buy)
    }

    /// In what it is told: kg, or pieces.
    fn unit(&self) -> Option<&'static str> {
        let figures = [&self.left, &self.buy, &self.stock, &self.in_all, &self.used];
        figures.into_iter().flatten().next().map(|f| f.unit)
    }
}

fn standing(here: bool, on_order: bool, expected: &Option<String>) -> String {
    match (here, on_order, expected) {
        (true, ..) => "here".into(),
        (_, true, Some(day)) => format!("expected {day}"),
        (_, true, None) => "on order".into(),
        _ => "to buy".into(),
    }
}

fn crucible(wear: &Wear) -> CrucibleRow {
    let range = wear.life.node().range();
    CrucibleRow {
        id: wear.crucible.to_string(),
        heats_so_far: wear.so_far,
        heats_to_come: wear.to_come,
        lasts: range.likely,
        lasts_between: [range.low, range.high],
        known: match wear.life.node().because() {
            Because::Handbook(source) => Some(source.known),
            _ => None,
        },
        spent: wear.spent.map(|d| d.to_string()),
    }
}

fn crucibles(look: &Look, rows: &[CrucibleRow]) -> String {
    let mut table = look.table(&[
        ("crucible", Side::Left),
        ("heats so far", Side::Right),
        ("to come", Side::Right),
        ("lasts", Side::Right),
        ("likely spent", Side::Left),
    ]);
    for row in rows {
        let [least, most] = row.lasts_between;
        table.add_row(vec![
            row.id.clone(),
            row.heats_so_far.to_string(),
            row.heats_to_come.to_string(),
            format!("{least} to {most}"),
            row.spent.clone().unwrap_or_default(),
        ]);
    }
    let says = "(heats of other builds are not counted; look the pot over before every heat: a crack or a thin wall ends its life whatever the count)";
    finished(&table) + &look.wrapped(says, 1) + "\n"
}

/// A span; of nothing likely, the most, in the unit of the row.
fn between(buy: &FigureView, unit: Alike) -> String {
    match buy.value == 0.0 && buy.high > 0.0 {
        true => format!("up to {}", unit.show(buy.high)),
        false => buy.span.clone().unwrap_or_default(),
    }
}

fn stock(look: &Look, rows: &[StockRow]) -> String {
    let planned = rows.iter().any(|r| r.summed.is_some());
    let summed = rows.iter().any(StockRow::has_summed);
    let sure = rows.iter().any(|r| r.sure.is_some());
    let held = rows.iter().any(|r| r.stock.is_some());
    let ordered = rows.iter().any(|r| r.on_order.is_some());
    let mut columns = vec![("material", Side::Left)];
    columns.extend((!planned).then_some(("in all", Side::Right)));
    columns.extend((!planned).then_some(("used", Side::Right)));
    columns.push(("to come", Side::Right));
    columns.extend(held.then_some(("in shop", Side::Right)));
    columns.extend(ordered.then_some(("on order", Side::Right)));
    columns.extend(summed.then_some(("summed", Side::Right)));
    columns.push(("to buy", Side::Right));
    // There is room for one of the two.
    columns.push(if sure { ("at P90", Side::Right) } else { ("between", Side::Left) });
    columns.extend(planned.then_some(("by", Side::Left)));
    let mut table = look.table(&columns);
    for row in rows {
        let shown = |f: &Option<FigureView>| {
            Cell::from(f.as_ref().map_or(String::new(), |f| f.shown.clone()))
        };
        let buy = match &row.buy {
            Some(f) if f.value > 0.0 => look.hot(f.shown.clone()),
            Some(_) => "-".into(),
            None => "".into(),
        };
        let mut cells = vec![Cell::from(row.id.clone())];
        if !planned {
            cells.extend([&row.in_all, &row.used].map(shown));
        }
        cells.push(shown(&row.left));
        cells.extend(held.then(|| shown(&row.stock)));
        cells.extend(ordered.then(|| shown(&row.on_order)));
        cells.extend(summed.then(|| shown(&row.summed)));
        cells.push(buy);
        cells.push(match &row.sure {
            Some(f) if sure && f.value <= 0.0 => "-".into(),
            _ if sure => shown(&row.sure),
            _ => row.between.clone().into(),
        });
        cells.extend(planned.then(|| row.by.clone().unwrap_or_default().into()));
        table.add_row(cells);
    }
    let mut out = finished(&table);
    let mut said: Vec<&str> = Vec::new();
    for note in rows.iter().filter_map(|r| r.note.as_deref()) {
        if !said.contains(&note) {
            said.push(note);
            out += &look.wrapped(&format!("({note})"), 1);
            out.push('\n');
        }
    }
    out
}
