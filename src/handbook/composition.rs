//! What an alloy may hold of each element.

use super::elements::{element, is_element};
use crate::figure::{Known, Range, Ratio, Source};
use crate::yaml::Fields;
use std::sync::Arc;

/// Limits of composition, as shares of the mass.
#[derive(Debug, Clone, PartialEq)]
pub struct Composition {
    /// The standard that sets them.
    pub standard: Arc<str>,
    /// Least and most of each element.
    pub limits: Vec<(Arc<str>, Range)>,
    /// The element that makes up the rest.
    pub balance: Arc<str>,
    /// Least and most of it, where the standard says so.
    pub balance_limit: Option<Range>,
    /// Where the limits were read; none where the builder gave them.
    pub source: Option<Source>,
}

impl Composition {
    /// The most that it may hold of an element, as a share of the mass; of the balance, what the least
    /// of the others leave.
    pub fn most(&self, element: &str) -> f64 {
        if *self.balance == *element {
            return 1.0 - self.limits.iter().map(|(_, limit)| limit.low).sum::<f64>();
        }
        self.limits.iter().find(|(e, _)| **e == *element).map_or(0.0, |(_, limit)| limit.high)
    }

    /// Reads `{standard, limits: {Si: 6.5..7.5 %}, balance, from, known}`.
    pub(super) fn read(fields: &mut Fields<'_>) -> Option<Self> {
        let standard = fields.take("standard", |c| c.text());
        let limits = fields.need("limits", "{Si: 6.5..7.5 %, Fe: 0..0.2 %}", |c| {
            let entries = c.entries().into_iter();
            let sound = entries.filter(|(e, c)| is_element(c, e, true));
            Some(sound.filter_map(|(e, c)| Some((e, share(&c)?))).collect())
        });
        let balance = fields.need("balance", "Al", element);
        let balance_limit = fields.take("balance-limit", share);
        let from = fields.take("from", |c| c.text());
        let known = fields.take("known", |c| {
            let text = c.text()?;
            Known::from_words(&text)
        });
        Some(Self {
            standard: standard.unwrap_or_else(|| "the builder's own".into()),
            limits: limits?,
            balance: balance?,
            balance_limit,
            source: from
                .zip(known)
                .map(|(from, known)| Source { citation: from.to_string().into(), known }),
        })
    }
}

/// A share of the mass as a range between 0 and 100 %.
pub fn share(cursor: &crate::yaml::Cursor<'_>) -> Option<Range> {
    cursor.figure_or_zero::<Ratio>("share").map(|f| f.node().range())
}
