//! A body in space: solids placed, joined and cut, or a mesh, asked the same questions.

use super::csg::Csg;
use super::frame::Frame;
use super::key::{self, Key};
use super::lines::{Lines, runs};
use super::mesh::{Measures, Mesh, Piece, pieces, sizes};
use super::outline::Outline;
use super::solid::Solid;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use std::sync::{Arc, OnceLock};

/// One solid of a body and where it stands, perhaps in several places.
#[derive(Debug, Clone)]
pub struct Placed {
    /// The solid.
    pub solid: Solid,
    /// Each place in which it stands.
    pub frames: Vec<Frame>,
    /// Whether it is cut out.
    pub less: bool,
    /// Which of the solids it is cut out of; of all where none is said.
    pub of: Option<usize>,
}

/// What is odd about a body, by the index of the solid that shows it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[non_exhaustive]
pub enum Odd {
    /// A cut that takes nothing away.
    Misses(usize),
    /// An added solid that does not touch the rest.
    Apart(usize),
    /// The cut after which nothing is left.
    Nothing(usize),
    /// A solid that is in the same place as another just like it.
    Twice(usize),
}

/// A closed body, metres.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Body {
    mesh: Arc<Mesh>,
    volume: f64,
    surface: f64,
    bounds: [[f64; 3]; 2],
    /// A hash of what it is made of, once it was asked for.
    #[serde(skip)]
    name: Arc<OnceLock<Key>>,
}

/// Cells in rows along x, y and z.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cells {
    /// The low corner of the first, m.
    pub low: [f64; 3],
    /// Edges of one, m.
    pub edge: [f64; 3],
    /// How many.
    pub count: [usize; 3],
}

/// Lines through a cell along x, and as many along y.
const THROUGH: usize = 4;

/// How far lines stand off their even places, in steps, so that faces drawn in round figures do
/// not run through them.
const NUDGE: [f64; 2] = [3.1e-7, 5.3e-7];

impl Body {
    /// Placed solids, joined.
    pub(super) fn joined(placed: &[Placed]) -> (Option<Self>, Vec<Odd>) {
        let standing: Vec<Vec<Csg>> = placed
            .iter()
            .map(|p| p.frames.iter().map(|frame| Csg::of(&p.solid, frame)).collect())
            .collect();
        let twice = twice(placed);
        let mut joining = Joining { placed, standing: &standing, volume: 0.0, odd: twice };
        let whole = joining.whole();
        let Joining { volume, mut odd, .. } = joining;
        let Some(whole) = whole else { return (None, odd) };
        let mesh = whole.mesh();
        odd.extend(apart(&mesh, placed, &standing));
        let mut body = Self::of_mesh(mesh);
        body.volume = volume;
        (Some(body), odd)
    }

    /// A mesh that nothing speaks against as a body.
    pub fn of_mesh(mesh: impl Into<Arc<Mesh>>) -> Self {
        let mesh = mesh.into();
        let (volume, surface, bounds) = sizes(&mesh);
        Self { mesh, volume, surface, bounds, name: Arc::default() }
    }

    /// A mesh that was measured as a body.
    pub fn measured(mesh: impl Into<Arc<Mesh>>, measures: &Measures) -> Self {
        Self {
            mesh: mesh.into(),
            volume: measures.volume,
            surface: measures.surface,
            bounds: measures.bounds,
            name: Arc::default(),
        }
    }

    /// Under the name of the solids that it is made of.
    pub(super) fn with_name(mut self, name: Key) -> Self {
        self.name = Arc::new(name.into());
        self
    }

    /// What tells it from every other body: a hash of the solids that it is made of, or of its faces.
    pub fn name(&self) -> Key {
        *self.name.get_or_init(|| key::name(&self.mesh))
    }

    /// Whether each face has its corners, and each figure is one.
    pub(super) fn is_sound(&self) -> bool {
        let corners = self.mesh.vertices.len();
        let sizes = [self.volume, self.surface];
        self.mesh.triangles.as_flattened().iter().all(|corner| (*corner as usize) < corners)
            && self.mesh.vertices.as_flattened().iter().all(|x| x.is_finite())
            && sizes.iter().chain(self.bounds.as_flattened()).all(|x| x.is_finite())
    }

    /// Its faces.
    pub fn mesh(&self) -> &Arc<Mesh> {
        &self.mesh
    }

    /// Volume, m3.
    pub fn volume(&self) -> f64 {
        self.volume
    }

    /// Surface all round, in hollows too, m2; where it is round, low by 0.2 % at most.
    pub fn surface(&self) -> f64 {
        self.surface
    }

    /// Least and greatest corner of the box around it, m.
    pub fn bounds(&self) -> [[f64; 3]; 2] {
        self.bounds
    }

    /// Lengths of the box around it along x, y and z, m.
    pub fn extents(&self) -> [f64; 3] {
        let [low, high] = self.bounds;
        [0, 1, 2].map(|i| high[i] - low[i])
    }

    /// What it covers seen along x, y or z (0, 1, 2); in the plane the two other axes follow in
    /// the order x, y, z.
    pub fn silhouette(&self, along: usize) -> Outline {
        let (one, other) = plane(along);
        let mirrored = along == 1;
        // Seen along y the two axes are left-handed: mirrored, so that faces turn the right way.
        let outline = Outline::silhouette(&self.mesh, |v| {
            [if mirrored { -v[one] } else { v[one] }, v[other]]
        });
        if mirrored { outline.mirrored() } else { outline }
    }

    /// What shows where it is cut across x, y or z (0, 1, 2) at this place, m; in the plane as
    /// [`Body::silhouette`].
    pub fn section(&self, across: usize, at: f64) -> Outline {
        let (one, other) = plane(across);
        let mirrored = across == 1;
        let outline = Outline::cut(&self.mesh, |v| {
            ([if mirrored { -v[one] } else { v[one] }, v[other]], v[across] - at)
        });
        if mirrored { outline.mirrored() } else { outline }
    }

    /// Whether a point lies inside, m.
    pub fn inside(&self, [x, y, z]: [f64; 3]) -> bool {
        let lines = Lines { first: [x, y], step: [1.0; 2], count: [1; 2] };
        runs(&lines.crossings(&self.mesh), 0..1).any(|(_, [from, to])| from <= z && z < to)
    }

    /// Which share of each cell is full, 0 to 1; z runs fastest, then y. Exact along z, by 4 x 4
    /// lines across.
    pub fn filled(&self, cells: &Cells) -> Vec<f32> {
        let [nx, ny, nz] = cells.count;
        let step = [0, 1].map(|i| cells.edge[i] / THROUGH as f64);
        let lines = Lines {
            first: [0, 1].map(|i| cells.low[i] + (0.5 + NUDGE[i]) * step[i]),
            step,
            count: [nx * THROUGH, ny * THROUGH],
        };
        let crossings = lines.crossings(&self.mesh);
        let mut shares = vec![0.0_f32; nx * ny * nz];
        if shares.is_empty() {
            return shares;
        }
        let each = 1.0 / (THROUGH * THROUGH) as f32;
        shares.par_chunks_mut(ny * nz).enumerate().for_each(|(x, slab)| {
            let row = ny * THROUGH;
            for (line, run) in runs(&crossings, x * THROUGH * row..(x + 1) * THROUGH * row) {
                let y = (line % row) / THROUGH;
                let [from, to] = run.map(|z| (z - cells.low[2]) / cells.edge[2]);
                fill(&mut slab[y * nz..(y + 1) * nz], from, to, each);
            }
        });
        shares
    }
}

/// Adds a run from here to there, in cells, to a column.
fn fill(column: &mut [f32], from: f64, to: f64, each: f32) {
    let (from, to) = (from.max(0.0), to.min(column.len() as f64));
    if from >= to {
        return;
    }
    let last = (to.ceil() as usize).min(column.len());
    for (at, share) in column.iter_mut().enumerate().take(last).skip(from as usize) {
        let (low, high) = (from.max(at as f64), to.min(at as f64 + 1.0));
        *share += (high - low).max(0.0) as f32 * each;
    }
}

/// The two axes other than this one.
const fn plane(axis: usize) -> (usize, usize) {
    match axis {
        0 => (1, 2),
        1 => (0, 2),
        _ => (0, 1),
    }
}

/// The solids that stand where one just like them stands already.
fn twice(placed: &[Placed]) -> Vec<Odd> {
    let like = |a: &Placed, b: &Placed| a.solid == b.solid && a.less == b.less && a.of == b.of;
    let again = |(at, one): (usize, &Placed)| {
        let before = placed[..at].iter().filter(|other| like(one, other));
        let taken: Vec<&Frame> = before.flat_map(|other| &other.frames).collect();
        let mut frames = one.frames.iter().enumerate();
        let found = frames.any(|(i, f)| taken.contains(&f) || one.frames[..i].contains(f));
        found.then_some(Odd::Twice(at))
    };
    placed.iter().enumerate().filter_map(again).collect()
}

/// Solids on the way to becoming one body.
struct Joining<'a> {
    placed: &'a [Placed],
    /// Each solid in each of its places.
    standing: &'a [Vec<Csg>],
    /// So far, m3: by the closed form of each solid, of each cut the share that it takes.
    volume: f64,
    odd: Vec<Odd>,
}

impl Joining<'_> {
    /// The solids joined, each less the cuts that name it, then less the other cuts.
    fn whole(&mut self) -> Option<Csg> {
        let mut added = Vec::new();
        for (at, solid) in self.placed.iter().enumerate().filter(|(_, p)| !p.less) {
            self.volume += solid.solid.volume() * solid.frames.len() as f64;
            let one = self.joined(self.standing[at].clone())?;
            added.push(self.cut(one, Some(at))?);
        }
        let all = self.joined(added)?;
        self.cut(all, None)
    }

    /// As one; what they share counts once.
    fn joined(&mut self, parts: Vec<Csg>) -> Option<Csg> {
        let apart: f64 = parts.iter().map(Csg::volume).sum();
        let one = Csg::joined(parts)?;
        self.volume -= apart - one.volume();
        Some(one)
    }

    fn cut(&mut self, mut body: Csg, host: Option<usize>) -> Option<Csg> {
        let cuts = self.placed.iter().enumerate().filter(|(_, p)| p.less && p.of == host);
        for (at, cut) in cuts {
            let Some(tool) = Csg::joined(self.standing[at].clone()) else { continue };
            let left = body.less(&tool);
            if left.is_empty() {
                self.odd.push(Odd::Nothing(at));
                return None;
            }
            let taken = body.volume() - left.volume();
            // A skin of rounding is no cut.
            if taken <= 1e-9 * tool.volume() {
                self.odd.push(Odd::Misses(at));
            }
            let flat: f64 = self.standing[at].iter().map(Csg::volume).sum();
            self.volume -= taken * cut.solid.volume() * cut.frames.len() as f64 / flat;
            body = left;
        }
        Some(body)
    }
}

/// The solids that do not touch the largest piece.
fn apart(mesh: &Mesh, placed: &[Placed], standing: &[Vec<Csg>]) -> Vec<Odd> {
    let mut found = pieces(mesh);
    found.retain(|piece| piece.volume > 0.0);
    found.sort_by(|a, b| b.volume.total_cmp(&a.volume));
    let mut loose: Vec<usize> =
        found.iter().skip(1).filter_map(|piece| shown_by(piece, placed, standing)).collect();
    loose.sort_unstable();
    loose.dedup();
    loose.into_iter().map(Odd::Apart).collect()
}

/// The smallest added solid in whose box a piece lies.
fn shown_by(piece: &Piece, placed: &[Placed], standing: &[Vec<Csg>]) -> Option<usize> {
    let added = placed.iter().enumerate().filter(|(_, p)| !p.less);
    let copies = added.flat_map(|(at, _)| standing[at].iter().map(move |copy| (at, copy)));
    let holding = copies.filter(|(_, copy)| {
        let [low, high] = copy.bounds();
        let slack = 1e-9;
        (0..3).all(|i| low[i] - slack <= piece.low[i] && piece.high[i] <= high[i] + slack)
    });
    let smallest = holding.min_by(|a, b| a.1.volume().total_cmp(&b.1.volume()));
    // A piece of several solids lies in the box of none: the first that is not the main one.
    smallest.map(|(at, _)| at).or_else(|| placed.iter().rposition(|p| !p.less))
}
