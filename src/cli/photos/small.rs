//! A photo as a page shows it.

use super::picture::{Opened, Picture};
use super::{smaller, turned};
use crate::view::report::Photo;
use base64::Engine;
use jpeg_encoder::{ColorType, Encoder, SamplingFactor};
use std::sync::Mutex;

/// The longer side of a photo in a page, pixels.
const LONGER: usize = 560;
/// Of 100, of the JPEG in a page.
const QUALITY: u8 = 66;
/// Pictures above this many pixels a side are no photos.
const MOST_SIDE: usize = 20_000;
/// Pixels that a photo has at most.
const MOST_PIXELS: usize = 64_000_000;
/// Photos of more pixels than this are unpacked one at a time, so that two do not fill the room.
const LARGE: usize = 12_000_000;
static ONE_AT_A_TIME: Mutex<()> = Mutex::new(());

/// A photo as a page shows it: nothing of the file but its pixels reaches the page.
///
/// # Errors
/// In words, where it is none, or larger than any.
pub fn small(file: &[u8]) -> Result<Photo, String> {
    let unread = |says: String| format!("{says}; JPEG and PNG can be shown");
    let opened = Opened::new(file).map_err(unread)?;
    let (wide, high) = opened.sides();
    let pixels = bounded(wide, high)?;
    let _alone = (pixels > LARGE).then(|| ONE_AT_A_TIME.lock());
    let turn = opened.turn();
    let photo = opened.unpacked().map_err(unread)?;
    let (wide, high) = smaller::sides_within(LONGER, wide, high);
    let photo = turned::turned(smaller::smaller(&photo, wide, high), turn);
    let data = base64::engine::general_purpose::STANDARD.encode(jpeg(&photo)?);
    Ok(Photo {
        data: format!("data:image/jpeg;base64,{data}"),
        width: photo.wide as u32,
        height: photo.high as u32,
    })
}

/// Pixels in all, where they are no more than a photo has.
fn bounded(wide: usize, high: usize) -> Result<usize, String> {
    let says = |most: String| format!("it has {wide} x {high} pixels; the most is {most}");
    if wide.max(high) > MOST_SIDE {
        return Err(says(format!("{MOST_SIDE} a side")));
    }
    if wide * high > MOST_PIXELS {
        return Err(says(format!("{} million", MOST_PIXELS / 1_000_000)));
    }
    Ok(wide * high)
}

fn jpeg(photo: &Picture) -> Result<Vec<u8>, String> {
    let mut jpeg = Vec::new();
    let mut encoder = Encoder::new(&mut jpeg, QUALITY);
    // Colours are kept as sharp as light and dark.
    encoder.set_sampling_factor(SamplingFactor::R_4_4_4);
    let (wide, high) = (photo.wide as u16, photo.high as u16);
    encoder.encode(&photo.bytes, wide, high, ColorType::Rgb).map_err(|e| e.to_string())?;
    Ok(jpeg)
}
