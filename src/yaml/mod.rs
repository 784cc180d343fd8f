//! Reading the YAML that people write.
//!
//! Values are read by `serde_yaml` into a plain [`Tree`]; this folder is the only place that
//! knows it. A fault holds a [`Route`](crate::figure::Route) and is turned into a line and column
//! only when it is shown, by walking the events of a second, position-keeping parser.

mod cursor;
mod day;
mod fault;
mod fields;
mod line;
mod nearest;
mod place;
mod price;
mod reading;
mod refused;
mod taken;
mod tree;
mod unclosed;
mod unseen;
mod values;

pub use cursor::{Cursor, Given};
pub use day::{YEARS, day, moment};
pub use fault::{Code, Fault, Faults};
pub use fields::Fields;
pub use line::parse_entry;
pub use nearest::nearest;
pub use place::{Place, place, places};
pub use price::price;
pub use reading::{Beside, Reading};
pub use refused::Refused;
pub use taken::{Form, Taken};
pub use tree::{MAX_BYTES, Tree, one_line_end, parse, shown_of, text_of};
pub use unseen::steers;
