//! The freezing of a casting: text, JSON and a picture.

mod picture;

pub use picture::picture;

use super::Head;
use super::text::Look;
use crate::estimate::FreezingEstimate;
use crate::figure::{Figure, Kind, System, show};
use crate::freezing::{Feeding, Frozen, Setup};
use crate::handbook::Family;
use crate::model::Build;
use serde::Serialize;

/// The freezing of a casting as it is shown.
#[derive(Debug, Clone, Serialize)]
pub struct FreezingView {
    /// Which build.
    #[serde(flatten)]
    pub head: Head,
    /// The part.
    pub part: String,
    /// Its metal.
    pub alloy: String,
    /// Its sand.
    pub sand: String,
    /// What heat flow says, SI.
    #[serde(flatten)]
    pub frozen: Frozen,
    /// How sure the feeding is: `fed`, `cut off` or `depends on the sand`; none without feeders.
    pub verdict: Option<&'static str>,
    /// What the rule of thumb says, s: low, likely and high.
    pub rule_of_thumb: Option<[f64; 3]>,
    /// What to know when reading it.
    pub notes: Vec<String>,
    #[serde(skip)]
    units: System,
}

impl FreezingView {
    /// Of a part.
    pub fn new(
        build: &Build,
        part: &str,
        setup: &Setup,
        frozen: &Frozen,
        rule: &FreezingEstimate,
    ) -> Self {
        let rule = rule.freezes_last.as_ref().or(rule.freezing_time.as_ref());
        Self {
            head: Head::new(build),
            part: part.to_owned(),
            alloy: setup.alloy.title.to_string(),
            sand: setup.sand.title.to_string(),
            frozen: frozen.clone(),
            verdict: frozen.feeding.as_ref().map(Feeding::verdict),
            rule_of_thumb: rule.map(|f: &Figure<_>| [f.node().range().low, f.si(), f.high()]),
            notes: notes(setup, frozen),
            units: build.header.units,
        }
    }

    fn time(&self, s: f64) -> String {
        show(Kind::Time, s, self.units)
    }

    fn range(&self, [low, likely, high]: [f64; 3]) -> String {
        format!("{} ({} to {})", self.time(likely), self.time(low), self.time(high))
    }

    fn place(&self, place: [f64; 3]) -> String {
        place.map(|x| show(Kind::Length, x, self.units)).join(", ")
    }

    /// As text.
    pub fn text(&self, look: &Look) -> String {
        let f = &self.frozen;
        let mut out = self.head.text() + "\n";
        out +=
            &look.heading(&format!("{}: freezing of {} in {}", self.part, self.alloy, self.sand));
        let mut line = |name: &str, says: String| {
            out += &look.wrapped_from(&format!("{name:<18}{says}"), 18);
        };
        line("solid after", self.range(f.solid));
        line("of that cells", format!("{} either way, in the likely run", self.time(f.cells_off)));
        if let Some(rule) = self.rule_of_thumb {
            line("rule of thumb", self.range(rule));
        }
        if let [Some(fast), Some(likely), Some(slow)] = f.shake_out {
            line("shake out after", self.range([fast, likely, slow]));
        }
        line("last to freeze", format!("at {}", self.place(f.last)));
        for (i, spot) in f.places.iter().enumerate().take(MOST_PLACES) {
            let name = if i == 0 { "late places" } else { "" };
            let until = self.time(spot.feeds_until);
            line(name, format!("{}, feeds until {until}", self.place(spot.place)));
        }
        if let Some(feeding) = &f.feeding {
            self.feeding(feeding, &mut line);
        }
        if let Some(n) = f.niyama {
            let [low, middle, high] = n.map(|n| format!("{:.2}", n / 1e3));
            line(
                "Niyama criterion",
                format!(
                    "{middle} ({low} to {high}) (K s)^1/2/mm; a ranking of places, no verdict but for steel"
                ),
            );
        }
        line(
            "cells",
            format!(
                "{} of {}, {} of them metal, {:.1} across the ruling wall of {}; heat unaccounted for {:.0e}",
                f.cells[0],
                show(Kind::Length, f.cell, self.units),
                f.cells[1],
                f.ruling / f.cell,
                show(Kind::Length, f.ruling, self.units),
                f.unaccounted
            ),
        );
        for note in &self.notes {
            out += &look.wrapped(&format!("* {note}"), 2);
            out += "\n";
        }
        out
    }

    fn feeding(&self, feeding: &Feeding, line: &mut impl FnMut(&str, String)) {
        let [fast, likely, slow] = feeding.cut_off.map(|s| show(Kind::Ratio, s, self.units));
        line(
            "feeding",
            format!(
                "{}: {likely} of the metal is cut off from the feeders ({fast} in the fast run, {slow} in the slow one)",
                feeding.verdict()
            ),
        );
        for foot in &feeding.feet {
            line("", format!("feeder at {}", self.place(*foot)));
        }
        let [casting, neck, feeder] = feeding.closes.map(|t| self.time(t));
        line("feeds until", format!("casting {casting}, neck {neck}, feeder {feeder}"));
        for pocket in feeding.pockets.iter().take(MOST_PLACES) {
            line(
                "cut off",
                format!(
                    "{} at {}, from {} to {}",
                    show(Kind::Volume, pocket.volume, self.units),
                    self.place(pocket.place),
                    self.time(pocket.cut_off),
                    self.time(pocket.last)
                ),
            );
        }
    }
}

/// Most places told in text; JSON has all.
const MOST_PLACES: usize = 4;

fn notes(setup: &Setup, frozen: &Frozen) -> Vec<String> {
    let mut notes = vec![
        "Range: sand that takes up the most heat, moist where it holds water, to the least with bad contact. Time a casting (`froze-in:`) to know your sand.".to_owned(),
        "Conduction only, the body as drawn, z up, with its feeders on top: no flow, no gas, no moving mould wall, no gating, no machining stock.".to_owned(),
    ];
    if setup.alloy.family == Family::Iron {
        notes.push("Grey iron grows as it freezes and feeds itself in part: a pocket is a warning, not a void.".into());
    }
    if setup.alloy.freezing.as_deref() == Some("floating") {
        notes.push("Solid floats in this alloy as it freezes: it freezes from the top, which is not seen here.".into());
    }
    if frozen.ruling / frozen.cell < 3.0 {
        notes.push("The ruling wall has fewer than three cells: too thin for this grid.".into());
    }
    if let Some(f) = frozen.feeding.as_ref().filter(|f| f.feet.len() < f.advised) {
        notes.push(format!(
            "{} of {} feeders have a late place of their own to stand on; the others are left out.",
            f.feet.len(),
            f.advised
        ));
    }
    notes
}
