//! Cells of a scene from a question that can be asked of any point: which part is here?

use super::scene::{Scene, Substance};
use rayon::prelude::*;

/// Points along each edge of a cell that is not of one part throughout.
const FINE: usize = 8;

/// Gives each cell the part that fills most of it, melt where half of it or more is melt. What
/// melt is lost in cells that are less than half full goes to the melt cells beside them, so that
/// the volume stays right. `part` tells which part a point (m) belongs to; `melt` is the box, low
/// and high corner (m), outside which there is no melt and no part but `rest`.
pub fn paint(
    scene: &mut Scene,
    rest: u8,
    within: [[f64; 3]; 2],
    part: &(dyn Fn([f64; 3]) -> u8 + Sync),
) {
    let count = scene.size.iter().product();
    scene.cells = vec![rest; count];
    scene.fill = vec![0.0; count];
    let plane = scene.size[0] * scene.size[1];
    let shares: Vec<Vec<(usize, u8, f32)>> = (0..scene.size[2])
        .into_par_iter()
        .map(|z| {
            (z * plane..(z + 1) * plane)
                .filter(|cell| touches(scene, *cell, within))
                .map(|cell| {
                    let (part, fill) = asked(scene, cell, part);
                    (cell, part, fill)
                })
                .collect()
        })
        .collect();
    for (cell, part, fill) in shares.into_iter().flatten() {
        scene.cells[cell] = part;
        scene.fill[cell] = fill;
    }
    hand_on(scene);
}

/// Gives each cell the part that fills most of it, as [`paint`] does, from the share of each cell
/// that each part fills; what an earlier part fills is not filled by a later one.
pub fn lay(scene: &mut Scene, rest: u8, layers: &[(u8, Vec<f32>)]) {
    let count: usize = scene.size.iter().product();
    scene.cells = vec![rest; count];
    scene.fill = vec![0.0; count];
    let melt: Vec<bool> = scene.parts.iter().map(|s| *s == Substance::Melt).collect();
    for cell in 0..count {
        let mut left = 1.0_f32;
        let (mut liquid, mut best) = (0.0_f32, [(rest, 0.0_f32); 2]);
        for (part, shares) in layers {
            let share = shares[cell].min(left);
            left -= share;
            let kind = usize::from(melt[usize::from(*part)]);
            if kind == 1 {
                liquid += share;
            }
            if share > best[kind].1 {
                best[kind] = (*part, share);
            }
        }
        if left > best[0].1 {
            best[0].0 = rest;
        }
        // What is a hair from full or empty is so but for rounding.
        let liquid = if liquid > 0.999 {
            1.0
        } else if liquid < 0.001 {
            0.0
        } else {
            liquid
        };
        scene.cells[cell] = best[usize::from(liquid >= 0.5)].0;
        scene.fill[cell] = liquid;
    }
    hand_on(scene);
}

fn touches(scene: &Scene, cell: usize, within: [[f64; 3]; 2]) -> bool {
    let middle = scene.middle(cell);
    (0..3).all(|a| middle[a] + scene.cell > within[0][a] && middle[a] - scene.cell < within[1][a])
}

/// The part of a cell, and the share of it that is melt.
fn asked(scene: &Scene, cell: usize, part: &(dyn Fn([f64; 3]) -> u8 + Sync)) -> (u8, f32) {
    let middle = scene.middle(cell);
    let edge = scene.cell;
    let near = |offset: [f64; 3]| part([0, 1, 2].map(|a| middle[a] + offset[a] * edge));
    let melt = |part: u8| scene.parts[usize::from(part)] == Substance::Melt;
    let first = part(middle);
    // Just inside the corners and the middles of the faces.
    const IN: f64 = 0.4999;
    let same = (0..8)
        .all(|i| near([0, 1, 2].map(|a| if i >> a & 1 == 1 { IN } else { -IN })) == first)
        && (0..6).all(|i| {
            let mut offset = [0.0; 3];
            offset[i / 2] = if i % 2 == 1 { IN } else { -IN };
            near(offset) == first
        });
    if same {
        return (first, if melt(first) { 1.0 } else { 0.0 });
    }
    let mut counts = vec![0_u32; scene.parts.len()];
    let along = |i: usize| (i as f64 + 0.5) / FINE as f64 - 0.5;
    for x in 0..FINE {
        for y in 0..FINE {
            for z in 0..FINE {
                counts[usize::from(near([along(x), along(y), along(z)]))] += 1;
            }
        }
    }
    let all = FINE.pow(3) as u32;
    let liquid: u32 = (0..counts.len()).filter(|p| melt(*p as u8)).map(|p| counts[p]).sum();
    let molten = 2 * liquid >= all;
    let most = (0..counts.len())
        .filter(|p| melt(*p as u8) == molten)
        .max_by_key(|p| (counts[*p], std::cmp::Reverse(*p)))
        .map_or(first, |p| p as u8);
    (most, liquid as f32 / all as f32)
}

/// Melt in cells that are not melt goes to the melt cells beside them; what has none beside it is
/// shared by all.
fn hand_on(scene: &mut Scene) {
    let melt: Vec<bool> =
        (0..scene.cells.len()).map(|cell| scene.substance(cell) == Substance::Melt).collect();
    let lost: Vec<usize> =
        (0..scene.cells.len()).filter(|c| !melt[*c] && scene.fill[*c] > 0.0).collect();
    let mut given = Vec::new();
    let mut alone = 0.0;
    for cell in lost {
        let beside: Vec<usize> =
            scene.around(cell).filter_map(|(_, _, n)| n).filter(|n| melt[*n]).collect();
        let fill = std::mem::take(&mut scene.fill[cell]);
        if beside.is_empty() {
            alone += f64::from(fill);
        }
        let each = fill / beside.len() as f32;
        given.extend(beside.into_iter().map(|n| (n, each)));
    }
    for (cell, each) in given {
        scene.fill[cell] += each;
    }
    let all: f64 = scene.fill.iter().map(|f| f64::from(*f)).sum();
    if alone > 0.0 && all > 0.0 {
        let more = (1.0 + alone / all) as f32;
        scene.fill.iter_mut().for_each(|f| *f *= more);
    }
}
