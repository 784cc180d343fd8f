/// Low, likely and high value of a quantity, in SI base units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// The least it may be.
    pub low: f64,
    /// What to reckon with.
    pub likely: f64,
    /// The most it may be.
    pub high: f64,
}

impl Range {
    /// A value known without doubt.
    pub const fn exact(value: f64) -> Self {
        Self { low: value, likely: value, high: value }
    }

    /// From two ends in either order; the middle is the likely value.
    pub fn between(one: f64, other: f64) -> Self {
        Self { low: one.min(other), likely: (one + other) / 2.0, high: one.max(other) }
    }

    /// Whether low and high are one.
    pub fn is_exact(&self) -> bool {
        self.low == self.high
    }

    /// Low, likely and high, each passed through an increasing function.
    pub fn map(self, f: impl Fn(f64) -> f64) -> Self {
        Self { low: f(self.low), likely: f(self.likely), high: f(self.high) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_in_either_order_give_the_same_range() {
        assert_eq!(Range::between(10.0, 8.0), Range { low: 8.0, likely: 9.0, high: 10.0 });
    }
}
