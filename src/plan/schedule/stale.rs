//! Moulds that stand longer than their sand may, in words.

use crate::figure::{Kind, show, show_spanned};
use crate::model::{Attempt, Build};
use crate::plan::calendar::{Calendar, Gone, Minute};
use crate::plan::search::Layout;
use crate::plan::work::{self, Mould, Work};

/// What is said of a mould that has stood too long, or will have by its heat: since when it stands,
/// and how long its sand may.
pub fn stood_too_long(build: &Build, attempt: &Attempt) -> String {
    let sand = build.patterns[attempt.pattern].sand.as_ref();
    format!(
        "{} was rammed on {}; a mould of {} may stand {} before it is poured: knock it out and ram \
         it again, for what crumbles washes into the casting (log it with `again: yes`)",
        attempt.mould,
        attempt.rammed.format("%Y-%m-%d %H:%M"),
        sand.map_or("this sand", |s| &s.id),
        may_stand(build, attempt.pattern)
    )
}

/// How long a mould may stand, in words: what is safe to go by, and its range.
fn may_stand(build: &Build, pattern: usize) -> String {
    let (Some(stands), units) = (build.stands(pattern), build.header.units) else {
        return String::new();
    };
    let (likely, span) = show_spanned(Kind::Time, stands.node().range(), units);
    let safe = show(Kind::Time, stands.safe(), units);
    match span {
        Some(span) => format!("{safe} to be safe ({span}, likely {likely})"),
        None => safe,
    }
}

/// Moulds of a plan that stand longer than they may, from ramming to pouring, though they are alone
/// in their heat: they dry and wait for their melt in any case; in words.
pub(super) fn overlong(build: &Build, work: &Work, layout: &Layout) -> Vec<String> {
    let words = |(m, mould): (usize, &Mould)| {
        let [Some(ram), Some(pour), _] = mould.items else { return None };
        let heat = layout.heats.iter().find(|heat| heat.moulds.contains(&m))?;
        let stood = layout.items[pour].start.max(heat.pour) - layout.items[ram].end;
        let part = &build.parts[mould.part];
        (stood > mould.keeps?).then(|| {
            format!(
                "{} stands {} until it is poured, and its mould may stand {}: melt quicker, have \
                 somebody ram while it melts, or give `stands` under `sand` what your sand bears",
                part.id(),
                show(Kind::Time, stood as f64 * 60.0, build.header.units),
                part.casting.as_ref().map_or(String::new(), |c| may_stand(build, c.pattern))
            )
        })
    };
    work.moulds.iter().enumerate().filter_map(words).collect()
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
