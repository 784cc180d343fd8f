//! Work that waits until a material can be there.

use super::calendar::Minute;
use super::promise::names_of_today;
use super::work::Work;
use crate::manifest::Id;
use crate::model::Build;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

/// A piece of work that waits until a material can be there.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Awaited {
    /// The work, by its name in a plan that is kept.
    pub job: String,
    /// Name of the stock.
    pub of: Id,
    /// It can be there on this day, and not before.
    pub until: NaiveDate,
    /// What was known of the stock when that was found: it stands while nothing else is known.
    pub known: String,
}

/// Makes the work wait: each piece of it for what comes last.
pub(super) fn hold_back(build: &Build, work: &mut Work, awaited: &[Awaited]) {
    if awaited.is_empty() {
        return;
    }
    for (n, name) in names_of_today(build, work).into_iter().enumerate() {
        let mine = awaited.iter().enumerate().filter(|(_, a)| a.job == name);
        let at = |a: &Awaited| (a.until - build.today).num_days() * 24 * 60;
        let last: Option<(usize, Minute)> =
            mine.map(|(i, a)| (i, at(a))).max_by_key(|(i, at)| (*at, std::cmp::Reverse(*i)));
        work.items[n].awaits = last.filter(|(_, at)| *at > work.items[n].not_before.max(0));
    }
    work.awaited = awaited.to_vec();
}
