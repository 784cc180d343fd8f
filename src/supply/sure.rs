//! What to buy so that castings which must be made again find metal, sand and fuel.

use super::flow::StockWalk;
use super::line::{Bill, StockLine};
use crate::estimate::Gone;
use crate::figure::{Amount, Because, Figure, Range};
use crate::model::Build;
use crate::risk::{Risk, Spread};

/// Share of the replays that have enough.
const SURE: f64 = 0.9;

/// Tells for each material what to buy so that nine in ten replays of the plan have enough.
///
/// Beyond what the plan takes comes what P90 takes more than the plan with nothing lost and all as
/// is likely. Of metal charged more, a charge bears a share of returns, and a lost mould always
/// gives more of them than that: it comes back whole, less what melting takes.
pub fn sure(build: &Build, risk: &Risk, bill: &mut Bill) {
    let flow = bill.flow.as_ref();
    let lines = bill.metal.iter_mut().chain(&mut bill.sand).chain(&mut bill.consumables);
    for line in lines {
        let Some(buy) = &line.buy else { continue };
        let of = |s: &&Spread| s.of == line.id && s.what != Gone::MeltLost;
        let spread = risk.amounts.iter().find(of);
        let walk = flow.and_then(|flow| flow.likely.stocks.get(&line.id));
        line.sure = spread.and_then(|spread| told(build, (line, walk), buy, spread));
        if line.sure.is_none() && line.before.is_none() {
            let says = format!(
                "{}: not given at P90: no mould to come, and none made again, takes it",
                line.id
            );
            line.note =
                Some(line.note.take().map_or(says.clone(), |note| format!("{note}; {says}")));
        }
    }
}

fn told(
    build: &Build,
    (line, walk): (&StockLine, Option<&StockWalk>),
    buy: &Figure<Amount>,
    spread: &Spread,
) -> Option<Figure<Amount>> {
    let enough = spread.told.iter().find(|p| (p.share - SURE).abs() < 1e-9)?;
    let most = Figure::<Amount>::new(
        "taken at P90",
        Range { low: enough.low, likely: enough.value, high: enough.high },
        Because::Counted(
            format!("{}, replays of the plan; `risk` tells them", spread.what.words()).into(),
        ),
    );
    let kind = buy.node().kind();
    let most = most.in_kind(kind);
    let planned = Figure::<Amount>::counted(
        "taken if nothing is lost",
        spread.planned,
        format!("{}, likely, every mould of the plan once", spread.what.words()),
    )
    .in_kind(kind);
    let share = build.handbook.alloys.get(&line.id).map(|alloy| {
        let loss = alloy.melt_loss.as_ref().map_or(0.0, Figure::si);
        let bears = alloy.returns_share.as_ref().map_or(0.0, Figure::si);
        (bears.min(1.0 - loss), alloy.returns_share.as_ref().map(|s| s.node().clone()))
    });
    let (returned, node) = share.unwrap_or((0.0, None));
    let more = |p90: f64| (p90 - spread.planned).max(0.0) * (1.0 - returned);
    // What the likely walk lacks at its lowest point, below zero where something is left. Where
    // the plan takes none, only what is made again takes from what there is.
    let there = line.stock.as_ref().map_or(0.0, Figure::si);
    let ordered = line.ordered.as_ref().map_or(0.0, Figure::si);
    let base = match walk {
        // With what is mixed into new sand, which no replay takes.
        Some(walk) => -walk.lowest(None)?.1 + line.left.as_ref()?.si() - walk.drawn(),
        None => Some(-there).filter(|_| spread.planned == 0.0)?,
    } - ordered;
    let range = Range {
        low: (base + more(enough.low)).max(0.0),
        likely: (base + more(enough.value)).max(0.0),
        high: (base + more(enough.high)).max(0.0),
    };
    let mut nodes = vec![buy.node().clone(), most.node().clone(), planned.node().clone()];
    nodes.extend(node);
    let says = match returned > 0.0 {
        true => {
            "lacking at the lowest point + (taken at P90 - taken if nothing is lost) x (1 - share of returns), never below zero"
        }
        false => {
            "lacking at the lowest point + taken at P90 - taken if nothing is lost, never below zero"
        }
    };
    Some(Figure::new("to buy to be sure", range, Because::Closed(says, nodes)).in_kind(kind))
}
