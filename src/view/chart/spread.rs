//! How likely each day of many is: a histogram by weeks, with percentiles.

use super::Chart;
use super::axis::{Across, HEIGHT, Up, WIDTH};
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

const TOP: f64 = 80.0;
/// Height of a line of words, with room for the larger ones of a narrow screen.
const LINE: f64 = 24.0;

/// The chances that are told in words on the chart; its table has the others.
fn chance(percent: u32) -> Option<&'static str> {
    match percent {
        50 => Some("half by"),
        90 => Some("nine in ten by"),
        _ => None,
    }
}

const FOOT: f64 = HEIGHT - 34.0;

/// Draws it; none without weeks.
pub fn spread(of: &Spread) -> Option<Chart> {
    let (first, last) = (of.weeks.first()?.0, of.weeks.last()?.0);
    let mut chart = Chart::new(&of.id, &of.name, &["So many in a hundred", "end by"]);
    let after = last.checked_add_signed(TimeDelta::days(7)).unwrap_or(last);
    let across = Across::over([first, after].into_iter())?;
    across.draw(&mut chart);
    let up = Up::under(TOP, of.weeks.iter().map(|w| f64::from(w.1)));
    up.draw(&mut chart, "replays a week", true);
    let wide = (across.day() * 7.0 - 1.5).max(1.0);
    for (week, count) in of.weeks.iter().filter(|w| w.1 > 0) {
        let (x, y) = (across.at(*week), up.at(f64::from(*count)));
        chart.mark("bar", format!("M{x:.1} {FOOT}V{y:.1}h{wide:.1}V{FOOT}Z"));
    }
    let told = of.named.iter().filter_map(|(percent, day)| Some((chance(*percent)?, day)));
    for (i, (word, day)) in told.enumerate() {
        // Each on a line of its own, so that close ones stay apart.
        let (x, y) = (across.at(*day), 16.0 + LINE * i as f64);
        chart.mark("mark", format!("M{x:.1} {:.1}V{FOOT}", y + 3.0));
        // The first to the left of its line, the other to the right, so that none crosses a line.
        let left = if i == 0 { x > WIDTH * 0.4 } else { x > WIDTH * 0.6 };
        let (dx, anchor) = if left { (-4.0, "end") } else { (4.0, "start") };
        chart.label((x + dx, y + 4.0), anchor, format!("{word} {}", day.format("%-d %b")));
    }
    let tries: u32 = of.weeks.iter().map(|w| w.1).sum();
    let ends = of.named.iter().map(|(percent, day)| format!("{percent} in a hundred by {day}"));
    chart.says = format!(
        "of {tries} replays of the plan, {} are finished; a bar is a week",
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
        assert!(chart.says.starts_with("of 5 replays"), "{}", chart.says);
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
