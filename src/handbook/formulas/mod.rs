//! The formulas, by trade. Each is a plain function on typed quantities with its record beside it.

pub mod metal;

use crate::figure::Formula;

/// Every formula there is, in the order of the handbook page.
pub static ALL: &[&Formula] = &[&metal::part_mass::FORMULA, &metal::charge::FORMULA];
