//! Pictures made small.

use super::picture::Picture;

/// The sides of a picture whose longer one is to be so many pixels at most.
pub(super) fn sides_within(longer: usize, wide: usize, high: usize) -> (usize, usize) {
    let share = longer as f64 / wide.max(high) as f64;
    if share >= 1.0 {
        return (wide, high);
    }
    let side = |of: usize| ((of as f64 * share).round() as usize).max(1);
    (side(wide), side(high))
}

/// A picture of so many pixels, no more than it has, each of them red, green and blue on white.
///
/// A pixel of it lies over `wide / to_wide` x `high / to_high` pixels of the picture and is their
/// mean, each with the share of it that lies under the pixel.
pub(super) fn smaller(picture: &Picture, to_wide: usize, to_high: usize) -> Picture {
    let across = places(picture.wide, to_wide);
    let down = places(picture.high, to_high);
    let row = to_wide * 3;
    let mut sums = vec![0.0_f32; row * to_high];
    let rows = picture.bytes.chunks_exact(picture.wide * picture.bytes_a_pixel);
    let mut line = vec![0.0_f32; row];
    for (bytes, place) in rows.zip(&down) {
        line.fill(0.0);
        for (pixel, place) in bytes.chunks_exact(picture.bytes_a_pixel).zip(&across) {
            add(&mut line, &on_white(pixel), 3 * place.first, place.share);
        }
        add(&mut sums, &line, row * place.first, place.share);
    }
    let under = (picture.wide as f32 / to_wide as f32) * (picture.high as f32 / to_high as f32);
    let bytes = sums.iter().map(|sum| (sum / under).round() as u8).collect();
    Picture { wide: to_wide, high: to_high, bytes_a_pixel: 3, bytes }
}

/// Under which pixel of the smaller picture a pixel begins, and how much of it lies there; the rest
/// lies under the next.
struct Place {
    first: usize,
    share: f32,
}

fn places(from: usize, to: usize) -> Vec<Place> {
    let place = |i: usize| {
        let first = i * to / from;
        let there = ((first + 1) * from - i * to) as f32 / to as f32;
        Place { first, share: there.min(1.0) }
    };
    (0..from).map(place).collect()
}

/// Adds a share of some values from a place on, and the rest of them right after these.
fn add(to: &mut [f32], values: &[f32], at: usize, share: f32) {
    let next = at + values.len();
    for (sum, value) in to[at..].iter_mut().zip(values) {
        *sum += value * share;
    }
    if share < 1.0 {
        for (sum, value) in to[next..].iter_mut().zip(values) {
            *sum += value * (1.0 - share);
        }
    }
}

/// Red, green and blue of a pixel that lies on white paper.
fn on_white(pixel: &[u8]) -> [f32; 3] {
    let covered = |value: u8, covers: u8| {
        let covers = f32::from(covers) / 255.0;
        f32::from(value) * covers + 255.0 * (1.0 - covers)
    };
    match *pixel {
        [grey] => [f32::from(grey); 3],
        [grey, covers] => [covered(grey, covers); 3],
        [red, green, blue] => [red, green, blue].map(f32::from),
        [red, green, blue, covers] => [red, green, blue].map(|value| covered(value, covers)),
        _ => [0.0; 3],
    }
}

#[cfg(test)]
mod tests {
    use super::{Picture, sides_within, smaller};

    fn grey(wide: usize, high: usize, bytes: &[u8]) -> Picture {
        Picture { wide, high, bytes_a_pixel: 1, bytes: bytes.to_vec() }
    }

    /// Each pixel of the smaller one lies over one and a half: (0 + 90/2) / 1.5 and (90/2 + 240) / 1.5.
    #[test]
    fn a_pixel_is_the_mean_of_those_under_it() {
        let across = smaller(&grey(3, 1, &[0, 90, 240]), 2, 1);
        assert_eq!(across.bytes, [30, 30, 30, 190, 190, 190]);
        let down = smaller(&grey(1, 3, &[0, 90, 240]), 1, 2);
        assert_eq!(down.bytes, [30, 30, 30, 190, 190, 190]);
        // Four ninths of a corner, two ninths of what is beside it, a ninth of the middle.
        let both = smaller(&grey(3, 3, &[90, 0, 0, 0, 9, 0, 0, 0, 180]), 2, 2);
        assert_eq!(both.bytes.iter().step_by(3).copied().collect::<Vec<_>>(), [41, 1, 1, 81]);
        let same = smaller(&grey(2, 2, &[1, 2, 3, 255]), 2, 2);
        assert_eq!(same.bytes.iter().step_by(3).copied().collect::<Vec<_>>(), [1, 2, 3, 255]);
    }

    #[test]
    fn what_covers_nothing_is_white_paper() {
        let of = |bytes_a_pixel, bytes: &[u8]| {
            smaller(&Picture { wide: 1, high: 1, bytes_a_pixel, bytes: bytes.to_vec() }, 1, 1).bytes
        };
        assert_eq!(of(4, &[9, 99, 199, 0]), [255, 255, 255]);
        assert_eq!(of(4, &[9, 99, 199, 255]), [9, 99, 199]);
        assert_eq!(of(2, &[55, 51]), [215, 215, 215]);
    }

    #[test]
    fn no_side_is_longer_and_none_is_nothing() {
        assert_eq!(sides_within(560, 3000, 2000), (560, 373));
        assert_eq!(sides_within(560, 300, 560), (300, 560));
        assert_eq!(sides_within(560, 1, 20_000), (1, 560));
    }
}
