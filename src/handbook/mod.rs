//! What the trade knows: tables and formulas, each with its source.

pub mod formulas;
