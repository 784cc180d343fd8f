//! Photos of the journal, made small.

use super::{Common, files};
use crate::model::Build;
use crate::view::report::{Photo, Photos};
use base64::Engine;
use image::metadata::Orientation;
use image::{DynamicImage, ImageDecoder, ImageReader, Limits};
use rayon::prelude::*;
use std::io::Cursor;
use std::sync::Mutex;

/// The longer side of a photo in a page, pixels.
const LONGER: u32 = 560;
/// Of 100, of the JPEG in a page.
const QUALITY: u8 = 66;
/// Files above this many bytes are no photos.
const MOST_BYTES: u64 = 40 << 20;
/// Pictures above this many pixels a side are no photos.
const MOST_SIDE: u32 = 20_000;
/// Pixels that a photo has at most.
const MOST_PIXELS: u64 = 64_000_000;
/// Room to unpack one photo in, bytes.
const MOST_ROOM: u64 = 224 << 20;
/// Photos of more pixels than this are unpacked one at a time, so that two do not fill the room.
const LARGE: u64 = 12_000_000;
static ONE_AT_A_TIME: Mutex<()> = Mutex::new(());
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
            bytes.and_then(small).map_err(|says| format!("photo {path}: {says}"))
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

/// A photo as a page shows it.
///
/// # Errors
/// In words, where it is none, or larger than any.
pub fn small(bytes: Vec<u8>) -> Result<Photo, String> {
    let unread = |e: image::ImageError| format!("{e}; JPEG and PNG can be shown");
    let mut limits = Limits::default();
    limits.max_image_width = Some(MOST_SIDE);
    limits.max_image_height = Some(MOST_SIDE);
    limits.max_alloc = Some(MOST_ROOM);
    let mut reader =
        ImageReader::new(Cursor::new(bytes)).with_guessed_format().map_err(|e| e.to_string())?;
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(unread)?;
    let (wide, high) = decoder.dimensions();
    let pixels = u64::from(wide) * u64::from(high);
    if pixels > MOST_PIXELS {
        let most = MOST_PIXELS / 1_000_000;
        return Err(format!("it has {wide} x {high} pixels; the most is {most} million"));
    }
    let _alone = (pixels > LARGE).then(|| ONE_AT_A_TIME.lock());
    let turned = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    let mut photo = DynamicImage::from_decoder(decoder).map_err(unread)?;
    if photo.width().max(photo.height()) > LONGER {
        photo = photo.thumbnail(LONGER, LONGER);
    }
    photo.apply_orientation(turned);
    let mut jpeg = Vec::new();
    let encoder = image::codecs::jpeg::JpegEncoder::new_with_quality(&mut jpeg, QUALITY);
    photo.to_rgb8().write_with_encoder(encoder).map_err(unread)?;
    let data = base64::engine::general_purpose::STANDARD.encode(jpeg);
    Ok(Photo {
        data: format!("data:image/jpeg;base64,{data}"),
        width: photo.width(),
        height: photo.height(),
    })
}
