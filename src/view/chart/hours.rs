//! Hours in the shop, a bar a day; work that sets the finish is filled, other work outlined.

use super::Chart;
use super::axis::{Across, Up, digits};
use chrono::{Datelike, NaiveDate, Weekday};

/// Most days, and most weeks, that have room for a bar each.
const MOST_DAYS: usize = 60;
const MOST_WEEKS: usize = 110;

/// A day with the hours of work that sets the finish, and the other hours.
type Bar = (NaiveDate, f64, f64);

/// Sums of the days that begin the same week or month.
fn binned(days: &[Bar], begins: impl Fn(NaiveDate) -> NaiveDate) -> Vec<Bar> {
    let mut out: Vec<Bar> = Vec::new();
    for (day, chained, other) in days {
        match out.last_mut().filter(|b| b.0 == begins(*day)) {
            Some(bar) => (bar.1, bar.2) = (bar.1 + chained, bar.2 + other),
            None => out.push((begins(*day), *chained, *other)),
        }
    }
    out
}

/// Bars that have room: a day each, or a week, or a month; with the word and its length in days.
fn bars(days: &[Bar]) -> (Vec<Bar>, &'static str, f64) {
    let weeks = |d: NaiveDate| d.week(Weekday::Mon).first_day();
    let months = |d: NaiveDate| d.with_day(1).unwrap_or(d);
    let by_week = binned(days, weeks);
    match (days.len() <= MOST_DAYS, by_week.len() <= MOST_WEEKS) {
        (true, _) => (days.to_vec(), "day", 1.0),
        (_, true) => (by_week, "week", 7.0),
        _ => (binned(days, months), "month", 30.0),
    }
}

/// Draws days with the hours of work that sets the finish and the other hours; none without days.
pub fn hours(id: &str, name: &str, days: &[(NaiveDate, f64, f64)]) -> Option<Chart> {
    let (first, last) = (days.first()?, days.last()?);
    let (drawn, each, long) = bars(days);
    let mut chart = Chart::new(id, name, &["Day", "Work that sets the finish", "Other work"]);
    let up = Up::over(drawn.iter().map(|d| d.1 + d.2));
    // Room for the last bar.
    let end = last.0.checked_add_days(chrono::Days::new(long as u64));
    let across = Across::over(drawn.iter().map(|d| d.0).chain(end))?;
    up.draw(&mut chart, &format!("h a {each}"), false);
    across.draw(&mut chart);
    let wide = (across.day() * long * 0.8).clamp(1.2, 22.0);
    let foot = up.at(0.0);
    for (day, chained, other) in &drawn {
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
        "{} days from {} to {}, {} h of work in all; a bar is a {each}; filled: work that sets the finish, outlined: other work",
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
