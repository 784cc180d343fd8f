//! The bill by the walk through the plan, with the reasons for every difference.

use super::bill::{Bill, StockLine, in_shop};
use super::flow::{Flow, StockWalk, Walk};
use crate::build::Build;
use crate::figure::{Because, Figure, Kind, Mass, Node, show};
use crate::plan::Schedule;

/// Less ingot than this, in kg, is not worth a word.
const WORTH_SAYING: f64 = 0.1;

/// Says what must be bought by the walk; the sum that stood there stays beside it.
pub(super) fn apply(build: &Build, schedule: &Schedule, bill: &mut Bill) {
    let Some(flow) = bill.flow.take() else { return };
    for name in flow.likely.stocks.keys() {
        if !bill.lines().any(|l| l.id == *name) {
            bill.consumables.push(StockLine {
                id: name.clone(),
                title: name.clone(),
                in_all: None,
                used: None,
                left: None,
                stock: in_shop(build, name),
                buy: None,
                summed: None,
                sure: None,
                by: None,
                note: None,
            });
        }
    }
    let alloys = bill.metal.len();
    let lines = bill.metal.iter_mut().chain(&mut bill.sand).chain(&mut bill.consumables);
    for (i, line) in lines.enumerate() {
        let Some(walk) = flow.likely.stocks.get(&line.id) else { continue };
        let Some(range) = flow.range(&line.id, |w| w.short(None)) else { continue };
        let (says, mut nodes): (&'static str, Vec<Node>) = if i < alloys {
            line.note = Some(melted_again(build, &flow, line));
            (
                "charged - melted again - in the shop, never below zero",
                metal(build, schedule, &flow, line),
            )
        } else if walk.came_back > 0.0 {
            line.note = Some(
                "sand is used again: what is bought covers the most that is out at one time".into(),
            );
            (
                "the most that is out of the heap at one time - in the shop, never below zero",
                heap(&flow, line),
            )
        } else {
            line.note = None;
            ("taken as the plan goes - in the shop, never below zero", taken(&flow, line))
        };
        nodes.extend(line.stock.as_ref().map(|s| s.node().clone()));
        line.summed = line.buy.take();
        line.by = walk.runs_short(0.0);
        line.buy = Some(Figure::new("to buy", range, Because::Closed(says, nodes)));
    }
    bill.flow = Some(flow);
}

/// What goes with the ingot to buy, and whether earlier sawing would save some of it.
fn melted_again(build: &Build, flow: &Flow, line: &StockLine) -> String {
    let short = |walk: &Walk| walk.stocks.get(&line.id).map_or(0.0, |w| w.short(None));
    let saved = short(&flow.likely) - short(&flow.early);
    if saved < WORTH_SAYING {
        return "gates and feeders are melted again as the plan goes; `why` tells how much".into();
    }
    let saved = show(Kind::Mass, saved, build.header.units);
    format!("{}: gates sawn off at shaking out, not only at fettling, would save {saved}", line.id)
}

/// A figure that the walk counts up.
fn counted(
    flow: &Flow,
    line: &StockLine,
    name: &'static str,
    says: &'static str,
    of: impl Fn(&StockWalk) -> f64,
) -> Option<Figure<Mass>> {
    let range = flow.range(&line.id, of)?;
    Some(Figure::new(name, range, Because::Counted(says.into())))
}

fn metal(build: &Build, schedule: &Schedule, flow: &Flow, line: &StockLine) -> Vec<Node> {
    let heats = schedule.heats.iter().filter(|h| h.alloy == line.id);
    let charges: Vec<Figure<Mass>> =
        heats.filter_map(|h| Some(h.charge.as_ref()?.named(format!("heat {}", h.name)))).collect();
    let charged = match charges.is_empty() {
        true => {
            counted(flow, line, "charged", "every heat of the plan", |w| w.taken + w.melted_again)
        }
        false => flow.range(&line.id, |w| w.taken + w.melted_again).map(|range| {
            let nodes = charges.iter().map(|c| c.node().clone()).collect();
            Figure::new("charged", range, Because::Closed("every heat of the plan", nodes))
        }),
    };
    let back = counted(
        flow,
        line,
        "gates and feeders of these heats, fettled",
        "poured - castings, what is sawn off less kerf and chips; with the returns counted at the start",
        |w| w.melted_again + w.points.last().map_or(0.0, |(_, p)| p.returns),
    );
    let mut inputs: Vec<Node> = back.iter().map(|f| f.node().clone()).collect();
    inputs.push(build.handbook.fettled.node().clone());
    let alloy = build.handbook.alloys.get(&line.id);
    inputs.extend(alloy.and_then(|a| a.returns_share.as_ref()).map(|s| s.node().clone()));
    let again = flow.range(&line.id, |w| w.melted_again).map(|range| {
        let says = "heat by heat the lesser of what is back by then and the share a charge bears";
        Figure::<Mass>::new("melted again", range, Because::Closed(says, inputs))
    });
    [charged, again].into_iter().flatten().map(|f| f.node().clone()).collect()
}

fn heap(flow: &Flow, line: &StockLine) -> Vec<Node> {
    let start = |w: &StockWalk| w.points.first().map_or(0.0, |(_, p)| p.stock);
    let out = counted(
        flow,
        line,
        "most out at one time",
        "in moulds at that moment, and lost until then",
        |w| start(w) - w.lowest(None).map_or(0.0, |(_, least)| least),
    );
    let rammed = counted(flow, line, "rammed in all", "every mould of the plan", |w| w.taken);
    let lost = counted(flow, line, "lost in all", "loss of each use, mould by mould", |w| {
        w.points.last().map_or(0.0, |(_, p)| p.lost)
    });
    [out, rammed, lost].into_iter().flatten().map(|f| f.node().clone()).collect()
}

fn taken(flow: &Flow, line: &StockLine) -> Vec<Node> {
    let taken =
        counted(flow, line, "taken", "mould by mould and heat by heat of the plan", |w| w.taken);
    taken.into_iter().map(|f| f.node().clone()).collect()
}
