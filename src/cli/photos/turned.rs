//! Pictures turned as the camera was held: the orientation of the Exif standard (CIPA DC-008).

use super::picture::Picture;

/// The tag of the orientation, and the type of its value: one number of two bytes.
const ORIENTATION: u16 = 0x0112;
const SHORT: u16 = 3;

/// How a picture is to be turned: first mirrored at its diagonal, if so, then at its sides.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Turn {
    /// Rows become columns.
    diagonal: bool,
    /// Left becomes right.
    across: bool,
    /// Top becomes bottom.
    down: bool,
}

/// What the Exif block of a picture says; where it says nothing that is known, it stays as it lies.
pub(super) fn by_exif(block: Option<&[u8]>) -> Turn {
    let turn = |diagonal, across, down| Turn { diagonal, across, down };
    match block.and_then(orientation) {
        Some(2) => turn(false, true, false),
        Some(3) => turn(false, true, true),
        Some(4) => turn(false, false, true),
        Some(5) => turn(true, false, false),
        Some(6) => turn(true, true, false),
        Some(7) => turn(true, true, true),
        Some(8) => turn(true, false, true),
        _ => Turn::default(),
    }
}

/// The orientation in the first directory of a block of Exif, which is laid out as a TIFF file.
fn orientation(block: &[u8]) -> Option<u16> {
    let big = match block.get(..4)? {
        b"MM\0*" => true,
        b"II*\0" => false,
        _ => return None,
    };
    let two = |at: usize| {
        let bytes = block.get(at..at.checked_add(2)?)?.try_into().ok()?;
        Some(if big { u16::from_be_bytes(bytes) } else { u16::from_le_bytes(bytes) })
    };
    let four = |at: usize| {
        let (first, second) = (u32::from(two(at)?), u32::from(two(at.checked_add(2)?)?));
        Some(if big { first << 16 | second } else { second << 16 | first })
    };
    let directory = usize::try_from(four(4)?).ok()?;
    let first = directory.checked_add(2)?;
    let entries = (0..usize::from(two(directory)?)).map_while(|i| first.checked_add(12 * i));
    for entry in entries {
        if two(entry)? == ORIENTATION && two(entry + 2)? == SHORT && four(entry + 4)? == 1 {
            return two(entry + 8);
        }
    }
    None
}

/// The picture as it is to be looked at.
pub(super) fn turned(picture: Picture, turn: Turn) -> Picture {
    let Picture { wide, high, bytes_a_pixel, bytes } = &picture;
    if turn == Turn::default() {
        return picture;
    }
    let (to_wide, to_high) = if turn.diagonal { (*high, *wide) } else { (*wide, *high) };
    let mut out = Vec::with_capacity(bytes.len());
    for row in 0..to_high {
        for column in 0..to_wide {
            let x = if turn.across { to_wide - 1 - column } else { column };
            let y = if turn.down { to_high - 1 - row } else { row };
            let (x, y) = if turn.diagonal { (y, x) } else { (x, y) };
            let at = (y * wide + x) * bytes_a_pixel;
            out.extend_from_slice(&bytes[at..at + bytes_a_pixel]);
        }
    }
    Picture { wide: to_wide, high: to_high, bytes_a_pixel: *bytes_a_pixel, bytes: out }
}
