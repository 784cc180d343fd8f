//! Distributions of counts: how many tries until k are good.

use super::beta::Beta;
use statrs::function::beta::ln_beta;
use statrs::function::gamma::ln_gamma;

/// Terms of a sum after which a quantile is given up.
const MOST: u64 = 1_000_000;
/// A cdf is a sum of rounded terms; one that should equal the chance asked for may be this much short.
const ROUNDING: f64 = 1e-11;

/// A distribution over whole numbers from [`Counts::least`] on.
pub trait Counts {
    /// The smallest count that can be.
    fn least(&self) -> u64;

    /// The largest count that can be, where there is one.
    fn most(&self) -> Option<u64> {
        None
    }

    /// Natural logarithm of the chance of a count between least and most.
    fn ln_pmf(&self, count: u64) -> f64;

    /// Mean; None where it is infinite.
    fn mean(&self) -> Option<f64>;

    /// Chance of exactly this count.
    fn pmf(&self, count: u64) -> f64 {
        if count < self.least() || self.most().is_some_and(|most| count > most) {
            return 0.0;
        }
        self.ln_pmf(count).exp()
    }

    /// Chance of this count or fewer. Takes time in proportion to the count.
    fn cdf(&self, count: u64) -> f64 {
        let last = self.most().map_or(count, |most| most.min(count));
        (self.least()..=last).map(|n| self.pmf(n)).sum::<f64>().min(1.0)
    }

    /// The smallest count whose cdf reaches `chance` (0..1); None where a million terms do not.
    fn quantile(&self, chance: f64) -> Option<u64> {
        let mut sum = 0.0;
        let last = self.most().unwrap_or(self.least() + MOST);
        (self.least()..=last).find(|&n| {
            sum += self.pmf(n);
            sum >= chance - ROUNDING
        })
    }
}

/// ln of n over k.
fn ln_choose(n: f64, k: f64) -> f64 {
    ln_gamma(n + 1.0) - ln_gamma(k + 1.0) - ln_gamma(n - k + 1.0)
}

/// Tries, good and bad together, until `good` are good, each with the same known chance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NegativeBinomial {
    good: u64,
    chance: f64,
}

impl NegativeBinomial {
    /// None unless at least one is wanted and 0 < chance <= 1.
    #[must_use]
    pub fn new(good: u64, chance: f64) -> Option<Self> {
        (good > 0 && chance > 0.0 && chance <= 1.0).then_some(Self { good, chance })
    }
}

impl Counts for NegativeBinomial {
    fn least(&self) -> u64 {
        self.good
    }

    fn most(&self) -> Option<u64> {
        (self.chance >= 1.0).then_some(self.good)
    }

    fn ln_pmf(&self, count: u64) -> f64 {
        let (n, k) = (count as f64, self.good as f64);
        let bad = if count == self.good { 0.0 } else { (n - k) * (-self.chance).ln_1p() };
        ln_choose(n - 1.0, k - 1.0) + k * self.chance.ln() + bad
    }

    fn mean(&self) -> Option<f64> {
        Some(self.good as f64 / self.chance)
    }
}

/// Tries, good and bad together, until `good` are good, the chance of a good one being known only
/// as a [`Beta`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BetaNegativeBinomial {
    good: u64,
    belief: Beta,
}

impl BetaNegativeBinomial {
    /// `belief` is about the chance of a good one. None unless at least one is wanted.
    #[must_use]
    pub fn new(good: u64, belief: Beta) -> Option<Self> {
        (good > 0).then_some(Self { good, belief })
    }
}

impl Counts for BetaNegativeBinomial {
    fn least(&self) -> u64 {
        self.good
    }

    fn ln_pmf(&self, count: u64) -> f64 {
        let (n, k) = (count as f64, self.good as f64);
        let (a, b) = (self.belief.a(), self.belief.b());
        ln_choose(n - 1.0, k - 1.0) + ln_beta(a + k, b + n - k) - ln_beta(a, b)
    }

    fn mean(&self) -> Option<f64> {
        let (a, b) = (self.belief.a(), self.belief.b());
        (a > 1.0).then(|| self.good as f64 * (a + b - 1.0) / (a - 1.0))
    }
}

/// Tries, good and bad together, until `good` are good, the chance of a good one being one of these,
/// each as likely as any other.
#[derive(Debug, Clone, PartialEq)]
pub struct Mixed(Vec<NegativeBinomial>);

impl Mixed {
    /// None unless at least one is wanted and all chances are above 0 and not above 1.
    #[must_use]
    pub fn new(good: u64, chances: impl IntoIterator<Item = f64>) -> Option<Self> {
        let each: Option<Vec<_>> =
            chances.into_iter().map(|chance| NegativeBinomial::new(good, chance)).collect();
        each.filter(|each| !each.is_empty()).map(Self)
    }
}

impl Counts for Mixed {
    fn least(&self) -> u64 {
        self.0[0].least()
    }

    fn most(&self) -> Option<u64> {
        self.0.iter().all(|one| one.most().is_some()).then(|| self.least())
    }

    fn ln_pmf(&self, count: u64) -> f64 {
        let sum: f64 = self.0.iter().map(|one| one.pmf(count)).sum();
        (sum / self.0.len() as f64).ln()
    }

    fn mean(&self) -> Option<f64> {
        let sum: Option<f64> = self.0.iter().map(Counts::mean).sum();
        Some(sum? / self.0.len() as f64)
    }
}
