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
/// Corners nearer than this are one, units.
const NEAR: i32 = 2;

/// The picture of a part; none where its body is not known.
pub(in crate::view) fn picture(build: &Build, part: usize) -> Option<Picture> {
    let body = build.parts[part].casting.as_ref()?.given.body.as_ref()?;
    let ([low, high], size) = (body.bounds(), body.extents());
    let scale = LONG / size[0].max(size[1]);
    let draw = |outline: &Outline| {
        let mut path = String::new();
        for way in &outline.loops {
            let mut last: Option<(i32, i32)> = None;
            for corner in way {
                let x = ((corner[0] - low[0]) * scale + ROOM).round() as i32;
                let y = ((high[1] - corner[1]) * scale + ROOM).round() as i32;
                let far = last.is_none_or(|(a, b)| (a - x).abs() > NEAR || (b - y).abs() > NEAR);
                if far {
                    // What follows a move is a line.
                    let pen = if last.is_none() { 'M' } else { ' ' };
                    let _ = write!(path, "{pen}{x} {y}");
                    last = Some((x, y));
                }
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
