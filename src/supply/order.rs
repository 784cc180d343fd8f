//! From the bill to orders.

use super::packs::{Need, Purchase, buy};
use super::{Bill, StockLine};
use crate::build::Build;
use std::collections::BTreeMap;

/// How to buy.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Wish {
    /// Cover the high end of each need instead of the likely one.
    pub sure: bool,
    /// An order for each month in which something runs short, instead of one for all.
    pub stages: bool,
}

/// What the bill says must be bought.
fn need(line: &StockLine, sure: bool) -> Option<Need> {
    let range = line.buy.as_ref()?.node().range();
    let mass = if sure { range.high } else { range.likely };
    (mass > 0.0).then(|| Need { of: line.id.clone(), mass, by: line.by })
}

/// The purchases that cover the bill, the first to be made first.
pub fn purchases(build: &Build, bill: &Bill, wish: Wish) -> Vec<Purchase> {
    let needs: Vec<Need> = bill.lines().filter_map(|l| need(l, wish.sure)).collect();
    if needs.is_empty() {
        return Vec::new();
    }
    vec![buy(&build.suppliers, &needs, &BTreeMap::new())]
}
