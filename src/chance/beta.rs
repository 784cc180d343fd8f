//! The beta distribution: what is believed about a proportion.

use statrs::function::beta::{beta_reg, inv_beta_reg};

/// A belief about a proportion p between 0 and 1, with density p^(a-1) (1-p)^(b-1) / B(a, b).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beta {
    a: f64,
    b: f64,
}

impl Beta {
    /// Beta(1, 1): any proportion is as likely as any other.
    pub const EVEN: Self = Self { a: 1.0, b: 1.0 };

    /// None unless both are above 0 and finite.
    #[must_use]
    pub fn new(a: f64, b: f64) -> Option<Self> {
        let good = |x: f64| x > 0.0 && x.is_finite();
        (good(a) && good(b)).then_some(Self { a, b })
    }

    /// First parameter: weight of evidence for.
    #[must_use]
    pub fn a(self) -> f64 {
        self.a
    }

    /// Second parameter: weight of evidence against.
    #[must_use]
    pub fn b(self) -> f64 {
        self.b
    }

    /// The belief after seeing so many for and so many against (the conjugate rule:
    /// a + for, b + against).
    #[must_use]
    pub fn after(self, seen_for: u64, seen_against: u64) -> Self {
        Self { a: self.a + seen_for as f64, b: self.b + seen_against as f64 }
    }

    /// The belief about 1 - p.
    #[must_use]
    pub fn opposite(self) -> Self {
        Self { a: self.b, b: self.a }
    }

    /// a / (a + b).
    #[must_use]
    pub fn mean(self) -> f64 {
        self.a / (self.a + self.b)
    }

    /// P(p <= x): the regularised incomplete beta function.
    #[must_use]
    pub fn cdf(self, x: f64) -> f64 {
        if x >= 1.0 { 1.0 } else { beta_reg(self.a, self.b, x.max(0.0)) }
    }

    /// The proportion that p is at or below with this chance; `chance` is held to 0..1.
    #[must_use]
    pub fn quantile(self, chance: f64) -> f64 {
        match chance {
            c if c <= 0.0 => 0.0,
            c if c >= 1.0 => 1.0,
            c => inv_beta_reg(self.a, self.b, c),
        }
    }
}
