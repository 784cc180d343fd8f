//! The area that a mesh covers seen from above: what the metal lifts the cope with.

use super::Mesh;

/// Cells along the longer side of the raster.
const CELLS: f64 = 1024.0;

/// How the triangles that look up cover the plan, by the centres of square cells.
pub(super) struct Plan {
    /// Area of the cells that are covered, m2.
    pub covered: f64,
    /// Whether no cell is covered more than once.
    pub once: bool,
}

impl Plan {
    /// Paints the triangles that look up, or all where the winding is not to be believed.
    pub(super) fn of(mesh: &Mesh, low: [f64; 3], high: [f64; 3], all: bool) -> Self {
        let size = [high[0] - low[0], high[1] - low[1]];
        let cell = size[0].max(size[1]) / CELLS;
        if !(cell > 0.0 && cell.is_finite()) {
            return Self { covered: 0.0, once: true };
        }
        // Off by an odd part of a cell, so that no drawing's own grid falls on the centres.
        let centre = |edge: f64, i: f64| edge + (i + 0.4142) * cell;
        let wide = (size[0] / cell).ceil() as usize + 1;
        let deep = (size[1] / cell).ceil() as usize + 1;
        let mut painted = vec![0_u64; (wide * deep).div_ceil(64)];
        let (mut cells, mut once) = (0, true);
        let first = |at: f64, edge: f64| ((at - edge) / cell - 0.4142).ceil().max(0.0) as usize;
        for triangle in &mesh.triangles {
            let [a, b, c] = triangle.map(|v| mesh.vertices[v as usize]);
            let up = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
            if up == 0.0 || (up < 0.0 && !all) {
                continue;
            }
            let top = a[1].max(b[1]).max(c[1]);
            let bottom = a[1].min(b[1]).min(c[1]);
            for row in first(bottom, low[1])..first(top, low[1]).min(deep) {
                let y = centre(low[1], row as f64);
                let mut span = [f64::INFINITY, f64::NEG_INFINITY];
                for (p, q) in [(a, b), (b, c), (c, a)] {
                    // Both neighbours of an edge reckon it from the same end.
                    let (p, q) = if p[1] < q[1] { (p, q) } else { (q, p) };
                    if p[1] < y && y <= q[1] {
                        let x = p[0] + (q[0] - p[0]) * ((y - p[1]) / (q[1] - p[1]));
                        span = [span[0].min(x), span[1].max(x)];
                    }
                }
                let row = row * wide;
                let from = row + first(span[0], low[0]);
                let to = row + first(span[1], low[0]).min(wide);
                for (word, bits) in words(from, to) {
                    once &= painted[word] & bits == 0;
                    cells += (bits & !painted[word]).count_ones() as usize;
                    painted[word] |= bits;
                }
            }
        }
        Self { covered: cells as f64 * cell * cell, once }
    }
}

/// The words of 64 cells that a run of cells lies in, each with the bits that are its own.
fn words(from: usize, to: usize) -> impl Iterator<Item = (usize, u64)> {
    let last = if from < to { to.div_ceil(64) } else { 0 };
    (from / 64..last).map(move |word| {
        let (start, end) = (from.saturating_sub(64 * word), (to - 64 * word).min(64));
        (word, (u64::MAX >> (64 - end)) & (u64::MAX << start))
    })
}
