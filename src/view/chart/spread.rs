//! How likely each of many outcomes is: a histogram with percentiles.

use super::Chart;
use super::axis::{HEIGHT, WIDTH, digits};

/// Outcomes.
#[derive(Debug, Clone)]
pub struct Spread {
    /// An id on the page, of letters and hyphens.
    pub id: String,
    /// What it shows.
    pub name: String,
    /// Outcomes, the least first; for days their number from some day on.
    pub samples: Vec<f64>,
}

const LEFT: f64 = 58.0;
const RIGHT: f64 = 58.0;
const TOP: f64 = 66.0;
const FOOT: f64 = HEIGHT - 30.0;
const BARS: usize = 30;
/// Percentiles that are named.
const NAMED: [u32; 4] = [10, 50, 80, 90];

/// The outcome that so many in a hundred do not exceed (nearest rank).
fn percentile(sorted: &[f64], percent: u32) -> f64 {
    let rank = (f64::from(percent) / 100.0 * sorted.len() as f64).ceil() as usize;
    sorted[rank.clamp(1, sorted.len()) - 1]
}

/// Draws it, with `say` to put an outcome into words; none without outcomes.
pub fn spread(of: &Spread, say: impl Fn(f64) -> String) -> Option<Chart> {
    let (least, most) = (*of.samples.first()?, *of.samples.last()?);
    let mut chart = Chart::new(&of.id, &of.name, &["So many in a hundred", "not beyond"]);
    let width = if most > least { most - least } else { 1.0 };
    let mut counts = [0_usize; BARS];
    for value in &of.samples {
        let bar = ((value - least) / width * BARS as f64) as usize;
        counts[bar.min(BARS - 1)] += 1;
    }
    let tallest = counts.iter().copied().max().unwrap_or(1).max(1) as f64;
    let at = |value: f64| LEFT + (value - least) / width * (WIDTH - LEFT - RIGHT);
    let one = (WIDTH - LEFT - RIGHT) / BARS as f64;
    chart.mark("base", format!("M{LEFT} {FOOT}H{}", WIDTH - RIGHT));
    for (i, count) in counts.iter().enumerate().filter(|(_, c)| **c > 0) {
        let (x, y) = (LEFT + i as f64 * one, FOOT - *count as f64 / tallest * (FOOT - TOP));
        chart.mark("bar", format!("M{x:.1} {FOOT}V{y:.1}h{:.1}V{FOOT}Z", one - 1.5));
    }
    let mut rows = Vec::new();
    for (i, percent) in NAMED.into_iter().enumerate() {
        let value = percentile(&of.samples, percent);
        // Each on a line of its own, so that close ones stay apart.
        let (x, y) = (at(value), 14.0 + 14.0 * i as f64);
        chart.mark("mark", format!("M{x:.1} {:.1}V{FOOT}", y + 3.0));
        let (dx, anchor) = if x > WIDTH / 2.0 { (-4.0, "end") } else { (4.0, "start") };
        chart.label((x + dx, y + 4.0), anchor, format!("P{percent} {}", say(value)));
        rows.push(vec![percent.to_string(), say(value)]);
    }
    chart.label((LEFT, FOOT + 18.0), "start", say(least));
    chart.label((WIDTH - RIGHT, FOOT + 18.0), "end", say(most));
    let say_of = |p| say(percentile(&of.samples, p));
    chart.says = format!(
        "Half of {} tries end by {}, eight in ten by {}, nine in ten by {}",
        digits(of.samples.len() as f64),
        say_of(50),
        say_of(80),
        say_of(90)
    );
    chart.rows(rows);
    Some(chart)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn percentiles_are_those_of_the_nearest_rank() {
        // en.wikipedia.org/wiki/Percentile, nearest-rank method, example 1.
        let list = [15.0, 20.0, 35.0, 40.0, 50.0];
        let want = [(5, 15.0), (30, 20.0), (40, 20.0), (50, 35.0), (100, 50.0)];
        for (percent, value) in want {
            assert!((percentile(&list, percent) - value).abs() < 1e-12, "P{percent}");
        }
    }

    #[test]
    fn one_outcome_and_none() {
        let of = |samples| Spread { id: "s".into(), name: "Finish".into(), samples };
        assert!(spread(&of(vec![]), digits).is_none());
        let chart = spread(&of(vec![3.0]), digits).expect("a chart");
        assert_eq!(chart.rows, [["10", "3"], ["50", "3"], ["80", "3"], ["90", "3"]]);
        assert!(chart.marks.iter().all(|m| !m.path.contains("NaN")));
    }
}
