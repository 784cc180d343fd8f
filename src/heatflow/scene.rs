//! What is where: cubic cells, each of one part, and what lies outside the box.

use super::law::{Inert, Melt};

/// What a part is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Substance {
    /// The one that freezes.
    Melt,
    /// One of [`Scene::inerts`].
    Inert(usize),
}

/// What a face of the box does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Face {
    /// No heat passes: insulated, or a mirror plane.
    Closed,
    /// Heat passes to the surroundings, W/m2K.
    Open(f64),
}

/// Cubic cells in a box, x running quickest.
#[derive(Debug, Clone, PartialEq)]
pub struct Scene {
    /// Cells along x, y and z.
    pub size: [usize; 3],
    /// Edge of a cell, m.
    pub cell: f64,
    /// Corner of the box with the least coordinates, m.
    pub corner: [f64; 3],
    /// Which of `parts` each cell belongs to.
    pub cells: Vec<u8>,
    /// How full of melt each melt cell is; a cell may hold what its neighbours lost to rounding.
    pub fill: Vec<f32>,
    /// What each part is made of.
    pub parts: Vec<Substance>,
    /// The substance that freezes.
    pub melt: Melt,
    /// The others.
    pub inerts: Vec<Inert>,
    /// The faces of the box: low and high along x, y and z.
    pub faces: [[Face; 2]; 3],
    /// Temperature outside the box, C.
    pub surroundings: f64,
}

impl Scene {
    /// The number of a cell.
    pub fn at(&self, place: [usize; 3]) -> usize {
        place[0] + self.size[0] * (place[1] + self.size[1] * place[2])
    }

    /// Where a cell lies, counted along x, y and z.
    pub fn place(&self, cell: usize) -> [usize; 3] {
        let [x, y, _] = self.size;
        [cell % x, cell / x % y, cell / (x * y)]
    }

    /// Its middle, m.
    pub fn middle(&self, cell: usize) -> [f64; 3] {
        let place = self.place(cell);
        [0, 1, 2].map(|axis| self.corner[axis] + (place[axis] as f64 + 0.5) * self.cell)
    }

    /// What a cell is made of.
    pub fn substance(&self, cell: usize) -> Substance {
        self.parts[usize::from(self.cells[cell])]
    }

    /// The neighbour of a cell along an axis, low or high; none at the face of the box.
    pub fn neighbour(&self, cell: usize, axis: usize, high: bool) -> Option<usize> {
        let step = [1, self.size[0], self.size[0] * self.size[1]][axis];
        let at = self.place(cell)[axis];
        match high {
            true => (at + 1 < self.size[axis]).then(|| cell + step),
            false => at.checked_sub(1).map(|_| cell - step),
        }
    }

    /// All six neighbours with the axis and side on which they lie.
    pub(super) fn around(
        &self,
        cell: usize,
    ) -> impl Iterator<Item = (usize, bool, Option<usize>)> + '_ {
        SIDES.into_iter().map(move |(axis, high)| (axis, high, self.neighbour(cell, axis, high)))
    }

    /// Volume of melt of a part, m3.
    pub fn volume(&self, part: u8) -> f64 {
        let cells = self.cells.iter().zip(&self.fill).filter(|(p, _)| **p == part);
        cells.map(|(_, f)| f64::from(*f)).sum::<f64>() * self.cell.powi(3)
    }
}

/// The six sides of a cell: the axis, and whether it is the high one.
pub(super) const SIDES: [(usize, bool); 6] =
    [(0, false), (0, true), (1, false), (1, true), (2, false), (2, true)];
