//! A scene made ready for marching: which cells go at the quick step and which at the slow one, and
//! what passes between them.

use super::law::Law;
use super::scene::{Face, Scene, Substance};

/// A substance that spreads warmth quicker than this share of the melt's best goes at its step.
const QUICK: f64 = 0.125;

/// Cells of one substance that go at the quick step.
#[derive(Debug)]
pub(super) struct Group {
    pub(super) law: Law,
    /// Their numbers among the quick cells.
    pub(super) range: std::ops::Range<usize>,
    pub(super) start: f64,
}

/// Two quick cells of different substances that touch.
#[derive(Debug)]
pub(super) struct Touch {
    pub(super) cells: [u32; 2],
    pub(super) groups: [u8; 2],
    /// Resistance of the contact, m2K/W.
    pub(super) contact: f64,
}

/// A quick cell beside a slow one.
#[derive(Debug)]
pub(super) struct Link {
    pub(super) quick: u32,
    pub(super) group: u8,
    /// Number among the odd cells, and in the box.
    pub(super) odd: u32,
    pub(super) slow: u32,
    /// Contact and half a cell of the slow substance, m2K/W.
    pub(super) resists: f64,
}

/// A slow cell with something else beside it than slow cells of its own substance.
#[derive(Debug)]
pub(super) struct Odd {
    pub(super) cell: u32,
    pub(super) inert: u8,
    /// To the slow cells around it, W/K.
    pub(super) to: [f64; 6],
    /// To the surroundings, W/K.
    pub(super) out: f64,
}

/// Slow cells of one substance in a row along x, with nothing else around them.
#[derive(Debug)]
pub(super) struct Run {
    pub(super) cells: std::ops::Range<usize>,
    pub(super) inert: u8,
}

/// One layer of the box.
#[derive(Debug, Default)]
pub(super) struct Layer {
    pub(super) runs: Vec<Run>,
    pub(super) odd: std::ops::Range<usize>,
}

#[derive(Debug)]
pub(super) struct Grid {
    pub(super) edge: f64,
    /// Cells along x.
    pub(super) row: usize,
    pub(super) groups: Vec<Group>,
    /// The cell of each quick one in the box.
    pub(super) cells: Vec<u32>,
    /// Neighbours of the same substance; itself where there is none.
    pub(super) near: Vec<[u32; 6]>,
    /// Share of the cell that is filled.
    pub(super) fill: Vec<f64>,
    pub(super) touches: Vec<Touch>,
    pub(super) links: Vec<Link>,
    /// Quick cells at the face of the box, and the coefficient there.
    pub(super) bare: Vec<(u32, u8, f64)>,
    pub(super) layers: Vec<Layer>,
    pub(super) odds: Vec<Odd>,
    pub(super) laws: Vec<Law>,
    /// Longest stable step of quick and slow cells, s.
    pub(super) quick_step: f64,
    pub(super) slow_step: f64,
}

const NONE: u32 = u32::MAX;

impl Grid {
    pub(super) fn new(scene: &Scene) -> Self {
        let melt = scene.melt.law();
        let quickest = melt.quickest();
        let mut group_of = vec![None; scene.parts.len()];
        let mut kinds = vec![Substance::Melt];
        for (part, substance) in scene.parts.iter().enumerate() {
            let quick = match substance {
                Substance::Melt => true,
                Substance::Inert(i) => scene.inerts[*i].diffusivity() > QUICK * quickest,
            };
            if quick {
                let at = kinds.iter().position(|k| k == substance).unwrap_or(kinds.len());
                if at == kinds.len() {
                    kinds.push(*substance);
                }
                group_of[part] = Some(at as u8);
            }
        }
        let group = |cell: usize| group_of[usize::from(scene.cells[cell])];
        let mut number = vec![NONE; scene.cells.len()];
        let mut cells = Vec::new();
        let mut groups = Vec::new();
        for (at, kind) in kinds.iter().enumerate() {
            let begin = cells.len();
            for cell in (0..scene.cells.len()).filter(|c| group(*c) == Some(at as u8)) {
                number[cell] = cells.len() as u32;
                cells.push(cell as u32);
            }
            let (law, start) = match kind {
                Substance::Melt => (melt.clone(), scene.melt.start),
                Substance::Inert(i) => (scene.inerts[*i].law(), scene.inerts[*i].start),
            };
            groups.push(Group { law, range: begin..cells.len(), start });
        }
        let mut grid = Self {
            edge: scene.cell,
            row: scene.size[0],
            groups,
            near: Vec::with_capacity(cells.len()),
            fill: Vec::with_capacity(cells.len()),
            cells,
            touches: Vec::new(),
            links: Vec::new(),
            bare: Vec::new(),
            layers: Vec::new(),
            odds: Vec::new(),
            laws: scene.inerts.iter().map(super::law::Inert::law).collect(),
            quick_step: f64::INFINITY,
            slow_step: f64::INFINITY,
        };
        grid.quick(scene, &number, &group);
        grid.slow(scene, &number, &group);
        grid
    }

    fn quick(&mut self, scene: &Scene, number: &[u32], group: &dyn Fn(usize) -> Option<u8>) {
        let mut walls = vec![0_u8; self.cells.len()];
        for (i, cell) in self.cells.iter().enumerate() {
            let (cell, i) = (*cell as usize, i as u32);
            let own = group(cell).unwrap_or(0);
            let mut near = [i; 6];
            for (slot, (axis, high, other)) in scene.around(cell).enumerate() {
                match other {
                    None => {
                        walls[i as usize] += 1;
                        if let Face::Open(h) = scene.faces[axis][usize::from(high)] {
                            self.bare.push((i, own, h));
                        }
                    }
                    Some(other) => match group(other) {
                        Some(g) if g == own => near[slot] = number[other],
                        Some(g) if high => self.touches.push(Touch {
                            cells: [i, number[other]],
                            groups: [own, g],
                            contact: contact(scene, cell, other),
                        }),
                        _ => {}
                    },
                }
            }
            self.near.push(near);
            let melt = scene.substance(cell) == Substance::Melt;
            self.fill.push(if melt { f64::from(scene.fill[cell]) } else { 1.0 });
        }
        self.limit_quick(&walls);
    }

    /// The longest quick step: no cell may give more than it has.
    fn limit_quick(&mut self, walls: &[u8]) {
        let mut most = vec![0.0_f64; self.cells.len()];
        let own = self.edge;
        for group in &self.groups {
            for i in group.range.clone() {
                // A mirror plane counts as a neighbour, so that halves take the steps of the whole.
                let beside = 6 - self.near[i].iter().filter(|n| **n as usize == i).count()
                    + usize::from(walls[i]);
                most[i] = beside as f64 * own * group.law.quickest() / self.fill[i];
            }
        }
        for touch in &self.touches {
            for side in 0..2 {
                let law = &self.groups[usize::from(touch.groups[side])].law;
                let other = &self.groups[usize::from(touch.groups[1 - side])].law;
                let (a, b) = (law.best(), other.best());
                let passes = 2.0 * own * a * b / (a + b) / law.least();
                let i = touch.cells[side] as usize;
                most[i] += passes / self.fill[i];
            }
        }
        let worst = most.into_iter().fold(0.0, f64::max);
        self.quick_step = if worst > 0.0 { self.edge.powi(3) / worst } else { f64::INFINITY };
    }

    fn slow(&mut self, scene: &Scene, number: &[u32], group: &dyn Fn(usize) -> Option<u8>) {
        let plane = scene.size[0] * scene.size[1];
        let mut lent = vec![0.0_f64; self.cells.len()];
        for z in 0..scene.size[2] {
            let mut layer = Layer { runs: Vec::new(), odd: self.odds.len()..self.odds.len() };
            for cell in z * plane..(z + 1) * plane {
                let Substance::Inert(inert) = scene.substance(cell) else { continue };
                if group(cell).is_some() {
                    continue;
                }
                let plain = scene.around(cell).all(|(_, _, n)| {
                    n.is_some_and(|n| scene.substance(n) == Substance::Inert(inert))
                });
                if plain {
                    match layer.runs.last_mut() {
                        Some(run) if run.cells.end == cell && usize::from(run.inert) == inert => {
                            run.cells.end += 1;
                        }
                        _ => layer.runs.push(Run { cells: cell..cell + 1, inert: inert as u8 }),
                    }
                } else {
                    self.odd(scene, cell, inert, (number, group), &mut lent);
                }
            }
            layer.odd.end = self.odds.len();
            self.layers.push(layer);
        }
        for (inert, law) in self.laws.iter().enumerate() {
            let used =
                self.layers.iter().flat_map(|l| &l.runs).any(|r| usize::from(r.inert) == inert);
            if used {
                let step = law.least() * self.edge * self.edge / (6.0 * law.best());
                self.slow_step = self.slow_step.min(step);
            }
        }
        for (i, passes) in lent.into_iter().enumerate().filter(|(_, p)| *p > 0.0) {
            let group = self.groups.iter().find(|g| g.range.contains(&i));
            let least = group.map_or(f64::INFINITY, |g| g.law.least());
            let step = least * self.fill[i] * self.edge.powi(3) / passes;
            self.slow_step = self.slow_step.min(step);
        }
    }

    fn odd(
        &mut self,
        scene: &Scene,
        cell: usize,
        inert: usize,
        (number, group): (&[u32], &dyn Fn(usize) -> Option<u8>),
        lent: &mut [f64],
    ) {
        let (edge, k) = (self.edge, scene.inerts[inert].conductivity);
        let mut odd = Odd { cell: cell as u32, inert: inert as u8, to: [0.0; 6], out: 0.0 };
        let mut passes = 0.0;
        for (slot, (axis, high, other)) in scene.around(cell).enumerate() {
            let Some(other) = other else {
                if let Face::Open(h) = scene.faces[axis][usize::from(high)] {
                    odd.out += edge * edge / (edge / (2.0 * k) + 1.0 / h);
                }
                continue;
            };
            match (group(other), scene.substance(other)) {
                (Some(g), _) => {
                    let quick = number[other];
                    let resists = contact(scene, cell, other) + edge / (2.0 * k);
                    let best = self.groups[usize::from(g)].law.best();
                    let most = edge * edge / (resists + edge / (2.0 * best));
                    passes += most;
                    lent[quick as usize] += most;
                    let odd = self.odds.len() as u32;
                    self.links.push(Link { quick, group: g, odd, slow: cell as u32, resists });
                }
                (None, Substance::Inert(i)) => {
                    let other = scene.inerts[i].conductivity;
                    odd.to[slot] = 2.0 * edge * k * other / (k + other);
                }
                (None, Substance::Melt) => {}
            }
        }
        passes += odd.to.iter().sum::<f64>() + odd.out;
        let least = self.laws[inert].least() * edge.powi(3);
        self.slow_step = self.slow_step.min(least / passes);
        self.odds.push(odd);
    }
}

/// Resistance of the contact between two cells, m2K/W; none but where melt touches.
fn contact(scene: &Scene, one: usize, other: usize) -> f64 {
    match (scene.substance(one), scene.substance(other)) {
        (Substance::Melt, Substance::Inert(i)) | (Substance::Inert(i), Substance::Melt) => {
            scene.inerts[i].contact.map_or(0.0, |h| 1.0 / h)
        }
        _ => 0.0,
    }
}
