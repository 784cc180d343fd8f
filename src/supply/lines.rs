//! The lines of the bill by summing up mould after mould; the plan, where there is one, knows better.

use super::bill::StockLine;
use crate::build::Build;
use crate::estimate::{At, CastingEstimate, Estimates, Takes};
use crate::figure::{Because, Figure, Kind, Mass, Range, Ratio, Volume, show};
use crate::handbook::{Alloy, Sand};
use crate::manifest::{Id, Step};
use std::sync::Arc;

/// A figure that only the ledger of the journal gives.
fn ledger(name: &'static str, value: f64, says: &'static str) -> Figure<Mass> {
    // An empty sum of floats is -0.
    Figure::new(name, Range::exact(value + 0.0), Because::Counted(says.into()))
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

/// Moulds of a part in all, and those still to be rammed.
fn moulds(build: &Build, part: usize, estimate: &CastingEstimate) -> (u32, u32) {
    let p = build.history.pieces(part);
    let quantity = build.parts[part].given.quantity;
    let missing = quantity.saturating_sub(p.good() + p.under_way());
    (estimate.moulds, missing.div_ceil(estimate.mould.cavities))
}

/// Sums a figure of each mould over the build: in all, and what is left.
fn over_moulds(
    build: &Build,
    estimates: &Estimates,
    figure: impl Fn(usize, &CastingEstimate) -> Option<Figure<Mass>>,
) -> (Option<Figure<Mass>>, Option<Figure<Mass>>) {
    let (mut all, mut left) = (Vec::new(), Vec::new());
    for (i, estimate) in estimates.castings.iter().enumerate() {
        let Some(estimate) = estimate.as_ref() else { continue };
        let Some(each) = figure(i, estimate) else { continue };
        let (in_all, to_go) = moulds(build, i, estimate);
        let times = |n: u32| {
            let name = format!("{}: {n} x mould", build.parts[i].id());
            let range = each.node().range().map(|v| v * f64::from(n));
            Figure::new(
                name,
                range,
                Because::Closed("moulds x figure of one mould", vec![each.node().clone()]),
            )
        };
        all.push(times(in_all));
        if to_go > 0 {
            left.push(times(to_go));
        }
    }
    let none = all.is_empty();
    let zero = || (!none).then(|| ledger("still needed", 0.0, "every mould is rammed"));
    (Figure::sum("needed in all", &all), Figure::sum("still needed", &left).or_else(zero))
}

/// Metal, one line an alloy.
pub(super) fn metal(build: &Build, estimates: &Estimates) -> Vec<StockLine> {
    let mut alloys: Vec<&Arc<Alloy>> = Vec::new();
    for casting in build.parts.iter().filter_map(|p| p.casting.as_ref()) {
        if !alloys.iter().any(|a| a.id == casting.alloy.id) {
            alloys.push(&casting.alloy);
        }
    }
    let line = |alloy: &Arc<Alloy>| {
        let of_alloy =
            |i: usize| build.parts[i].casting.as_ref().is_some_and(|c| c.alloy.id == alloy.id);
        let (in_all, left) =
            over_moulds(build, estimates, |i, e| e.mould.charge.clone().filter(|_| of_alloy(i)));
        let heats = build.history.heats.values();
        let charged = heats
            .filter(|h| h.poured.alloy.value == alloy.id)
            .flat_map(|h| h.poured.charge.values())
            .map(Figure::si);
        let charged =
            ledger("charged so far", charged.sum(), "all charge lines of the journal's heats");
        let stock = in_shop(build, &alloy.id);
        StockLine {
            in_all,
            used: Some(charged),
            buy: shortfall(&left, &stock),
            left,
            stock,
            note: Some("as if no gate, feeder or scrapped casting were melted again; with returns it is less".into()),
            ..StockLine::new(alloy.id.clone(), alloy.title.clone())
        }
    };
    alloys.into_iter().map(line).collect()
}

/// Sand of a mould and of its cores, as far as it is of this kind.
fn sand_of(build: &Build, sand: &Sand, part: usize, e: &CastingEstimate) -> Option<Figure<Mass>> {
    let casting = build.parts[part].casting.as_ref()?;
    let is = |s: &Option<Arc<Sand>>| s.as_ref().is_some_and(|s| s.id == sand.id);
    let rammed = e.mould.sand.clone().filter(|_| is(&build.patterns[casting.pattern].sand));
    let cores = e.mould.core_sand.clone().filter(|_| is(&build.core_sand));
    match (rammed, cores) {
        (Some(rammed), Some(cores)) => Figure::sum("sand of mould and cores", &[rammed, cores]),
        (rammed, cores) => rammed.or(cores),
    }
}

/// Sand, each with what is mixed into it.
pub(super) fn sand(build: &Build, estimates: &Estimates) -> Vec<StockLine> {
    let mut sands: Vec<Arc<Sand>> = Vec::new();
    let cored = estimates.castings.iter().flatten().any(|e| e.mould.core_sand.is_some());
    let cores = build.core_sand.as_ref().filter(|_| cored);
    for sand in build.patterns.iter().filter_map(|p| p.sand.as_ref()).chain(cores) {
        if !sands.iter().any(|s| s.id == sand.id) {
            sands.push(sand.clone());
        }
    }
    let mut lines: Vec<StockLine> = Vec::new();
    for sand in sands {
        let figure = |i: usize, e: &CastingEstimate| sand_of(build, &sand, i, e);
        let (in_all, left) = over_moulds(build, estimates, figure);
        let to_come = estimates.castings.iter().enumerate().filter_map(|(i, e)| {
            let e = e.as_ref().filter(|e| moulds(build, i, e).1 > 0)?;
            figure(i, e)
        });
        let largest = to_come.max_by(|a, b| a.si().total_cmp(&b.si()));
        let lost = left.as_ref().zip(sand.loss.as_ref());
        let lost = lost.map(|(left, loss)| share("sand lost", left, loss));
        let heap = match (largest, &lost) {
            (Some(largest), Some(lost)) => {
                Figure::sum("sand to have", &[largest.named("largest mould"), lost.clone()])
            }
            _ => None,
        };
        let id = build.sand_stock(&sand);
        let stock = in_shop(build, &id);
        lines.push(StockLine {
            in_all: in_all.map(|f| f.named("rammed in all")),
            buy: shortfall(&heap, &stock),
            left: heap,
            stock,
            note: Some(
                "sand is used again: still needed is the largest mould and what is lost on the way"
                    .into(),
            ),
            ..StockLine::new(id, sand.title.clone())
        });
        for (name, _) in sand.additions.iter().filter(|(name, _)| **name != *"water") {
            if !lines.iter().any(|l| l.id == *name) {
                lines.extend(taken(build, estimates, name));
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
            let each = p.casting.as_ref()?.given.cores.as_ref()?;
            let n = f64::from(p.given.quantity);
            let range = each.node().range().map(|v| v * n);
            Some(Figure::new("cores", range, Because::Counted("pieces x cores".into())))
        })
        .collect();
    let all = Figure::sum("cores", &volumes)?;
    let shown = show(Kind::Volume, all.si(), build.header.units);
    Some(StockLine {
        note: Some(format!(
            "cores of {} {}, {shown} in all, are not reckoned: name their sand under `shop:`, such as `core-sand: {{kind: baked-sand}}`",
            volumes.len(),
            if volumes.len() == 1 { "part" } else { "parts" },
        )),
        ..StockLine::new("core-sand", "Sand of the cores".into())
    })
}

/// A share of a mass.
fn share(name: &'static str, of: &Figure<Mass>, ratio: &Figure<Ratio>) -> Figure<Mass> {
    let (m, r) = (of.node().range(), ratio.node().range());
    let range = Range { low: m.low * r.low, likely: m.likely * r.likely, high: m.high * r.high };
    Figure::new(
        name,
        range,
        Because::Closed("mass x share", vec![of.node().clone(), ratio.node().clone()]),
    )
}

/// What moulds and melts use up beside metal and sand: fuel first.
pub(super) fn used_up(build: &Build, estimates: &Estimates) -> Vec<StockLine> {
    let consumables = build.handbook.consumables.keys();
    let taken = consumables.filter_map(|name| taken(build, estimates, name));
    fuel(build, estimates).into_iter().chain(taken).collect()
}

/// A line for what moulds take of one stock; none where no mould takes it.
fn taken(build: &Build, estimates: &Estimates, name: &Id) -> Option<StockLine> {
    let of = |e: &CastingEstimate| -> Vec<Takes> {
        e.mould.takes.iter().filter(|t| t.of == *name).cloned().collect()
    };
    let (in_all, left) = over_moulds(build, estimates, |_, e| {
        let known: Vec<_> = of(e).into_iter().filter_map(|t| t.mass.ok()).collect();
        match known.as_slice() {
            [one] => Some(one.clone()),
            many => Figure::sum("taken by the mould", many),
        }
    });
    let all: Vec<(usize, Takes)> = estimates
        .castings
        .iter()
        .enumerate()
        .flat_map(|(i, e)| e.iter().flat_map(&of).map(move |t| (i, t)).collect::<Vec<_>>())
        .collect();
    let title = all.first()?.1.title.clone();
    let to_come = |i: usize| estimates.castings[i].as_ref().map_or(0, |e| moulds(build, i, e).1);
    let unknown = all.iter().filter(|(i, t)| t.mass.is_err() && to_come(*i) > 0);
    let note = unknown.clone().next().and_then(|(_, t)| t.mass.as_ref().err()).map(|why| {
        let moulds: u32 = unknown.map(|(i, _)| to_come(*i)).sum();
        let moulds = if moulds == 1 { "1 mould".into() } else { format!("{moulds} moulds") };
        format!("{name}: {moulds} not reckoned: {why}")
    });
    let made_up = all.iter().any(|(_, t)| t.at == At::ShakingOut);
    let stock = in_shop(build, name);
    Some(StockLine {
        in_all: in_all.filter(|_| !made_up),
        buy: shortfall(&left, &stock),
        left,
        stock,
        note: note
            .or_else(|| made_up.then(|| "for the sand that is lost and made up again".into())),
        ..StockLine::new(name.clone(), title)
    })
}

fn fuel(build: &Build, estimates: &Estimates) -> Option<StockLine> {
    let furnace = build.shop.furnaces.values().next()?;
    let (in_all, left) = over_moulds(build, estimates, |_, e| e.mould.fuel.clone());
    in_all.as_ref()?;
    let burnt: f64 =
        build.history.heats.values().filter_map(|h| h.poured.fuel.as_ref()).map(Figure::si).sum();
    let stock = in_shop(build, &furnace.fuel);
    Some(StockLine {
        in_all,
        used: Some(ledger("burnt so far", burnt, "fuel of the journal's heats")),
        buy: shortfall(&left, &stock),
        left,
        stock,
        note: Some("for each mould melted on its own; heats that share a melt and a warm furnace take less, a cold one more".into()),
        ..StockLine::new(furnace.fuel.clone(), furnace.fuel.clone())
    })
}
