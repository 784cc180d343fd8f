//! What was measured and lies far from what was reckoned: a slip of the scales, of a unit or of a
//! part, or an estimate to correct.

use super::measure::{SAME_PLACE, out_of_moulds};
use crate::estimate::Estimates;
use crate::figure::{Figure, Kind, show};
use crate::journal::{Event, Inspected, Remark, ShakenOut};
use crate::model::Build;
use std::collections::BTreeMap;
use std::sync::Arc;

/// A mass is far from its estimate by more than this share below the least or above the most.
const FAR: f64 = 0.25;

/// More than the charge by this share came out of the moulds: beyond what scales err.
const GAINED: f64 = 0.03;

/// Whether an entry holds a measurement that [`far`] looks at.
pub fn measures(event: &Event) -> bool {
    match event {
        Event::Inspected(e) => e.mass.is_some() || !e.sizes.is_empty(),
        Event::ShakenOut(_) => true,
        _ => false,
    }
}

/// What lies far from its estimate, with its line in the journal.
pub fn far(build: &Build, estimates: &Estimates) -> Vec<Remark> {
    let mut out = Vec::new();
    let mut patterns: BTreeMap<(usize, Arc<str>), f64> = BTreeMap::new();
    for entry in &build.history.log {
        let mut odd = |says: String| out.push(Remark::at(entry.line, says));
        match &entry.event {
            Event::Done(e) => {
                let at = e.pattern.as_ref().map(|w| &w.value);
                let at = at.and_then(|id| build.patterns.iter().position(|p| p.id == *id));
                let sizes = e.sizes.iter().map(|(name, size)| (name.clone(), size.si()));
                patterns.extend(
                    at.into_iter()
                        .flat_map(|at| sizes.clone().map(move |(name, size)| ((at, name), size))),
                );
            }
            Event::Inspected(e) => {
                weighed(build, estimates, e).into_iter().for_each(&mut odd);
                sized(build, &patterns, e).into_iter().for_each(odd);
            }
            Event::ShakenOut(e) => opened(build, estimates, e).into_iter().for_each(odd),
            _ => {}
        }
    }
    out.extend(gained(build));
    out
}

/// A mould opened before its castings were surely solid, by the time that plan and sheets hold to.
fn opened(build: &Build, estimates: &Estimates, e: &ShakenOut) -> Option<String> {
    let attempt = build.history.attempts.get(&e.mould.value)?;
    let (poured, out) = (attempt.poured.as_ref()?.1, attempt.shaken_out?);
    let after = e.after.as_ref().map_or((out - poured).num_seconds() as f64, Figure::si);
    let wanted =
        estimates.opened_not_before(attempt.castings.iter().map(|(part, _)| *part))?.high();
    let shown = |s| show(Kind::Time, s, build.header.units);
    (0.0 < after && after < wanted).then(|| {
        format!(
            "`{}` was opened {} after it was poured, not before {} was safe: a casting that is not solid throughout burns and tears",
            e.mould.value,
            shown(after),
            shown(wanted)
        )
    })
}

/// A casting far lighter or heavier than its estimate.
fn weighed(build: &Build, estimates: &Estimates, e: &Inspected) -> Option<String> {
    let weighed = e.mass.as_ref()?.node().range();
    let part = build.part(&e.part.value)?;
    let reckoned = estimates.castings[part].as_ref()?.size.rough_mass.as_ref()?.node().range();
    let least = reckoned.low * (1.0 - FAR);
    let most = reckoned.high * (1.0 + FAR);
    if weighed.high >= least && weighed.low <= most {
        return None;
    }
    let shown = |kg| show(Kind::Mass, kg, build.header.units);
    Some(format!(
        "`{}` weighs {}, but its estimate as cast is {} to {}; off by more than {:.0} %",
        e.part.value,
        shown(weighed.likely),
        shown(reckoned.low),
        shown(reckoned.high),
        FAR * 100.0
    ))
}

/// Sizes of a casting that cannot be of the same place as those of its pattern.
fn sized(build: &Build, patterns: &BTreeMap<(usize, Arc<str>), f64>, e: &Inspected) -> Vec<String> {
    let casting = build.part(&e.part.value).and_then(|p| build.parts[p].casting.as_ref());
    let Some(casting) = casting else { return Vec::new() };
    let shown = |m| show(Kind::Length, m, build.header.units);
    let each = e.sizes.iter().filter_map(|(name, size)| {
        let pattern = *patterns.get(&(casting.pattern, name.clone()))?;
        let contraction = pattern / size.si() - 1.0;
        (!SAME_PLACE.contains(&contraction)).then(|| {
            format!(
                "`{name}` is {} on the casting and {} on the pattern, too far apart for contraction; nothing is learned from it",
                shown(size.si()),
                shown(pattern)
            )
        })
    });
    each.collect()
}

/// Heats out of which came more than went in.
fn gained(build: &Build) -> Vec<Remark> {
    let out_of = out_of_moulds(build);
    let mut out = Vec::new();
    for heat in build.history.heats.values() {
        let poured = &heat.poured;
        let charged: f64 = poured.charge.values().map(Figure::si).sum();
        let heel = poured.heel.as_ref().map_or(0.0, Figure::si);
        let weighed = poured.moulds.iter().filter_map(|m| out_of.get(&*m.value));
        let metal: f64 = weighed.clone().map(|(_, kg)| kg).sum();
        let last = weighed.map(|(line, _)| *line).max();
        if let Some(line) =
            last.filter(|_| charged > 0.0 && metal + heel > charged * (1.0 + GAINED))
        {
            let shown = |kg| show(Kind::Mass, kg, build.header.units);
            let left = match heel > 0.0 {
                true => format!(" and {} stayed in the crucible", shown(heel)),
                false => String::new(),
            };
            let says = format!(
                "{} came out of the moulds of heat `{}`{left}, and {} was charged",
                shown(metal),
                poured.heat.value,
                shown(charged)
            );
            out.push(Remark::at(line, says));
        }
    }
    out
}
