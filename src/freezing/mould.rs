//! The mould on cells: casting, necks and feeders in sand.

use super::setup::{Feeders, Run, SHOP, Setup};
use crate::heatflow::{Face, Inert, Melt, Scene, Substance, lay};
use crate::shape::{Body, Cells, Frame, Looked, Placed, Solid, thickest_default};

/// Parts of the scene.
pub(super) const SAND: u8 = 0;
pub(super) const CASTING: u8 = 1;
pub(super) const NECK: u8 = 2;
pub(super) const FEEDER: u8 = 3;
const SLEEVE: u8 = 4;

/// Cells across the ruling wall, and most across the thickest place.
const ACROSS: f64 = 4.0;
const MOST_ACROSS: f64 = 24.0;
/// Most cells of a scene; a wall that wants finer ones has them up to the second bound.
const MOST: f64 = 1.0e6;
const MOST_HELD: f64 = 4.0e6;
/// Cells that the thinnest way through the whole takes at least.
const LEAST_THROUGH: f64 = 2.0;
/// Sand all round, m; freezing changes by less than a thousandth beyond it.
const AROUND: f64 = 0.045;
/// To the air of the shop, W/m2K; from memory.
const OUTSIDE: f64 = 10.0;
/// Of a sleeve's wall, m; from memory, of small sleeves.
const WALL: f64 = 0.010;

/// A casting made ready to be put on cells.
pub(super) struct Mould<'a> {
    setup: &'a Setup,
    /// Metal and sand of the fast, likely and slow run.
    melts: [Melt; 3],
    sands: [Inert; 3],
    /// Twice the volume over the surface, m.
    pub(super) ruling: f64,
    /// Edge of a cell, m.
    pub(super) cell: f64,
}

/// A feeder on its neck: the middle of the neck's foot, m.
pub(super) type Foot = [f64; 3];

/// Feeders on their feet.
#[derive(Debug, Clone)]
pub(super) struct Fed {
    pub(super) feeders: Feeders,
    pub(super) feet: Vec<Foot>,
}

impl<'a> Mould<'a> {
    /// None where the setup lacks a property, or the casting is too thin for its width.
    pub(super) fn new(setup: &'a Setup) -> Option<Self> {
        let [Some(a), Some(b), Some(c)] = Run::ALL.map(|run| setup.melt(run)) else { return None };
        let melts = [a, b, c];
        let [Some(a), Some(b), Some(c)] = Run::ALL.map(|run| setup.sand(run)) else { return None };
        let sands = [a, b, c];
        let body = &setup.body;
        let ruling = 2.0 * body.volume() / body.surface() / setup.oversize;
        let thick = thickest_default(&Looked::Mesh(body.mesh()))
            .map_or(ruling, |t| 2.0 * t.radius / setup.oversize);
        let tall = setup.advice.map_or(0.0, |a| a.feeders.height + a.feeders.neck_length);
        let room: f64 = body
            .extents()
            .iter()
            .zip([0.0, 0.0, tall])
            .map(|(x, more)| x / setup.oversize + more + 2.0 * AROUND)
            .product();
        let least = (ruling / ACROSS).max(thick / MOST_ACROSS).max((room / MOST).cbrt());
        // The thinnest way through the whole is four cells, or eight, or twelve.
        let through = body.extents().into_iter().fold(f64::INFINITY, f64::min) / setup.oversize;
        let cell = through / (4.0 * (through / (4.0 * least)).floor()).max(4.0);
        let cell = if cell > 1.5 * least { least } else { cell };
        let cell = cell.max((room / MOST_HELD).cbrt());
        if through < LEAST_THROUGH * cell {
            return None;
        }
        Some(Self { setup, melts, sands, ruling, cell })
    }

    /// The box of the casting, m.
    fn bounds(&self) -> [[f64; 3]; 2] {
        self.setup.body.bounds().map(|corner| corner.map(|x| x / self.setup.oversize))
    }

    /// On cells of this size, with these feeders.
    pub(super) fn scene(&self, run: Run, cell: f64, fed: Option<&Fed>) -> Scene {
        let [low, mut high] = self.bounds();
        if let Some(Fed { feeders, feet }) = fed {
            let top = feet.iter().map(|foot| foot[2]).fold(high[2], f64::max);
            high[2] = high[2].max(top + feeders.neck_length + feeders.height);
        }
        let (corner, size) = self.grid(low, high, cell, fed.is_some());
        let mut scene = Scene {
            size,
            cell,
            corner,
            cells: Vec::new(),
            fill: Vec::new(),
            parts: vec![
                Substance::Inert(0),
                Substance::Melt,
                Substance::Melt,
                Substance::Melt,
                Substance::Inert(1),
            ],
            melt: self.melts[run as usize].clone(),
            inerts: vec![self.sands[run as usize].clone(), self.setup.sleeve()],
            faces: [[Face::Open(OUTSIDE); 2]; 3],
            surroundings: SHOP,
        };
        let mut layers =
            vec![(CASTING, self.shares(&scene, &self.setup.body, self.setup.oversize))];
        if let Some(Fed { feeders: f, feet }) = fed {
            let mut add = |part: u8, pieces: Vec<Placed>| {
                if let (Some(body), _) = Body::of_solids(&pieces) {
                    layers.push((part, self.shares(&scene, &body, 1.0)));
                }
            };
            add(NECK, feet.iter().map(|foot| neck(f, *foot, cell)).collect());
            add(FEEDER, feet.iter().map(|foot| rod(f, *foot, f.diameter)).collect());
            if f.sleeved {
                let outside = f.diameter + 2.0 * WALL;
                add(SLEEVE, feet.iter().map(|foot| rod(f, *foot, outside)).collect());
            }
        }
        lay(&mut scene, SAND, &layers);
        scene
    }

    /// Low corner and cells of the box: the middle of the casting is a corner of cells, of these and
    /// of cells twice as large, so that what is the same both ways is marched by halves; the foot
    /// of what carries feeders is one upwards.
    fn grid(&self, low: [f64; 3], high: [f64; 3], cell: f64, fed: bool) -> ([f64; 3], [usize; 3]) {
        let pair = 2.0 * self.cell;
        let pairs = |length: f64| (length / pair - 1e-9).ceil();
        let mut corner = [0.0; 3];
        let mut size = [0; 3];
        for axis in 0..3 {
            let (before, after, origin) = if axis == 2 && fed {
                (pairs(AROUND), pairs(high[2] - low[2] + AROUND), low[2])
            } else {
                let half = pairs((high[axis] - low[axis]) / 2.0 + AROUND);
                (half, half, (low[axis] + high[axis]) / 2.0)
            };
            corner[axis] = origin - before * pair;
            size[axis] = ((before + after) * (pair / cell).round()) as usize;
        }
        (corner, size)
    }

    /// How full each cell of the scene is of a body, x running quickest.
    fn shares(&self, scene: &Scene, body: &Body, oversize: f64) -> Vec<f32> {
        let [nx, ny, nz] = scene.size;
        let shares = body.filled(&Cells {
            low: scene.corner.map(|x| x * oversize),
            edge: [scene.cell * oversize; 3],
            count: scene.size,
        });
        let mut out = vec![0.0; shares.len()];
        for x in 0..nx {
            for y in 0..ny {
                for z in 0..nz {
                    out[x + nx * (y + ny * z)] = shares[(x * ny + y) * nz + z];
                }
            }
        }
        out
    }
}

/// A cylinder that stands on the middle of its foot.
fn standing(diameter: f64, length: f64, at: [f64; 3]) -> Placed {
    let frames = vec![Frame::HOME.moved(at)];
    Placed { solid: Solid::Cylinder { diameter, length }, frames, less: false, of: None }
}

/// The neck, let into the casting by a cell so that nothing parts them.
fn neck(f: &Feeders, [x, y, z]: Foot, cell: f64) -> Placed {
    standing(f.neck, f.neck_length + cell, [x, y, z - cell])
}

fn rod(f: &Feeders, [x, y, z]: Foot, diameter: f64) -> Placed {
    standing(diameter, f.height, [x, y, z + f.neck_length])
}
