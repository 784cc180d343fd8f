//! Which entries of the journal a question is about, and what a heat comes to.

use super::Build;
use crate::figure::Figure;
use crate::journal::{Entry, Event};
use chrono::NaiveDate;
use std::collections::BTreeSet;

/// A question to the journal; what is not said does not narrow it.
#[derive(Debug, Clone, Default)]
pub struct Asked {
    /// Index of a part: all that happened to it, from its pattern to its fit.
    pub part: Option<usize>,
    /// A mould, with the heat that filled it.
    pub mould: Option<String>,
    /// A heat, with its moulds.
    pub heat: Option<String>,
    /// A kind of event, such as `poured`.
    pub kind: Option<String>,
    /// From this day on.
    pub from: Option<NaiveDate>,
    /// Up to this day.
    pub to: Option<NaiveDate>,
}

/// What a heat comes to, in kg.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct HeatSum {
    /// All charge lines.
    pub charged: f64,
    /// Left in the crucible.
    pub heel: f64,
    /// Castings out of its moulds, as weighed; none until every one was weighed.
    pub castings: Option<f64>,
    /// Castings over what was charged and not left as heel.
    pub share: Option<f64>,
}

impl Build {
    /// The entries that a question is about, in the order they happened.
    pub fn entries(&self, asked: &Asked) -> Vec<&Entry> {
        let moulds = |of: &dyn Fn(&super::Attempt) -> bool| -> BTreeSet<&str> {
            self.history.attempts.values().filter(|a| of(a)).map(|a| &*a.mould).collect()
        };
        let of_part =
            asked.part.map(|part| moulds(&|a| a.castings.iter().any(|(p, _)| *p == part)));
        let of_heat = asked
            .heat
            .as_ref()
            .map(|heat| moulds(&|a| a.poured.as_ref().is_some_and(|(h, _)| **h == **heat)));
        let touches = |entry: &Entry, among: &BTreeSet<&str>| match &entry.event {
            Event::Poured(e) => e.moulds.iter().any(|m| among.contains(&*m.value)),
            _ => entry.mould().is_some_and(|m| among.contains(m)),
        };
        let about_part = |entry: &Entry, part: usize, among: &BTreeSet<&str>| {
            let id = self.parts[part].id();
            let pattern = self.parts[part].casting.as_ref().map(|c| &self.patterns[c.pattern].id);
            match &entry.event {
                Event::Inspected(e) => e.part.value == *id,
                Event::Done(e) => {
                    e.part.as_ref().is_some_and(|w| w.value == *id)
                        || e.pattern.as_ref().is_some_and(|w| Some(&w.value) == pattern)
                }
                Event::Worked(e) => {
                    e.part.as_ref().is_some_and(|w| w.value == *id)
                        || e.pattern.as_ref().is_some_and(|w| Some(&w.value) == pattern)
                }
                Event::Received(e) => e.part.as_ref().is_some_and(|w| w.value == *id),
                Event::Note(e) if e.part.is_some() => {
                    e.part.as_ref().is_some_and(|w| w.value == *id)
                }
                _ => touches(entry, among),
            }
        };
        let wanted = |entry: &&Entry| {
            let day = entry.at.date();
            asked.from.is_none_or(|from| day >= from)
                && asked.to.is_none_or(|to| day <= to)
                && asked.kind.as_ref().is_none_or(|kind| *kind == entry.event.word())
                && asked.mould.as_ref().is_none_or(|m| touches(entry, &BTreeSet::from([&**m])))
                && of_heat.as_ref().is_none_or(|among| touches(entry, among))
                && asked
                    .part
                    .zip(of_part.as_ref())
                    .is_none_or(|(part, among)| about_part(entry, part, among))
        };
        self.history.log.iter().filter(wanted).collect()
    }

    /// What a heat comes to.
    pub fn heat_sum(&self, heat: &str) -> Option<HeatSum> {
        let poured = &self.history.heats.get(heat)?.poured;
        let charged: f64 = poured.charge.values().map(Figure::si).sum();
        let heel = poured.heel.as_ref().map_or(0.0, Figure::si);
        let castings = poured
            .moulds
            .iter()
            .map(|m| self.history.attempts.get(&m.value)?.castings_mass())
            .sum::<Option<f64>>();
        let share = castings.filter(|_| charged > heel).map(|c| c / (charged - heel));
        Some(HeatSum { charged, heel, castings, share })
    }
}

impl super::Attempt {
    /// Mass of its castings, kg; none until all of them were weighed.
    pub fn castings_mass(&self) -> Option<f64> {
        self.castings
            .iter()
            .map(|(part, pieces)| {
                // A piece that was put right was weighed again: the last weighing counts.
                let mut left = *pieces;
                let mut sum = 0.0;
                let findings = self.findings.iter().rev().filter(|f| f.part == *part);
                for (finding, mass) in findings.filter_map(|f| Some((f, f.mass.as_ref()?))) {
                    let taken = finding.pieces.min(left);
                    sum += f64::from(taken) * mass.si();
                    left -= taken;
                }
                (left == 0).then_some(sum)
            })
            .sum()
    }
}
