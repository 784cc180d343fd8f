//! Showing quantities in the units of the shop, with no more digits than they deserve.

use super::{Kind, Range, System};

/// A tenth of an ounce, kg.
pub(crate) const TENTH_OUNCE: f64 = 0.1 * 0.453_592_37 / 16.0;

/// Unit to show a value of this size in.
fn shown_in(kind: Kind, size: f64, system: System) -> &'static str {
    let size = size.abs();
    let pick = |steps: &[(f64, &'static str)]| {
        steps.iter().find(|(below, _)| size < *below).or(steps.last()).map_or("", |(_, unit)| unit)
    };
    let always = f64::INFINITY;
    match (kind, system) {
        (Kind::Length, System::Metric) => pick(&[(10.0, "mm"), (always, "m")]),
        (Kind::Length, System::Us) => pick(&[(3.048, "in"), (always, "ft")]),
        (Kind::Area, System::Metric) => pick(&[(1e-4, "mm2"), (1.0, "cm2"), (always, "m2")]),
        (Kind::Area, System::Us) => pick(&[(0.2, "in2"), (always, "ft2")]),
        (Kind::Volume, System::Metric) => pick(&[(2e-4, "cm3"), (always, "L")]),
        (Kind::Volume, System::Us) => pick(&[(2.4e-4, "in3"), (0.0142, "qt"), (always, "ft3")]),
        (Kind::Mass, System::Metric) => pick(&[(1.0, "g"), (always, "kg")]),
        // Nothing is weighed on no scale.
        (Kind::Mass, System::Us) if size == 0.0 => "oz",
        // Below a tenth of an ounce a shop weighs with a scale that shows grams.
        (Kind::Mass, System::Us) => pick(&[(TENTH_OUNCE, "g"), (0.4535, "oz"), (always, "lb")]),
        (Kind::Density, System::Metric) => "g/cm3",
        (Kind::Density, System::Us) => "lb/in3",
        (Kind::Ratio, _) => "%",
        (Kind::MassPerArea, System::Metric) => "g/m2",
        (Kind::MassPerArea, System::Us) => "oz/ft2",
        (Kind::Pieces, _) => pick(&[(1.0, "pieces"), (1.0 + 1e-9, "piece"), (always, "pieces")]),
        (Kind::Number, _) => "",
        // Waits are given in whole days; bench time is told in hours, however much it is.
        (Kind::Time, _) if size >= 345_600.0 && size % 86_400.0 == 0.0 => "d",
        (Kind::Time, _) => pick(&[(120.0, "s"), (5_400.0, "min"), (always, "h")]),
        (Kind::Temperature, System::Metric) => "C",
        (Kind::Temperature, System::Us) => "F",
        (Kind::Force, System::Metric) => "N",
        (Kind::Force, System::Us) => "lbf",
        (Kind::Moment, System::Metric) => "Nm",
        (Kind::Moment, System::Us) => "lbf ft",
        (Kind::Energy, System::Metric) => pick(&[(1e6, "kJ"), (always, "MJ")]),
        (Kind::Energy, System::Us) => "Btu",
        (Kind::Power, _) => pick(&[(1e3, "W"), (always, "kW")]),
        (Kind::Speed, System::Metric) => "m/s",
        (Kind::Speed, System::Us) => "ft/s",
        (Kind::Flow, System::Metric) => "L/s",
        (Kind::Flow, System::Us) => "in3/s",
        (Kind::Frequency, _) => "/min",
        (Kind::SpecificHeat, _) => "J/kgK",
        (Kind::LatentHeat, System::Metric) => "kJ/kg",
        (Kind::LatentHeat, System::Us) => "Btu/lb",
        (Kind::Conductivity, _) => "W/mK",
        (Kind::HeatTransfer, _) => "W/m2K",
        (Kind::TimePerArea, System::Metric) => {
            pick(&[(3.6e3, "s/m2"), (1e5, "h/m2"), (always, "min/cm2")])
        }
        (Kind::TimePerArea, System::Us) => {
            pick(&[(3.6e3, "s/in2"), (1e5, "h/ft2"), (always, "min/in2")])
        }
        (Kind::TimePerMass, System::Metric) => "min/kg",
        (Kind::TimePerMass, System::Us) => "min/lb",
        (Kind::TimePerVolume, System::Metric) => "h/m3",
        (Kind::TimePerVolume, System::Us) => "h/ft3",
        (Kind::Viscosity, _) => "mPa s",
        (Kind::Angle, _) => "deg",
    }
}

/// Decimals with which a value has three significant digits; none where it wants an exponent.
fn decimals(value: f64) -> Option<usize> {
    if value == 0.0 {
        return Some(0);
    }
    let magnitude = value.abs().log10().floor() as i32;
    (-6..9).contains(&magnitude).then(|| usize::try_from(2 - magnitude).unwrap_or(0))
}

/// Three significant digits, never an exponent in the sizes a shop meets.
fn digits(value: f64) -> String {
    digits_to(value, needed(value), "")
}

/// Decimals without which a value of three digits would be told otherwise.
fn needed(value: f64) -> usize {
    let Some(most) = decimals(value) else { return 0 };
    let text = format!("{value:.most$}");
    text.split_once('.').map_or(0, |(_, after)| after.trim_end_matches('0').len())
}

/// Three significant digits, to no finer place than this many decimals. A temperature of 1000 degrees and
/// more has four: a pyrometer tells whole degrees, and one that was logged is told as it was.
fn digits_to(value: f64, finest: usize, unit: &str) -> String {
    if !value.is_finite() {
        return value.to_string();
    }
    let Some(most) = decimals(value) else { return format!("{value:.2e}") };
    if value == 0.0 {
        return "0".into();
    }
    let figures = if ["C", "F"].contains(&unit) { 4 } else { 3 };
    let coarse = 10f64.powi((value.abs().log10().floor() as i32 - figures + 1).max(0));
    let value = if coarse > 1.0 { (value / coarse).round() * coarse } else { value };
    format!("{value:.0$}", most.min(finest))
}

/// Inches as on a rule, such as `7 1/8`: only where they are whole 64ths and nothing is rounded.
fn fraction(inches: f64) -> Option<String> {
    const PARTS: u64 = 64;
    let parts = inches * PARTS as f64;
    let whole = parts.round();
    if !(1.0..64_000.0).contains(&whole) || (parts - whole).abs() > 1e-7 * whole {
        return None;
    }
    let (above, rest) = (whole as u64 / PARTS, whole as u64 % PARTS);
    let shared = 1 << rest.trailing_zeros().min(PARTS.trailing_zeros());
    match (above, rest) {
        (_, 0) => None,
        (0, _) => Some(format!("{}/{}", rest / shared, PARTS / shared)),
        _ => Some(format!("{above} {}/{}", rest / shared, PARTS / shared)),
    }
}

fn in_unit(kind: Kind, unit: &str, si: f64) -> f64 {
    let (factor, offset) = kind.unit(unit).unwrap_or((1.0, 0.0));
    (si - offset) / factor
}

fn joined(number: &str, unit: &str) -> String {
    if unit.is_empty() { number.to_owned() } else { format!("{number} {unit}") }
}

/// One value with its unit, such as `11.4 kg`.
pub fn show(kind: Kind, si: f64, system: System) -> String {
    show_in(kind, si, shown_in(kind, si, system))
}

/// One value in a unit that stands already.
fn show_in(kind: Kind, si: f64, unit: &str) -> String {
    let value = in_unit(kind, unit, si);
    let number = (unit == "in").then(|| fraction(value)).flatten();
    joined(&number.unwrap_or_else(|| digits_to(value, needed(value), unit)), unit)
}

/// What a pot holds, in the measures that liquids are sold by.
pub fn show_liquid(m3: f64, system: System) -> String {
    const US_QUART: f64 = 0.003_785_411_784 / 4.0;
    match system {
        System::Metric => show(Kind::Volume, m3, system),
        System::Us if m3 < US_QUART => show_in(Kind::Volume, m3, "US fl oz"),
        System::Us => show_in(Kind::Volume, m3, "US qt"),
    }
}

/// A value with its unit and, where it is not exact, its span in the same unit: `2.00 kg` and
/// `1.87 to 2.13`. All three are told to the same place, as far as three digits go.
pub fn show_spanned(kind: Kind, range: Range, system: System) -> (String, Option<String>) {
    spanned_in(kind, range, shown_in(kind, size(range), system))
}

fn spanned_in(kind: Kind, range: Range, unit: &str) -> (String, Option<String>) {
    if range.is_exact() {
        return (show_in(kind, range.likely, unit), None);
    }
    let ends = [range.likely, range.low, range.high].map(|si| in_unit(kind, unit, si));
    let finest = ends.map(needed).into_iter().max().unwrap_or(0);
    let [likely, low, high] = ends.map(|value| digits_to(value, finest, unit));
    (joined(&likely, unit), Some(format!("{low} to {high}")))
}

/// What the unit of a figure goes by: its likely value, or the most where that is nothing.
fn size(range: Range) -> f64 {
    if range.likely == 0.0 { range.high } else { range.likely }
}

/// Figures of one column or row are shown in one unit: that of the largest. What is less than a
/// hundredth of that unit keeps its own, since nobody weighs it on the same scale.
#[derive(Debug, Clone, Copy)]
pub struct Alike {
    unit: &'static str,
    kind: Kind,
    system: System,
}

/// The least of a unit that is shown in it.
const LEAST: f64 = 0.01;

impl Alike {
    /// Of figures of one kind.
    pub fn of_ranges(kind: Kind, ranges: impl IntoIterator<Item = Range>, system: System) -> Self {
        Self::of(kind, ranges.into_iter().map(size), system)
    }

    /// Of values of one kind.
    pub fn of(kind: Kind, values: impl IntoIterator<Item = f64>, system: System) -> Self {
        let largest = values.into_iter().map(f64::abs).fold(0.0, f64::max);
        Self { unit: shown_in(kind, largest, system), kind, system }
    }

    fn unit(&self, si: f64) -> &'static str {
        if self.kind == Kind::Pieces {
            return shown_in(self.kind, si, self.system);
        }
        let value = in_unit(self.kind, self.unit, si).abs();
        if si == 0.0 || value >= LEAST { self.unit } else { shown_in(self.kind, si, self.system) }
    }

    /// One value.
    pub fn show(&self, si: f64) -> String {
        show_in(self.kind, si, self.unit(si))
    }

    /// The end of a range that is safe to go by, to the place of its span.
    pub fn safe(&self, range: Range, si: f64) -> String {
        let unit = self.unit(size(range));
        if range.is_exact() || in_unit(self.kind, unit, si).abs() < LEAST {
            return show(self.kind, si, self.system);
        }
        let ends = [range.low, range.likely, range.high].map(|si| in_unit(self.kind, unit, si));
        let finest = ends.map(needed).into_iter().max().unwrap_or(0);
        joined(&digits_to(in_unit(self.kind, unit, si), finest, unit), unit)
    }

    /// A value with its span.
    pub fn spanned(&self, range: Range) -> (String, Option<String>) {
        spanned_in(self.kind, range, self.unit(size(range)))
    }
}

/// A value in the unit that JSON uses, as it is read; a share in percent.
pub fn show_si(kind: Kind, si: f64) -> String {
    if kind == Kind::Ratio {
        return show(kind, si, System::Metric);
    }
    joined(&digits(kind.told(si)), if kind.symbol() == "1" { "" } else { kind.symbol() })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_carry_three_digits_and_a_unit() {
        assert_eq!(show(Kind::Mass, 14.187, System::Metric), "14.2 kg");
        assert_eq!(show(Kind::Mass, 0.33, System::Metric), "330 g");
        assert_eq!(show(Kind::Mass, 11.339_809_25, System::Us), "25 lb");
        assert_eq!(show(Kind::Temperature, 973.15, System::Metric), "700 C");
        assert_eq!(show(Kind::Temperature, 1438.15, System::Metric), "1165 C");
        assert_eq!(show(Kind::Temperature, 1438.15, System::Us), "2129 F");
        assert_eq!(show(Kind::Mass, 1057.3, System::Metric), "1060 kg");
        assert_eq!(show(Kind::Time, 14.0 * 86_400.0, System::Metric), "14 d");
        assert_eq!(show(Kind::Time, 307.3 * 3600.0, System::Metric), "307 h");
        assert_eq!(show(Kind::Ratio, 0.03, System::Metric), "3 %");
        assert_eq!(show(Kind::Length, 0.009_525, System::Us), "3/8 in");
    }

    #[test]
    fn a_figure_and_its_span_are_told_to_the_same_place() {
        let told = |low, likely, high| {
            let (shown, span) =
                show_spanned(Kind::Mass, Range { low, likely, high }, System::Metric);
            format!("{shown} ({})", span.expect("a span"))
        };
        assert_eq!(told(13.5, 14.1, 15.1), "14.1 kg (13.5 to 15.1)");
        assert_eq!(told(1.87, 2.0, 2.13), "2.00 kg (1.87 to 2.13)");
        assert_eq!(told(9.85, 10.0, 10.2), "10.0 kg (9.85 to 10.2)");
        assert_eq!(told(0.95, 1.1, 1.2), "1.10 kg (0.95 to 1.20)");
        // Rough ends stay rough, and no end is told in more than three digits.
        assert_eq!(told(8.0, 9.0, 10.0), "9 kg (8 to 10)");
        assert_eq!(told(1_007.0, 1_057.3, 1_200.0), "1060 kg (1010 to 1200)");
        // What is likely nothing is told in the unit of the most that it may be.
        assert_eq!(told(0.0, 0.0, 3.4), "0 kg (0 to 3.4)");
        let limit = Range { low: 0.0, likely: 0.0, high: 3.4 };
        let alone = Alike::of_ranges(Kind::Mass, [limit], System::Metric);
        assert_eq!(alone.safe(limit, limit.high), "3.4 kg");
        let exact = show_spanned(Kind::Mass, Range::exact(2.0), System::Metric);
        assert_eq!(exact, ("2 kg".to_owned(), None));
    }

    #[test]
    fn what_is_tiny_is_told_on_the_scale_that_weighs_it() {
        let us = |kg| show(Kind::Mass, kg, System::Us);
        assert_eq!(us(0.0023), "2.3 g");
        assert_eq!(us(0.0028), "2.8 g");
        assert_eq!(us(0.0029), "0.102 oz");
        assert_eq!(us(0.3), "10.6 oz");
        assert_eq!([us(0.0), us(-0.0)], ["0 oz", "0 oz"]);
    }

    #[test]
    fn no_us_build_is_told_square_metres() {
        for si in [0.0, 10.0, 3.6e3, 2e5, 12e5] {
            let told = show(Kind::TimePerArea, si, System::Us);
            assert!(told.ends_with("in2") || told.ends_with("ft2"), "{told}");
        }
        // 2 min/cm2 are 120 s on 1 cm2, and an inch squared is 6.4516 of them.
        assert_eq!(show(Kind::TimePerArea, 2.0 * 60e4, System::Us), "12.9 min/in2");
    }

    #[test]
    fn inches_of_a_rule_are_fractions_and_nothing_is_rounded_to_one() {
        let us = |inches: f64| show(Kind::Length, inches * 0.0254, System::Us);
        for (inches, shown) in [
            (0.375, "3/8 in"),
            (7.125, "7 1/8 in"),
            (1.0 / 64.0, "1/64 in"),
            (12.0, "12 in"),
            (2.5, "2 1/2 in"),
            (0.376, "0.376 in"),
            (0.0943, "0.0943 in"),
            (4.36, "4.36 in"),
        ] {
            assert_eq!(us(inches), shown);
        }
        assert_eq!(show(Kind::Length, 0.0254, System::Metric), "25.4 mm");
    }

    #[test]
    fn a_column_has_one_unit_but_for_what_is_too_small_for_it() {
        let masses = [14.2, 0.33, 0.05, 0.005, 0.0];
        let alike = Alike::of(Kind::Mass, masses, System::Metric);
        let shown = ["14.2 kg", "0.33 kg", "0.05 kg", "5 g", "0 kg"];
        assert_eq!(masses.map(|kg| alike.show(kg)), shown);
        let small = Range { low: 0.2, likely: 0.3, high: 0.333 };
        let told = ("0.300 kg".to_owned(), Some("0.200 to 0.333".to_owned()));
        assert_eq!(alike.spanned(small), told);
        let us = Alike::of(Kind::Mass, [2.89, 0.3], System::Us);
        assert_eq!(us.show(0.3), "0.661 lb");
    }

    #[test]
    fn pots_are_told_in_measures_of_liquids() {
        assert_eq!(show_liquid(0.0145, System::Us), "15.3 US qt");
        assert_eq!(show_liquid(0.0005, System::Us), "16.9 US fl oz");
        assert_eq!(show_liquid(0.0145, System::Metric), "14.5 L");
    }

    #[test]
    fn every_kind_is_shown_in_a_unit_it_knows() {
        for kind in Kind::ALL {
            for system in [System::Metric, System::Us] {
                for size in [1e-9, 1e-3, 1.0, 1e3, 1e9] {
                    assert!(kind.unit(shown_in(*kind, size, system)).is_some(), "{kind:?}");
                }
            }
        }
    }
}
