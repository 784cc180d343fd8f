//! The journal: what happened, in `journal.yaml`, appended only.

mod append;
mod documents;
mod entry;
mod event;
mod key;
mod read;
mod word;
mod write;

pub use append::{AppendError, Appended, Held, append, appended, fresh_id, hold};
pub use entry::{
    Blemish, Charge, Counted, Done, Entry, Event, EventKind, GivenAway, Inspected, Note, Ordered,
    PHOTO, Poured, Rammed, Received, Remark, Retired, SAYS, Says, ShakenOut, Sizes, Void, WORDS,
    Worked,
};
pub use key::{Form, Key};
pub use read::{Journal, read};
pub use word::{CanBe, Disposition, Word};
pub use write::{Value, entry_text};
