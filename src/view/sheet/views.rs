//! A body in three views on paper, with its sizes: from above, cut along, cut across.

use crate::figure::System;
use crate::shape::mesh::Mesh;
use crate::shape::{Body, Outline};
use crate::view::page::to_the_rule;
use serde::Serialize;
use std::fmt::Write;

/// Views side by side on paper, mm.
#[derive(Debug, Clone, Serialize)]
pub struct Drawing {
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
    /// One mm of paper is so many of the pattern, in words.
    pub scale: String,
    /// Outlines and lines.
    pub lines: Vec<Line>,
    /// Words beside them.
    pub words: Vec<Word>,
}

/// A path and what it is.
#[derive(Debug, Clone, Serialize)]
pub struct Line {
    /// `edge`, `cut`, `fine`, `size` or `parting`.
    pub of: &'static str,
    /// SVG path.
    pub path: String,
}

/// Words on the drawing, mm.
#[derive(Debug, Clone, Serialize)]
pub struct Word {
    /// Middle.
    pub x: f64,
    /// Foot.
    pub y: f64,
    /// Whether it reads upward.
    pub up: bool,
    /// Whether it starts at its place, and not has its middle there.
    pub start: bool,
    /// The words.
    pub text: String,
}

/// One mm of paper shows so many.
const SCALES: [f64; 14] =
    [0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 15.0, 20.0, 50.0];
/// Room for a line of sizes beside a view, and between views, mm of paper.
const ROOM: f64 = 11.0;
/// More room where what is hollow is told too, mm of paper.
const INSIDE: f64 = 8.0;

struct Pen {
    scale: f64,
    lines: Vec<Line>,
    words: Vec<Word>,
}

impl Pen {
    /// An outline whose low corner comes to lie at a place on paper, the second axis up.
    fn outline(&mut self, of: &'static str, outline: &Outline, low: [f64; 2], at: [f64; 2]) {
        let mut path = String::new();
        for corners in &outline.loops {
            for (i, corner) in corners.iter().enumerate() {
                let [x, y] = [0, 1].map(|k| (corner[k] - low[k]) * 1e3 / self.scale);
                let pen = if i == 0 { 'M' } else { 'L' };
                let _ = write!(path, "{pen}{:.2} {:.2}", at[0] + x, at[1] - y);
            }
            path.push('Z');
        }
        if !path.is_empty() {
            self.lines.push(Line { of, path });
        }
    }

    /// A size across, its line below a view.
    fn across(&mut self, from: [f64; 2], long: f64, text: String) {
        self.across_with(from, long, text, ([3.0, 1.0], 4.2));
    }

    /// The same above a view.
    fn over(&mut self, from: [f64; 2], long: f64, text: String) {
        self.across_with(from, long, text, ([1.0, 3.0], -1.4));
    }

    /// With ends that reach so far above and below the line, and its words so far off.
    fn across_with(
        &mut self,
        [x, y]: [f64; 2],
        long: f64,
        text: String,
        ([above, below], off): ([f64; 2], f64),
    ) {
        let (top, foot, end) = (y - above, y + below, x + long);
        let path = format!(
            "M{x:.2} {top:.2}V{foot:.2}M{end:.2} {top:.2}V{foot:.2}M{x:.2} {y:.2}H{end:.2}"
        );
        self.lines.push(Line { of: "size", path });
        self.words.push(Word { x: x + long / 2.0, y: y + off, up: false, start: false, text });
    }

    /// A size upright, its line left of a view.
    fn upright(&mut self, from: [f64; 2], long: f64, text: String) {
        self.upright_with(from, long, text, ([1.0, 3.0], -1.6));
    }

    /// The same right of a view.
    fn right(&mut self, from: [f64; 2], long: f64, text: String) {
        self.upright_with(from, long, text, ([3.0, 1.0], 4.6));
    }

    /// Heights right of a view, each at its line, pushed apart where they are close.
    fn heights(&mut self, x: f64, levels: &[(f64, String)]) {
        let mut at = f64::INFINITY;
        let mut places: Vec<f64> = Vec::new();
        for (y, _) in levels {
            at = y.min(at - APART);
            places.push(at);
        }
        // As far up as down from where they would be.
        let off = levels.iter().zip(&places).map(|((y, _), at)| y - at);
        let off = off.fold(0.0, f64::max) / 2.0;
        for ((y, text), at) in levels.iter().zip(places) {
            let at = at + off;
            let path = format!("M{x:.2} {y:.2}h3L{:.2} {at:.2}h2", x + 7.0);
            self.lines.push(Line { of: "size", path });
            let (x, y, text) = (x + 10.0, at + 1.3, text.clone());
            self.words.push(Word { x, y, up: false, start: true, text });
        }
    }

    /// With ends that reach so far to the left and to the right of the line, and its words so far off.
    fn upright_with(
        &mut self,
        [x, y]: [f64; 2],
        long: f64,
        text: String,
        ([left, right], off): ([f64; 2], f64),
    ) {
        let (left, right, top) = (x - left, x + right, y - long);
        let path = format!(
            "M{left:.2} {y:.2}H{right:.2}M{left:.2} {top:.2}H{right:.2}M{x:.2} {y:.2}V{top:.2}"
        );
        self.lines.push(Line { of: "size", path });
        self.words.push(Word { x: x + off, y: y - long / 2.0, up: true, start: false, text });
    }
}

/// What a drawing shows beside the body.
#[derive(Default)]
pub(super) struct Beside {
    /// The height at which it parts, m.
    pub parting: Option<f64>,
    /// The box around what is hollow in it, whose sizes are told too, m.
    pub inside: Option<[[f64; 3]; 2]>,
    /// Where its level faces lie, m.
    pub levels: Vec<f64>,
    /// From where heights are counted, m.
    pub bottom: f64,
}

/// Steps of height closer than this are one, m.
pub(super) const STEP: f64 = 2e-4;
/// From line to line where heights are told, mm of paper.
const APART: f64 = 4.2;
/// Room for them beside a view, mm of paper.
const HEIGHTS: f64 = 48.0;

/// The heights of a body's level faces, m, lowest first.
pub(super) fn levels(mesh: &Mesh) -> Vec<f64> {
    let flat = mesh.triangles.iter().filter_map(|corners| {
        let [a, b, c] = corners.map(|at| mesh.vertices[at as usize]);
        let level = (a[2] - b[2]).abs() < 1e-7 && (a[2] - c[2]).abs() < 1e-7;
        level.then_some(a[2])
    });
    let mut out: Vec<f64> = flat.collect();
    out.sort_by(f64::total_cmp);
    out.dedup_by(|next, kept| *next - *kept < STEP);
    out
}

/// From above, cut along its length, and cut across, in the order of the drawing office.
pub(super) fn draw(body: &Body, beside: Beside, units: System, most: [f64; 2]) -> Drawing {
    let Beside { parting, inside, levels, bottom } = beside;
    let [low, high] = body.bounds();
    let [l, w, d] = body.extents().map(|size| size * 1e3);
    // Sizes of what is hollow stand on the other sides of the views.
    let more = if inside.is_some() { INSIDE } else { 0.0 };
    let room = if levels.is_empty() { 20.0 } else { HEIGHTS };
    let fits = |s: &&f64| {
        (l + d) / **s + 2.0 * ROOM + 4.0 + more <= most[0]
            && l / **s + ROOM + room <= most[0]
            && (w + d) / **s + 2.0 * ROOM + 6.0 + more <= most[1]
    };
    let scale = SCALES.iter().find(fits).copied().unwrap_or(50.0);
    let mut pen = Pen { scale, lines: Vec::new(), words: Vec::new() };
    let on = |mm: f64| mm / scale;
    let (left, top) = (ROOM, 6.0 + more);
    let plan = [left, top + on(w)];
    let front = [left, plan[1] + ROOM + on(d)];
    let end = [left + on(l) + ROOM + 2.0 + more, plan[1]];
    let middle = [0, 1].map(|i| f64::midpoint(low[i], high[i]));
    for share in [0.06, 0.2, 0.35, 0.5, 0.65, 0.8, 0.94] {
        let z = low[2] + share * (high[2] - low[2]);
        pen.outline("fine", &body.section(2, z), [low[0], low[1]], plan);
    }
    pen.outline("edge", &body.silhouette(2), [low[0], low[1]], plan);
    pen.outline("edge", &body.silhouette(1), [low[0], low[2]], front);
    // Just beside the middle, where no face lies.
    pen.outline("cut", &body.section(1, middle[1] + 1e-5), [low[0], low[2]], front);
    // The end stands upright beside the plan: across is depth.
    let turned = |outline: Outline| Outline {
        loops: outline
            .loops
            .into_iter()
            .map(|c| c.into_iter().map(|[y, z]| [z, y]).collect())
            .collect(),
    };
    pen.outline("edge", &turned(body.silhouette(0)), [low[2], low[1]], end);
    pen.outline("cut", &turned(body.section(0, middle[0] + 1e-5)), [low[2], low[1]], end);
    let size = |mm: f64| to_the_rule(mm * 1e-3, units);
    pen.across([left, front[1] + 5.0], on(l), size(l));
    pen.upright([left - 5.0, plan[1]], on(w), size(w));
    pen.upright([left - 5.0, front[1]], on(d), size(d));
    if let Some([from, to]) = inside {
        let long = [0, 1, 2].map(|i| (to[i] - from[i]) * 1e3);
        let off = [0, 1, 2].map(|i| on((from[i] - low[i]) * 1e3));
        pen.over([left + off[0], plan[1] - on(w) - 4.0], on(long[0]), size(long[0]));
        let right = left + on(l) + 4.0;
        pen.right([right, plan[1] - off[1]], on(long[1]), size(long[1]));
        pen.right([right, front[1] - off[2]], on(long[2]), size(long[2]));
    }
    let told = |z: f64| size((z - bottom) * 1e3);
    let mut heights: Vec<(f64, String)> = levels.iter().map(|z| (*z, told(*z))).collect();
    // Too many to be read; the table of pieces tells them.
    if heights.len() as f64 * APART > on(d) + ROOM {
        heights.clear();
    }
    if let Some(z) = parting.filter(|z| *z > low[2] - 1e-6 && *z < high[2] + 1e-6) {
        let up = on((z - low[2]) * 1e3);
        let (y, x) = (front[1] - up, end[0] + up);
        let path = format!(
            "M{:.2} {y:.2}H{:.2}M{x:.2} {:.2}V{:.2}",
            left - 2.0,
            left + on(l) + 3.0,
            end[1] + 2.0,
            top - 3.0
        );
        pen.lines.push(Line { of: "parting", path });
        heights.retain(|(level, _)| (level - z).abs() > STEP);
        heights.push((z, format!("{}, parting", told(z))));
        heights.sort_by(|a, b| a.0.total_cmp(&b.0));
    }
    let lines = heights.into_iter().map(|(z, says)| (front[1] - on((z - low[2]) * 1e3), says));
    pen.heights(left + on(l) + 2.0, &lines.collect::<Vec<_>>());
    let width = (end[0] + on(d) + 4.0).max(left + on(l) + room);
    let (height, scale) = (
        front[1] + 11.0,
        if scale < 1.0 { format!("{} : 1", 1.0 / scale) } else { format!("1 : {scale}") },
    );
    let up = |v: f64| (v * 10.0).ceil() / 10.0;
    Drawing { width: up(width), height: up(height), scale, lines: pen.lines, words: pen.words }
}
