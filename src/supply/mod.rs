//! Supply: what the build takes, what is there, what to buy.

mod at_hand;
mod awaited;
mod bill;
mod charge;
mod cover;
mod flow;
mod flowing;
mod in_shop;
mod line;
mod linear;
mod lines;
mod market;
pub mod money;
mod order;
mod ordered;
mod packs;
mod past;
mod stock;
mod sure;
mod taking;
mod topped;
mod walker;
mod wear;

pub use at_hand::{Ask, AtHand, Count, at_hand};
pub use awaited::{overdue, short, still, waits};
pub use bill::bill;
pub use charge::{Blend, Limit, MadeUp, Outcome, Source};
pub use flow::{End, Flow, Gates, Happens, Point, StockWalk, Walk};
pub use line::{Bill, BoughtLine, StockLine};
pub use order::{Wish, purchases};
pub use packs::{Cover, Need, Order, OrderLine, PartNeed, Purchase, buy};
pub use past::Way;
pub use stock::{Holding, stock};
pub use sure::sure;
pub use walker::walk;
pub use wear::Wear;
