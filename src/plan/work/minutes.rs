//! Times as whole minutes, and as minutes with their range.

use crate::figure::{Figure, Time};
use crate::plan::calendar::Minute;

/// Whole minutes, rounded up.
pub(super) fn minutes(figure: &Figure<Time>) -> Minute {
    whole(figure.si() / 60.0)
}

pub(super) fn whole(minutes: f64) -> Minute {
    (minutes - 1e-6).ceil() as Minute
}

pub(super) fn minutes_of(figure: Option<&Figure<Time>>) -> Minute {
    figure.map_or(0, minutes)
}

/// Minutes: low, likely, high.
pub(crate) type Span = [f64; 3];

/// Minutes of one share of so many.
pub(crate) fn span(figure: Option<&Figure<Time>>, shares: u32) -> Span {
    let share = 60.0 * f64::from(shares.max(1));
    figure.map_or([0.0; 3], |f| {
        let range = f.node().range();
        [range.low / share, range.likely / share, range.high / share]
    })
}
