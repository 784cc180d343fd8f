//! What the pages are made of: the report and the sheets show figures, moulds, work and materials
//! alike.

mod chain;
mod days;
mod far;
mod fit;
mod materials;
mod orders;
mod picture;
mod record;
mod shown;
mod standing;
mod template;
mod work;

pub use chain::ChainRow;
pub(in crate::view) use chain::{chain_rows, to_the_rule};
pub(in crate::view) use days::{day_words, near_day};
pub(in crate::view) use far::far;
pub use far::{FarView, TallyView};
pub use fit::Fit;
pub(in crate::view) use fit::{crucible, flask};
pub use materials::{BillView, BoughtView, Melted, StockView};
pub(in crate::view) use materials::{materials, melted};
pub use orders::OrderGroup;
pub(in crate::view) use orders::{late, order_groups};
pub use picture::Picture;
pub(in crate::view) use picture::picture;
pub use record::{AttemptView, BlemishView, CauseView, ChangeView, FindingView, RedoView};
pub(in crate::view) use record::{attempt, changes, day, faults, redo};
pub use shown::Shown;
pub(in crate::view) use shown::{alike, at_least, by_the_clock, plain, shown, unit};
pub(in crate::view) use standing::{STANDINGS, mark};
pub use template::Unfilled;
pub(in crate::view) use template::{filled, parsed};
pub use work::{HoldsUp, TaskView, WorkView};
pub(in crate::view) use work::{cast_in, first_ready, verb, work};
