//! What the journal taught, as the page shows it.

use crate::learn::Learned;
use crate::model::Build;
use crate::view::FigureView;
use crate::view::page::{plain, unit};
use serde::Serialize;

/// One lesson.
#[derive(Debug, Clone, Serialize)]
pub struct LessonView {
    /// What it is, in words.
    pub what: &'static str,
    /// Of which alloy, furnace, sand, family or class.
    pub of: String,
    /// Before anything was measured.
    pub before: String,
    /// The usual value after it.
    pub learned: String,
    /// Its 90 % interval.
    pub span: Option<String>,
    /// How many measurements there are.
    pub measurements: usize,
    /// The day of the last one.
    pub on: Option<String>,
    /// Whether the estimates use it.
    pub used: bool,
}

pub(super) fn lessons(build: &Build, learned: &Learned) -> Vec<LessonView> {
    let units = build.header.units;
    let lesson = |l: &crate::learn::Lesson| {
        let now = FigureView::new(&l.learned, units);
        LessonView {
            what: l.what,
            of: plain(&l.of),
            before: unit(&FigureView::new(&l.before, units).shown),
            learned: unit(&now.shown),
            span: now.span,
            measurements: l.measured.len(),
            on: l.on().map(|day| day.to_string()),
            used: learned.taken && l.can_be_taken(),
        }
    };
    learned.lessons.iter().map(lesson).collect()
}
