//! The dangers of the handbook, and which of them a page has to name.

use super::page::plain;
use crate::handbook::{Alloy, Caution, Family};
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
}

/// The sentence that every habit of the handbook ends with; a page says it once, first.
pub(super) const DEFERS: &str = "Local codes, the maker's sheet and licensed trades come first.";

/// Copper alloys of the handbook that hold no lead worth a warning.
const UNLEADED: [&str; 3] = ["C905", "C873", "C954"];

/// Whether an alloy may hold lead: any copper alloy that is not known to be free of it.
pub(super) fn leaded(alloy: &Alloy) -> bool {
    alloy.family == Family::Copper && !UNLEADED.contains(&&*alloy.id)
}

/// The dangers that concern work with these alloys.
pub(super) fn cautions(build: &Build, alloys: &[&Alloy]) -> Vec<CautionView> {
    let family = |f: Family| alloys.iter().any(|a| a.family == f);
    let concerns = |id: &str| match id {
        "zinc-fume" => family(Family::Zinc) || family(Family::Copper),
        "lead" => alloys.iter().any(|a| leaded(a)),
        "magnesium" => family(Family::Aluminium) || family(Family::Zinc),
        _ => true,
    };
    build.handbook.cautions.iter().filter(|c| concerns(&c.id)).map(view).collect()
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
        habit: plain(c.habit.trim().trim_end_matches(DEFERS).trim_end()),
    }
}
