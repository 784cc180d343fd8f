//! Where a lattice of upright lines runs inside a mesh.

use super::mesh::Mesh;
use rayon::prelude::*;
use std::ops::Range;

/// Upright lines in rows: those along y follow each other, then those along x.
pub(super) struct Lines {
    /// Where the first stands, m.
    pub first: [f64; 2],
    /// From one to the next, m.
    pub step: [f64; 2],
    /// How many along x and y.
    pub count: [usize; 2],
}

/// Where a line passes a face.
#[derive(Clone, Copy)]
pub(super) struct Crossing {
    z: f64,
    line: u32,
    /// Into the body or out of it.
    step: i8,
}

impl Lines {
    /// Every place where a line passes a face, line by line, upward.
    pub fn crossings(&self, mesh: &Mesh) -> Vec<Crossing> {
        let parts: Vec<Vec<Crossing>> = mesh
            .triangles
            .par_chunks(1 << 12)
            .map(|triangles| {
                let mut crossings = Vec::new();
                for triangle in triangles {
                    self.cross(triangle.map(|v| mesh.vertices[v as usize]), &mut crossings);
                }
                crossings
            })
            .collect();
        self.in_order(&parts)
    }

    /// Shared out to their lines, each line's upward: there are few on any one.
    fn in_order(&self, parts: &[Vec<Crossing>]) -> Vec<Crossing> {
        let mut next = vec![0_usize; self.count[0] * self.count[1] + 1];
        let all = || parts.iter().flatten();
        all().for_each(|crossing| next[crossing.line as usize + 1] += 1);
        for line in 1..next.len() {
            next[line] += next[line - 1];
        }
        let mut out = vec![Crossing { z: 0.0, line: 0, step: 0 }; parts.iter().map(Vec::len).sum()];
        for crossing in all() {
            let next = &mut next[crossing.line as usize];
            out[*next] = *crossing;
            *next += 1;
        }
        for line in out.chunk_by_mut(|a, b| a.line == b.line) {
            line.sort_unstable_by(|a, b| a.z.total_cmp(&b.z).then(a.step.cmp(&b.step)));
        }
        out
    }

    fn place(&self, axis: usize, at: usize) -> f64 {
        self.first[axis] + at as f64 * self.step[axis]
    }

    /// The first line that is not short of a place; one past the last where all are.
    fn from(&self, axis: usize, place: f64) -> usize {
        let at = ((place - self.first[axis]) / self.step[axis]).ceil();
        // The cast takes what is less than nought as nought.
        (at as usize).min(self.count[axis])
    }

    /// Where the lines pass a triangle. Where an edge lies among them is reckoned the same way
    /// from both its faces, so that no line slips between them.
    fn cross(&self, corners: [[f64; 3]; 3], crossings: &mut Vec<Crossing>) {
        let [a, b, c] = corners;
        let least = |axis: usize| a[axis].min(b[axis]).min(c[axis]);
        let most = |axis: usize| a[axis].max(b[axis]).max(c[axis]);
        // Most triangles lie beside all the lines.
        let beside = |axis: usize| {
            let last = self.place(axis, self.count[axis].saturating_sub(1));
            most(axis) < self.first[axis] || least(axis) > last
        };
        if beside(1) || beside(0) {
            return;
        }
        let (ab, ac) = ([0, 1, 2].map(|i| b[i] - a[i]), [0, 1, 2].map(|i| c[i] - a[i]));
        let normal = [
            ab[1] * ac[2] - ab[2] * ac[1],
            ab[2] * ac[0] - ab[0] * ac[2],
            ab[0] * ac[1] - ab[1] * ac[0],
        ];
        let (low, high) = (least(2), most(2));
        // One more on either side than rounding could ask for; the edges tell.
        let (start, end) = (self.from(1, least(1)), self.from(1, most(1)));
        for y in start.saturating_sub(1)..(end + 2).min(self.count[1]) {
            let row = self.place(1, y);
            let (mut up, mut down) = (None, None);
            for (from, to) in [(a, b), (b, c), (c, a)] {
                match (from[1] <= row, to[1] <= row) {
                    (true, false) => up = Some(self.from(0, along(from, to, row))),
                    (false, true) => down = Some(self.from(0, along(to, from, row))),
                    _ => {}
                }
            }
            let (Some(up), Some(down)) = (up, down) else { continue };
            let step = if up > down { -1 } else { 1 };
            for x in up.min(down)..up.max(down) {
                let off = (self.place(0, x) - a[0]) * normal[0] + (row - a[1]) * normal[1];
                let z = a[2] - off / normal[2];
                // A face that stands on edge but for rounding.
                let z = if z.is_nan() { low } else { z.clamp(low, high) };
                crossings.push(Crossing { z, line: (x * self.count[1] + y) as u32, step });
            }
        }
    }
}

/// The stretches of these lines that lie inside, each with its line, from where to where (m).
pub(super) fn runs(
    crossings: &[Crossing],
    lines: Range<usize>,
) -> impl Iterator<Item = (usize, [f64; 2])> {
    let start = |line| crossings.partition_point(|c| (c.line as usize) < line);
    let here = &crossings[start(lines.start)..start(lines.end)];
    here.chunk_by(|a, b| a.line == b.line).flat_map(|line| {
        let mut deep = 0_i32;
        line.windows(2).filter_map(move |pair| {
            deep += i32::from(pair[0].step);
            (deep != 0).then_some((pair[0].line as usize, [pair[0].z, pair[1].z]))
        })
    })
}

/// How deep each stretch between two faces lies within the surface, and how long it is (m); what
/// lies outside is left out.
pub(super) fn depths(crossings: &[Crossing]) -> impl Iterator<Item = (i32, f64)> {
    crossings.chunk_by(|a, b| a.line == b.line).flat_map(|line| {
        let mut deep = 0_i32;
        line.windows(2).filter_map(move |pair| {
            deep += i32::from(pair[0].step);
            (deep != 0).then_some((deep, pair[1].z - pair[0].z))
        })
    })
}

/// x of an edge at a row across it; `below` and `above` are its corners.
fn along(below: [f64; 3], above: [f64; 3], row: f64) -> f64 {
    let at = (row - below[1]) / (above[1] - below[1]);
    below[0] + at * (above[0] - below[0])
}
