//! What the journal teaches, as a table.

use super::text::{Look, Side, finished};
use super::{FigureView, Head};
use crate::learn::{Learned, Lesson};
use crate::model::Build;
use serde::Serialize;

/// One lesson.
#[derive(Debug, Clone, Serialize)]
pub struct LessonRow {
    /// Name of the quantity.
    pub id: &'static str,
    /// Of which alloy, furnace, sand, family or class.
    pub of: String,
    /// What it is, in words.
    pub what: &'static str,
    /// Before anything was measured.
    pub before: FigureView,
    /// The usual value after it, with its 90 % interval.
    pub learned: FigureView,
    /// The measurements.
    pub measured: Vec<FigureView>,
    /// How many there are.
    pub measurements: usize,
    /// The day of the last one.
    pub on: Option<String>,
    /// Ids of the journal's entries.
    pub entries: Vec<String>,
    /// The prior, in words.
    pub prior: &'static str,
    /// Whether the estimates use it.
    pub used: bool,
}

/// All that was learned.
#[derive(Debug, Clone, Serialize)]
pub struct LearnedView {
    /// The build.
    #[serde(flatten)]
    pub head: Head,
    /// Whether the manifest says `learn: yes`.
    pub learn: bool,
    /// The lessons.
    pub lessons: Vec<LessonRow>,
}

impl LearnedView {
    /// What a build's journal teaches.
    pub fn new(build: &Build, learned: &Learned) -> Self {
        let units = build.header.units;
        let row = |l: &Lesson| LessonRow {
            id: l.id,
            of: l.of.to_string(),
            what: l.what,
            before: FigureView::new(&l.before, units),
            learned: FigureView::new(&l.learned, units),
            measured: l.measured.iter().map(|n| FigureView::new(n, units)).collect(),
            measurements: l.measured.len(),
            on: l.on().map(|d| d.to_string()),
            entries: l.entries().iter().map(ToString::to_string).collect(),
            prior: l.prior,
            used: learned.taken && l.can_be_taken(),
        };
        let lessons = learned.lessons.iter().map(row).collect();
        Self { head: Head::new(build), learn: learned.taken, lessons }
    }

    /// As a table.
    pub fn text(&self, look: &Look) -> String {
        let mut out = self.head.text(look) + "\n";
        if self.lessons.is_empty() {
            let says = "nothing was measured yet: weigh what comes out of a mould, log hours, fuel \
                        and sizes";
            return out + &look.wrapped(says, 0) + "\n";
        }
        let mut table = look.table(&[
            ("quantity", Side::Left),
            ("of", Side::Left),
            ("before", Side::Right),
            ("learned", Side::Right),
            ("90 %", Side::Right),
            ("from", Side::Right),
            ("", Side::Left),
        ]);
        for row in &self.lessons {
            let span = row.learned.span.clone().unwrap_or_default();
            table.add_row(vec![
                row.id.to_owned(),
                row.of.clone(),
                row.before.shown.clone(),
                row.learned.shown.clone(),
                span,
                row.measurements.to_string(),
                if row.used { "used" } else { "*" }.to_owned(),
            ]);
        }
        out += &finished(&table);
        out.push('\n');
        let mark = if self.learn {
            "* shown, used in no estimate."
        } else {
            "* shown, not used: `learn: yes` under `build:` puts what is learned into the estimates (yield, melt loss, fuel, sand, hours, contraction, mould constant)."
        };
        out += &(look.wrapped(mark, 2) + "\n");
        let words = "Each range begins as the handbook's or your own and counts as one measurement beside yours; chances of scrap begin at a stated prior. \"90 %\" is where the usual value lies, not where the next one falls. `--json` names the entries.";
        out += &(look.wrapped(words, 0) + "\n");
        out
    }
}
