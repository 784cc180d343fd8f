//! Days in words, as a person says them.

use chrono::NaiveDate;

/// A day with its weekday and year: `Sat 20 Mar 2027`.
pub(in crate::view) fn day_words(day: NaiveDate) -> String {
    day.format("%a %-d\u{a0}%b\u{a0}%Y").to_string()
}

/// The same without its year, for days that are near.
pub(in crate::view) fn near_day(day: NaiveDate) -> String {
    day.format("%a %-d\u{a0}%b").to_string()
}
