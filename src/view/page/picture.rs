//! A small picture of a part: its outline from above, with the edges that lie within it.

use crate::model::Build;
use crate::shape::Outline;
use serde::Serialize;
use std::fmt::Write;

/// An outline to be drawn small.
#[derive(Debug, Clone, Serialize)]
pub struct Picture {
    /// Width and height of what is drawn, for the `viewBox`.
    pub width: u32,
    /// Its height.
    pub height: u32,
    /// SVG path of the outline.
    pub outline: String,
    /// SVG path of the edges within it.
    pub edges: String,
}

/// Units along the longer side.
const LONG: f64 = 80.0;
/// Room for half a line round it.
const ROOM: f64 = 2.0;
/// Heights at which edges are looked for, as shares of the whole.
const HEIGHTS: [f64; 2] = [0.2, 0.8];
/// A corner this near to the line past it is left out, units.
const NEAR: f64 = 0.6;

/// The picture of a part; none where its body is not known.
pub(in crate::view) fn picture(build: &Build, part: usize) -> Option<Picture> {
    let body = build.parts[part].casting.as_ref()?.given.body.as_ref()?;
    let ([low, high], size) = (body.bounds(), body.extents());
    let scale = LONG / size[0].max(size[1]);
    let draw = |outline: &Outline| {
        let mut path = String::new();
        for way in &outline.loops {
            let at = |corner: &[f64; 2]| {
                let (x, y) = (corner[0] - low[0], high[1] - corner[1]);
                [x, y].map(|v| v * scale + ROOM)
            };
            let corners: Vec<[f64; 2]> = way.iter().map(at).collect();
            for (n, [x, y]) in plainer(&corners).into_iter().enumerate() {
                // What follows a move is a line.
                let pen = if n == 0 { 'M' } else { ' ' };
                let _ = write!(path, "{pen}{x:.0} {y:.0}");
            }
            path.push('Z');
        }
        path
    };
    let over = |i: usize| (size[i] * scale + 2.0 * ROOM).ceil() as u32;
    let at = |share: &f64| draw(&body.section(2, low[2] + share * size[2]));
    let outline = draw(&body.silhouette(2));
    let mut edges: Vec<String> = HEIGHTS.iter().map(at).filter(|edge| *edge != outline).collect();
    edges.dedup();
    Some(Picture { width: over(0), height: over(1), outline, edges: edges.concat() })
}

/// A way round without the corners that hardly show: those near the line from the last one kept to
/// the next.
fn plainer(corners: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let mut kept: Vec<[f64; 2]> = Vec::new();
    let mut since: Vec<[f64; 2]> = Vec::new();
    for (at, corner) in corners.iter().enumerate() {
        let next = corners[(at + 1) % corners.len()];
        since.push(*corner);
        let plain =
            kept.last().is_some_and(|last| since.iter().all(|c| off(*c, *last, next) < NEAR));
        if !plain {
            kept.push(*corner);
            since.clear();
        }
    }
    kept
}

/// How far a point lies off the line between two others.
fn off(point: [f64; 2], from: [f64; 2], to: [f64; 2]) -> f64 {
    let (x, y) = (to[0] - from[0], to[1] - from[1]);
    let (u, v) = (point[0] - from[0], point[1] - from[1]);
    let long = x.hypot(y);
    if long < 1e-9 { u.hypot(v) } else { (x * v - y * u).abs() / long }
}
