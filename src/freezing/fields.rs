//! What was reckoned, kept by casting, and whether it still holds.

use super::{Frozen, Setup};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Castings that were reckoned, by the id of the part.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Fields(BTreeMap<String, Kept>);

#[derive(Debug, Clone, Serialize, Deserialize)]
struct Kept {
    /// Hash of all that it depends on.
    of: String,
    frozen: Arc<Frozen>,
}

/// How what is kept of a casting stands.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub enum Stand {
    /// It holds.
    Holds(Arc<Frozen>),
    /// What it depends on has changed.
    Outdated,
    /// Nothing is kept.
    Missing,
}

impl Fields {
    /// What is kept of a part, held against what it depends on now.
    pub fn stand(&self, part: &str, now: &Setup) -> Stand {
        match self.0.get(part) {
            None => Stand::Missing,
            Some(kept) if kept.of == now.hash() && kept.frozen.is_sound() => {
                Stand::Holds(kept.frozen.clone())
            }
            Some(_) => Stand::Outdated,
        }
    }

    /// Keeps what was reckoned of a part.
    pub fn keep(&mut self, part: &str, setup: &Setup, frozen: Frozen) {
        let kept = Kept { of: setup.hash(), frozen: Arc::new(frozen) };
        self.0.insert(part.to_owned(), kept);
    }
}
