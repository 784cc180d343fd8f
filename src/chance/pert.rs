//! A quantity given as least, likely and most: the beta-PERT distribution.

use super::beta::Beta;
use rand::Rng;
use rand_distr::Distribution;

/// Beta distribution over least..most with its mode at likely and shape 4, so that its mean is
/// (least + 4 likely + most) / 6 (D. G. Malcolm and others, 1959, for the mean).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pert {
    least: f64,
    likely: f64,
    most: f64,
    /// None where least equals most, and nothing is left to chance.
    drawn: Option<rand_distr::Beta<f64>>,
}

impl Pert {
    /// None unless least <= likely <= most, all finite.
    #[must_use]
    pub fn new(least: f64, likely: f64, most: f64) -> Option<Self> {
        let ordered = least <= likely && likely <= most;
        if !(ordered && least.is_finite() && most.is_finite()) {
            return None;
        }
        let (a, b) = shape(least, likely, most);
        let drawn = if least < most { Some(rand_distr::Beta::new(a, b).ok()?) } else { None };
        Some(Self { least, likely, most, drawn })
    }

    /// (least + 4 likely + most) / 6.
    #[must_use]
    pub fn mean(&self) -> f64 {
        (self.least + 4.0 * self.likely + self.most) / 6.0
    }

    /// (mean - least)(most - mean) / 7: the variance of what is drawn. The text-book
    /// ((most - least) / 6)^2 is another number.
    #[must_use]
    pub fn variance(&self) -> f64 {
        (self.mean() - self.least) * (self.most - self.mean()) / 7.0
    }

    /// The value that this is at or below with this chance.
    #[must_use]
    pub fn quantile(&self, chance: f64) -> f64 {
        let (a, b) = shape(self.least, self.likely, self.most);
        let belief = if self.drawn.is_some() { Beta::new(a, b) } else { None };
        belief.map_or(self.likely, |b| self.least + (self.most - self.least) * b.quantile(chance))
    }

    /// One value.
    pub fn draw(&self, random: &mut impl Rng) -> f64 {
        let share = self.drawn.map_or(0.0, |beta| beta.sample(random));
        self.least + (self.most - self.least) * share
    }
}

/// Parameters of the beta distribution over 0..1.
fn shape(least: f64, likely: f64, most: f64) -> (f64, f64) {
    let width = most - least;
    (1.0 + 4.0 * (likely - least) / width, 1.0 + 4.0 * (most - likely) / width)
}
