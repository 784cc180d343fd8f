//! A figure: a quantity with a unit, a range, and the story of how it came to be.
//!
//! Every number the tool shows is a [`Figure`]. Inside, quantities are typed, so that a
//! formula which adds a length to a mass does not compile; outside, they are read and shown
//! in the units that people write.

mod arithmetic;
mod because;
mod formula;
mod kind;
mod quantity;
mod range;
mod route;
mod show;
mod wrap;
mod written;

pub use because::{Because, Figure, Known, Node, SafeEnd, Source};
#[doc(hidden)]
pub use formula::kebab;
pub use formula::{Formula, Input, Turn, Worded};
pub use kind::{Kind, System};
pub use quantity::*;
pub use range::Range;
pub use route::{Route, Segment};
pub(crate) use show::TENTH_OUNCE;
pub use show::{Alike, show, show_liquid, show_si, show_spanned};
pub(crate) use wrap::held_words;
pub use wrap::wrapped;
pub use written::{Unreadable, read, read_sizes, says_which};
