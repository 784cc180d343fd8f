//! Quantities as people write them, and what could be read in two ways.

use super::*;

fn likely(kind: Kind, text: &str) -> f64 {
    read(kind, text).expect(text).likely
}

#[test]
fn lengths_as_people_write_them() {
    // 1 in = 25.4 mm exactly (international inch, 1959).
    for (text, mm) in [
        ("3/8 in", 9.525),
        ("1 1/2 in", 38.1),
        ("1-1/2 in", 38.1),
        ("2 ft 1 in", 635.0),
        ("2' 1\"", 635.0),
        ("180 mm", 180.0),
        ("180mm", 180.0),
        ("1e1 mm", 10.0),
        (".5 in", 12.7),
    ] {
        assert!((likely(Kind::Length, text) * 1e3 - mm).abs() < 1e-9, "{text}");
    }
}

#[test]
fn volumes_masses_temperatures() {
    // US gallon 231 cubic inches; avoirdupois pound 0.45359237 kg (NIST Handbook 44, app. C).
    assert!((likely(Kind::Volume, "1 gal") - 231.0 * 0.0254_f64.powi(3)).abs() < 1e-12);
    assert!((likely(Kind::Volume, "1 1/2 qt") * 1e3 - 1.419_529_419).abs() < 1e-9);
    assert!((likely(Kind::Mass, "25 lb") - 11.339_809_25).abs() < 1e-9);
    assert!((likely(Kind::Temperature, "1300 F") - 977.594_444).abs() < 1e-3);
    assert!((likely(Kind::Temperature, "700 C") - 973.15).abs() < 1e-9);
    assert!((likely(Kind::Ratio, "1/8 in/ft") - 0.010_416_666_7).abs() < 1e-9);
    assert!((likely(Kind::Density, "2.68 g/cm3") - 2680.0).abs() < 1e-9);
    assert!((likely(Kind::TimePerArea, "0.5 h/100 cm2") - 180_000.0).abs() < 1e-6);
    assert!((likely(Kind::Frequency, "3 /min") - 0.05).abs() < 1e-12);
}

#[test]
fn ranges_and_tolerances() {
    let r = read(Kind::Mass, "8..10 kg").expect("range");
    assert_eq!((r.low, r.likely, r.high), (8.0, 9.0, 10.0));
    let r = read(Kind::Mass, "9 kg +/- 5%").expect("tolerance");
    assert!((r.low - 8.55).abs() < 1e-12 && (r.high - 9.45).abs() < 1e-12);
    let r = read(Kind::Temperature, "700 C +/- 10 C").expect("tolerance");
    assert!((r.high - r.low - 20.0).abs() < 1e-9);
    let r = read(Kind::Time, "3 h +/- 1").expect("tolerance");
    assert!((r.high - 4.0 * 3600.0).abs() < 1e-9);
    let r = read(Kind::Length, "1/4..3/8 in").expect("range");
    assert!((r.low - 0.00635).abs() < 1e-12 && (r.high - 0.009_525).abs() < 1e-12);
}

#[test]
fn quantities_are_read_as_people_write_them() {
    let same = |kind, text, usual| {
        let (one, other) = (read(kind, text).expect(text), read(kind, usual).expect(usual));
        assert!((one.low - other.low).abs() <= 1e-12 * other.low.abs(), "{text}: {one:?}");
        assert!((one.high - other.high).abs() <= 1e-12 * other.high.abs(), "{text}: {one:?}");
    };
    for (kind, text, usual) in [
        (Kind::Length, "2'-1\"", "25 in"),
        (Kind::Length, "6' 7\"", "79 in"),
        (Kind::Length, "½ in", "0.5 in"),
        (Kind::Length, "3⅜ in", "3.375 in"),
        (Kind::Length, "5 in.", "5 in"),
        (Kind::Length, "2 ft. 1 in.", "25 in"),
        (Kind::Length, "1-1/2 in", "1.5 in"),
        (Kind::Length, "1/4-3/8 in", "1/4..3/8 in"),
        (Kind::Length, "40 µm", "0.04 mm"),
        (Kind::Length, "1e-3 m", "1 mm"),
        (Kind::Area, "12 cm²", "1200 mm2"),
        (Kind::Volume, "12 cm³", "12 ml"),
        (Kind::Volume, "1 imp gal", "4.54609 L"),
        (Kind::Volume, "2 imp qt", "2.273045 L"),
        (Kind::Mass, "5 lb-3 oz", "83 oz"),
        (Kind::Mass, "10 lb.", "10 lb"),
        (Kind::Mass, "8-10 kg", "8..10 kg"),
        (Kind::Mass, "8 – 10 kg", "8..10 kg"),
        (Kind::Mass, "8 kg - 10 kg", "8..10 kg"),
        (Kind::Mass, "8 to 10 kg", "8..10 kg"),
        (Kind::Mass, "8 kg to 10 kg", "8..10 kg"),
        (Kind::Mass, "8 kg..10", "8..10 kg"),
        (Kind::Mass, "9 kg ± 5 %", "9 kg +/- 5%"),
        (Kind::Mass, "9 ± 1 kg", "8..10 kg"),
        (Kind::Mass, "9 kg +-1", "8..10 kg"),
        (Kind::Temperature, "700 ± 10 C", "690..710 C"),
        (Kind::Temperature, "1300 F ± 18 F", "1282..1318 F"),
        (Kind::Temperature, "700 degrees C", "700 C"),
        (Kind::Temperature, "700-720 ℃", "700..720 C"),
        (Kind::Temperature, "700 ºC", "700 C"),
        (Kind::Temperature, "−5 °C", "-5 C"),
        (Kind::Time, "2 hrs", "2 h"),
        (Kind::Time, "30 mins", "30 min"),
        (Kind::Time, "1 h 30 min", "90 min"),
        (Kind::Conductivity, "0.6 W/m/K", "0.6 W/mK"),
        (Kind::Conductivity, "0.6 W/(m·K)", "0.6 W/mK"),
        (Kind::SpecificHeat, "0.9 kJ/kg/K", "900 J/kgK"),
        (Kind::SpecificHeat, "0.9 kJ/(kg K)", "900 J/kgK"),
        (Kind::SpecificHeat, "0.2 Btu/lb/F", "0.2 Btu/lbF"),
        (Kind::SpecificHeat, "0.2 Btu/(lb °F)", "0.2 Btu/lbF"),
        (Kind::SpecificHeat, "0.2 Btu/lb-F", "0.2 Btu/lbF"),
        (Kind::SpecificHeat, "0.9 kJ/(kg*K)", "900 J/kgK"),
        (Kind::SpecificHeat, "900 J/kg·°C", "900 J/kgK"),
        (Kind::SpecificHeat, "800 J/kgK - 900 J/kg K", "800..900 J/kgK"),
        (Kind::Density, "2.4 g/cc", "2400 kg/m3"),
        (Kind::Density, "0.1 lb/cu in", "0.1 lb/in3"),
        (Kind::Frequency, "3 /min - 4 /min", "3..4 /min"),
        (Kind::Ratio, "1-3 %", "1..3 %"),
        (Kind::Ratio, "0", "0 %"),
    ] {
        same(kind, text, usual);
    }
}

#[test]
fn what_could_be_misread_is_refused_with_the_figure_written_rightly() {
    for (kind, text, hint) in [
        (Kind::Mass, "8...10 kg", "write 8..10 kg"),
        (Kind::Temperature, "700...720 C", "write 700..720 C"),
        (Kind::Mass, "8…10 kg", "write 8..10 kg"),
        (Kind::Length, "1'000 mm", "write 1000 mm"),
        (Kind::Length, "1 000 mm", "write 1000 mm"),
        (Kind::Length, "12 500 mm", "write 12500 mm"),
        (Kind::Mass, "2,5 kg", "write 2.5 kg"),
        (Kind::Mass, "1,000 kg", "write 1000 kg or 1.0 kg"),
        (Kind::Mass, "1,250.5 kg", "write 1250.5 kg"),
        (Kind::Mass, "1.250,5 kg", "write 1250.5 kg"),
        (Kind::Mass, "1,250,000 kg", "write 1250000 kg"),
        (Kind::Mass, "10..8 kg", "write the smaller end first, as in 8..10 kg"),
        (Kind::Mass, "10-8 kg", "write the smaller end first, as in 8..10 kg"),
        (Kind::Mass, "1.2.3 kg", "try 11.4 kg, or 25 lb"),
        (Kind::Ratio, "0.05", "write 0.05 % or 5 %"),
        (Kind::Ratio, "5", "write 5 % or 500 %"),
    ] {
        assert_eq!(read(kind, text).expect_err(text).hint, hint, "{text}");
    }
    for (kind, text) in [
        (Kind::Number, "1 5"),
        (Kind::Mass, "3 oz 5 lb"),
        (Kind::Mass, "5 lb 3 lb"),
        (Kind::Mass, "10-20-30 kg"),
        (Kind::Length, "10² mm"),
        (Kind::Mass, "9 kg (10 to 12)"),
        (Kind::Time, "30 min 2 h"),
    ] {
        assert!(read(kind, text).is_err(), "{text}");
    }
    assert_eq!(read_sizes("1'-3\" x 11\"", 2).expect("sizes"), [0.381, 0.279_4]);
    assert!(read_sizes("1'000 x 200 mm", 2).is_err());
    assert_eq!(read_sizes("320*260 mm", 2).expect("sizes"), [0.32, 0.26]);
    assert!(read_sizes("320·260 mm", 2).is_err() && read(Kind::Mass, "3·5 kg").is_err());
}

#[test]
fn measures_of_two_sizes_say_which_they_are() {
    for (text, hint) in [
        ("2 qt", "write 2 US qt or 2 imp qt"),
        ("1 1/2 quarts", "write 1 1/2 US qt or 1 1/2 imp qt"),
        ("8 fl oz", "write 8 US fl oz or 8 imp fl oz"),
    ] {
        assert_eq!(says_which(text).expect_err(text).hint, hint);
    }
    for text in ["2 US qt", "2 imp pt", "1..2 imp gal", "1.2 L", "900 ml", "60 cu in"] {
        assert!(says_which(text).is_ok() && read(Kind::Volume, text).is_ok(), "{text}");
    }
}

/// What is shown has three digits, so that much may be lost; a temperature is told to 1 of its
/// unit below 1000 and to 10 above.
fn close(kind: Kind, one: f64, other: f64) -> bool {
    let offset = if kind == Kind::Temperature { 5.1 } else { 0.0 };
    (one - other).abs() <= 0.0051 * other.abs() + offset
}

proptest::proptest! {
    #[test]
    fn what_is_shown_is_read_again(
        digits in 1.0..10.0_f64,
        exponent in -12..13_i32,
        below in 0.0..1.0_f64,
        above in 0.0..1.0_f64,
        negative: bool,
        beside in proptest::prelude::any::<f64>(),
    ) {
        use crate::figure::{Alike, System, show, show_liquid, show_si, show_spanned};
        let size = digits * 10f64.powi(exponent) * if negative { -1.0 } else { 1.0 };
        for (kind, system) in
            Kind::ALL.iter().flat_map(|k| [(*k, System::Metric), (*k, System::Us)])
        {
            let again = |shown: &str| read(kind, shown).unwrap_or_else(|e| panic!("{kind:?} {shown}: {e:?}"));
            let beside = if beside.is_finite() { beside } else { 0.0 };
            for si in [size, 0.0] {
                let alike = Alike::of(kind, [si, beside], system);
                for shown in [show(kind, si, system), alike.show(si)] {
                    assert!(close(kind, again(&shown).likely, si), "{shown} for {si}");
                }
                let range = Range { low: si - below * si.abs(), likely: si, high: si + above * si.abs() };
                for (shown, ends) in [show_spanned(kind, range, system), alike.spanned(range)] {
                    let both = ends.map_or(shown.clone(), |ends| format!("{shown} ({ends})"));
                    let told = again(&both);
                    assert!(told.low <= told.likely && told.likely <= told.high, "{both}");
                    // All three are told to the place of the largest of them.
                    let most = range.low.abs().max(range.high.abs());
                    let slack = 0.006 * most + if kind == Kind::Temperature { 5.1 } else { 0.0 };
                    for (one, other) in [(told.low, range.low), (told.high, range.high)] {
                        assert!((one - other).abs() <= slack, "{both} for {range:?}");
                    }
                    let safe = alike.safe(range, range.high);
                    assert!((again(&safe).likely - range.high).abs() <= slack, "{safe}");
                }
            }
            let shown = show_si(kind, size);
            assert!(close(kind, again(&shown).likely, size), "{shown} for {size}");
            if kind == Kind::Volume {
                assert!(close(kind, again(&show_liquid(size.abs(), system)).likely, size.abs()));
            }
        }
    }
}

#[test]
fn a_mass_is_no_length() {
    let e = read(Kind::Length, "180 kg").expect_err("mass");
    assert_eq!(e.says, "this is a mass; a length is expected");
    assert_eq!(e.hint, "try 180 mm, or 7 1/8 in");
}

#[test]
fn odd_texts_are_refused_not_panicked_on() {
    for text in [
        "",
        " ",
        "kg",
        "..",
        "1..",
        "x",
        "1 2 3",
        "1/0 in",
        "é",
        "1 é",
        "+/-",
        "5 kg +/-",
        "1e999 mm",
        "- mm",
        "°",
        "9 mm +/- -1 mm",
        "9 mm +/--5%",
        "9 mm +/- -5 %",
    ] {
        assert!(read(Kind::Length, text).is_err(), "{text:?}");
    }
}

#[test]
fn sizes_share_the_last_unit() {
    assert_eq!(read_sizes("320 x 200 x 70 mm", 3).expect("sizes"), [0.32, 0.2, 0.07]);
    assert_eq!(read_sizes("20x10 mm", 2).expect("sizes"), [0.02, 0.01]);
    assert!(read_sizes("320 x 200 mm", 3).is_err());
}
