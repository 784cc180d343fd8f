//! The journal: what happened, in `journal.yaml`, appended only.

mod append;
mod documents;
mod entry;
mod event;
mod read;

pub use append::{AppendError, Held, append, appended, fresh_id, hold};
pub use entry::{
    Blemish, CanBe, Charge, Counted, Disposition, Done, Entry, Event, GivenAway, Inspected, Noted,
    Poured, Rammed, Received, Remark, ShakenOut, Sizes, Void,
};
pub use read::{Journal, read};
