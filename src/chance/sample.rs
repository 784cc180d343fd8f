//! What a sample says, and how much it may err for being a sample.

use statrs::function::beta::beta_reg;

/// Values drawn independently, sorted.
#[derive(Debug, Clone, PartialEq)]
pub struct Sample {
    sorted: Vec<f64>,
}

/// A quantile of a sample, with the interval that holds the true one 95 times in a hundred or more.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantile {
    /// Chance of being at or below.
    pub chance: f64,
    /// Value in the sample.
    pub value: f64,
    /// Lower end of the interval; minus infinity where the sample is too small to tell.
    pub low: f64,
    /// Upper end of the interval; infinity where the sample is too small to tell.
    pub high: f64,
}

impl Sample {
    /// None of no values, or where one is not a number.
    #[must_use]
    pub fn new(mut values: Vec<f64>) -> Option<Self> {
        if values.is_empty() || values.iter().any(|v| v.is_nan()) {
            return None;
        }
        values.sort_unstable_by(f64::total_cmp);
        Some(Self { sorted: values })
    }

    /// The values, smallest first.
    #[must_use]
    pub fn sorted(&self) -> &[f64] {
        &self.sorted
    }

    /// The value that the share `chance` of the sample (0..1) is at or below: the smallest that is
    /// so. The interval runs between order statistics whose ranks are binomial quantiles
    /// (H. A. David and H. N. Nagaraja, Order Statistics, 2003, section 7.1); it supposes nothing
    /// about the distribution.
    #[must_use]
    pub fn quantile(&self, chance: f64) -> Quantile {
        let n = self.sorted.len();
        let rank = ((chance * n as f64).ceil() as usize).clamp(1, n);
        // How many values fall at or below the true quantile is binomial; it is fewer than `below`,
        // or `above` and more, at most 2.5 times in a hundred each.
        let below = least_count(n, chance, 0.025);
        let above = least_count(n, chance, 0.975) + 1;
        let at = |rank: usize| self.sorted[rank - 1];
        Quantile {
            chance,
            value: at(rank),
            low: if below == 0 { f64::NEG_INFINITY } else { at(below) },
            high: if above > n { f64::INFINITY } else { at(above) },
        }
    }
}

/// The smallest count whose binomial cdf reaches `level`: a binomial quantile.
fn least_count(n: usize, p: f64, level: f64) -> usize {
    let cdf = |k: usize| {
        if k >= n { 1.0 } else { beta_reg((n - k) as f64, (k + 1) as f64, 1.0 - p) }
    };
    let (mut low, mut high) = (0, n);
    while low < high {
        let middle = (low + high) / 2;
        if cdf(middle) >= level { high = middle } else { low = middle + 1 }
    }
    low
}
