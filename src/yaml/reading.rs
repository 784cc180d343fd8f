//! One pass over a file: its faults, and what it may ask for beside it.

use super::Fault;
use super::taken::Taken;
use std::cell::{Cell, RefCell};

/// Gives the bytes of a file that lies beside the one being read, by its relative path.
pub type Beside<'a> = &'a dyn Fn(&str) -> std::io::Result<Vec<u8>>;

/// One pass over a file; gathers its faults.
#[derive(Default)]
pub struct Reading<'b> {
    faults: RefCell<Vec<Fault>>,
    beside: Option<Beside<'b>>,
    /// Whether quarts and their like say whose they are.
    says_which: Cell<bool>,
    /// What is taken, where somebody asks.
    taken: Option<RefCell<Taken>>,
}

impl std::fmt::Debug for Reading<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Reading").field("faults", &self.faults).finish_non_exhaustive()
    }
}

impl<'b> Reading<'b> {
    /// A pass over a file that may name others beside it.
    pub fn with(beside: Beside<'b>) -> Self {
        Self { beside: Some(beside), ..Self::default() }
    }

    /// From here on, quarts and their like must say whether they are US or imperial.
    pub fn asks_which(&self) {
        self.says_which.set(true);
    }

    /// A pass that notes what is taken of the file.
    pub fn noting() -> Self {
        Self { taken: Some(RefCell::default()), ..Self::default() }
    }

    /// Notes something that is taken, where somebody asks.
    pub(super) fn note(&self, note: impl FnOnce(&mut Taken)) {
        if let Some(taken) = &self.taken {
            note(&mut taken.borrow_mut());
        }
    }

    /// The bytes of a file beside the one being read; none where no other may be read.
    pub(super) fn beside(&self, path: &str) -> Option<std::io::Result<Vec<u8>>> {
        self.beside.map(|open| open(path))
    }

    /// Whether quarts and their like must say whose they are.
    pub(super) fn wants_which(&self) -> bool {
        self.says_which.get()
    }

    /// What was taken.
    pub fn into_taken(self) -> Taken {
        self.taken.map(RefCell::into_inner).unwrap_or_default()
    }

    /// Adds a fault.
    pub fn fault(&self, fault: Fault) {
        self.faults.borrow_mut().push(fault);
    }

    /// How many faults there are so far.
    pub fn found(&self) -> usize {
        self.faults.borrow().len()
    }

    /// All faults so far.
    pub fn into_faults(self) -> Vec<Fault> {
        self.faults.into_inner()
    }
}
