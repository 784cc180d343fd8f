//! Supply: what the build takes, what is there, what to buy.

mod bill;

pub use bill::{Bill, BoughtLine, StockLine, bill};
