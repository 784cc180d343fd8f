//! Photos of the journal, for a page.

mod picture;
mod small;
mod smaller;
#[cfg(test)]
mod tests;
mod turned;

use super::{Common, files};
use crate::model::Build;
use crate::view::report::Photos;
use rayon::prelude::*;
pub use small::small;

/// Files above this many bytes are no photos.
const MOST_BYTES: u64 = 40 << 20;
/// Photos that one page takes; later ones go before earlier.
const MOST: usize = 80;

/// The photos that the journal names, and what could not be shown, in words.
pub fn photos(common: &Common, build: &Build) -> (Photos, Vec<String>) {
    let mut paths: Vec<&str> = Vec::new();
    for path in build.history.log.iter().rev().filter_map(|e| e.photo.as_deref()) {
        if !paths.contains(&path) {
            paths.push(path);
        }
    }
    let left = paths.len().saturating_sub(MOST);
    paths.truncate(MOST);
    let read: Vec<_> = paths
        .par_iter()
        .map(|path| {
            let bytes = files::beside(&common.build, path, MOST_BYTES).map_err(|e| e.to_string());
            bytes.and_then(|bytes| small(&bytes)).map_err(|says| format!("photo {path}: {says}"))
        })
        .collect();
    let (mut photos, mut refused) = (Photos::new(), Vec::new());
    for (path, read) in paths.iter().zip(read) {
        match read {
            Ok(photo) => {
                photos.insert((*path).to_owned(), photo);
            }
            Err(says) => refused.push(says),
        }
    }
    if left > 0 {
        refused.push(format!("{left} older photos are left out: a page takes {MOST}"));
    }
    (photos, refused)
}
