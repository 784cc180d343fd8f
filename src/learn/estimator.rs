//! The estimators: a range of the handbook as prior, drawn toward what was measured.

use crate::chance::Beta;
use crate::figure::Range;

/// On which scale a quantity scatters evenly.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scale {
    /// In its own unit: contraction.
    Plain,
    /// By a factor: times, shares, rates.
    Log,
}

/// Half of a 90 % interval of the normal distribution, in standard deviations.
const HALF: f64 = 1.644_853_626_951_472_7;

/// The usual value of a quantity, by the handbook and by measurements: normal prior, normal
/// measurements, closed form (Gelman et al., Bayesian Data Analysis, section 2.5).
///
/// The prior is normal about the likely value with the range as its 90 % interval, on the scale
/// given. A measurement is taken to scatter as much as the prior is wide, so that the handbook
/// counts as one measurement; where three or more measurements scatter more than that among
/// themselves, as much as they do. Likely is the middle of what remains, low and high are its 5 %
/// and 95 % points. Without measurements the range is given back as it was.
pub fn usual(prior: Range, measured: &[f64], scale: Scale) -> Range {
    let n = measured.len() as f64;
    if measured.is_empty() || prior.is_exact() {
        return prior;
    }
    // A share of nothing has no logarithm: a thousandth of the likely value stands for it.
    let floor = prior.likely.abs() * 1e-3;
    let to = |v: f64| if scale == Scale::Log { v.max(floor).ln() } else { v };
    let from = |v: f64| if scale == Scale::Log { v.exp() } else { v };
    let middle = to(prior.likely);
    let spread = (to(prior.high) - to(prior.low)) / (2.0 * HALF);
    let values: Vec<f64> = measured.iter().map(|v| to(*v)).collect();
    let mean = values.iter().sum::<f64>() / n;
    let scatter = match values.len() {
        0..=2 => spread,
        _ => {
            let squares: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
            (squares / (n - 1.0)).sqrt().max(spread)
        }
    };
    let (of_prior, of_data) = (spread.powi(-2), n * scatter.powi(-2));
    let likely = (middle * of_prior + mean * of_data) / (of_prior + of_data);
    let half = HALF / (of_prior + of_data).sqrt();
    Range { low: from(likely - half), likely: from(likely), high: from(likely + half) }
}

/// A belief about a chance as a range: likely is the mean, low and high are the 5 % and 95 % points.
pub fn chance(belief: Beta) -> Range {
    Range { low: belief.quantile(0.05), likely: belief.mean(), high: belief.quantile(0.95) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_prior_counts_as_one_measurement() {
        let prior = Range { low: 2.0, likely: 4.0, high: 6.0 };
        assert_eq!(usual(prior, &[], Scale::Plain), prior);
        let learned = usual(prior, &[8.0], Scale::Plain);
        assert!((learned.likely - 6.0).abs() < 1e-12);
        assert!((learned.high - learned.likely - 2.0 / 2f64.sqrt()).abs() < 1e-12);
    }
}
