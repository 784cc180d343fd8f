//! The bill by the walk through the plan, with the reasons for every difference.

use super::flow::{Flow, Point, StockWalk, Walk};
use super::in_shop::InShop;
use super::line::{Bill, StockLine};
use super::lines::NET;
use super::ordered::{arrivals, next_after};
use crate::estimate::warm_up;
use crate::figure::{Amount, Because, Figure, Kind, Node, Range, Ratio, show};
use crate::manifest::Id;
use crate::model::Build;
use crate::plan::Schedule;
use chrono::NaiveDate;

/// Less ingot than this, in kg, is not worth a word.
const WORTH_SAYING: f64 = 0.1;

/// Says what must be bought by the walk; the sum that stood there stays beside it.
pub(super) fn apply(build: &Build, schedule: &Schedule, shop: &InShop<'_>, bill: &mut Bill) {
    let Some(flow) = bill.flow.take() else { return };
    for name in flow.likely.stocks.keys() {
        if !bill.lines().any(|l| l.id == *name) {
            bill.consumables.push(StockLine {
                stock: shop.of(name),
                ordered: shop.ordered(name),
                ..StockLine::new(name.clone(), name.clone())
            });
        }
    }
    let alloys = bill.metal.len();
    let mut mixed: Vec<(Id, Figure<Amount>, Option<NaiveDate>)> = Vec::new();
    let lines = bill.metal.iter_mut().chain(&mut bill.sand).chain(&mut bill.consumables);
    for (i, line) in lines.enumerate() {
        let Some(walk) = flow.likely.stocks.get(&line.id) else { continue };
        let (says, mut nodes) = if i < alloys {
            line.note = Some(melted_again(build, &flow, line));
            ("charged - melted again", metal(build, schedule, &flow, line))
        } else if walk.came_back > 0.0 {
            line.note = Some(
                "sand is used again: what is bought covers the most that is out at one time".into(),
            );
            ("the most that is out of the heap at one time", heap(&flow, line))
        } else {
            let burns = build.shop.furnaces.values().any(|f| f.fuel == line.id);
            let more = if burns { warming(build, schedule, &line.id) } else { Vec::new() };
            let counted = || counted_too(build, &line.id, &more);
            line.note = burns.then(|| cold(build, schedule, &line.id).or_else(counted)).flatten();
            ("taken as the plan goes", taken(&flow, line, more))
        };
        let new = mixed.iter().filter(|(name, ..)| *name == line.id);
        let more = Figure::sum(
            "mixed into new sand",
            &new.clone().map(|m| m.1.clone()).collect::<Vec<_>>(),
        );
        let ends = |r: fn(Range) -> f64| more.as_ref().map_or(0.0, |m| r(m.node().range()));
        let more_of = [ends(|r| r.low), ends(|r| r.likely), ends(|r| r.high)];
        let ordered = line.ordered.as_ref().map_or(0.0, Figure::si);
        let Some(drawn) = flow.range(&line.id, StockWalk::drawn) else { continue };
        let Some(lacking) = flow.range(&line.id, |w| -w.lowest(None).map_or(0.0, |l| l.1)) else {
            continue;
        };
        nodes.extend(more.map(|m| m.node().clone()));
        let says =
            if more_of[2] > 0.0 { "taken as the plan goes + mixed into new sand" } else { says };
        let plus = |r: Range, less: f64| Range {
            low: (r.low + more_of[0] - less).max(0.0),
            likely: (r.likely + more_of[1] - less).max(0.0),
            high: (r.high + more_of[2] - less).max(0.0),
        };
        let kind = build.kind_of(&line.id);
        let needed =
            Figure::<Amount>::new("still needed", plus(drawn, 0.0), Because::Closed(says, nodes));
        let needed = needed.in_kind(kind);
        let netted = [Some(&needed), line.stock.as_ref(), line.ordered.as_ref()];
        let nodes = netted.into_iter().flatten().map(|f| f.node().clone()).collect();
        let buy =
            Figure::<Amount>::new("to buy", plus(lacking, ordered), Because::Closed(NET, nodes));
        let buy = buy.in_kind(kind);
        let first = new.filter_map(|(.., day)| *day).min();
        line.mixed_by = first.filter(|_| more_of[2] > 0.0);
        line.by = walk.short_on(ordered, more_of[1], line.mixed_by);
        // What is on order may come after the day on which it is needed.
        if buy.si() > 0.0 {
            let dated = walk.first_short(&arrivals(build, &line.id), NaiveDate::MAX);
            line.by = dated.map(|(at, _)| at.date()).into_iter().chain(line.by).min();
        }
        mixed.extend(mixed_into(build, line, &buy, line.by));
        line.summed = line.buy.take();
        (line.left, line.buy) = (Some(needed), Some(buy));
        if let Some(late) = late(build, line, walk) {
            line.note =
                Some(line.note.take().map_or(late.clone(), |note| format!("{note}; {late}")));
        }
    }
    bill.flow = Some(flow);
}

/// What is mixed into new sand of this line: all that belongs to it, water left out, where it is not
/// bonded anew for each mould.
fn mixed_into(
    build: &Build,
    line: &StockLine,
    buy: &Figure<Amount>,
    by: Option<NaiveDate>,
) -> Vec<(Id, Figure<Amount>, Option<NaiveDate>)> {
    let sands = build.patterns.iter().filter_map(|p| p.sand.as_ref()).chain(&build.core_sand);
    let sand = sands.filter(|s| !s.sets).find(|s| build.sand_stock(s) == line.id);
    let additions = sand.iter().flat_map(|s| &s.additions).filter(|(name, _)| **name != *"water");
    let share = |(name, share): (&Id, &Figure<Ratio>)| {
        let (new, share_of) = (buy.node().range(), share.node().range());
        let range = Range {
            low: new.low * share_of.low,
            likely: new.likely * share_of.likely,
            high: new.high * share_of.high,
        };
        let nodes = vec![buy.node().clone(), share.node().clone()];
        let because = Because::Closed("new sand x share; nothing where it is bought mixed", nodes);
        (name.clone(), Figure::new("mixed into new sand", range, because), by)
    };
    let all = additions.map(|(name, of)| share((name, of)));
    all.filter(|(_, mixed, _)| mixed.high() > 0.0).collect()
}

/// What is on order and comes after the day on which it is needed.
fn late(build: &Build, line: &StockLine, walk: &StockWalk) -> Option<String> {
    let orders = arrivals(build, &line.id);
    let without = walk.first_short(&orders, NaiveDate::MAX)?.0.date();
    let expected = next_after(&orders, without)?;
    Some(format!(
        "{}: what is on order is expected on {expected}, and it runs short on {without}",
        line.id
    ))
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
) -> Option<Figure<Amount>> {
    let range = flow.range(&line.id, of)?;
    Some(Figure::new(name, range, Because::Counted(says.into())))
}

fn metal(build: &Build, schedule: &Schedule, flow: &Flow, line: &StockLine) -> Vec<Node> {
    let heats = schedule.heats.iter().filter(|h| h.alloy == line.id);
    let charges: Vec<Node> = heats
        .filter_map(|h| Some(h.charge.as_ref()?.named(format!("heat {}", h.name)).node().clone()))
        .collect();
    let charged = match charges.is_empty() {
        true => {
            counted(flow, line, "charged", "every heat of the plan", |w| w.taken + w.melted_again)
        }
        false => flow.range(&line.id, |w| w.taken + w.melted_again).map(|range| {
            Figure::new("charged", range, Because::Closed("every heat of the plan", charges))
        }),
    };
    let heels = schedule.heats.iter().any(|h| h.alloy == line.id && !h.heels.is_empty());
    let (name, says) = match heels {
        true => (
            "gates and feeders of these heats, fettled, and heels",
            "poured - castings, what is sawn off less kerf and chips; heels pigged; with the returns there at the start",
        ),
        false => (
            "gates and feeders of these heats, fettled",
            "poured - castings, what is sawn off less kerf and chips; with the returns there at the start",
        ),
    };
    let back = counted(flow, line, name, says, |w| {
        w.melted_again + w.points.last().map_or(0.0, |(_, p)| p.returns)
    });
    let there = counted(
        flow,
        line,
        "of that there at the start",
        "heel, gates and scrapped castings of the journal's heats less what was charged again; a count, `log counted --stock ALLOY-returns`, replaces it",
        |w| w.points.first().map_or(0.0, |(_, p)| p.returns),
    );
    let mut inputs: Vec<Node> = back.iter().chain(&there).map(|f| f.node().clone()).collect();
    inputs.push(build.handbook.fettled.node().clone());
    let alloy = build.handbook.alloys.get(&line.id);
    inputs.extend(alloy.and_then(|a| a.returns_share.as_ref()).map(|s| s.node().clone()));
    let again = flow.range(&line.id, |w| w.melted_again).map(|range| {
        let says = "heat by heat the lesser of what is back by then and the share a charge bears";
        Figure::<Amount>::new("melted again", range, Because::Closed(says, inputs))
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
        let lost = |p: Option<&(_, Point)>| p.map_or(0.0, |(_, p)| p.lost);
        lost(w.points.last()) - lost(w.points.first())
    });
    [out, rammed, lost].into_iter().flatten().map(|f| f.node().clone()).collect()
}

/// What is taken, and what that is made of: each mould on its own, and `more`.
fn taken(flow: &Flow, line: &StockLine, more: Vec<Node>) -> Vec<Node> {
    let each = line.left.as_ref().map(|f| f.named("moulds, one after the other"));
    let inputs: Vec<Node> = each.iter().map(|f| f.node().clone()).chain(more).collect();
    let says = "mould by mould and heat by heat of the plan";
    let taken = flow.range(&line.id, |w| w.taken).map(|range| {
        let taken = Figure::<Amount>::new("taken", range, Because::Closed(says, inputs));
        taken.in_kind(line.left.as_ref().map_or(Kind::Mass, |f| f.node().kind())).node().clone()
    });
    taken.into_iter().collect()
}

/// Fuel of the heats that find their furnace cold, to warm it.
fn warming(build: &Build, schedule: &Schedule, fuel: &str) -> Vec<Node> {
    let furnaces = build.shop.furnaces.iter().filter(|(_, f)| *f.fuel == *fuel);
    let warm = furnaces.filter_map(|(id, _)| {
        let each = warm_up(build, id)?;
        let lit = schedule.heats.iter().filter(|h| h.furnace == *id && !h.hot);
        let n = lit.count();
        let range = each.node().range().map(|v| v * n as f64);
        let because = Because::Closed("times cold x fuel to warm it", vec![each.node().clone()]);
        Some(Node::new(format!("warming {id} from cold, {n} x"), Kind::Mass, range, because))
    });
    warm.collect()
}

/// What is counted of warming up, beyond the sums mould by mould.
fn counted_too(build: &Build, fuel: &str, warming: &[Node]) -> Option<String> {
    let each = warming.iter().filter(|n| n.range().likely > 0.0).map(|n| {
        format!("{}, {}", n.name(), show(Kind::Mass, n.range().likely, build.header.units))
    });
    let each: Vec<String> = each.collect();
    let says = || {
        let each = each.join(" and ");
        format!("{fuel}: {each}, is in what is to come; the sum mould by mould is without it")
    };
    (!each.is_empty()).then(says)
}

/// What is not counted of warming up, and why.
fn cold(build: &Build, schedule: &Schedule, fuel: &str) -> Option<String> {
    let heats = || schedule.heats.iter().filter(|h| !h.hot);
    let (id, furnace) = build.shop.furnaces.iter().find(|(id, f)| {
        *f.fuel == *fuel && warm_up(build, id).is_none() && heats().any(|h| h.furnace == **id)
    })?;
    let lacking = match (&furnace.power, &furnace.warm_up) {
        (None, None) => "`power:` and `warm-up:`",
        (None, _) => "`power:`",
        _ => "`warm-up:`",
    };
    let n = heats().filter(|h| h.furnace == *id).count();
    let learned = furnace
        .efficiency
        .as_ref()
        .is_some_and(|e| !matches!(e.node().because(), Because::Given(_) | Because::Handbook(_)));
    Some(match learned {
        true => format!(
            "{fuel}: what warms {id} from cold, {n} x, is in the efficiency that the journal measured"
        ),
        false => {
            format!("{fuel}: warming {id} from cold, {n} x, is not counted: it has no {lacking}")
        }
    })
}
