//! What the moulds of a plan use up, for replays in which some of them are made again.

use crate::chance::{Tables, Together, Uncertain};
use crate::estimate::{Estimates, Gone, melt_fuel, warm_up};
use crate::figure::{Amount as So, Figure};
use crate::manifest::Id;
use crate::model::Build;
use crate::plan::Laid;
use std::collections::{BTreeMap, BTreeSet};

/// An amount: of what, what becomes of it, and how much if nothing is lost and all is as likely.
pub(super) type Named = (Id, Gone, f64);

/// Something that is used up by moulds.
#[derive(Debug, Clone, Default)]
pub(super) struct Amount {
    /// What all moulds to come take, in the amount's own unit.
    pub planned: Together,
    /// By part: what a mould of it takes that is made again.
    pub again: Vec<(usize, Uncertain)>,
}

/// Moulds of the same parts that are melted in the same furnace.
struct Batch {
    parts: Vec<usize>,
    furnace: usize,
    moulds: u32,
    /// The part, where castings of it that are lost are made again like these.
    again: Option<usize>,
}

/// The moulds to come, and for each part that may be lost one of it alone, made again: a mould of
/// several patterns is rammed once, and a part of it that is lost by itself.
fn batches(build: &Build, estimates: &Estimates, Laid { work, layout }: &Laid) -> Vec<Batch> {
    let mut furnaces = vec![0; work.moulds.len()];
    for heat in &layout.heats {
        heat.moulds.iter().for_each(|m| furnaces[*m] = heat.furnace);
    }
    let mut count: BTreeMap<(Vec<usize>, usize), u32> = BTreeMap::new();
    let mut lost: BTreeMap<usize, usize> = BTreeMap::new();
    for (m, &furnace) in work.moulds.iter().zip(&furnaces) {
        let held = || std::iter::once(m.part).chain(m.others.iter().map(|(i, _)| *i));
        let shared = estimates.shared(build, held()).map(|s| s.parts.clone());
        *count.entry((shared.unwrap_or_else(|| vec![m.part]), furnace)).or_default() += 1;
        held().for_each(|part| {
            lost.entry(part).or_insert(furnace);
        });
    }
    for part in 0..build.parts.len() {
        let pieces = build.history.pieces(part);
        if pieces.poured + pieces.shaken_out + pieces.reworked > 0 {
            lost.entry(part).or_insert(0);
        }
    }
    lost.iter().for_each(|(part, furnace)| {
        count.entry((vec![*part], *furnace)).or_default();
    });
    let batch = |((parts, furnace), moulds): ((Vec<usize>, usize), u32)| {
        let again = parts.first().copied().filter(|_| parts.len() == 1);
        let again = again.filter(|part| lost.get(part) == Some(&furnace));
        Batch { parts, furnace, moulds, again }
    };
    count.into_iter().map(batch).collect()
}

/// What moulds use up: metal charged and lost by alloy, sand lost, fuel, and all else they take. A
/// mould made again takes all of it once more, and a melt of its own in a furnace that is cold; of
/// several furnaces in which its part is melted, each may be the one, and every fuel is told for that.
pub(super) fn amounts(
    build: &Build,
    estimates: &Estimates,
    laid: &Laid,
    tables: &mut Tables,
) -> (Vec<Amount>, Vec<Named>) {
    let mut out: Vec<(Named, Amount)> = Vec::new();
    let mut add = |(name, what): (Id, Gone),
                   each: Option<(&Figure<So>, f64)>,
                   moulds: u32,
                   again: Option<usize>| {
        let Some((figure, share)) = each else { return };
        let each = {
            let range = figure.node().range();
            tables.pert([range.low, range.likely, range.high].map(|v| v * share))
        };
        let found = out.iter().position(|(k, _)| k.0 == name && k.1 == what);
        let place = found.unwrap_or_else(|| {
            out.push(((name, what, 0.0), Amount::default()));
            out.len() - 1
        });
        out[place].0.2 += figure.si() * share * f64::from(moulds);
        out[place].1.planned.add(&each, moulds);
        out[place].1.again.extend(again.map(|part| (part, each)));
    };
    let warm = |furnace: &Id| warm_up(build, furnace);
    let burnt = |fuel: &Id| {
        let mut same = build.shop.furnaces.iter().filter(|(_, f)| f.fuel == *fuel);
        let what = match same.all(|(id, _)| warm(id).is_some()) {
            true => Gone::Burnt,
            false => Gone::BurntWarm,
        };
        (fuel.clone(), what)
    };
    // Furnaces that are warmed: for each heat of the plan that finds its furnace cold, and for a mould
    // made again.
    let lit = laid.layout.heats.iter().filter(|h| !h.hot);
    let named = lit.filter_map(|h| build.shop.furnaces.get_index(h.furnace));
    let mut cold: Vec<(&Id, u32, Option<usize>)> = named.map(|(id, _)| (id, 1, None)).collect();
    let mut told: BTreeSet<(usize, &Id)> = BTreeSet::new();
    for batch in batches(build, estimates, laid) {
        let Batch { parts, furnace, moulds, again } = batch;
        let held: Vec<(usize, u32)> = parts.iter().map(|i| (*i, 1)).collect();
        let Some(mould) = estimates.mould(build, &held) else { continue };
        for takes in &mould.takes {
            let Ok(amount) = &takes.amount else { continue };
            for (gone, share) in takes.gone() {
                add((takes.of.clone(), gone), Some((amount, share)), moulds, again);
            }
        }
        let Some((id, furnace)) = build.shop.furnaces.get_index(furnace) else { continue };
        let heat = mould.melt_heat.as_ref();
        let melt = heat.and_then(|h| melt_fuel(build, id, h)).map(|f| f.amount());
        let (fuel, what) = burnt(&furnace.fuel);
        let again = parts
            .first()
            .copied()
            .filter(|part| parts.len() == 1 && told.insert((*part, &furnace.fuel)));
        add((fuel, what), melt.as_ref().map(|f| (f, 1.0)), moulds, again);
        if again.is_some() {
            cold.push((id, 0, again));
        }
    }
    for (furnace, times, again) in cold {
        let fuel = burnt(&build.shop.furnaces[furnace].fuel);
        add(fuel, warm(furnace).map(|f| f.amount()).as_ref().map(|f| (f, 1.0)), times, again);
    }
    out.sort_by_key(|((_, gone, _), _)| *gone);
    out.into_iter().map(|(name, amount)| (amount, name)).unzip()
}
