//! Moulds that stand longer than their sand may, in words.

use crate::figure::{Kind, show};
use crate::model::{Attempt, Build};
use crate::plan::calendar::{Calendar, Gone, Minute};
use crate::plan::work::{self, Mould, Work};

/// What is said of a mould that has stood too long, or will have by its heat: since when it stands,
/// and how long its sand may.
pub fn stood_too_long(build: &Build, attempt: &Attempt) -> String {
    let sand = build.patterns[attempt.pattern].sand.as_ref();
    let stands =
        build.stands(attempt.pattern).map(|f| show(Kind::Time, f.si(), build.header.units));
    format!(
        "{} was rammed on {}; a mould of {} may stand {} before it is poured: knock it out and ram \
         it again, for what crumbles washes into the casting (log it with `again: yes`)",
        attempt.mould,
        attempt.rammed.format("%Y-%m-%d %H:%M"),
        sand.map_or("this sand", |s| &s.id),
        stands.unwrap_or_default()
    )
}

/// The first minute of the year that begins today at which anything can be poured: somebody has melted
/// by then.
pub(crate) fn first_pour(build: &Build, year: &Calendar) -> Minute {
    let melt = work::span(build.handbook.time("melt"), 1)[1] as Minute;
    year.first_melted(melt).unwrap_or(0)
}

/// Whether a mould that stands is too old by then, whatever the plan.
pub(super) fn too_old(build: &Build, attempt: &Attempt) -> bool {
    let year = Calendar::new(&build.shop, build.today, (0, 366), Gone::default());
    let first = year.clock(first_pour(build, &year));
    build.good_until(attempt).is_some_and(|until| until < first)
}

/// The moulds of this work that are rammed again.
pub(crate) fn stale(build: &Build, work: &Work) -> Vec<String> {
    let again = work.moulds.iter().filter_map(Mould::rammed_again);
    let again = again.filter_map(|name| build.history.attempts.get(name));
    again.map(|attempt| stood_too_long(build, attempt)).collect()
}
