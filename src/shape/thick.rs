//! The thickest place: the largest sphere that fits inside, found on a grid of cubic cells.
//!
//! A cell is full where its centre lies inside. The exact Euclidean distance from each full cell
//! to the nearest empty one is taken line by line along each axis in turn, as the least of
//! parabolas: time in proportion to the cells (Meijster, Roerdink and Hesselink 2000;
//! Felzenszwalb and Huttenlocher 2012; both from memory).

use super::body::Body;
use super::lines::{Lines, runs};
use super::memo;
use super::mesh::{Mesh, measure};
use super::section::Section;
use super::solid::Solid;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use std::cmp::Reverse;

/// What is looked into.
#[derive(Debug, Clone, Copy)]
pub enum Looked<'a> {
    /// A plain solid; places are told from the low corner of the box around it, or in a polygon's
    /// own measures.
    Solid(&'a Solid),
    /// A mesh; places are told in its own measures.
    Mesh(&'a Mesh),
    /// A body; likewise.
    Body(&'a Body),
}

impl Looked<'_> {
    /// What is found in it, remembered for all but a mere mesh.
    fn found(
        &self,
        cells: Option<usize>,
        find: impl FnOnce() -> Option<Thickest>,
    ) -> Option<Thickest> {
        match self {
            Self::Solid(solid) => memo::answer(&[], &("ball in solid", solid, cells), find),
            Self::Body(body) => memo::answer(&[], &("ball", body.name(), cells), find),
            Self::Mesh(_) => find(),
        }
    }

    /// Its faces; none of a solid.
    fn mesh(&self) -> Option<&Mesh> {
        match self {
            Self::Solid(_) => None,
            Self::Mesh(mesh) => Some(mesh),
            Self::Body(body) => Some(body.mesh()),
        }
    }
}

/// The largest sphere that fits inside, as far as the cells can tell.
///
/// The true radius is never more than `radius` + sqrt(3)/2 `voxel`, if it is more than that half
/// diagonal of a cell: some centre lies within the half diagonal of the true one. It may be less:
/// by up to one voxel between plane walls that lie askew to the cells, by less where they lie even
/// about the middle of the box, by up to sqrt(2) voxel where an edge that juts in bounds it, and by
/// more where a slit narrower than a cell is missed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Thickest {
    /// Distance from the centre to that of the nearest empty cell, m.
    pub radius: f64,
    /// Where the sphere sits, m; of equals the one nearest to the middle of the box.
    pub centre: [f64; 3],
    /// Edge of a cell, m.
    pub voxel: f64,
    /// Share of the body that balls of 0.8 times the radius reach, 0 to 1: near 1 where it is as
    /// thick throughout.
    pub even: f64,
}

/// Cells along the longest side to begin with.
const CELLS: usize = 64;
/// Cells along the longest side at most, where thin walls ask for more.
const MOST_CELLS: usize = 1024;
/// Cells in all beyond which they are not made finer; 16 MiB.
const FINER: usize = 1 << 22;
/// Cells in all at most; 512 MiB.
const MOST: usize = 1 << 27;
/// A radius of so many cells is told well enough.
const ENOUGH: f64 = 4.0;

/// The thickest place, with `cells` along the longest side.
///
/// None where there is nothing to tell: the solid has faults, the mesh is not sound, no centre of
/// a cell lies inside (then try more cells), `cells` is nought, or they would be over 2^27 in all.
pub fn thickest(body: &Looked<'_>, cells: usize) -> Option<Thickest> {
    body.found(Some(cells), || Some(search(body, frame(body)?, cells)?.told()))
}

/// The thickest place with 64 cells along the longest side; twice as many, up to 1024 and to 2^22
/// in all, until the radius is 4 of them.
pub fn thickest_default(body: &Looked<'_>) -> Option<Thickest> {
    body.found(None, || finer_and_finer(body))
}

fn finer_and_finer(body: &Looked<'_>) -> Option<Thickest> {
    let frame = frame(body)?;
    let mut cells = CELLS;
    loop {
        let found = search(body, frame, cells);
        cells *= 2;
        let told = found.as_ref().is_some_and(|it| f64::from(it.square) >= ENOUGH * ENOUGH);
        let finer = Grid::of(frame, cells).is_some_and(|grid| grid.count() <= FINER);
        if told || cells > MOST_CELLS || !finer {
            return Some(found?.told());
        }
    }
}

/// The box around a body that can be looked into.
fn frame(body: &Looked<'_>) -> Option<[[f64; 3]; 2]> {
    match body {
        Looked::Solid(solid) => {
            if !solid.faults().is_empty() {
                return None;
            }
            let mut low = [0.0; 3];
            if let Solid::Prism { section: Section::Polygon(corners), .. } = solid {
                for axis in 0..2 {
                    low[axis] = corners.iter().map(|c| c[axis]).fold(f64::INFINITY, f64::min);
                }
            }
            let size = solid.extents();
            Some([low, [0, 1, 2].map(|axis| low[axis] + size[axis])])
        }
        Looked::Mesh(_) | Looked::Body(_) => {
            let measures = measure(body.mesh()?);
            (measures.triangles > 0 && measures.is_sound()).then_some(measures.bounds)
        }
    }
}

/// A body on cells, with the squares of the distances to the nearest empty one.
struct Found {
    grid: Grid,
    field: Vec<u32>,
    /// The greatest of them, and the cell that has it.
    square: u32,
    at: [usize; 3],
}

impl Found {
    fn told(&self) -> Thickest {
        let Self { grid, field, square, at } = self;
        Thickest {
            radius: f64::from(*square).sqrt() * grid.voxel,
            centre: [0, 1, 2].map(|axis| grid.centre(axis, at[axis])),
            voxel: grid.voxel,
            even: reached(grid.shape, field, (EVEN * EVEN * f64::from(*square)) as u32),
        }
    }
}

fn search(body: &Looked<'_>, frame: [[f64; 3]; 2], cells: usize) -> Option<Found> {
    let grid = Grid::of(frame, cells)?;
    let mut field = vec![0; grid.count()];
    match body {
        Looked::Solid(solid) => grid.fill_solid(solid, frame, &mut field),
        Looked::Mesh(_) | Looked::Body(_) => grid.fill_mesh(body.mesh()?, &mut field),
    }
    transform(grid.shape, &mut field);
    let (square, at) = grid.greatest(&field)?;
    Some(Found { grid, field, square, at })
}

/// Radius of the balls that tell how evenly thick a body is, over that of the largest.
const EVEN: f64 = 0.8;

/// Share of the full cells that lie within balls that fit inside, of this radius squared in cells:
/// what is left when the body is worn away so far and grown again.
fn reached(shape: [usize; 3], field: &[u32], square: u32) -> f64 {
    let mut from: Vec<u32> =
        field.iter().map(|&d| if d >= square.max(1) { 0 } else { FAR }).collect();
    transform(shape, &mut from);
    let full = field.iter().zip(&from).filter(|(d, _)| **d > 0);
    let (near, all) = full.fold((0_usize, 0_usize), |(near, all), (_, away)| {
        (near + usize::from(*away <= square), all + 1)
    });
    near as f64 / all.max(1) as f64
}

/// How far all centres are moved along x, y and z, in cells, so that faces drawn in round figures
/// do not run through them.
const NUDGE: [f64; 3] = [3.1e-7, 5.3e-7, 7.9e-7];

/// Cells around a body, one layer of empty ones outermost; z runs fastest.
struct Grid {
    shape: [usize; 3],
    /// Centre of the first cell, m.
    first: [f64; 3],
    voxel: f64,
}

impl Grid {
    /// An even number of cells along each axis lies even about the middle of the box.
    fn of([low, high]: [[f64; 3]; 2], cells: usize) -> Option<Self> {
        let size = [0, 1, 2].map(|axis| high[axis] - low[axis]);
        let voxel = size.into_iter().fold(0.0, f64::max) / cells as f64;
        if !voxel.is_normal() || cells > MOST {
            return None;
        }
        // A side that holds a whole number of cells but for rounding takes no more.
        let half = size.map(|side| ((side / voxel - 1e-9) / 2.0).ceil().max(1.0));
        let shape = half.map(|half| 2 * half as usize + 2);
        let count = shape.into_iter().try_fold(1_usize, usize::checked_mul)?;
        if count > MOST || shape.into_iter().any(|side| side > LONGEST) {
            return None;
        }
        let first = [0, 1, 2]
            .map(|axis| low[axis] + size[axis] / 2.0 - (half[axis] + 0.5 - NUDGE[axis]) * voxel);
        Some(Self { shape, first, voxel })
    }

    fn count(&self) -> usize {
        self.shape.into_iter().product()
    }

    fn centre(&self, axis: usize, at: usize) -> f64 {
        self.first[axis] + at as f64 * self.voxel
    }

    /// The first cell whose centre is not short of a place; never one of the outermost layer but
    /// the far one, as the end of a run.
    fn from(&self, axis: usize, place: f64) -> usize {
        let at = ((place - self.first[axis]) / self.voxel).ceil();
        // The cast takes what is less than nought as nought.
        (at as usize).clamp(1, self.shape[axis] - 1)
    }

    fn fill_solid(&self, solid: &Solid, [low, high]: [[f64; 3]; 2], field: &mut [u32]) {
        let [_, ny, nz] = self.shape;
        let middle = [0, 1].map(|axis| f64::midpoint(low[axis], high[axis]));
        let outline = match solid {
            Solid::Prism { section, .. } => section.outline(),
            _ => [].as_slice().into(),
        };
        field.par_chunks_mut(ny * nz).enumerate().for_each(|(x, slab)| {
            for (y, column) in slab.chunks_mut(nz).enumerate() {
                let at = [self.centre(0, x), self.centre(1, y)];
                let out = [at[0] - middle[0], at[1] - middle[1]];
                let run = match solid {
                    Solid::Prism { length, .. } => encloses(&outline, at).then_some([0.0, *length]),
                    _ => run(solid, out),
                };
                if let Some([from, to]) = run {
                    let (from, to) = (self.from(2, from), self.from(2, to));
                    if from < to {
                        column[from..to].fill(FAR);
                    }
                }
            }
        });
    }

    fn fill_mesh(&self, mesh: &Mesh, field: &mut [u32]) {
        let [_, ny, nz] = self.shape;
        let lines = Lines {
            first: [self.first[0], self.first[1]],
            step: [self.voxel; 2],
            count: [self.shape[0], ny],
        };
        let crossings = lines.crossings(mesh);
        field.par_chunks_mut(ny * nz).enumerate().for_each(|(x, slab)| {
            for (column, run) in runs(&crossings, x * ny..(x + 1) * ny) {
                let y = column - x * ny;
                let (from, to) = (self.from(2, run[0]), self.from(2, run[1]));
                if from < to {
                    slab[y * nz..(y + 1) * nz][from..to].fill(FAR);
                }
            }
        });
    }

    /// The greatest square and its cell; of equals the one nearest to the middle, then the first.
    fn greatest(&self, field: &[u32]) -> Option<(u32, [usize; 3])> {
        let [_, ny, nz] = self.shape;
        let off = |at: usize, side: usize| (2 * at + 1).abs_diff(side).pow(2);
        let best = field
            .par_chunks(nz)
            .enumerate()
            .filter_map(|(row, cells)| {
                let most = cells.iter().copied().max().filter(|&most| most > 0)?;
                let (x, y) = (row / ny, row % ny);
                let equals = cells.iter().enumerate().filter(|&(_, &square)| square == most);
                let (z, _) = equals.min_by_key(|&(z, _)| off(z, nz))?;
                let off = off(x, self.shape[0]) + off(y, ny) + off(z, nz);
                Some((most, Reverse((off, x, y, z))))
            })
            .max()?;
        let (square, Reverse((_, x, y, z))) = best;
        Some((square, [x, y, z]))
    }
}

fn encloses(outline: &[[f64; 2]], [x, y]: [f64; 2]) -> bool {
    let next = outline.iter().cycle().skip(1);
    let passed = outline.iter().zip(next).filter(|(a, b)| {
        (a[1] <= y) != (b[1] <= y) && x < a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
    });
    passed.count() % 2 == 1
}

/// From where to where along z a solid other than a prism reaches, so far out from the middle.
fn run(solid: &Solid, [x, y]: [f64; 2]) -> Option<[f64; 2]> {
    let out = x.hypot(y);
    match *solid {
        Solid::Plate { length, width, thickness: height }
        | Solid::Block { length, width, height } => {
            (x.abs() < length / 2.0 && y.abs() < width / 2.0).then_some([0.0, height])
        }
        Solid::Cylinder { diameter, length } => (out < diameter / 2.0).then_some([0.0, length]),
        Solid::Tube { outside, inside, length } => {
            (out < outside / 2.0 && out > inside / 2.0).then_some([0.0, length])
        }
        Solid::Cone { bottom, top, length } => {
            let (bottom, top) = (bottom / 2.0, top / 2.0);
            let edge = length * (out - bottom) / (top - bottom);
            match (out < bottom, out < top) {
                (true, true) => Some([0.0, length]),
                (true, false) => Some([0.0, edge]),
                (false, true) => Some([edge, length]),
                (false, false) => None,
            }
        }
        Solid::Ring { outside, section } => {
            let radius = section / 2.0;
            ball(out - (outside - section) / 2.0, radius)
        }
        Solid::Sphere { diameter } => ball(out, diameter / 2.0),
        Solid::Prism { .. } => None,
    }
}

/// From where to where a disc on the ground reaches, so far from its middle.
fn ball(off: f64, radius: f64) -> Option<[f64; 2]> {
    let half = ((radius - off) * (radius + off)).max(0.0).sqrt();
    (half > 0.0).then_some([radius - half, radius + half])
}

/// Full, or farther from an empty cell than can be told.
const FAR: u32 = u32::MAX;
/// The longest side of a field: three squares of it stay below 2^31.
const LONGEST: usize = 1 << 14;

/// For each cell the square of the distance to the nearest cell that is not filled, in cells: a
/// whole number, exact. z runs fastest, then y; [`u32::MAX`] where no cell is empty. What lies
/// outside the field does not count as empty.
///
/// None where `filled` is not as long as `shape` says or a side is over 16384.
pub fn squared_distances(shape: [usize; 3], filled: &[bool]) -> Option<Vec<u32>> {
    let count = shape.into_iter().try_fold(1_usize, usize::checked_mul)?;
    if count != filled.len() || shape.into_iter().any(|side| side > LONGEST) {
        return None;
    }
    let mut field: Vec<u32> = filled.iter().map(|&full| if full { FAR } else { 0 }).collect();
    transform(shape, &mut field);
    Some(field)
}

/// Turns nought for empty and [`FAR`] for full into squares of distances, in place.
fn transform([_, ny, nz]: [usize; 3], field: &mut [u32]) {
    if field.is_empty() {
        return;
    }
    field.par_chunks_mut(ny * nz).for_each_init(Room::default, |lines, slab| {
        slab.chunks_mut(nz).for_each(sweep);
        let mut rows: Vec<&mut [u32]> = slab.chunks_mut(nz).collect();
        lines.across(&mut rows);
    });
    let mut slabs: Vec<Vec<&mut [u32]>> = (0..ny).map(|_| Vec::new()).collect();
    for slab in field.chunks_mut(ny * nz) {
        for (rows, row) in slabs.iter_mut().zip(slab.chunks_mut(nz)) {
            rows.push(row);
        }
    }
    slabs.par_iter_mut().for_each_init(Room::default, |lines, rows| lines.across(rows));
}

/// Along one line: distances to the nearest nought on either side, squared.
fn sweep(line: &mut [u32]) {
    let mut since = FAR;
    for cell in line.iter_mut() {
        since = if *cell == 0 { 0 } else { since.saturating_add(1) };
        *cell = since;
    }
    for cell in line.iter_mut().rev() {
        since = since.saturating_add(1).min(*cell);
        *cell = since;
    }
    for cell in line.iter_mut().filter(|cell| **cell != FAR) {
        *cell *= *cell;
    }
}

/// Lines taken out of the rows together: a cache line of 64 bytes.
const TOGETHER: usize = 16;

/// A parabola of those that are least somewhere: over `site` it is `height`, and it is the least
/// from `from` on.
#[derive(Clone, Copy)]
struct Parabola {
    site: u32,
    height: u32,
    from: u32,
}

impl Parabola {
    fn at(self, place: u32) -> u32 {
        self.height + place.abs_diff(self.site).pow(2)
    }
}

/// Room to work in.
#[derive(Default)]
struct Room {
    taken: Vec<u32>,
    hull: Vec<Parabola>,
}

impl Room {
    /// Works on the lines that run across the rows.
    fn across(&mut self, rows: &mut [&mut [u32]]) {
        let count = rows.len();
        let width = rows.first().map_or(0, |row| row.len());
        for start in (0..width).step_by(TOGETHER) {
            let end = width.min(start + TOGETHER);
            self.taken.resize(TOGETHER * count, 0);
            let mut any = 0;
            for (i, row) in rows.iter().enumerate() {
                for (line, &cell) in row[start..end].iter().enumerate() {
                    self.taken[line * count + i] = cell;
                    any |= cell;
                }
            }
            if any == 0 {
                continue;
            }
            for line in self.taken.chunks_mut(count).take(end - start) {
                least(line, &mut self.hull);
            }
            for (i, row) in rows.iter_mut().enumerate() {
                for (line, cell) in row[start..end].iter_mut().enumerate() {
                    *cell = self.taken[line * count + i];
                }
            }
        }
    }
}

/// Each value becomes the least of the parabolas over all of them.
fn least(line: &mut [u32], hull: &mut Vec<Parabola>) {
    hull.clear();
    let length = line.len() as u32;
    for (site, &height) in (0..length).zip(line.iter()) {
        if height == FAR {
            continue;
        }
        let mut next = Parabola { site, height, from: 0 };
        while hull.pop_if(|last| last.at(last.from) > next.at(last.from)).is_some() {}
        if let Some(last) = hull.last() {
            // Where the last begins it is not above the next, so nothing here is below nought.
            let rise = site * site + height - last.site * last.site - last.height;
            next.from = rise / (2 * (site - last.site)) + 1;
            if next.from >= length {
                continue;
            }
        }
        hull.push(next);
    }
    for (i, parabola) in hull.iter().enumerate() {
        let end = hull.get(i + 1).map_or(length, |next| next.from);
        for place in parabola.from..end {
            line[place as usize] = parabola.at(place);
        }
    }
}
