//! Supply: what the build takes, what is there, what to buy.

mod bill;
mod cover;
mod order;
mod packs;

pub use bill::{Bill, BoughtLine, StockLine, bill};
pub use order::{Wish, purchases};
pub use packs::{Cover, Need, Order, OrderLine, Purchase, buy};
