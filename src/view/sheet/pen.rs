//! Paper to draw on: a scale, lines, outlines, words.

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
    /// Lines and outlines.
    pub marks: Vec<Mark>,
    /// Letters and words.
    pub labels: Vec<Label>,
}

/// A line or an outline.
#[derive(Debug, Clone, Serialize)]
pub struct Mark {
    /// What it is: `flask`, `parting`, `pattern`, `edge`, `core`, `behind`, `way`, `solid`, `hidden`,
    /// `feeder`, `vent` or `fine`.
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

/// A pen that turns places of the mould into places on the paper.
pub(super) struct Pen {
    pub scale: f64,
    pub x: f64,
    pub y: f64,
    pub marks: Vec<Mark>,
    pub labels: Vec<Label>,
    /// Where letters may stand: from the left, from above, to the right, down; mm of paper.
    pub room: [f64; 4],
    /// What is drawn, in straight pieces on the paper.
    drawn: Vec<[(f64, f64); 2]>,
    /// The boxes of words on the paper: left, top, right, foot.
    words: Vec<[f64; 4]>,
}

/// Half the width and half the height of a letter with some air, mm of paper.
const LETTER: (f64, f64) = (1.9, 2.0);
/// The same of a small word, for each of its letters and in height.
const NOTE: (f64, f64) = (1.1, 1.8);

impl Pen {
    pub fn new(scale: f64) -> Self {
        Self {
            scale,
            x: EDGE,
            y: EDGE,
            marks: Vec::new(),
            labels: Vec::new(),
            room: [0.0, 0.0, f64::INFINITY, f64::INFINITY],
            drawn: Vec::new(),
            words: Vec::new(),
        }
    }

    fn at(&self, x: f64, y: f64) -> (f64, f64) {
        (self.x + x / self.scale, self.y + y / self.scale)
    }

    fn line(&mut self, points: &[(f64, f64)], closed: bool) -> String {
        let mut path = String::new();
        let points: Vec<(f64, f64)> = points.iter().map(|(x, y)| self.at(*x, *y)).collect();
        for (i, (x, y)) in points.iter().enumerate() {
            let _ = write!(path, "{}{x:.2} {y:.2}", if i == 0 { 'M' } else { 'L' });
        }
        self.drawn.extend(points.windows(2).map(|pair| [pair[0], pair[1]]));
        if closed {
            path.push('Z');
            self.drawn.extend(points.last().zip(points.first()).map(|(a, b)| [*a, *b]));
        }
        path
    }

    pub fn path(&mut self, of: &'static str, points: &[(f64, f64)], closed: bool) {
        let path = self.line(points, closed);
        self.marks.push(Mark { of, path });
    }

    /// Closed loops as one mark.
    pub fn outline(&mut self, of: &'static str, loops: Vec<Vec<(f64, f64)>>) {
        let paths = loops.iter().map(|way| self.line(way, true));
        let path: String = paths.collect();
        if !path.is_empty() {
            self.marks.push(Mark { of, path });
        }
    }

    pub fn rect(&mut self, of: &'static str, x: f64, y: f64, w: f64, h: f64) {
        self.path(of, &[(x, y), (x + w, y), (x + w, y + h), (x, y + h)], true);
    }

    pub fn circle(&mut self, of: &'static str, x: f64, y: f64, diameter: f64) {
        let round: Vec<(f64, f64)> = (0..=24)
            .map(|n| f64::from(n) * std::f64::consts::TAU / 24.0)
            .map(|a| (x + a.cos() * diameter / 2.0, y + a.sin() * diameter / 2.0))
            .collect();
        self.line(&round, false);
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

    /// A letter for what lies there, as near as it stands on no line.
    pub fn letter(&mut self, at: (f64, f64), text: &str) {
        self.beside(at, text, true, LETTER);
    }

    /// A small word there, or as near as it stands on no line.
    pub fn note(&mut self, at: (f64, f64), text: &str) {
        let wide = NOTE.0 * text.chars().count() as f64;
        self.beside(at, text, false, (wide, NOTE.1));
    }

    fn beside(&mut self, at: (f64, f64), text: &str, letter: bool, half: (f64, f64)) {
        let (x, y) = self.at(at.0, at.1);
        let around = |n: i32| {
            let far = f64::from(n) * 0.7;
            (0..24).map(move |k| {
                let angle = f64::from(k) * std::f64::consts::TAU / 24.0;
                (x + far * angle.cos(), y + far * angle.sin())
            })
        };
        let box_of = |(x, y): (f64, f64)| [x - half.0, y - half.1, x + half.0, y + half.1];
        let found = (0..44).flat_map(around).find(|place| self.free(&box_of(*place)));
        let (mx, my) = found.unwrap_or((x, y));
        let far = (mx - x).hypot(my - y);
        if letter && far > 3.5 {
            // From what is meant to the edge of the letter.
            let short = 1.0 - half.1 / far;
            let to = (x + (mx - x) * short, y + (my - y) * short);
            let path = format!("M{x:.2} {y:.2}L{:.2} {:.2}", to.0, to.1);
            self.drawn.push([(x, y), to]);
            self.marks.push(Mark { of: "fine", path });
        }
        self.words.push(box_of((mx, my)));
        let down = if letter { 1.5 } else { 1.1 };
        self.put((mx, my + down), text, letter);
    }

    /// Whether no line and no other word meets a box on the paper.
    fn free(&self, of: &[f64; 4]) -> bool {
        let [left, top, right, foot] = *of;
        let within = left >= self.room[0]
            && top >= self.room[1]
            && right <= self.room[2]
            && foot <= self.room[3];
        let clear = |o: &[f64; 4]| o[2] < left || right < o[0] || o[3] < top || foot < o[1];
        within && self.words.iter().all(clear) && !self.drawn.iter().any(|line| meets(line, of))
    }

    /// Words, moved by mm of paper.
    pub fn word(&mut self, (x, y): (f64, f64), (dx, dy): (f64, f64), text: &str, letter: bool) {
        let (x, y) = self.at(x, y);
        self.put((x + dx, y + dy), text, letter);
    }

    fn put(&mut self, (x, y): (f64, f64), text: &str, letter: bool) {
        let round = |v: f64| (v * 100.0).round() / 100.0;
        self.labels.push(Label { x: round(x), y: round(y), text: text.to_owned(), letter });
    }
}

/// Whether a straight line meets a box.
fn meets([from, to]: &[(f64, f64); 2], [left, top, right, foot]: &[f64; 4]) -> bool {
    let (mut start, mut end) = (0.0_f64, 1.0_f64);
    for (a, b, low, high) in [(from.0, to.0, left, right), (from.1, to.1, top, foot)] {
        let way = b - a;
        if way.abs() < 1e-12 {
            if a < *low || a > *high {
                return false;
            }
            continue;
        }
        let (one, other) = ((low - a) / way, (high - a) / way);
        start = start.max(one.min(other));
        end = end.min(one.max(other));
    }
    start <= end
}

/// Up to the next tenth of a mm.
pub(super) fn tenth(mm: f64) -> f64 {
    (mm * 10.0).ceil() / 10.0
}
