//! Stock of metal and sand through the plan, as charts.

use super::over_time::heavy;
use crate::model::Build;
use crate::supply::Bill;
use crate::view::chart::{Chart, Curve, Line, curve};
use crate::view::page::plain;

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
