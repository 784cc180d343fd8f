//! The mould on cells: casting, cores, feeders, chill and the way in, in sand.

use super::setup::{Fed, Feeders, Foot, Ingate, Room, Run, SHOP, Setup, Ways};
use crate::heatflow::{Face, Inert, Melt, Scene, Substance, lay};
use crate::shape::{Body, Cells, Frame, Looked, Placed, Solid, thickest_default};

/// Parts of the scene.
pub(super) const SAND: u8 = 0;
pub(super) const CASTING: u8 = 1;
pub(super) const NECK: u8 = 2;
pub(super) const FEEDER: u8 = 3;
pub(super) const INGATE: u8 = 4;
pub(super) const RUNNER: u8 = 5;
const SLEEVE: u8 = 6;
const CORE: u8 = 7;
const CHILL: u8 = 8;
/// What brings metal in: it feeds nothing that counts, and what is left in it is no loss.
pub(super) const WAYS: [u8; 2] = [INGATE, RUNNER];

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
/// An ingate is drawn on to the casting where that lies no farther, m.
const REACH: f64 = 0.030;

/// A casting made ready to be put on cells.
pub(super) struct Mould<'a> {
    setup: &'a Setup,
    pub(super) room: &'a dyn Room,
    /// Metal and sand of the fast, likely and slow run.
    melts: [Melt; 3],
    sands: [Inert; 3],
    core_sands: [Inert; 3],
    /// The way in, where it is laid out.
    pub(super) ways: Option<Ways>,
    /// Twice the volume over the surface, m.
    pub(super) ruling: f64,
    /// Edge of a cell, m.
    pub(super) cell: f64,
}

impl<'a> Mould<'a> {
    /// None where the setup lacks a property, or the casting is too thin for its width.
    pub(super) fn new(setup: &'a Setup, room: &'a dyn Room) -> Option<Self> {
        let [Some(a), Some(b), Some(c)] = Run::ALL.map(|run| setup.melt(run)) else { return None };
        let melts = [a, b, c];
        let [Some(a), Some(b), Some(c)] = Run::ALL.map(|run| setup.sand(run)) else { return None };
        let sands = [a, b, c];
        let [Some(a), Some(b), Some(c)] = Run::ALL.map(|run| setup.core_sand(run)) else {
            return None;
        };
        let core_sands = [a, b, c];
        let body = &setup.body;
        let ruling = 2.0 * body.volume() / body.surface() / setup.oversize;
        let thick = thickest_default(&Looked::Body(body))
            .map_or(ruling, |t| 2.0 * t.radius / setup.oversize);
        let feeders = setup.standing.as_ref().map(|s| s.feeders);
        let feeders = feeders.or(setup.advice.map(|a| a.feeders));
        let tall = feeders.map_or(0.0, |f| f.height + f.neck_length);
        let box_volume: f64 = body
            .extents()
            .iter()
            .zip([0.0, 0.0, tall])
            .map(|(x, more)| x / setup.oversize + more + 2.0 * AROUND)
            .product();
        let least = (ruling / ACROSS).max(thick / MOST_ACROSS).max((box_volume / MOST).cbrt());
        // The thinnest way through the whole is four cells, or eight, or twelve.
        let through = body.extents().into_iter().fold(f64::INFINITY, f64::min) / setup.oversize;
        let cell = through / (4.0 * (through / (4.0 * least)).floor()).max(4.0);
        let cell = if cell > 1.5 * least { least } else { cell };
        let cell = cell.max((box_volume / MOST_HELD).cbrt());
        if through < LEAST_THROUGH * cell {
            return None;
        }
        Some(Self { setup, room, melts, sands, core_sands, ways: None, ruling, cell })
    }

    /// On cells of this size, with these feeders.
    pub(super) fn scene(&self, run: Run, cell: f64, fed: Option<&Fed>) -> Scene {
        let [low, mut high] = self.setup.bounds();
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
                Substance::Melt,
                Substance::Melt,
                Substance::Inert(1),
                Substance::Inert(2),
                Substance::Inert(3),
            ],
            melt: self.melts[run as usize].clone(),
            inerts: vec![
                self.sands[run as usize].clone(),
                self.setup.sleeve(),
                self.core_sands[run as usize].clone(),
                self.setup.chill(run).unwrap_or_else(|| self.sands[run as usize].clone()),
            ],
            faces: [[Face::Open(OUTSIDE); 2]; 3],
            surroundings: SHOP,
        };
        let casting = self.shares(&scene, &self.setup.body, self.setup.oversize);
        let ways = self.ways.iter().flat_map(|ways| &ways.ingates);
        let gates: Vec<Placed> = ways.map(|gate| Self::gate(&scene, &casting, gate)).collect();
        let chill = self.chill(&scene, &casting);
        let mut layers = vec![(CASTING, casting)];
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
        let mut add = |part: u8, pieces: &[Placed], oversize: f64| {
            if let (Some(body), _) = Body::of_solids(pieces) {
                layers.push((part, self.shares(&scene, &body, oversize)));
            }
        };
        if let Some(ways) = &self.ways {
            add(INGATE, &gates, 1.0);
            add(RUNNER, &ways.runner, 1.0);
        }
        if !self.setup.cores.is_empty() {
            add(CORE, &self.setup.cores, self.setup.oversize);
        }
        add(CHILL, &chill, 1.0);
        lay(&mut scene, SAND, &layers);
        scene
    }

    /// The box of an ingate, drawn on to where it meets metal: at its own height, or over it where
    /// the casting lies in the cope, and then as far under it as it is thick.
    fn gate(scene: &Scene, casting: &[f32], gate: &Ingate) -> Placed {
        let Ingate { mut low, mut high, along, up } = *gate;
        let metal = |at: [f64; 3]| cell_at(scene, at).is_some_and(|cell| casting[cell] >= 0.5);
        let middle = [0, 1, 2].map(|i| f64::midpoint(low[i], high[i]));
        let over = high[2] + 0.5 * scene.cell;
        let thick = high[2] - low[2];
        let steps = (REACH / scene.cell).ceil() as usize;
        let end = if up { high[along] } else { low[along] };
        let step = if up { scene.cell } else { -scene.cell };
        let met = (0..=steps).find_map(|n| {
            let mut at = middle;
            at[along] = end + (n as f64 + 0.5) * step;
            let beside = metal(at);
            at[2] = over;
            let more = if beside { scene.cell } else { thick.max(scene.cell) };
            (beside || metal(at)).then_some(n as f64 * step + more * step.signum())
        });
        let end = end + met.unwrap_or(0.0);
        if up {
            high[along] = end
        } else {
            low[along] = end
        }
        block(low, high)
    }

    /// A chill under its place, against the lowest metal there.
    fn chill(&self, scene: &Scene, casting: &[f32]) -> Vec<Placed> {
        let Some(chill) = &self.setup.chill else { return Vec::new() };
        let [x, y, mut z] = chill.under;
        while cell_at(scene, [x, y, z]).is_some_and(|cell| casting[cell] >= 0.5) {
            z -= scene.cell;
        }
        // The face lies in the cell that is not half full, or on the lower side of that above.
        let filled = cell_at(scene, [x, y, z]).map_or(0.0, |cell| f64::from(casting[cell]));
        let floor = ((z - scene.corner[2]) / scene.cell).floor() + 1.0 - filled;
        let top = scene.corner[2] + floor * scene.cell;
        let [across, thick] = chill.size;
        let half = across / 2.0;
        vec![block([x - half, y - half, top - thick], [x + half, y + half, top])]
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

/// The cell in which a place lies.
pub(super) fn cell_at(scene: &Scene, at: [f64; 3]) -> Option<usize> {
    let mut place = [0; 3];
    for axis in 0..3 {
        let n = ((at[axis] - scene.corner[axis]) / scene.cell).floor();
        place[axis] = (n >= 0.0 && n < scene.size[axis] as f64).then_some(n as usize)?;
    }
    Some(scene.at(place))
}

/// A box from corner to corner.
fn block(low: [f64; 3], high: [f64; 3]) -> Placed {
    let [length, width, height] = [0, 1, 2].map(|i| high[i] - low[i]);
    let at = [f64::midpoint(low[0], high[0]), f64::midpoint(low[1], high[1]), low[2]];
    let frames = vec![Frame::HOME.moved(at)];
    Placed { solid: Solid::Block { length, width, height }, frames, less: false, of: None }
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
