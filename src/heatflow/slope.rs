//! Gradient and cooling rate where each cell passes the solidus, and the Niyama criterion of them.

use super::field::Field;
use super::scene::{Scene, Substance};

/// At the solidus of one cell of melt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slope {
    /// Temperature gradient, K/m.
    pub gradient: f64,
    /// Cooling rate, K/s.
    pub rate: f64,
}

impl Slope {
    /// G / root of the cooling rate, (K s)^1/2 per m (Niyama and others, 1982).
    pub fn niyama(&self) -> f64 {
        self.gradient / self.rate.sqrt()
    }
}

/// For each cell of melt in the order of the field: the cooling rate between the critical fraction
/// and the solidus, and the gradient from it and from the slope of the times at which the cells
/// around are solid. None where these cannot be told.
pub fn slopes(scene: &Scene, field: &Field) -> Vec<Option<Slope>> {
    let mut solid = vec![f64::NAN; scene.cells.len()];
    for (cell, time) in field.cells.iter().zip(&field.solid) {
        solid[*cell as usize] = *time;
    }
    let span = scene.melt.liquidus - scene.melt.solidus;
    let cools = span * (1.0 - scene.melt.critical);
    let one = |(i, cell): (usize, &u32)| {
        let took = field.solid[i] - field.critical[i];
        (took > 0.0 && took.is_finite()).then(|| {
            let rate = cools / took;
            let slope = (0..3).map(|axis| along(scene, &solid, *cell as usize, axis).powi(2));
            Slope { gradient: rate * slope.sum::<f64>().sqrt(), rate }
        })
    };
    field.cells.iter().enumerate().map(one).collect()
}

/// How the time changes along an axis, s/m: both ways where there is melt both ways, else one way.
fn along(scene: &Scene, solid: &[f64], cell: usize, axis: usize) -> f64 {
    let near = |high: bool| {
        let other = scene.neighbour(cell, axis, high)?;
        (scene.substance(other) == Substance::Melt).then(|| solid[other])
    };
    let own = solid[cell];
    let (low, high) = (near(false), near(true));
    let cells = f64::from(u8::from(low.is_some()) + u8::from(high.is_some()));
    if cells == 0.0 {
        return 0.0;
    }
    (high.unwrap_or(own) - low.unwrap_or(own)) / (cells * scene.cell)
}
