//! The same scene on two sizes of cell: what the cells do to the answer is told apart from it.

use super::field::{Field, Last, Until, march};
use super::scene::{Scene, Substance};

/// How much of the difference between cells twice as large and these is left in an answer on
/// these, for flat faces that lie on faces of cells: errors fall between h^(4/3) and h^2. Bodies
/// with stepped faces do not come nearer so evenly, and are left as they are.
const LEFT: f64 = 0.5;

/// A field, the same on cells twice as large, and what follows from both.
#[derive(Debug, Clone, PartialEq)]
pub struct Refined {
    /// The scene.
    pub scene: Scene,
    /// Its field.
    pub field: Field,
    /// The scene on cells twice as large.
    pub coarse_scene: Scene,
    /// The field on those.
    pub coarse: Field,
    /// Share of the face cells of each part that are just full, on both sizes of cell.
    pub flat: Vec<f64>,
}

/// A value, and how much of it is owed to the size of the cells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Told {
    /// The best estimate.
    pub value: f64,
    /// May be off by this, either way.
    pub error: f64,
}

/// Marches the scene that `at` gives for a size of cell until it is frozen, and once more on cells
/// twice as large until it is below all the temperatures asked for.
pub fn refined(at: impl Fn(f64) -> Scene, cell: f64, until: Until<'_>) -> Refined {
    let (scene, coarse_scene) = (at(cell), at(2.0 * cell));
    let field = march(&scene, Until { below: &[], ..until });
    let coarse = march(&coarse_scene, until);
    let flat = flat(&scene).into_iter().zip(flat(&coarse_scene)).map(|(a, b)| a.min(b)).collect();
    Refined { scene, field, coarse_scene, coarse, flat }
}

/// Share of the melt cells at a face of the melt that are just full, for each part.
fn flat(scene: &Scene) -> Vec<f64> {
    let melt = |cell: usize| scene.substance(cell) == Substance::Melt;
    let mut counts = vec![(0.0_f64, 0.0); scene.parts.len()];
    for cell in (0..scene.cells.len()).filter(|c| melt(*c)) {
        if scene.around(cell).any(|(_, _, other)| other.is_some_and(|o| !melt(o))) {
            let (all, full) = &mut counts[usize::from(scene.cells[cell])];
            *all += 1.0;
            *full += f64::from(u8::from((scene.fill[cell] - 1.0).abs() < 1e-3));
        }
    }
    counts.into_iter().map(|(all, full)| if all > 0.0 { full / all } else { 1.0 }).collect()
}

impl Refined {
    fn told(&self, part: u8, fine: f64, coarse: f64) -> Told {
        let apart = coarse - fine;
        Told { value: fine - LEFT * self.flat[usize::from(part)] * apart, error: apart.abs() }
    }

    /// When all is solid, s.
    pub fn time(&self) -> Told {
        let last = (0..self.field.cells.len())
            .max_by(|a, b| self.field.solid[*a].total_cmp(&self.field.solid[*b]));
        let part = last.map_or(0, |i| self.scene.cells[self.field.cells[i] as usize]);
        self.told(part, self.field.time(), self.coarse.time())
    }

    fn last(&self, part: u8) -> Option<(Last, Last)> {
        let fine = self.field.last(&self.scene, part)?;
        Some((fine, self.coarse.last(&self.coarse_scene, part).unwrap_or(fine)))
    }

    /// When all of a part is solid, s.
    pub fn solid(&self, part: u8) -> Option<Told> {
        self.last(part).map(|(fine, coarse)| self.told(part, fine.solid, coarse.solid))
    }

    /// When the last of a part stops flowing, s.
    pub fn critical(&self, part: u8) -> Option<Told> {
        self.last(part).map(|(fine, coarse)| self.told(part, fine.critical, coarse.critical))
    }

    /// When the hottest melt is below each temperature asked for, s: from the larger cells, moved by
    /// what they are late with freezing.
    pub fn below(&self) -> Vec<Option<Told>> {
        let Told { value, error } = self.time();
        let late = self.coarse.time() - value;
        let moved = |t: &Option<f64>| t.map(|t| Told { value: t - late, error });
        self.coarse.below.iter().map(moved).collect()
    }
}
