//! Charts: drawn in SVG, told in a table. What is drawn never rests on colour alone.

mod axis;
mod curve;
mod hours;
mod spread;

pub use curve::{Curve, Line, curve};
pub use hours::hours;
pub use spread::{Spread, spread};

use serde::Serialize;

/// A chart and its data as a table.
#[derive(Debug, Clone, Serialize)]
pub struct Chart {
    /// An id on the page.
    pub id: String,
    /// What it shows.
    pub title: String,
    /// What it tells, in a sentence or two.
    pub says: String,
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
    /// Lines and areas.
    pub marks: Vec<ChartMark>,
    /// Words.
    pub labels: Vec<ChartLabel>,
    /// Heads of the columns of its table.
    pub heads: Vec<String>,
    /// Rows of its table.
    pub rows: Vec<Vec<String>>,
    /// How many more rows there are than the table lists.
    pub rows_more: usize,
}

/// A line or an area.
#[derive(Debug, Clone, Serialize)]
pub struct ChartMark {
    /// What it is: `grid`, `base`, `zero`, `today`, `done`, `planned`, `bar`, `chain` or `mark`.
    pub of: &'static str,
    /// SVG path.
    pub path: String,
}

/// Words on a chart.
#[derive(Debug, Clone, Serialize)]
pub struct ChartLabel {
    /// Where.
    pub x: f64,
    /// Where.
    pub y: f64,
    /// `start`, `middle` or `end`.
    pub anchor: &'static str,
    /// The words.
    pub text: String,
}

/// Most rows of a chart's table.
const MOST_ROWS: usize = 30;

impl Chart {
    fn new(id: &str, title: &str, heads: &[&str]) -> Self {
        Self {
            id: id.to_owned(),
            title: title.to_owned(),
            says: String::new(),
            width: axis::WIDTH,
            height: axis::HEIGHT,
            marks: Vec::new(),
            labels: Vec::new(),
            heads: heads.iter().map(|h| (*h).to_owned()).collect(),
            rows: Vec::new(),
            rows_more: 0,
        }
    }

    fn mark(&mut self, of: &'static str, path: String) {
        self.marks.push(ChartMark { of, path });
    }

    fn label(&mut self, (x, y): (f64, f64), anchor: &'static str, text: impl Into<String>) {
        let round = |v: f64| (v * 10.0).round() / 10.0;
        self.labels.push(ChartLabel { x: round(x), y: round(y), anchor, text: text.into() });
    }

    fn rows(&mut self, rows: Vec<Vec<String>>) {
        self.rows_more = rows.len().saturating_sub(MOST_ROWS);
        self.rows = rows;
        self.rows.truncate(MOST_ROWS);
    }
}
