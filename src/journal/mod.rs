//! The journal: what happened, in `journal.yaml`, appended only.

mod append;
mod entry;
mod read;

pub use append::{AppendError, append, appended, fresh_id};
pub use entry::{
    Blemish, Charge, Counted, Disposition, Done, Entry, Event, Inspected, Noted, Poured, Rammed,
    Received, ShakenOut, Void,
};
pub use read::{Journal, read};
