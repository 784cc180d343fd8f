//! Hours in the shop, a bar a day; work that sets the finish is filled, other work outlined.

use super::Chart;
use super::axis::{Across, Up, digits};
use chrono::NaiveDate;

/// Draws days with the hours of work that sets the finish and the other hours; none without days.
pub fn hours(id: &str, name: &str, days: &[(NaiveDate, f64, f64)]) -> Option<Chart> {
    let (first, last) = (days.first()?, days.last()?);
    let mut chart = Chart::new(id, name, &["Day", "Work that sets the finish", "Other work"]);
    let up = Up::over(days.iter().map(|d| d.1 + d.2));
    // A day after the last, so that its bar has room.
    let across = Across::over(days.iter().map(|d| d.0).chain(last.0.succ_opt()))?;
    up.draw(&mut chart, "h", false);
    across.draw(&mut chart);
    let wide = (across.day() * 0.8).clamp(1.2, 22.0);
    let foot = up.at(0.0);
    for (day, chained, other) in days {
        let (x, middle, top) = (across.at(*day), up.at(*chained), up.at(chained + other));
        if *chained > 0.0 {
            chart.mark("chain", format!("M{x:.1} {foot:.1}V{middle:.1}h{wide:.1}V{foot:.1}Z"));
        }
        if *other > 0.0 {
            chart.mark("bar", format!("M{x:.1} {middle:.1}V{top:.1}h{wide:.1}V{middle:.1}Z"));
        }
    }
    let sum: f64 = days.iter().map(|d| d.1 + d.2).sum();
    chart.says = format!(
        "{} days from {} to {}, {} h of work in all; filled: work that sets the finish, outlined: other work",
        days.len(),
        first.0,
        last.0,
        digits(sum.round())
    );
    let rows = days.iter().map(|(day, chained, other)| {
        vec![day.to_string(), format!("{} h", digits(*chained)), format!("{} h", digits(*other))]
    });
    chart.rows(rows.collect());
    Some(chart)
}
