//! The freezing of a casting: text, JSON and a picture.

mod list;
mod pair;
mod picture;
mod told;

pub use list::FreezingList;
pub use pair::FreezingPair;
pub use picture::{Picture, Pictured, Section, Shade, picture};
pub use told::{FreezingTold, reckoned};

use super::Head;
use super::text::Look;
use crate::estimate::CastingEstimate;
use crate::figure::{Figure, Kind, System, show};
use crate::freezing::{Feeders, Feeding, Frozen, Ingates, Run, Setup};
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
    /// Solid throughout as it is planned with, s: the runs, drawn to what was timed in this sand.
    pub solid_after: [f64; 3],
    /// When it may be shaken out, by the same, s.
    pub shake_out_after: Option<[f64; 3]>,
    /// Whether a casting was timed in this sand.
    pub timed: bool,
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
        estimate: &CastingEstimate,
    ) -> Self {
        let freezing = &estimate.freezing;
        let rule = freezing.freezes_last.as_ref().or(freezing.freezing_time.as_ref());
        let three = |f: &Figure<_>| [f.node().range().low, f.si(), f.high()];
        let runs = frozen.shake_out.map(|[soon, likely, late]| [soon[0], likely[1], late[2]]);
        // What stands in the estimate is of the casting with its feeders.
        let told = estimate.field.frozen().filter(|kept| ***kept == *frozen);
        let solid = freezing.solid_after.as_ref().filter(|_| told.is_some()).map(three);
        let cool = freezing.shake_out_after.as_ref().filter(|_| told.is_some()).map(three);
        Self {
            head: Head::new(build),
            part: part.to_owned(),
            alloy: setup.alloy.title.to_string(),
            sand: setup.sand.title.to_string(),
            frozen: frozen.clone(),
            verdict: frozen.feeding.as_ref().map(Feeding::verdict),
            timed: solid.is_some_and(|solid| solid != frozen.solid),
            solid_after: solid.unwrap_or(frozen.solid),
            shake_out_after: cool.or(runs),
            rule_of_thumb: rule.map(three),
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
        let mut out = self.head.text(look) + "\n";
        out +=
            &look.heading(&format!("{}: freezing of {} in {}", self.part, self.alloy, self.sand));
        let mut line = |name: &str, says: String| {
            out += &look.wrapped_from(&format!("{name:<18}{says}"), 18);
        };
        line("solid after", self.range(self.solid_after));
        if self.timed {
            let by = |[low, _, high]: [f64; 3]| format!("{:.1}", high / low);
            line(
                "by your clock",
                format!(
                    "castings timed in this sand narrow the range to {} to {} times its low end",
                    by(f.solid),
                    by(self.solid_after)
                ),
            );
        }
        line("from cell size", format!("{} either way, in the likely run", self.time(f.cells_off)));
        if let Some(rule) = self.rule_of_thumb {
            line("rule of thumb", self.range(rule));
        }
        if let Some(cool) = self.shake_out_after {
            line("shake out after", self.range(cool));
        }
        if let Some(sand) = f.sand {
            let [hottest, mean] = sand.map(|c| show(Kind::Temperature, c + 273.15, self.units));
            line(
                "sand by then",
                format!("{mean} in the mean of {SAND_AROUND} round it, {hottest} at its hottest"),
            );
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
        if let Some(way) = f.ingates() {
            line("ingates", self.way_in(way));
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

    fn way_in(&self, way: &Ingates) -> String {
        let at = |i: usize| {
            format!("{} against {}", self.time(way.closes[i]), self.time(way.casting[i]))
        };
        format!("close {}: after {} (fast run {}, slow run {})", way.verdict(), at(1), at(0), at(2))
    }

    fn feeders(&self, f: &Feeders) -> String {
        let [d, h, n, l] = [f.diameter, f.height, f.neck, f.neck_length]
            .map(|size| show(Kind::Length, size, self.units));
        format!("{} of {d} x {h} on a neck of {n} x {l}", f.number)
    }

    fn feeding(&self, feeding: &Feeding, line: &mut impl FnMut(&str, String)) {
        line("feeding", feeding.verdict().to_owned());
        line("unfed", feeding.unfed(self.units));
        let metal = |f: &Feeders| show(Kind::Volume, f.volume(), self.units);
        line(
            "feeders",
            format!(
                "{}: {} in feeders and necks, by {} trials; by the rule of thumb {}: {}, and {} cut off",
                self.feeders(&feeding.feeders),
                metal(&feeding.feeders),
                feeding.tries,
                self.feeders(&feeding.rule),
                metal(&feeding.rule),
                show(Kind::Ratio, feeding.rule_cut_off, self.units)
            ),
        );
        for foot in &feeding.feet {
            line("", format!("feeder at {}", self.place(*foot)));
        }
        let [casting, neck, feeder] = feeding.closes.map(|t| self.time(t));
        line("feeds until", format!("casting {casting}, neck {neck}, feeder {feeder}"));
        let run = match feeding.worst() {
            Run::Fast => ", in the fast run",
            Run::Likely => "",
            Run::Slow => ", in the slow run",
        };
        for pocket in feeding.pockets.iter().take(MOST_PLACES) {
            line(
                "cut off",
                format!(
                    "{} at {}, from {} to {}{run}",
                    show(Kind::Volume, pocket.volume, self.units),
                    self.place(pocket.place),
                    self.time(pocket.cut_off),
                    self.time(pocket.last)
                ),
            );
        }
    }
}

/// Sand that is reckoned with on every side.
const SAND_AROUND: &str = "45 mm";
/// Most places told in text; JSON has all.
const MOST_PLACES: usize = 4;

fn notes(setup: &Setup, frozen: &Frozen) -> Vec<String> {
    let mut notes = vec![
        "Range: sand that takes up the most heat, moist where it holds water, to the least with bad contact. Time a casting (`froze-in:`) to know your sand.".to_owned(),
        match frozen.way_in {
            Some(_) => "Conduction only: the casting with its stock, cores and feeders, and the ingates, runner and sprue beside it, all full at once; no flow, no gas, no moving mould wall. Runner and ingates count as metal that is fed, not as feeders.".to_owned(),
            None => "Conduction only: the casting with its stock, cores and feeders; its mould could not be laid out, so no ingate; no flow, no gas, no moving mould wall.".to_owned(),
        },
    ];
    if setup.alloy.family == Family::Iron {
        notes.push("Grey iron grows as it freezes and feeds itself in part: a pocket is a warning, not a void.".into());
    }
    if setup.alloy.freezing.as_deref() == Some("floating") {
        notes.push("Solid floats in this alloy as it freezes: it freezes from the top, which is not modelled here.".into());
    }
    if frozen.ruling / frozen.cell < 3.0 {
        notes.push("The ruling wall has fewer than three cells: too thin for this grid.".into());
    }
    notes
}
