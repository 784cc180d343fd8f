//! Photos of the journal, ready to stand in a page.

use crate::journal::{Entry, Event};
use crate::model::Build;
use crate::view::page::plain;
use serde::Serialize;
use std::collections::HashMap;

/// A photo as it stands in the page.
#[derive(Debug, Clone, Serialize)]
pub struct Photo {
    /// A `data:` address.
    pub data: String,
    /// Pixels.
    pub width: u32,
    /// Pixels.
    pub height: u32,
}

/// Photos by the path that the journal gives.
pub type Photos = HashMap<String, Photo>;

/// A photo with what was said of it.
#[derive(Debug, Clone, Serialize)]
pub struct PhotoView {
    /// The photo.
    pub photo: Photo,
    /// The day.
    pub day: String,
    /// In the builder's words.
    pub says: Option<String>,
}

/// Whether an entry is about a part: named in it, or cast in its mould.
fn about(build: &Build, entry: &Entry, part: usize) -> bool {
    let id = build.parts[part].id();
    let named = match &entry.event {
        Event::Done(e) => e.part.as_ref(),
        Event::Received(e) => e.part.as_ref(),
        Event::Inspected(e) => Some(&e.part),
        Event::Note(e) => e.part.as_ref(),
        _ => None,
    };
    match named {
        Some(word) => *word.value == **id,
        None => entry
            .mould()
            .and_then(|m| build.history.attempts.get(m))
            .is_some_and(|a| a.castings.iter().any(|(p, _)| *p == part)),
    }
}

/// Photos that show a part.
pub(super) fn of_part(build: &Build, photos: &Photos, part: usize) -> Vec<PhotoView> {
    if photos.is_empty() {
        return Vec::new();
    }
    let about = build.history.log.iter().filter(|e| about(build, e, part));
    let view = |e: &Entry| {
        Some(PhotoView {
            photo: photos.get(&**e.photo.as_ref()?)?.clone(),
            day: crate::view::page::day(e.at),
            says: e.says.as_deref().map(plain),
        })
    };
    about.filter_map(view).collect()
}
