//! What the journal measured, each value with its entry.

use crate::estimate::{CastingEstimate, Estimates, melt_time, set_up};
use crate::figure::*;
use crate::handbook::formulas::heat;
use crate::journal::{Disposition, Entry, Event, Poured};
use crate::manifest::Difficulty;
use crate::model::{Attempt, Build};
use std::collections::BTreeMap;
use std::sync::Arc;

/// A measured value with the entry it comes from.
pub(super) fn measured(name: String, kind: Kind, value: f64, entry: &Entry) -> Node {
    let because = Because::Measured { on: entry.at.date(), entry: entry.id.clone() };
    Node::new(name, kind, Range::exact(value), because)
}

/// Values by what they are of: an alloy, a furnace, a family.
pub(super) type ByName = BTreeMap<Arc<str>, Vec<Node>>;

fn heats(build: &Build) -> impl Iterator<Item = (&Entry, &Poured)> {
    build.history.log.iter().filter_map(|e| match &e.event {
        Event::Poured(p) => Some((e, p)),
        _ => None,
    })
}

fn charged(poured: &Poured) -> f64 {
    poured.charge.values().map(Figure::si).sum()
}

fn heel(poured: &Poured) -> f64 {
    poured.heel.as_ref().map_or(0.0, Figure::si)
}

/// The estimate of the castings in a mould.
pub(super) fn estimate_of<'e>(
    attempt: &Attempt,
    estimates: &'e Estimates,
) -> Option<&'e CastingEstimate> {
    estimates.castings[attempt.castings.first()?.0].as_ref()
}

/// All the metal that came out of each mould, kg, where it was weighed, with its line in the
/// journal.
pub(super) fn out_of_moulds(build: &Build) -> BTreeMap<&str, (usize, f64)> {
    let each = build.history.log.iter().filter_map(|e| match &e.event {
        Event::ShakenOut(s) => Some((&*s.mould.value, (e.line, s.mass.as_ref()?.si()))),
        _ => None,
    });
    each.collect()
}

/// Share of the charge that was lost, where all the metal out of the moulds was weighed.
pub(super) fn melt_loss(build: &Build) -> ByName {
    let out_of = out_of_moulds(build);
    let mut out = ByName::new();
    for (entry, poured) in heats(build) {
        let each = poured.moulds.iter().map(|m| out_of.get(&*m.value).map(|(_, kg)| kg));
        let metal: Option<f64> = each.sum();
        let charged = charged(poured);
        let Some(metal) = metal.filter(|_| charged > 0.0) else { continue };
        let lost = 1.0 - (metal + heel(poured)) / charged;
        // Less than nothing lost is a slip of the scales.
        if (0.0..0.5).contains(&lost) {
            let name = format!("lost in {}", poured.heat.value);
            let list = out.entry(poured.alloy.value.clone()).or_default();
            list.push(measured(name, Kind::Ratio, lost, entry));
        }
    }
    out
}

/// Castings over the metal that was poured, heat by heat, once all castings were weighed. What
/// was poured is what was charged less heel and the usual loss.
pub(super) fn casting_yield(build: &Build) -> ByName {
    let mut out = ByName::new();
    for (entry, poured) in heats(build) {
        let Some(castings) = build.heat_sum(&poured.heat.value).and_then(|s| s.castings) else {
            continue;
        };
        let loss = build.handbook.alloys.get(&poured.alloy.value);
        let loss = loss.and_then(|a| a.melt_loss.as_ref()).map_or(0.0, Figure::si);
        let share = castings / ((charged(poured) - heel(poured)) * (1.0 - loss));
        if (0.05..1.0).contains(&share) {
            let name = format!("castings over metal, {}", poured.heat.value);
            let list = out.entry(poured.alloy.value.clone()).or_default();
            list.push(measured(name, Kind::Ratio, share, entry));
        }
    }
    out
}

/// Share of the fuel's heat that reached the metal. What warms the furnace for the first heat of a
/// day is left out where its power and warm-up are known, else counted in.
pub(super) fn efficiency(build: &Build) -> ByName {
    let mut out = ByName::new();
    for (entry, poured) in heats(build) {
        let Some(heat) = build.history.heats.get(&poured.heat.value) else { continue };
        let Some(id) = heat.furnace.clone() else { continue };
        let value = (|| {
            let furnace = build.shop.furnaces.get(&id)?;
            let heating = build.handbook.fuels.get(&furnace.fuel)?.as_ref()?;
            let energy = heat_in(build, poured)?;
            let warming = crate::estimate::warm_up(build, &id).filter(|_| !heat.hot);
            let fuel = poured.fuel.as_ref()?.si() - warming.map_or(0.0, |f| f.si());
            Some(energy.si() / (fuel * heating.si()))
        })();
        if let Some(value) = value.filter(|v| (1e-3..1.0).contains(v)) {
            let name = format!("heat in the metal, {}", poured.heat.value);
            out.entry(id).or_default().push(measured(name, Kind::Ratio, value, entry));
        }
    }
    out
}

/// Share of the main sand lost in each use, between two counts of it.
pub(super) fn sand_loss(build: &Build, estimates: &Estimates) -> Vec<Node> {
    let mut out = Vec::new();
    let (mut counted, mut came, mut used): (Option<f64>, f64, f64) = (None, 0.0, 0.0);
    let main = build.sand.as_ref().map(|s| &s.id);
    for entry in &build.history.log {
        match &entry.event {
            Event::Counted(e) if *e.stock.value == *"sand" => {
                let there = e.amount().unwrap_or(0.0);
                if let Some(before) = counted.filter(|_| used > 0.0) {
                    let share = (before + came - there) / used;
                    if (0.0..1.0).contains(&share) {
                        let name = "sand lost between two counts".to_owned();
                        out.push(measured(name, Kind::Ratio, share, entry));
                    }
                }
                (counted, came, used) = (Some(there), 0.0, 0.0);
            }
            Event::Received(e) if e.stock.as_ref().is_some_and(|s| *s.value == *"sand") => {
                came += e.mass.as_ref().map_or(0.0, Figure::si);
            }
            Event::GivenAway(e) if *e.stock.value == *"sand" => came -= e.amount().unwrap_or(0.0),
            Event::Rammed(e) if e.again.is_none() => {
                let attempt = build.history.attempts.get(&e.mould.value);
                let in_main =
                    |a: &&Attempt| build.patterns[a.pattern].sand.as_ref().map(|s| &s.id) == main;
                let mould =
                    attempt.filter(in_main).and_then(|a| estimates.mould(build, &a.castings));
                used += mould.and_then(|m| m.sand.as_ref()).map_or(0.0, Figure::si);
            }
            _ => {}
        }
    }
    out
}

/// Time to ram a volume of flask.
pub(super) fn ramming(build: &Build, estimates: &Estimates) -> Vec<Node> {
    let each = |entry: &Entry| {
        let Event::Rammed(e) = &entry.event else { return None };
        let hours = e.hours.as_ref()?.si();
        let flask = e.flask.as_ref().and_then(|f| build.shop.flask_once(&f.value));
        let volume = match flask {
            Some(f) => f.length.si() * f.width.si() * (f.cope.si() + f.drag.si()),
            None => {
                let attempt = build.history.attempts.get(&e.mould.value)?;
                estimates.mould(build, &attempt.castings)?.flask_volume.as_ref()?.si()
            }
        };
        let name = format!("ramming {}", e.mould.value);
        Some(measured(name, Kind::TimePerVolume, hours / volume, entry))
    };
    build.history.log.iter().filter_map(each).collect()
}

/// Time to fettle a mass of castings, by alloy family: the hours logged for a part over the
/// castings of it that were weighed within three days.
pub(super) fn fettling(build: &Build) -> ByName {
    let mut out = ByName::new();
    for entry in &build.history.log {
        let Event::Done(e) = &entry.event else { continue };
        let Some((part, hours)) = e.part.as_ref().zip(e.hours.as_ref()) else { continue };
        let Some(at) = build.part(&part.value).filter(|_| e.step.word() == "fettle") else {
            continue;
        };
        let near = |f: &&crate::model::Finding| {
            f.part == at
                && (f.at - entry.at).num_hours().abs() <= 72
                && f.disposition != Disposition::Rework
        };
        let findings = build.history.attempts.values().flat_map(|a| a.findings.iter());
        let mass: Option<f64> =
            findings.filter(near).map(|f| Some(f64::from(f.pieces) * f.mass.as_ref()?.si())).sum();
        let family = build.parts[at].casting.as_ref().map(|c| c.alloy.family.word());
        if let (Some(mass), Some(family)) = (mass.filter(|m| *m > 0.0), family) {
            let name = format!("fettling {}", part.value);
            let list = out.entry(family.into()).or_default();
            list.push(measured(name, Kind::TimePerMass, hours.si() / mass, entry));
        }
    }
    out
}

/// What a heat usually takes at the furnace: its time to melt as logged, with setting up before it. A heat
/// that took long for the power of its furnace tells nothing of what is usual.
pub(super) fn melting(build: &Build) -> Vec<Node> {
    let usual = build.handbook.time("melt").map_or(0.0, Figure::si);
    let each = |(entry, poured): (&Entry, &Poured)| {
        let furnace = build.history.heats.get(&poured.heat.value)?.furnace.as_ref()?;
        let furnace = build.shop.furnaces.get(furnace)?;
        let set_up = set_up(build, furnace).map_or(0.0, Figure::si);
        let heat = heat_in(build, poured);
        let slow = heat.and_then(|heat| melt_time(build, furnace, &heat)).map_or(0.0, |t| t.si());
        let time = set_up + poured.melt_time.as_ref()?.si();
        let says = format!("melting {}, setting up counted in", poured.heat.value);
        (set_up + slow < usual).then(|| measured(says, Kind::Time, time, entry))
    };
    heats(build).filter_map(each).collect()
}

/// Heat that the charge of a heat took to its pouring temperature.
fn heat_in(build: &Build, poured: &Poured) -> Option<Figure<Energy>> {
    let alloy = build.handbook.alloys.get(&poured.alloy.value)?;
    let pour = poured.temperature.as_ref().or(alloy.pours.as_ref())?;
    let energy = heat::melt_heat(
        Mass::from_si(charged(poured)),
        alloy.solid_heat.as_ref()?.likely(),
        alloy.latent_heat.as_ref()?.likely(),
        alloy.liquid_heat.as_ref()?.likely(),
        alloy.liquidus.as_ref()?.likely(),
        Temperature::from_si(293.15),
        pour.likely(),
    );
    Some(Figure::counted("heat to melt the charge", energy.si(), "by the charge as logged"))
}

/// Hours that patterns took, by the hardest of the castings that come off them.
pub(super) fn patterns(build: &Build) -> BTreeMap<Difficulty, Vec<Node>> {
    let mut out = BTreeMap::<_, Vec<Node>>::new();
    for entry in &build.history.log {
        let Event::Done(e) = &entry.event else { continue };
        let Some((pattern, hours)) = e.pattern.as_ref().zip(e.hours.as_ref()) else { continue };
        let castings = build.parts.iter().filter_map(|p| p.casting.as_ref());
        let on_it = castings.filter(|c| *build.patterns[c.pattern].id == *pattern.value);
        let Some(hardest) = on_it.map(|c| c.given.difficulty).max() else { continue };
        let name = format!("making {}", pattern.value);
        out.entry(hardest).or_default().push(measured(name, Kind::Time, hours.si(), entry));
    }
    out
}

/// Contraction beyond this is none: the two sizes are not of the same place.
pub(super) const SAME_PLACE: std::ops::Range<f64> = -0.01..0.05;

/// Contraction: a size of the pattern over the same size of the casting, less one.
pub(super) fn contraction(build: &Build) -> ByName {
    let mut out = ByName::new();
    let mut patterns: BTreeMap<(usize, Arc<str>), f64> = BTreeMap::new();
    for entry in &build.history.log {
        match &entry.event {
            Event::Done(e) => {
                let at = e.pattern.as_ref().map(|w| &w.value);
                let at = at.and_then(|id| build.patterns.iter().position(|p| p.id == *id));
                let Some(at) = at else { continue };
                patterns.extend(e.sizes.iter().map(|(name, size)| ((at, name.clone()), size.si())));
            }
            Event::Inspected(e) => {
                let casting =
                    build.part(&e.part.value).and_then(|p| build.parts[p].casting.as_ref());
                let Some(casting) = casting else { continue };
                for (name, size) in &e.sizes {
                    let key = (casting.pattern, name.clone());
                    let Some(value) = patterns.get(&key).map(|p| p / size.si() - 1.0) else {
                        continue;
                    };
                    if SAME_PLACE.contains(&value) {
                        let list = out.entry(casting.alloy.id.clone()).or_default();
                        let name = format!("{name} of {}", e.part.value);
                        list.push(measured(name, Kind::Ratio, value, entry));
                    }
                }
            }
            _ => {}
        }
    }
    out
}

/// Time in the mould over the time reckoned for it, and mould constants from castings that were
/// timed until they were frozen, by alloy.
pub(super) fn cooling(build: &Build, estimates: &Estimates) -> (ByName, ByName) {
    let (mut left, mut constants) = (ByName::new(), ByName::new());
    for entry in &build.history.log {
        let Event::ShakenOut(e) = &entry.event else { continue };
        let Some(attempt) = build.history.attempts.get(&e.mould.value) else { continue };
        let part = attempt.castings.first().and_then(|(p, _)| build.parts[*p].casting.as_ref());
        let Some((casting, estimate)) = part.zip(estimate_of(attempt, estimates)) else { continue };
        let freezing = &estimate.freezing;
        let alloy = casting.alloy.id.clone();
        if let (Some(after), Some(reckoned)) = (&e.after, &freezing.shake_out_after) {
            let name = format!("{} in the mould", e.mould.value);
            let ratio = after.si() / reckoned.si();
            left.entry(alloy.clone()).or_default().push(measured(name, Kind::Number, ratio, entry));
        }
        let reckoned = freezing.freezes_last.as_ref().or(freezing.freezing_time.as_ref());
        if let (Some(frozen), Some(reckoned), Some(constant)) =
            (&e.frozen, reckoned, &freezing.mould_constant)
        {
            let name = format!("from {} frozen", e.mould.value);
            let value = constant.si() * frozen.si() / reckoned.si();
            constants.entry(alloy).or_default().push(measured(
                name,
                Kind::TimePerArea,
                value,
                entry,
            ));
        }
    }
    (left, constants)
}

/// Moulds decided on and moulds with a scrapped casting, by difficulty, as entries.
pub(super) fn scrap(build: &Build) -> BTreeMap<Difficulty, (Vec<Node>, u32)> {
    let mut out: BTreeMap<_, (Vec<Node>, u32)> = BTreeMap::new();
    let mut seen: std::collections::BTreeSet<(&str, usize)> = std::collections::BTreeSet::new();
    for entry in &build.history.log {
        let Event::Inspected(e) = &entry.event else { continue };
        let Some(at) = build.part(&e.part.value) else { continue };
        let (Some(attempt), Some(casting)) =
            (build.history.attempts.get(&e.mould.value), build.parts[at].casting.as_ref())
        else {
            continue;
        };
        let findings = || attempt.findings.iter().filter(|f| f.part == at);
        let decided = findings().any(|f| f.disposition != Disposition::Rework);
        if !decided || !seen.insert((&attempt.mould, at)) {
            continue;
        }
        let lost = findings().any(|f| f.disposition == Disposition::Scrap);
        let (nodes, failed) = out.entry(casting.given.difficulty).or_default();
        let word = if lost { "scrapped" } else { "good" };
        let name = format!("{} from {}: {word}", e.part.value, attempt.mould);
        nodes.push(measured(name, Kind::Number, f64::from(u8::from(lost)), entry));
        *failed += u32::from(lost);
    }
    out
}
