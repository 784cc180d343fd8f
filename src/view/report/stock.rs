//! What the shop keeps, and stock of metal and sand through the plan as charts.

use super::over_time::heavy;
use crate::figure::show;
use crate::model::{Build, returns_of};
use crate::supply::{Bill, Holding, money};
use crate::view::chart::{Chart, Curve, Line, curve};
use crate::view::page::{Shown, plain, shown};
use rust_decimal::Decimal;
use serde::Serialize;

/// Everything that the shop keeps.
#[derive(Debug, Clone, Serialize)]
pub struct Shelves {
    /// Each stock that anybody told of, metal first.
    pub rows: Vec<Shelf>,
    /// What was paid for all of them, with the currency.
    pub spent: String,
    /// What the shelves stand at, as far as prices are known, with the currency.
    pub worth: String,
}

/// One stock.
#[derive(Debug, Clone, Serialize)]
pub struct Shelf {
    /// Its name.
    pub id: String,
    /// On the shelf.
    pub there: Option<Shown>,
    /// Ready to be melted again.
    pub returns: Option<Shown>,
    /// On order, and when the first of it is expected.
    pub coming: Option<String>,
    /// What was paid for it.
    pub spent: String,
    /// What it stands at.
    pub worth: Option<String>,
    /// How it came, where it went, and where it is: what came in is what is gone and what is there.
    pub balance: Vec<String>,
}

/// The stocks that anybody told of.
pub(super) fn shelves(build: &Build, bill: &Bill) -> Shelves {
    let told = |h: &&Holding| {
        h.there.is_some() || !h.on_order.is_empty() || h.ways.iter().any(|way| way.1 > 0.0)
    };
    let all: Vec<&Holding> = bill.holdings.iter().filter(told).collect();
    let priced = |sum: Decimal| format!("{} {}", money::shown(sum), plain(&build.header.currency));
    Shelves {
        rows: all.iter().map(|h| shelf(build, h)).collect(),
        spent: priced(all.iter().map(|h| h.spent).sum()),
        worth: priced(all.iter().filter_map(|h| h.worth).sum()),
    }
}

fn shelf(build: &Build, holding: &Holding) -> Shelf {
    let units = build.header.units;
    let much = |amount: f64| show(build.kind_of(&holding.id), amount, units);
    let ordered: f64 = holding.on_order.iter().map(|o| o.mass).sum();
    let day = holding.on_order.iter().filter_map(|o| o.expected).min();
    let coming = (ordered > 0.0).then(|| match day {
        Some(day) => format!("{}, {day}", much(ordered)),
        None => much(ordered),
    });
    let returns = holding.returns.as_ref().filter(|f| f.high() > 0.0);
    let ways = holding.ways.iter().map(|(way, amount)| (way.words(), *amount));
    let now = holding.now;
    let here = [
        ("on the shelf", now.stock),
        ("in returns", now.returns),
        ("in moulds and cores", now.in_moulds),
        ("in castings", now.castings),
        ("not accounted for", (holding.unaccounted() * 1e3).round() / 1e3),
    ];
    let some = |(_, amount): &(&str, f64)| amount.abs() > 1e-9;
    Shelf {
        id: plain(&holding.id),
        there: holding.there.as_ref().map(|f| shown(f.node(), units, &holding.id, "stock")),
        returns: returns.map(|f| shown(f.node(), units, &returns_of(&holding.id), "stock")),
        coming,
        spent: money::shown(holding.spent),
        worth: holding.worth.map(money::shown),
        balance: ways
            .chain(here)
            .filter(some)
            .map(|(what, amount)| format!("{what} {}", much(amount)))
            .collect(),
    }
}

/// What lies in the shop of each metal, and of each sand that comes back, if nothing is bought.
pub(super) fn stock_charts(build: &Build, bill: &Bill) -> Vec<Chart> {
    let Some(flow) = &bill.flow else { return Vec::new() };
    let (word, per) = heavy(build.header.units);
    let metal = bill.metal.iter().map(|l| (l, true));
    let sand = bill.sand.iter().map(|l| (l, false));
    let chart = |(n, (line, metal)): (usize, (&crate::supply::StockLine, bool))| {
        let walk = flow.likely.stocks.get(&line.id)?;
        if !metal && walk.came_back <= 0.0 {
            return None;
        }
        let points: Vec<_> = walk.curve().into_iter().map(|(d, kg)| (d, kg / per)).collect();
        curve(&Curve {
            id: format!("stock-{n}"),
            name: match metal {
                true => format!("{}: ingot in the shop, if none is bought", plain(&line.title)),
                false => format!("{}: on the heap, if none is bought", plain(&line.title)),
            },
            unit: word.into(),
            counted: false,
            lines: vec![Line { name: "likely".into(), planned: true, points }],
            today: build.today,
        })
    };
    metal.chain(sand).enumerate().filter_map(chart).collect()
}
