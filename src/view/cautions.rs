//! The dangers of the handbook, and which of them a page has to name.

use super::page::plain;
use crate::estimate::{self, Estimates};
use crate::handbook::{Caution, When};
use crate::model::Build;
use serde::Serialize;

/// A danger and its habit.
#[derive(Debug, Clone, Serialize)]
pub struct CautionView {
    /// Its id in the handbook.
    pub id: String,
    /// The danger's name.
    pub title: String,
    /// What can happen.
    pub says: String,
    /// The habit that prevents it.
    pub habit: String,
    /// When it is to be thought of.
    pub when: When,
    /// Who says so.
    pub source: String,
    /// Whether it is of this casting and stands on the card of its mould.
    pub at_the_mould: bool,
}

/// The sentence that every habit of the handbook ends with; a page says it once, first.
pub(super) const DEFERS: &str = "Local codes, the maker's sheet and licensed trades come first.";

/// A habit without that sentence.
pub(super) fn without_deferring(habit: &str) -> &str {
    habit.trim().trim_end_matches(DEFERS).trim_end()
}

/// The dangers of casting these parts, as the page tells them.
pub(super) fn cautions(
    build: &Build,
    estimates: &Estimates,
    parts: impl IntoIterator<Item = usize>,
) -> Vec<CautionView> {
    estimate::cautions(build, estimates, parts).iter().map(view).collect()
}

/// One danger of the handbook by its id.
pub(super) fn caution(build: &Build, id: &str) -> Option<CautionView> {
    build.handbook.cautions.iter().find(|c| *c.id == *id).map(view)
}

fn view(c: &Caution) -> CautionView {
    CautionView {
        id: plain(&c.id),
        title: plain(&c.title),
        says: plain(&c.says),
        habit: plain(without_deferring(&c.habit)),
        when: c.when,
        source: plain(&c.source.to_string()),
        at_the_mould: c.at_the_mould,
    }
}
