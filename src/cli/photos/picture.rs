//! Pictures out of the bytes of a file: JPEG and PNG, of no more pixels than there is room for.

use super::turned::{self, Turn};
use png::Transformations;
use std::io::Cursor;
use zune_jpeg::JpegDecoder;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::options::DecoderOptions;

/// Room to unpack one picture in, bytes.
const MOST_ROOM: usize = 224 << 20;

/// A picture, row by row from the top, each pixel as so many bytes: grey, grey and how far it
/// covers, red green blue, or those and how far it covers.
pub(super) struct Picture {
    pub(super) wide: usize,
    pub(super) high: usize,
    pub(super) bytes_a_pixel: usize,
    pub(super) bytes: Vec<u8>,
}

/// A file of which the head is read, and nothing unpacked.
pub(super) enum Opened<'a> {
    Jpeg(Box<JpegDecoder<ZCursor<&'a [u8]>>>),
    Png(Box<png::Reader<Cursor<&'a [u8]>>>),
}

impl<'a> Opened<'a> {
    /// Reads the head of a file.
    ///
    /// # Errors
    /// In words, where it is no picture that can be shown.
    pub(super) fn new(file: &'a [u8]) -> Result<Self, String> {
        if file.starts_with(&[0xff, 0xd8, 0xff]) {
            // The sides are looked at by who opens it.
            let any = DecoderOptions::default().set_strict_mode(false);
            let any = any.set_max_width(usize::MAX).set_max_height(usize::MAX);
            let mut jpeg = JpegDecoder::new_with_options(ZCursor::new(file), any);
            jpeg.decode_headers().map_err(|e| faulty("JPEG", &e))?;
            Ok(Self::Jpeg(Box::new(jpeg)))
        } else if file.starts_with(b"\x89PNG\r\n\x1a\n") {
            let limits = png::Limits { bytes: MOST_ROOM };
            let mut png = png::Decoder::new_with_limits(Cursor::new(file), limits);
            png.set_ignore_text_chunk(true);
            png.set_ignore_iccp_chunk(true);
            png.set_transformations(Transformations::EXPAND | Transformations::STRIP_16);
            Ok(Self::Png(Box::new(png.read_info().map_err(|e| faulty("PNG", &e))?)))
        } else {
            Err("the image format could not be determined".to_owned())
        }
    }

    /// Pixels across and down.
    pub(super) fn sides(&self) -> (usize, usize) {
        match self {
            Self::Jpeg(jpeg) => jpeg.dimensions().unwrap_or_default(),
            Self::Png(png) => (png.info().width as usize, png.info().height as usize),
        }
    }

    /// How it is to be turned before it is looked at.
    pub(super) fn turn(&self) -> Turn {
        turned::by_exif(match self {
            Self::Jpeg(jpeg) => jpeg.exif().map(Vec::as_slice),
            Self::Png(png) => png.info().exif_metadata.as_deref(),
        })
    }

    /// Unpacks it.
    ///
    /// # Errors
    /// In words, where it is broken, or wants more room than there is.
    pub(super) fn unpacked(self) -> Result<Picture, String> {
        let (wide, high) = self.sides();
        let (bytes_a_pixel, bytes) = match self {
            Self::Jpeg(mut jpeg) => {
                // What comes pass by pass is held whole until the last: two bytes beside each byte.
                let whole = jpeg.info().is_some_and(|info| !info.sof.is_sequential_dct());
                let held = if whole { 3 } else { 1 };
                roomy(jpeg.output_buffer_size().map(|bytes| bytes * held))?;
                (3, jpeg.decode().map_err(|e| faulty("JPEG", &e))?)
            }
            Self::Png(mut png) => {
                let mut bytes = vec![0; roomy(png.output_buffer_size())?];
                png.next_frame(&mut bytes).map_err(|e| faulty("PNG", &e))?;
                (png.output_color_type().0.samples(), bytes)
            }
        };
        Ok(Picture { wide, high, bytes_a_pixel, bytes })
    }
}

fn roomy(size: Option<usize>) -> Result<usize, String> {
    size.filter(|size| *size <= MOST_ROOM).ok_or_else(|| "memory limit exceeded".to_owned())
}

fn faulty(format: &str, says: &dyn std::fmt::Display) -> String {
    format!("format error decoding {format}: {says}")
}
