//! The lines of the bill by summing up mould after mould; the plan, where there is one, knows better.

use super::in_shop::InShop;
use super::line::StockLine;
use crate::estimate::{At, Estimates, MouldEstimate, Use, cores};
use crate::figure::{Amount, Because, Figure, Kind, Range, Ratio, Volume, show};
use crate::handbook::{Alloy, Consumable, Rate, Sand};
use crate::manifest::{Id, Step};
use crate::model::Build;
use indexmap::IndexMap;
use std::sync::Arc;

/// How what is to be bought is reckoned.
pub(super) const NET: &str = "still needed - in the shop - on order, never below zero";

/// A figure that only the ledger of the journal gives.
fn ledger(name: &'static str, value: f64, says: &'static str) -> Figure<Amount> {
    // An empty sum of floats is -0.
    Figure::new(name, Range::exact(value + 0.0), Because::Counted(says.into()))
}

/// A line with what is there and what is on order, and what is to be bought of what is left.
fn netted(line: StockLine, left: Option<Figure<Amount>>, shop: &InShop<'_>) -> StockLine {
    let (stock, ordered) = (shop.of(&line.id), shop.ordered(&line.id));
    let buy = left.as_ref().map(|left| {
        let there = stock.iter().chain(&ordered);
        let have =
            |end: fn(Range) -> f64| there.clone().map(|f| end(f.node().range())).sum::<f64>();
        let range = left.node().range();
        let range = Range {
            low: (range.low - have(|r| r.high)).max(0.0),
            likely: (range.likely - have(|r| r.likely)).max(0.0),
            high: (range.high - have(|r| r.low)).max(0.0),
        };
        let nodes = std::iter::once(left).chain(there.clone()).map(|f| f.node().clone()).collect();
        let because = Because::Closed(NET, nodes);
        Figure::new("to buy", range, because).in_kind(left.node().kind())
    });
    StockLine { left, stock, ordered, buy, ..line }
}

/// Moulds with castings of the same parts.
pub(super) struct Moulds<'a> {
    /// The parts; the first leads.
    parts: Vec<usize>,
    /// The figures of one.
    each: &'a MouldEstimate,
    /// How many in all.
    in_all: u32,
    /// How many are still to be rammed.
    to_come: u32,
}

/// The moulds of the build.
pub(super) fn moulds<'a>(build: &Build, estimates: &'a Estimates) -> Vec<Moulds<'a>> {
    let quantity = |i: usize| build.parts[i].given.quantity;
    let missing = |i: usize| build.to_cast(i);
    let mut count: IndexMap<Vec<usize>, [u32; 2]> = IndexMap::new();
    for (which, moulds) in
        [estimates.moulds(build, quantity), estimates.moulds(build, missing)].iter().enumerate()
    {
        for lots in moulds {
            let parts = lots.iter().map(|(i, _)| *i).collect();
            count.entry(parts).or_default()[which] += 1;
        }
    }
    let moulds = count.into_iter().filter_map(|(parts, [in_all, to_come])| {
        let lots: Vec<(usize, u32)> = parts.iter().map(|i| (*i, 1)).collect();
        Some(Moulds { each: estimates.mould(build, &lots)?, parts, in_all, to_come })
    });
    moulds.collect()
}

/// Sums a figure of each mould over the build: in all, and what is left.
fn over_moulds(
    build: &Build,
    moulds: &[Moulds<'_>],
    figure: impl Fn(&MouldEstimate) -> Option<Figure<Amount>>,
) -> (Option<Figure<Amount>>, Option<Figure<Amount>>) {
    let (mut all, mut left) = (Vec::new(), Vec::new());
    for mould in moulds {
        let Some(each) = figure(mould.each) else { continue };
        let ids: Vec<&str> = mould.parts.iter().map(|i| &**build.parts[*i].id()).collect();
        let times = |n: u32| {
            let name = format!("{}: {n} x mould", ids.join("+"));
            let range = each.node().range().map(|v| v * f64::from(n));
            let because =
                Because::Closed("moulds x figure of one mould", vec![each.node().clone()]);
            Figure::new(name, range, because).in_kind(each.node().kind())
        };
        all.extend((mould.in_all > 0).then(|| times(mould.in_all)));
        left.extend((mould.to_come > 0).then(|| times(mould.to_come)));
    }
    let none = all.is_empty();
    let in_all = Figure::sum("needed in all", &all);
    let kind = in_all.as_ref().map_or(Kind::Mass, |f| f.node().kind());
    let zero =
        || (!none).then(|| ledger("still needed", 0.0, "every mould is rammed").in_kind(kind));
    (in_all, Figure::sum("still needed", &left).or_else(zero))
}

/// Metal, one line an alloy.
pub(super) fn metal(build: &Build, moulds: &[Moulds<'_>], shop: &InShop<'_>) -> Vec<StockLine> {
    let line = |alloy: &Alloy| {
        let (in_all, left) = over_moulds(build, moulds, |m| mass_of(m, &alloy.id, Use::Metal));
        let heats = build.history.heats.values();
        let charged = heats
            .filter(|h| h.poured.alloy.value == alloy.id)
            .flat_map(|h| h.poured.charge.values())
            .map(Figure::si);
        let charged =
            ledger("charged so far", charged.sum(), "all charge lines of the journal's heats");
        let line = StockLine {
            in_all,
            used: Some(charged),
            note: Some("as if no gate, feeder or scrapped casting were melted again; with returns it is less".into()),
            ..StockLine::new(alloy.id.clone(), alloy.title.clone())
        };
        netted(line, left, shop)
    };
    build.alloys().into_iter().map(line).collect()
}

/// How much of a stock a mould takes for this use, as far as that is known.
fn mass_of(mould: &MouldEstimate, of: &Id, what: Use) -> Option<Figure<Amount>> {
    let takes = mould.takes.iter().filter(|t| t.what == what && t.of == *of);
    let known: Vec<_> = takes.filter_map(|t| t.amount.clone().ok()).collect();
    match (known.as_slice(), what) {
        ([one], _) => Some(one.clone()),
        (many, Use::Sand) => Figure::sum("sand of mould and cores", many),
        (many, _) => Figure::sum("taken by the mould", many),
    }
}

/// Sand, each with what is mixed into it.
pub(super) fn sand(build: &Build, moulds: &[Moulds<'_>], shop: &InShop<'_>) -> Vec<StockLine> {
    let mut sands: Vec<Arc<Sand>> = Vec::new();
    let cored = moulds.iter().any(|m| m.each.core_sand.is_some());
    let cores = build.core_sand.as_ref().filter(|_| cored);
    for sand in build.patterns.iter().filter_map(|p| p.sand.as_ref()).chain(cores) {
        if !sands.iter().any(|s| s.id == sand.id) {
            sands.push(sand.clone());
        }
    }
    let mut lines: Vec<StockLine> = Vec::new();
    for sand in sands {
        let id = build.sand_stock(&sand);
        let figure = |m: &MouldEstimate| mass_of(m, &id, Use::Sand);
        let (in_all, left) = over_moulds(build, moulds, figure);
        let to_come = moulds.iter().filter(|m| m.to_come > 0);
        let to_come = to_come.filter_map(|m| figure(m.each));
        let largest = to_come.max_by(|a, b| a.si().total_cmp(&b.si()));
        let lost = left.as_ref().zip(sand.loss.as_ref());
        let lost = lost.map(|(left, loss)| share("sand lost", left, loss));
        let heap = match (largest, &lost) {
            (Some(largest), Some(lost)) => {
                Figure::sum("sand to have", &[largest.named("largest mould"), lost.clone()])
            }
            _ => None,
        };
        let line = StockLine {
            in_all: in_all.map(|f| f.named("rammed in all")),
            note: Some(
                "sand is used again: still needed is the largest mould and what is lost on the way"
                    .into(),
            ),
            ..StockLine::new(id, sand.title.clone())
        };
        lines.push(netted(line, heap, shop));
        for (name, _) in sand.additions.iter().filter(|(name, _)| **name != *"water") {
            if !lines.iter().any(|l| l.id == *name) {
                lines.extend(taken(build, moulds, name, shop));
            }
        }
    }
    lines.extend(nameless_cores(build));
    lines
}

/// Cores of a sand that nobody named: how much there is of them, and no figure of mass.
fn nameless_cores(build: &Build) -> Option<StockLine> {
    let volumes: Vec<Figure<Volume>> = build
        .parts
        .iter()
        .filter(|p| build.core_sand.is_none() && p.steps().contains(&Step::Core))
        .filter_map(|p| {
            let each = cores(build, p, p.casting.as_ref()?)?;
            let n = f64::from(p.given.quantity);
            let range = each.node().range().map(|v| v * n);
            Some(Figure::new("cores", range, Because::Counted("pieces x cores".into())))
        })
        .collect();
    let all = Figure::sum("cores", &volumes)?;
    let shown = show(Kind::Volume, all.si(), build.header.units);
    Some(StockLine {
        note: Some(format!(
            "cores of {} {}, {shown} in all, are not counted: name their sand under `shop:`, such as `core-sand: {{kind: baked-sand}}`",
            volumes.len(),
            if volumes.len() == 1 { "part" } else { "parts" },
        )),
        ..StockLine::new("core-sand", "Sand of the cores".into())
    })
}

/// A share of a mass.
fn share(name: &'static str, of: &Figure<Amount>, ratio: &Figure<Ratio>) -> Figure<Amount> {
    let (m, r) = (of.node().range(), ratio.node().range());
    let range = Range { low: m.low * r.low, likely: m.likely * r.likely, high: m.high * r.high };
    Figure::new(
        name,
        range,
        Because::Closed("mass x share", vec![of.node().clone(), ratio.node().clone()]),
    )
}

/// What moulds and melts use up beside metal and sand: fuel first.
pub(super) fn used_up(build: &Build, moulds: &[Moulds<'_>], shop: &InShop<'_>) -> Vec<StockLine> {
    let consumables = build.handbook.consumables.keys();
    let taken = consumables.filter_map(|name| taken(build, moulds, name, shop));
    let for_build = build.handbook.consumables.values().filter_map(|c| for_build(c, shop));
    fuel(build, moulds, shop).into_iter().chain(taken).chain(for_build).collect()
}

/// A line for what is taken once for the whole build. All that ever came counts, used up or not.
fn for_build(consumable: &Consumable, shop: &InShop<'_>) -> Option<StockLine> {
    let Rate::OfBuild(whole) = &consumable.rate else { return None };
    let came = shop.came(&consumable.id);
    let left = whole.less("still needed", came.as_slice());
    let line = StockLine {
        in_all: Some(whole.clone()),
        before: Some(consumable.before),
        ..StockLine::new(consumable.id.clone(), consumable.title.clone())
    };
    let ordered = shop.ordered(&line.id);
    let buy = left.less("to buy", ordered.as_slice());
    Some(StockLine { left: Some(left), stock: came, ordered, buy: Some(buy), ..line })
}

/// A line for what moulds take of one stock; none where no mould takes it.
fn taken(build: &Build, moulds: &[Moulds<'_>], name: &Id, shop: &InShop<'_>) -> Option<StockLine> {
    let (in_all, left) = over_moulds(build, moulds, |m| mass_of(m, name, Use::UsedUp));
    let all = || {
        let each = moulds.iter().flat_map(|m| m.each.takes.iter().map(move |t| (m.to_come, t)));
        each.filter(|(_, t)| t.of == *name && t.what == Use::UsedUp)
    };
    let title = all().next()?.1.title.clone();
    let unknown = || all().filter(|(to_come, t)| t.amount.is_err() && *to_come > 0);
    let lacking = unknown().next().and_then(|(_, t)| t.amount.as_ref().err()).map(|why| {
        let moulds: u32 = unknown().map(|(to_come, _)| to_come).sum();
        let moulds = if moulds == 1 { "1 mould".into() } else { format!("{moulds} moulds") };
        format!("{name}: {moulds} not counted: {why}")
    });
    let made_up = all().any(|(_, t)| t.at == At::ShakingOut);
    let line = StockLine {
        in_all: in_all.filter(|_| !made_up),
        note: (made_up && lacking.is_none())
            .then(|| "for the sand that is lost and made up again".into()),
        lacking,
        ..StockLine::new(name.clone(), title)
    };
    Some(netted(line, left, shop))
}

fn fuel(build: &Build, moulds: &[Moulds<'_>], shop: &InShop<'_>) -> Option<StockLine> {
    let furnace = build.shop.furnaces.values().next()?;
    let (in_all, left) = over_moulds(build, moulds, |m| m.fuel.as_ref().map(Figure::amount));
    in_all.as_ref()?;
    let burnt: f64 =
        build.history.heats.values().filter_map(|h| h.poured.fuel.as_ref()).map(Figure::si).sum();
    let line = StockLine {
        in_all,
        used: Some(ledger("burnt so far", burnt, "fuel of the journal's heats")),
        note: Some("for each mould melted on its own; heats that share a melt and a warm furnace take less, a cold one more".into()),
        ..StockLine::new(furnace.fuel.clone(), furnace.fuel.clone())
    };
    Some(netted(line, left, shop))
}
