//! The notes of the journal.

use super::photos::{Photo, Photos};
use crate::journal::{Entry, Event};
use crate::model::Build;
use crate::view::page::day;
use crate::view::page::plain;
use serde::Serialize;

/// A note of the journal.
#[derive(Debug, Clone, Serialize)]
pub struct NoteView {
    /// The day.
    pub day: String,
    /// In the builder's words.
    pub says: String,
    /// Its photo.
    pub photo: Option<Photo>,
}

/// Most notes of the journal that are listed.
const MOST_NOTES: usize = 30;

/// The last notes, with their photos.
pub(super) fn notebook(build: &Build, photos: &Photos) -> Vec<NoteView> {
    let notes = build.history.log.iter().rev().filter(|e| matches!(e.event, Event::Note(_)));
    let view = |e: &Entry| NoteView {
        day: day(e.at),
        says: e.says.as_deref().map(plain).unwrap_or_default(),
        photo: e.photo.as_ref().and_then(|p| photos.get(&**p).cloned()),
    };
    notes.take(MOST_NOTES).map(view).collect()
}
