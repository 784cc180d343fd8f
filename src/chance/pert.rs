//! A quantity given as least, likely and most: the beta-PERT distribution.

use super::beta::Beta;

/// Beta distribution over least..most with its mode at likely and shape 4, so that its mean is
/// (least + 4 likely + most) / 6 (D. G. Malcolm and others, 1959, for the mean).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pert {
    least: f64,
    likely: f64,
    most: f64,
}

impl Pert {
    /// None unless least <= likely <= most, all finite.
    #[must_use]
    pub fn new(least: f64, likely: f64, most: f64) -> Option<Self> {
        let ordered = least <= likely && likely <= most;
        if !(ordered && least.is_finite() && most.is_finite()) {
            return None;
        }
        Some(Self { least, likely, most })
    }

    /// The value that this is at or below with this chance.
    #[must_use]
    pub fn quantile(&self, chance: f64) -> f64 {
        let width = self.most - self.least;
        let before = (self.likely - self.least) / width;
        // No belief where least equals most, and nothing is left to chance.
        let belief = Beta::new(1.0 + 4.0 * before, 1.0 + 4.0 * (1.0 - before));
        belief.map_or(self.likely, |b| self.least + width * b.quantile(chance))
    }
}
