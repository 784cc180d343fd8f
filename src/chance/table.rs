//! Quantities that may turn out low or high, as tables of their values by standard normal score:
//! drawing one is a look-up, and scores that hang together make quantities that do.

use super::{Beta, Pert};
use statrs::distribution::{ContinuousCDF, Normal};

/// Standard deviations that a table spans to either side.
const SPAN: f64 = 3.5;
/// Points of a table.
const POINTS: usize = 65;
/// Modes of a PERT are rounded to so many parts of its range: far below what is known of any range.
const STEPS: f64 = 120.0;

/// A quantity that may turn out low or high; [`Tables::at`] tells its value at a score.
#[derive(Debug, Clone)]
pub struct Uncertain {
    low: f64,
    width: f64,
    table: usize,
}

/// A sum of quantities that turn out high or low together; [`Tables::at_all`] tells its value at a score.
#[derive(Debug, Clone, Default)]
pub struct Together {
    low: f64,
    /// By table, the widths of all that have it.
    widths: Vec<(usize, f64)>,
}

impl Together {
    /// So many times a quantity more.
    pub fn add(&mut self, of: &Uncertain, times: u32) {
        let times = f64::from(times);
        self.low += times * of.low;
        let width = times * of.width;
        match self.widths.iter_mut().find(|(table, _)| *table == of.table) {
            Some((_, sum)) => *sum += width,
            None => self.widths.push((of.table, width)),
        }
    }
}

/// What the values of a table are distributed as.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Shape {
    /// A PERT over 0..1 with its mode at so many steps.
    Pert(u32),
    Beta(Beta),
}

/// Tables on 0..1, shared among quantities of one shape.
#[derive(Debug, Clone, Default)]
pub struct Tables {
    shapes: Vec<Shape>,
    values: Vec<[f32; POINTS]>,
}

impl Tables {
    fn add(&mut self, shape: Shape, quantile: impl Fn(f64) -> f64) -> usize {
        if let Some(found) = self.shapes.iter().position(|s| *s == shape) {
            return found;
        }
        let normal = Normal::standard();
        let score = |i: usize| SPAN * (2.0 * i as f64 / (POINTS - 1) as f64 - 1.0);
        self.shapes.push(shape);
        self.values.push(std::array::from_fn(|i| quantile(normal.cdf(score(i))) as f32));
        self.values.len() - 1
    }

    /// A quantity between low and high, most likely at `likely`, as [`Pert`]; one that is always
    /// `low` where they are not in order.
    pub fn pert(&mut self, [low, likely, high]: [f64; 3]) -> Uncertain {
        let width = (high - low).max(0.0);
        let mode = if width > 0.0 { ((likely - low) / width * STEPS).round() } else { 0.0 };
        let pert = Pert::new(0.0, mode / STEPS, 1.0);
        let quantile = |chance: f64| pert.as_ref().map_or(0.5, |p| p.quantile(chance));
        Uncertain { low, width, table: self.add(Shape::Pert(mode as u32), quantile) }
    }

    /// A proportion of which this is believed.
    pub fn belief(&mut self, belief: Beta) -> Uncertain {
        let table = self.add(Shape::Beta(belief), |chance| belief.quantile(chance));
        Uncertain { low: 0.0, width: 1.0, table }
    }

    /// Low, likely and high of a quantity made by [`Tables::pert`].
    #[cfg(test)]
    pub(crate) fn three(&self, of: &Uncertain) -> [f64; 3] {
        let mode = match self.shapes[of.table] {
            Shape::Pert(steps) => f64::from(steps) / STEPS,
            Shape::Beta(belief) => belief.mean(),
        };
        [of.low, of.low + mode * of.width, of.low + of.width]
    }

    /// The value at a standard normal score; beyond 3.5 standard deviations that at 3.5.
    #[must_use]
    pub fn at(&self, of: &Uncertain, score: f64) -> f64 {
        of.low + of.width * self.share(of.table, score)
    }

    /// The value of a sum, all of it at one score.
    #[must_use]
    pub fn at_all(&self, of: &Together, score: f64) -> f64 {
        let widths = of.widths.iter();
        of.low + widths.map(|(table, width)| width * self.share(*table, score)).sum::<f64>()
    }

    /// Of a table, between 0 and 1.
    fn share(&self, table: usize, score: f64) -> f64 {
        let place = (score.clamp(-SPAN, SPAN) + SPAN) / (2.0 * SPAN) * (POINTS - 1) as f64;
        let i = (place as usize).min(POINTS - 2);
        let values = &self.values[table];
        let part = (place - i as f64) as f32;
        f64::from(values[i] + (values[i + 1] - values[i]) * part)
    }
}
