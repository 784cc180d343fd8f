//! Sizes that a workshop has: drills, cutters and rules, tube and plate.

use crate::figure::System;

/// The next size up that a workshop has a drill, cutter or rule for (m).
///
/// Metric: half millimetres to 13 mm, whole ones above. US: 1/64 in to 1/4 in, 1/32 in to 1/2 in,
/// 1/16 in above.
pub(super) fn next_size(metres: f64, system: System) -> f64 {
    // A size met to a thousandth of a step is met.
    const SLACK: f64 = 1e-3;
    let unit = match system {
        System::Metric => 1e-3,
        System::Us => 0.0254,
    };
    let size = metres / unit;
    let step = match system {
        System::Metric if size <= 13.0 => 0.5,
        System::Metric => 1.0,
        System::Us if size <= 0.25 => 1.0 / 64.0,
        System::Us if size <= 0.5 => 1.0 / 32.0,
        System::Us => 1.0 / 16.0,
    };
    (size / step - SLACK).ceil() * step * unit
}

/// Sizes of a trade: mm, and in.
pub(super) type Series = (&'static [f64], &'static [f64]);

/// Outside diameters of copper tube: EN 1057 (mm), ASTM B88 (nominal size and 1/8 in).
pub(super) const TUBES: Series = (
    &[8.0, 10.0, 12.0, 15.0, 18.0, 22.0, 28.0, 35.0, 42.0, 54.0],
    &[0.375, 0.5, 0.625, 0.75, 0.875, 1.125, 1.375, 1.625, 2.125],
);
/// Thicknesses of plate and flat bar that shops stock (common practice; mm and in).
pub(super) const PLATES: Series =
    (&[3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0], &[0.125, 0.1875, 0.25, 0.3125, 0.375, 0.5]);

/// The next size up of a trade's series (m), if it goes so far.
pub(super) fn next_of((mm, inches): Series, metres: f64, system: System) -> Option<f64> {
    let (series, unit) = match system {
        System::Metric => (mm, 1e-3),
        System::Us => (inches, 0.0254),
    };
    series.iter().map(|size| size * unit).find(|size| *size >= metres * (1.0 - 1e-6))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_go_up_to_the_next_tool() {
        for (wanted, metric) in [(8.1, 8.5), (8.5, 8.5), (13.2, 14.0), (25.0, 25.0), (25.4, 26.0)] {
            assert!((next_size(wanted * 1e-3, System::Metric) * 1e3 - metric).abs() < 1e-9);
        }
        for (wanted, inches) in
            [(0.24, 0.25), (0.126, 9.0 / 64.0), (0.26, 9.0 / 32.0), (0.51, 9.0 / 16.0)]
        {
            assert!((next_size(wanted * 0.0254, System::Us) / 0.0254 - inches).abs() < 1e-9);
        }
    }

    #[test]
    fn tube_and_plate_go_up_to_the_next_in_the_trade() {
        let mm = |series, wanted: f64| {
            next_of(series, wanted * 1e-3, System::Metric).map(|m| (m * 1e3).round())
        };
        assert_eq!(
            [mm(TUBES, 15.0), mm(TUBES, 15.5), mm(TUBES, 60.0)],
            [Some(15.0), Some(18.0), None]
        );
        assert_eq!([mm(PLATES, 3.0), mm(PLATES, 5.5)], [Some(3.0), Some(6.0)]);
        // Half-inch copper tube is 5/8 in over all.
        let inches = next_of(TUBES, 0.51 * 0.0254, System::Us).expect("a tube") / 0.0254;
        assert!((inches - 0.625).abs() < 1e-9);
    }
}
