//! Showing quantities in the units of the shop, with no more digits than they deserve.

use super::{Kind, Range, System};

/// Unit to show a value of this size in: symbol, factor and offset to SI.
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
        (Kind::Mass, System::Us) => pick(&[(0.4535, "oz"), (always, "lb")]),
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
            pick(&[(3.6e3, "s/m2"), (1e5, "h/ft2"), (always, "min/in2")])
        }
        (Kind::TimePerMass, System::Metric) => "min/kg",
        (Kind::TimePerMass, System::Us) => "min/lb",
        (Kind::TimePerVolume, System::Metric) => "h/m3",
        (Kind::TimePerVolume, System::Us) => "h/ft3",
        (Kind::Viscosity, _) => "mPa s",
        (Kind::Angle, _) => "deg",
    }
}

/// Three significant digits, never an exponent in the sizes a shop meets.
fn digits(value: f64) -> String {
    if value == 0.0 {
        return "0".into();
    }
    if !value.is_finite() {
        return value.to_string();
    }
    let magnitude = value.abs().log10().floor() as i32;
    if !(-6..9).contains(&magnitude) {
        return format!("{value:.2e}");
    }
    let decimals = usize::try_from(2 - magnitude).unwrap_or(0);
    let coarse = 10f64.powi((magnitude - 2).max(0));
    let text = format!(
        "{:.decimals$}",
        if coarse > 1.0 { (value / coarse).round() * coarse } else { value }
    );
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
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
    let unit = shown_in(kind, si, system);
    joined(&digits(in_unit(kind, unit, si)), unit)
}

/// The span of a range in the unit of its likely value, such as `13.5 to 15.1`; none if exact.
pub fn show_range(kind: Kind, range: Range, system: System) -> Option<String> {
    if range.is_exact() {
        return None;
    }
    let unit = shown_in(kind, range.likely, system);
    let (low, high) = (in_unit(kind, unit, range.low), in_unit(kind, unit, range.high));
    Some(format!("{} to {}", digits(low), digits(high)))
}

/// A value in the unit that JSON uses.
pub fn show_si(kind: Kind, si: f64) -> String {
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
        assert_eq!(show(Kind::Mass, 1057.3, System::Metric), "1060 kg");
        assert_eq!(show(Kind::Time, 14.0 * 86_400.0, System::Metric), "14 d");
        assert_eq!(show(Kind::Time, 307.3 * 3600.0, System::Metric), "307 h");
        assert_eq!(show(Kind::Ratio, 0.03, System::Metric), "3 %");
        assert_eq!(show(Kind::Length, 0.009_525, System::Us), "0.375 in");
        assert_eq!(
            show_range(Kind::Mass, Range::between(13.5, 15.1), System::Metric).as_deref(),
            Some("13.5 to 15.1")
        );
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
