//! The bill: materials net of stock and of what the journal has used up.

use super::flow::Flow;
use super::flowing;
use super::wear::{Wear, wear};
use crate::build::Build;
use crate::estimate::{Estimates, MouldEstimate};
use crate::figure::{Because, Figure, Mass, Node, Range};
use crate::handbook::Sand;
use crate::manifest::{Id, Making, Step};
use crate::plan::Schedule;
use chrono::NaiveDate;
use indexmap::IndexMap;
use rust_decimal::Decimal;
use std::sync::Arc;

/// One material.
#[derive(Debug, Clone)]
pub struct StockLine {
    /// Name that `why` answers to.
    pub id: Id,
    /// What it is.
    pub title: Arc<str>,
    /// Taken by the whole build, every mould summed up as if nothing came back.
    pub in_all: Option<Figure<Mass>>,
    /// Used up so far, by the journal.
    pub used: Option<Figure<Mass>>,
    /// Still to be used.
    pub left: Option<Figure<Mass>>,
    /// In the shop now.
    pub stock: Option<Figure<Mass>>,
    /// To buy.
    pub buy: Option<Figure<Mass>>,
    /// What one would buy by summing up mould after mould, where the plan knows better.
    pub summed: Option<Figure<Mass>>,
    /// To buy so that nine in ten replays of the plan have enough; [`sure`](super::sure) tells it.
    pub sure: Option<Figure<Mass>>,
    /// The day it runs short, if it is known.
    pub by: Option<NaiveDate>,
    /// What goes with it in words.
    pub note: Option<String>,
}

impl StockLine {
    /// Its figures, by the name that `why` answers to.
    pub fn figures(&self) -> Vec<(&'static str, Node)> {
        [
            ("in-all", &self.in_all),
            ("used", &self.used),
            ("left", &self.left),
            ("stock", &self.stock),
            ("buy", &self.buy),
            ("summed", &self.summed),
            ("sure", &self.sure),
        ]
        .into_iter()
        .filter_map(|(name, f)| Some((name, f.as_ref()?.node().clone())))
        .collect()
    }
}

/// One bought-in part.
#[derive(Debug, Clone)]
pub struct BoughtLine {
    /// Its id.
    pub id: Id,
    /// What it is.
    pub name: Arc<str>,
    /// How many.
    pub quantity: u32,
    /// Price of all, if one was given.
    pub price: Option<Decimal>,
    /// Whether it is there.
    pub here: bool,
}

/// What the build takes.
#[derive(Debug, Clone)]
pub struct Bill {
    /// Metal, one line an alloy.
    pub metal: Vec<StockLine>,
    /// Sand, and what is mixed into it.
    pub sand: Vec<StockLine>,
    /// Fuel and other things used up.
    pub consumables: Vec<StockLine>,
    /// Crucibles that have heats behind or before them.
    pub crucibles: Vec<Wear>,
    /// Bought-in parts.
    pub bought: Vec<BoughtLine>,
    /// Price of the bought-in parts that are not here yet, where prices were given.
    pub to_pay: Decimal,
    /// The materials walked through the plan, where there is one.
    pub flow: Option<Flow>,
}

impl Bill {
    /// Every material.
    pub fn lines(&self) -> impl Iterator<Item = &StockLine> {
        self.metal.iter().chain(&self.sand).chain(&self.consumables)
    }
}

/// A figure that only the ledger of the journal gives.
fn ledger(name: &'static str, value: f64, says: &'static str) -> Figure<Mass> {
    // An empty sum of floats is -0.
    Figure::new(name, Range::exact(value + 0.0), Because::Counted(says.into()))
}

/// What is to be bought: what is left less what is there.
fn shortfall(left: &Option<Figure<Mass>>, stock: &Option<Figure<Mass>>) -> Option<Figure<Mass>> {
    let left = left.as_ref()?;
    let have = stock.as_ref().map_or(Range::exact(0.0), |s| s.node().range());
    let range = left.node().range();
    let range = Range {
        low: (range.low - have.high).max(0.0),
        likely: (range.likely - have.likely).max(0.0),
        high: (range.high - have.low).max(0.0),
    };
    let mut nodes = vec![left.node().clone()];
    nodes.extend(stock.as_ref().map(|s| s.node().clone()));
    Some(Figure::new(
        "to buy",
        range,
        Because::Closed("still needed - in the shop, never below zero", nodes),
    ))
}

/// Reckons what a build takes, and what must be bought for the work in this schedule.
pub fn bill(build: &Build, estimates: &Estimates, schedule: &Schedule) -> Bill {
    let bought = bought(build);
    let to_pay = bought.iter().filter(|l| !l.here).filter_map(|l| l.price).sum();
    let mut bill = Bill {
        metal: metal(build, estimates),
        sand: sand(build, estimates),
        consumables: fuel(build, estimates),
        crucibles: wear(build, schedule),
        bought,
        to_pay,
        flow: Flow::new(build, estimates, schedule),
    };
    flowing::apply(build, schedule, &mut bill);
    bill
}

/// Moulds by the parts in them: in all, and those still to be rammed.
fn moulds(build: &Build, estimates: &Estimates) -> IndexMap<Vec<usize>, [u32; 2]> {
    let quantity = |i: usize| build.parts[i].given.quantity;
    let missing = |i: usize| {
        let p = build.history.pieces(i);
        quantity(i).saturating_sub(p.good() + p.under_way())
    };
    let mut out: IndexMap<Vec<usize>, [u32; 2]> = IndexMap::new();
    for (which, moulds) in [estimates.moulds(build, quantity), estimates.moulds(build, missing)]
        .into_iter()
        .enumerate()
    {
        for lots in moulds {
            let parts = lots.into_iter().map(|(i, _)| i).collect();
            out.entry(parts).or_default()[which] += 1;
        }
    }
    out
}

/// The figures of a mould that holds one casting or more of each of these parts.
fn mould_of<'e>(
    build: &Build,
    estimates: &'e Estimates,
    parts: &[usize],
) -> Option<&'e MouldEstimate> {
    let lots: Vec<(usize, u32)> = parts.iter().map(|i| (*i, 1)).collect();
    estimates.mould(build, &lots)
}

/// Sums a figure of each mould over the build: in all, and what is left.
fn over_moulds<'a>(
    build: &Build,
    estimates: &'a Estimates,
    wanted: impl Fn(usize) -> bool,
    figure: impl Fn(&'a MouldEstimate) -> Option<&'a Figure<Mass>>,
) -> (Option<Figure<Mass>>, Option<Figure<Mass>>) {
    let (mut all, mut left) = (Vec::new(), Vec::new());
    for (parts, [in_all, to_go]) in moulds(build, estimates) {
        let mould = mould_of(build, estimates, &parts).filter(|_| wanted(parts[0]));
        let Some(each) = mould.and_then(&figure) else { continue };
        let ids: Vec<&str> = parts.iter().map(|i| &**build.parts[*i].id()).collect();
        let times = |n: u32| {
            let name = format!("{}: {n} x mould", ids.join("+"));
            let range = each.node().range().map(|v| v * f64::from(n));
            Figure::new(
                name,
                range,
                Because::Closed("moulds x figure of one mould", vec![each.node().clone()]),
            )
        };
        if in_all > 0 {
            all.push(times(in_all));
        }
        if to_go > 0 {
            left.push(times(to_go));
        }
    }
    let none = all.is_empty();
    let zero = || (!none).then(|| ledger("still needed", 0.0, "every mould is rammed"));
    (Figure::sum("needed in all", &all), Figure::sum("still needed", &left).or_else(zero))
}

fn metal(build: &Build, estimates: &Estimates) -> Vec<StockLine> {
    let mut alloys: Vec<_> = Vec::new();
    for casting in build.parts.iter().filter_map(|p| p.casting.as_ref()) {
        if !alloys.iter().any(|a: &Arc<crate::handbook::Alloy>| a.id == casting.alloy.id) {
            alloys.push(casting.alloy.clone());
        }
    }
    let line = |alloy: Arc<crate::handbook::Alloy>| {
        let of_alloy =
            |i: usize| build.parts[i].casting.as_ref().is_some_and(|c| c.alloy.id == alloy.id);
        let (in_all, left) = over_moulds(build, estimates, of_alloy, |m| m.charge.as_ref());
        let charged: f64 = build
            .history
            .heats
            .values()
            .filter(|h| h.poured.alloy.value == alloy.id)
            .flat_map(|h| h.poured.charge.values())
            .map(Figure::si)
            .sum();
        let used =
            Some(ledger("charged so far", charged, "all charge lines of the journal's heats"));
        let stock = in_shop(build, &alloy.id);
        let buy = shortfall(&left, &stock);
        StockLine {
            id: alloy.id.clone(),
            title: alloy.title.clone(),
            in_all,
            used,
            left,
            stock,
            buy,
            summed: None,
            sure: None,
            by: None,
            note: Some("as if no gate, feeder or scrapped casting were melted again; with returns it is less".into()),
        }
    };
    alloys.into_iter().map(line).collect()
}

/// What the ledger says lies in the shop: given, received, counted, charged as ingot.
pub(super) fn in_shop(build: &Build, name: &str) -> Option<Figure<Mass>> {
    let now = build.history.stock.get(name)?;
    Some(ledger(
        "in the shop",
        *now,
        "stock given and received, less ingot charged; a count replaces all before it",
    ))
}

fn sand(build: &Build, estimates: &Estimates) -> Vec<StockLine> {
    let mut sands: Vec<Arc<Sand>> = Vec::new();
    for sand in build.patterns.iter().filter_map(|p| p.sand.as_ref()) {
        if !sands.iter().any(|s| s.id == sand.id) {
            sands.push(sand.clone());
        }
    }
    let mut lines = Vec::new();
    for sand in sands {
        let main = build.sand.as_ref().is_some_and(|s| s.id == sand.id);
        let of_sand = |i: usize| {
            let casting = build.parts[i].casting.as_ref();
            casting
                .and_then(|c| build.patterns[c.pattern].sand.as_ref())
                .is_some_and(|s| s.id == sand.id)
        };
        let (in_all, left) = over_moulds(build, estimates, of_sand, |m| m.sand.as_ref());
        let largest = moulds(build, estimates)
            .iter()
            .filter(|(parts, [_, to_go])| of_sand(parts[0]) && *to_go > 0)
            .filter_map(|(parts, _)| mould_of(build, estimates, parts)?.sand.as_ref())
            .max_by(|a, b| a.si().total_cmp(&b.si()));
        let lost = left
            .as_ref()
            .zip(sand.loss.as_ref())
            .map(|(left, loss)| share("sand lost", left, loss));
        let heap = match (largest, &lost) {
            (Some(largest), Some(lost)) => {
                Figure::sum("sand to have", &[largest.named("largest mould"), lost.clone()])
            }
            _ => None,
        };
        let stock = in_shop(build, if main { "sand" } else { &sand.id });
        let buy = shortfall(&heap, &stock);
        lines.push(StockLine {
            id: if main { "sand".into() } else { sand.id.clone() },
            title: sand.title.clone(),
            in_all: in_all.map(|f| f.named("rammed in all")),
            used: None,
            left: heap,
            stock,
            buy,
            summed: None,
            sure: None,
            by: None,
            note: Some(
                "sand is used again: still needed is the largest mould and what is lost on the way"
                    .into(),
            ),
        });
        for (name, addition) in sand.additions.iter().filter(|(name, _)| **name != *"water") {
            let Some(topped_up) = lost.as_ref() else { continue };
            let left = share("top-up", topped_up, addition);
            let stock = in_shop(build, name);
            let buy = shortfall(&Some(left.clone()), &stock);
            lines.push(StockLine {
                id: name.clone(),
                title: name.clone(),
                in_all: None,
                used: None,
                left: Some(left),
                stock,
                buy,
                summed: None,
                sure: None,
                by: None,
                note: Some("for the sand that is lost and made up again".into()),
            });
        }
    }
    lines
}

/// A share of a mass.
fn share(
    name: &'static str,
    of: &Figure<Mass>,
    ratio: &Figure<crate::figure::Ratio>,
) -> Figure<Mass> {
    let (m, r) = (of.node().range(), ratio.node().range());
    let range = Range { low: m.low * r.low, likely: m.likely * r.likely, high: m.high * r.high };
    Figure::new(
        name,
        range,
        Because::Closed("mass x share", vec![of.node().clone(), ratio.node().clone()]),
    )
}

fn fuel(build: &Build, estimates: &Estimates) -> Vec<StockLine> {
    let Some(furnace) = build.shop.furnaces.values().next() else { return Vec::new() };
    let (in_all, left) = over_moulds(build, estimates, |_| true, |m| m.fuel.as_ref());
    if in_all.is_none() {
        return Vec::new();
    }
    let burnt: f64 =
        build.history.heats.values().filter_map(|h| h.poured.fuel.as_ref()).map(Figure::si).sum();
    let stock = in_shop(build, &furnace.fuel);
    let buy = shortfall(&left, &stock);
    vec![StockLine {
        id: furnace.fuel.clone(),
        title: furnace.fuel.clone(),
        in_all,
        used: Some(ledger("burnt so far", burnt, "fuel of the journal's heats")),
        left,
        stock,
        buy,
        summed: None,
        sure: None,
        by: None,
        note: Some("for each mould melted on its own; heats that share a melt and a warm furnace take less, a cold one more".into()),
    }]
}

fn bought(build: &Build) -> Vec<BoughtLine> {
    let mut lines = Vec::new();
    for (i, part) in build.parts.iter().enumerate() {
        let Making::Bought(bought) = &part.given.making else { continue };
        let each: Option<Decimal> = bought.price.as_ref().and_then(|p| p.parse().ok());
        let later = part.steps().into_iter().any(|s| build.history.is_done(i, s));
        lines.push(BoughtLine {
            id: part.id().clone(),
            name: part.given.name.clone(),
            quantity: part.given.quantity,
            price: each.map(|p| p * Decimal::from(part.given.quantity)),
            here: build.history.is_done(i, Step::Receive) || later,
        });
    }
    lines
}
