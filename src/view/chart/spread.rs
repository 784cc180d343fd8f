//! How likely each day of many is: a histogram by weeks, with percentiles.

use super::Chart;
use super::axis::{Across, HEIGHT};
use chrono::{NaiveDate, TimeDelta};

/// Days that something may end on.
#[derive(Debug, Clone)]
pub struct Spread {
    /// An id on the page, of letters and hyphens.
    pub id: String,
    /// What it shows.
    pub name: String,
    /// How many ended in each week, by its first day, the earliest first.
    pub weeks: Vec<(NaiveDate, u32)>,
    /// So many in a hundred end by this day.
    pub named: Vec<(u32, NaiveDate)>,
}

const TOP: f64 = 66.0;
const FOOT: f64 = HEIGHT - 30.0;

/// Draws it; none without weeks.
pub fn spread(of: &Spread) -> Option<Chart> {
    let (first, last) = (of.weeks.first()?.0, of.weeks.last()?.0);
    let mut chart = Chart::new(&of.id, &of.name, &["So many in a hundred", "end by"]);
    let after = last.checked_add_signed(TimeDelta::days(7)).unwrap_or(last);
    let across = Across::over([first, after].into_iter())?;
    across.draw(&mut chart);
    let tallest = of.weeks.iter().map(|w| w.1).max().unwrap_or(1).max(1);
    let wide = (across.day() * 7.0 - 1.5).max(1.0);
    chart.mark("base", format!("M{:.1} {FOOT}H{:.1}", across.at(first), across.at(after)));
    for (week, count) in of.weeks.iter().filter(|w| w.1 > 0) {
        let high = f64::from(*count) / f64::from(tallest) * (FOOT - TOP);
        let x = across.at(*week);
        chart.mark("bar", format!("M{x:.1} {FOOT}V{:.1}h{wide:.1}V{FOOT}Z", FOOT - high));
    }
    let middle = (across.at(first) + across.at(after)) / 2.0;
    for (i, (percent, day)) in of.named.iter().enumerate() {
        // Each on a line of its own, so that close ones stay apart.
        let (x, y) = (across.at(*day), 14.0 + 14.0 * i as f64);
        chart.mark("mark", format!("M{x:.1} {:.1}V{FOOT}", y + 3.0));
        let (dx, anchor) = if x > middle { (-4.0, "end") } else { (4.0, "start") };
        chart.label((x + dx, y + 4.0), anchor, format!("P{percent} {day}"));
    }
    let tries: u32 = of.weeks.iter().map(|w| w.1).sum();
    let ends = of.named.iter().map(|(percent, day)| format!("{percent} in a hundred by {day}"));
    chart.says = format!(
        "Of {tries} replays of the plan end {}; a bar is a week",
        ends.collect::<Vec<_>>().join(", ")
    );
    chart.rows(of.named.iter().map(|(p, day)| vec![p.to_string(), day.to_string()]).collect());
    Some(chart)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_week_and_none() {
        let day = |d| NaiveDate::from_ymd_opt(2026, 3, d).expect("a day");
        let of = |weeks, named| Spread { id: "s".into(), name: "Finish".into(), weeks, named };
        assert!(spread(&of(vec![], vec![])).is_none());
        let chart = spread(&of(vec![(day(2), 5)], vec![(50, day(4))])).expect("a chart");
        assert_eq!(chart.rows, [["50", "2026-03-04"]]);
        assert!(chart.says.starts_with("Of 5 replays"), "{}", chart.says);
        assert!(chart.marks.iter().all(|m| !m.path.contains("NaN")));
    }

    #[test]
    fn bars_stand_in_proportion_and_on_their_weeks() {
        let day = |d| NaiveDate::from_ymd_opt(2026, 3, d).expect("a day");
        let weeks = vec![(day(2), 10), (day(9), 40), (day(23), 20)];
        let of = Spread { id: "s".into(), name: "Finish".into(), weeks, named: vec![] };
        let chart = spread(&of).expect("a chart");
        let bars: Vec<(f64, f64)> = chart
            .marks
            .iter()
            .filter(|m| m.of == "bar")
            .map(|m| {
                let (x, rest) = m.path[1..].split_once(' ').expect("x");
                let y = rest.split(['V', 'h']).nth(1).expect("y");
                (x.parse().expect("x"), FOOT - y.parse::<f64>().expect("y"))
            })
            .collect();
        assert_eq!(bars.len(), 3);
        let near = |got: f64, want: f64| assert!((got - want).abs() < 0.2, "{got} is not {want}");
        near(bars[0].1 * 4.0, bars[1].1);
        near(bars[2].1 * 2.0, bars[1].1);
        // Three weeks from the first to the last, one from the first to the second.
        near((bars[1].0 - bars[0].0) * 3.0, bars[2].0 - bars[0].0);
    }
}
