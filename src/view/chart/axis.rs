//! Axes: where a value or a day stands on the chart, and which of them are named.

use super::Chart;
use chrono::{Datelike, NaiveDate};

pub(super) const WIDTH: f64 = 640.0;
pub(super) const HEIGHT: f64 = 240.0;
const LEFT: f64 = 58.0;
const RIGHT: f64 = 30.0;
const TOP: f64 = 32.0;
const BOTTOM: f64 = 34.0;

/// The most letters of a label in the middle of a narrow chart, half of them on each side.
const HALF_LABEL: f64 = 34.0;

/// A number without needless digits.
pub(super) fn digits(value: f64) -> String {
    // An empty sum of floats is minus nought.
    let value = value + 0.0;
    let places = match value.abs() {
        v if v >= 100.0 || v.fract() == 0.0 => 0,
        v if v >= 10.0 => 1,
        _ => 2,
    };
    let text = format!("{value:.places$}");
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}

/// A step of 1, 2 or 5 times a power of ten that cuts a length into about so many.
fn step(length: f64, about: f64) -> f64 {
    let rough = (length / about).max(f64::MIN_POSITIVE);
    let power = 10.0_f64.powf(rough.log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0];
    steps.into_iter().map(|s| s * power).find(|s| *s >= rough).unwrap_or(10.0 * power)
}

/// Values up the chart.
pub(super) struct Up {
    low: f64,
    high: f64,
    top: f64,
}

impl Up {
    /// An axis that holds all of these and zero.
    pub fn over(values: impl Iterator<Item = f64>) -> Self {
        let (low, high) = values
            .filter(|v| v.is_finite())
            .fold((0.0_f64, 0.0_f64), |(low, high), v| (low.min(v), high.max(v)));
        Self { low, high: if high > low { high } else { low + 1.0 }, top: TOP }
    }

    /// The same with its highest value at this place, so that words have room above it.
    pub fn under(top: f64, values: impl Iterator<Item = f64>) -> Self {
        Self { top, ..Self::over(values) }
    }

    pub fn at(&self, value: f64) -> f64 {
        let share = (value - self.low) / (self.high - self.low);
        HEIGHT - BOTTOM - share.clamp(0.0, 1.0) * (HEIGHT - BOTTOM - self.top)
    }

    /// Lines across with their values, and the line of zero.
    pub fn draw(&self, chart: &mut Chart, unit: &str, whole: bool) {
        let by = step(self.high - self.low, 4.0);
        let by = if whole { by.max(1.0) } else { by };
        let first = (self.low / by).ceil() as i64;
        let last = (self.high / by + 1e-9).floor() as i64;
        for i in first..=last {
            let (value, y) = (i as f64 * by, self.at(i as f64 * by));
            let of = if i == 0 { "base" } else { "grid" };
            chart.mark(of, format!("M{LEFT} {y:.1}H{:.0}", WIDTH - RIGHT));
            chart.label((LEFT - 6.0, y + 4.0), "end", digits(value));
        }
        chart.label((2.0, self.top - 12.0), "start", unit);
    }
}

/// Days across the chart.
pub(super) struct Across {
    first: i32,
    days: f64,
}

impl Across {
    pub fn over(days: impl Iterator<Item = NaiveDate>) -> Option<Self> {
        let days: Vec<i32> = days.map(|d| d.num_days_from_ce()).collect();
        let (first, last) = (*days.iter().min()?, *days.iter().max()?);
        Some(Self { first, days: f64::from((last - first).max(1)) })
    }

    pub fn at(&self, day: NaiveDate) -> f64 {
        let since = f64::from(day.num_days_from_ce() - self.first);
        LEFT + since / self.days * (WIDTH - RIGHT - LEFT)
    }

    /// How wide one day is.
    pub fn day(&self) -> f64 {
        (WIDTH - RIGHT - LEFT) / self.days
    }

    /// First days of months, as many as have room.
    pub fn draw(&self, chart: &mut Chart) {
        const MOST: i32 = 8;
        let (Some(first), Some(last)) = (
            NaiveDate::from_num_days_from_ce_opt(self.first),
            NaiveDate::from_num_days_from_ce_opt(self.first + self.days as i32),
        ) else {
            return;
        };
        let foot = HEIGHT - BOTTOM;
        let month = |d: NaiveDate| d.year() * 12 + d.month0() as i32;
        let months = month(last) - month(first);
        if months < 2 {
            for (day, anchor) in [(first, "start"), (last, "end")] {
                chart.label((self.at(day), foot + 21.0), anchor, day.to_string());
            }
            return;
        }
        let by = [1, 2, 3, 6, 12, 24, 60].into_iter().find(|by| months / by <= MOST).unwrap_or(120);
        let mut named = None;
        for n in (month(first) + 1..=month(last)).filter(|n| n % by == 0) {
            let Some(day) =
                NaiveDate::from_ymd_opt(n.div_euclid(12), n.rem_euclid(12) as u32 + 1, 1)
            else {
                continue;
            };
            let x = self.at(day);
            chart.mark("grid", format!("M{x:.1} {TOP}V{:.0}", foot + 4.0));
            // The year stands where it begins to hold, not at each month.
            let year = named != Some(day.year());
            named = Some(day.year());
            let word = day.format(if year { "%b %Y" } else { "%b" }).to_string();
            match year && x + HALF_LABEL > WIDTH {
                true => chart.label((WIDTH - 2.0, foot + 21.0), "end", word),
                false => chart.label((x, foot + 21.0), "middle", word),
            }
        }
    }

    /// A line up the chart on one day, with a word.
    pub fn line(&self, chart: &mut Chart, of: &'static str, day: NaiveDate, word: &str) {
        let x = self.at(day);
        chart.mark(of, format!("M{x:.1} {TOP}V{:.0}", HEIGHT - BOTTOM));
        let (dx, anchor) = if x > WIDTH * 0.8 { (-4.0, "end") } else { (4.0, "start") };
        chart.label((x + dx, TOP - 8.0), anchor, word);
    }
}
