//! How likely it is that a mould is lost, and how many moulds that makes.

use crate::chance::{Beta, BetaNegativeBinomial, Counts, Mixed, NegativeBinomial, Pert};
use crate::chance::{Tables, Uncertain};

/// A mould that the manifest says is always lost would be made again for ever: of twenty at least
/// one is taken to be good.
const MOST: f64 = 0.95;
/// Chances, each as likely as any other, that stand for a range.
const PARTS: u32 = 400;

/// The chance that a mould is lost.
#[derive(Debug, Clone)]
pub(super) enum Loss {
    /// By the record of its class.
    Believed(Beta),
    /// As the manifest says: low, likely, high.
    Given([f64; 3]),
}

impl Loss {
    pub fn given(range: [f64; 3]) -> Self {
        Self::Given(range.map(|chance| chance.min(MOST)))
    }

    /// As a replay draws it.
    pub fn drawn(&self, tables: &mut Tables) -> Uncertain {
        match self {
            Self::Believed(belief) => tables.belief(*belief),
            Self::Given(range) => tables.pert(*range),
        }
    }

    /// Moulds until so many are good.
    pub fn moulds(&self, good: u32) -> Option<Box<dyn Counts>> {
        let good = u64::from(good);
        match self {
            Self::Believed(belief) => {
                Some(Box::new(BetaNegativeBinomial::new(good, belief.opposite())?))
            }
            Self::Given([low, likely, high]) if low == high => {
                Some(Box::new(NegativeBinomial::new(good, 1.0 - likely)?))
            }
            Self::Given([low, likely, high]) => {
                let pert = Pert::new(*low, *likely, *high)?;
                let part = |n: u32| (f64::from(n) + 0.5) / f64::from(PARTS);
                let chances = (0..PARTS).map(|n| 1.0 - pert.quantile(part(n)));
                Some(Box::new(Mixed::new(good, chances)?))
            }
        }
    }
}
