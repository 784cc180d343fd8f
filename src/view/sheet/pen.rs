//! Paper to draw on: a scale, lines, outlines, words.

use crate::figure::{Figure, Quantity};
use serde::Serialize;
use std::fmt::Write;

/// A drawing; all places in mm of the paper.
#[derive(Debug, Clone, Serialize)]
pub struct Sketch {
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
    /// One mm of paper is this many mm of the mould.
    pub scale: u32,
    /// What it shows, for who cannot see it.
    pub says: String,
    /// Whether a flask of the shop is drawn, or the least that would do.
    pub flask_known: bool,
    /// Whether the runner has no room beside the pattern.
    pub tight: bool,
    /// Lines and outlines.
    pub marks: Vec<Mark>,
    /// Letters and words.
    pub labels: Vec<Label>,
}

/// A line or an outline.
#[derive(Debug, Clone, Serialize)]
pub struct Mark {
    /// What it is: `flask`, `pattern`, `behind`, `way`, `hidden`, `feeder`, `vent` or `fine`.
    pub of: &'static str,
    /// SVG path.
    pub path: String,
}

/// A letter or words.
#[derive(Debug, Clone, Serialize)]
pub struct Label {
    /// Middle of it.
    pub x: f64,
    /// Its foot.
    pub y: f64,
    /// The words.
    pub text: String,
    /// Whether it stands for a line of the list of sizes.
    pub letter: bool,
}

/// Round a drawing, mm of paper.
pub(super) const EDGE: f64 = 6.0;
/// Scales to draw in, one to so many.
pub(super) const SCALES: [u32; 13] = [1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 30, 50];

pub(super) fn mm<Q: Quantity>(figure: Option<&Figure<Q>>) -> Option<f64> {
    figure.map(|f| f.si() * 1e3)
}

/// A pen that turns places of the mould into places on the paper.
pub(super) struct Pen {
    pub scale: f64,
    pub x: f64,
    pub y: f64,
    pub marks: Vec<Mark>,
    pub labels: Vec<Label>,
}

impl Pen {
    pub fn new(scale: f64) -> Self {
        Self { scale, x: EDGE, y: EDGE, marks: Vec::new(), labels: Vec::new() }
    }

    fn at(&self, x: f64, y: f64) -> (f64, f64) {
        (self.x + x / self.scale, self.y + y / self.scale)
    }

    pub fn path(&mut self, of: &'static str, points: &[(f64, f64)], closed: bool) {
        let mut path = String::new();
        for (i, (x, y)) in points.iter().enumerate() {
            let (x, y) = self.at(*x, *y);
            let _ = write!(path, "{}{x:.2} {y:.2}", if i == 0 { 'M' } else { 'L' });
        }
        if closed {
            path.push('Z');
        }
        self.marks.push(Mark { of, path });
    }

    pub fn rect(&mut self, of: &'static str, x: f64, y: f64, w: f64, h: f64) {
        self.path(of, &[(x, y), (x + w, y), (x + w, y + h), (x, y + h)], true);
    }

    pub fn circle(&mut self, of: &'static str, x: f64, y: f64, diameter: f64) {
        let r = diameter / 2.0 / self.scale;
        let (x, y) = self.at(x, y);
        let path = format!(
            "M{:.2} {y:.2}a{r:.2} {r:.2} 0 1 0 {:.2} 0a{r:.2} {r:.2} 0 1 0 {:.2} 0Z",
            x - r,
            2.0 * r,
            -2.0 * r
        );
        self.marks.push(Mark { of, path });
    }

    /// Words, moved by mm of paper.
    pub fn word(&mut self, (x, y): (f64, f64), (dx, dy): (f64, f64), text: &str, letter: bool) {
        let (x, y) = self.at(x, y);
        let round = |v: f64| (v * 100.0).round() / 100.0;
        self.labels.push(Label {
            x: round(x + dx),
            y: round(y + dy),
            text: text.to_owned(),
            letter,
        });
    }
}

/// Up to the next tenth of a mm.
pub(super) fn tenth(mm: f64) -> f64 {
    (mm * 10.0).ceil() / 10.0
}
