//! Money, decimal and exact: rounded half up to the smallest unit, once, where it is told.

use rust_decimal::prelude::FromPrimitive;
use rust_decimal::{Decimal, RoundingStrategy};

/// Digits behind the point that prices are told with.
const DIGITS: u32 = 2;

/// A sum of money that was reckoned, rounded as it is told.
pub fn of(reckoned: f64) -> Decimal {
    rounded(Decimal::from_f64(reckoned).unwrap_or_default())
}

/// Half up.
pub fn rounded(money: Decimal) -> Decimal {
    money.round_dp_with_strategy(DIGITS, RoundingStrategy::MidpointAwayFromZero)
}

/// As text, with two digits behind the point.
pub fn shown(money: Decimal) -> String {
    format!("{:.2}", rounded(money))
}
