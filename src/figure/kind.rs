//! The kinds of quantity and the units each is written in.

use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::LazyLock;

/// Metric or US customary: how figures are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum System {
    /// mm, kg, L, degrees Celsius.
    #[default]
    Metric,
    /// in, lb, qt, degrees Fahrenheit.
    Us,
}

/// A unit: its spellings, and what one of it is in SI base units.
pub(super) struct Unit {
    pub spellings: &'static [&'static str],
    pub factor: f64,
    /// Added after the factor; only temperatures have one.
    pub offset: f64,
}

macro_rules! units {
    ($($($spelling:literal)|+ = $factor:expr),* $(,)?) => {
        &[$(Unit { spellings: &[$($spelling),+], factor: $factor, offset: 0.0 }),*]
    };
}

macro_rules! kinds {
    ($($(#[$doc:meta])* $name:ident, $word:literal, $si:literal, $units:expr;)*) => {
        /// What sort of quantity a figure is.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[non_exhaustive]
        pub enum Kind { $($(#[$doc])* $name,)* }

        impl Kind {
            /// Every kind there is.
            pub const ALL: &'static [Kind] = &[$(Kind::$name),*];

            /// With its article, as in "this is a mass".
            pub const fn words(self) -> &'static str {
                match self { $(Kind::$name => $word,)* }
            }

            /// Symbol of the unit that JSON output uses.
            pub const fn symbol(self) -> &'static str {
                match self { $(Kind::$name => $si,)* }
            }

            pub(super) const fn units(self) -> &'static [Unit] {
                match self { $(Kind::$name => $units,)* }
            }
        }
    };
}

const INCH: f64 = 0.0254;
const FOOT: f64 = 0.3048;
const POUND: f64 = 0.453_592_37;
const GALLON: f64 = 0.003_785_411_784;
/// Units of Measurement Regulations 1995 (UK): 4.546 09 L.
const IMPERIAL_GALLON: f64 = 0.004_546_09;
const G0: f64 = 9.806_65;
const BTU: f64 = 1_055.055_852_62;
const HOUR: f64 = 3_600.0;

kinds! {
    /// How long.
    Length, "a length", "m", units!["mm" = 1e-3, "cm" = 1e-2, "dm" = 0.1, "m" = 1.0,
        "in" | "inch" | "inches" | "\"" = INCH, "ft" | "foot" | "feet" | "'" = FOOT,
        "yd" = 0.9144, "um" = 1e-6, "thou" = INCH / 1000.0];
    /// Surface.
    Area, "an area", "m2", units!["mm2" = 1e-6, "cm2" = 1e-4, "m2" = 1.0,
        "in2" | "sq in" = INCH * INCH, "ft2" | "sq ft" = FOOT * FOOT];
    /// Space.
    Volume, "a volume", "m3", units!["mm3" = 1e-9, "cm3" | "ml" | "mL" | "cc" = 1e-6,
        "L" | "l" | "dm3" | "litre" | "liter" | "litres" | "liters" = 1e-3, "m3" = 1.0,
        "in3" | "cu in" = INCH * INCH * INCH,
        "ft3" | "cu ft" = FOOT * FOOT * FOOT,
        "gal" | "US gal" | "gallon" | "gallons" = GALLON,
        "qt" | "US qt" | "quart" | "quarts" = GALLON / 4.0,
        "pt" | "US pt" | "pint" | "pints" = GALLON / 8.0,
        "cup" | "cups" = GALLON / 16.0, "fl oz" | "US fl oz" = GALLON / 128.0,
        "imp gal" = IMPERIAL_GALLON, "imp qt" = IMPERIAL_GALLON / 4.0,
        "imp pt" = IMPERIAL_GALLON / 8.0, "imp fl oz" = IMPERIAL_GALLON / 160.0];
    /// How heavy.
    Mass, "a mass", "kg", units!["kg" = 1.0, "g" = 1e-3, "mg" = 1e-6, "t" = 1000.0,
        "lb" | "lbs" | "pound" | "pounds" = POUND, "oz" = POUND / 16.0];
    /// Mass per volume.
    Density, "a density", "kg/m3", units!["g/cm3" | "g/cc" | "g/ml" | "g/mL" | "kg/L" | "kg/l" | "kg/dm3" = 1000.0, "kg/m3" = 1.0,
        "lb/in3" | "lb/cuin" = POUND / (INCH * INCH * INCH), "lb/ft3" | "lb/cuft" = POUND / (FOOT * FOOT * FOOT)];
    /// A share, written as a percentage, or a contraction in inches to the foot.
    Ratio, "a percentage", "1", units!["%" = 1e-2, "in/ft" = 1.0 / 12.0, "mm/m" = 1e-3, "" = 1.0];
    /// Mass spread over a surface: powder, wash.
    MassPerArea, "a mass per area", "kg/m2", units!["kg/m2" = 1.0, "g/m2" = 1e-3, "mg/cm2" = 1e-2,
        "oz/ft2" = POUND / 16.0 / (FOOT * FOOT), "lb/ft2" = POUND / (FOOT * FOOT)];
    /// What is counted one by one.
    Pieces, "a number of pieces", "pieces", units!["piece" | "pieces" | "pcs" = 1.0];
    /// A bare number.
    Number, "a plain number", "1", units!["" = 1.0];
    /// Duration.
    Time, "a time", "s", units!["s" | "sec" | "secs" | "second" | "seconds" = 1.0,
        "min" | "mins" | "minute" | "minutes" = 60.0, "h" | "hr" | "hrs" | "hours" | "hour" = HOUR, "d" | "day" | "days" = 24.0 * HOUR,
        "week" | "weeks" = 168.0 * HOUR];
    /// How hot.
    Temperature, "a temperature", "degC", &[
        Unit { spellings: &["C", "degC", "deg C", "degrees C", "°C", "° C", "Celsius"], factor: 1.0, offset: 273.15 },
        Unit { spellings: &["F", "degF", "deg F", "degrees F", "°F", "° F", "Fahrenheit"], factor: 5.0 / 9.0, offset: 459.67 * 5.0 / 9.0 },
        Unit { spellings: &["K"], factor: 1.0, offset: 0.0 }];
    /// Push, pull or weight.
    Force, "a force", "N", units!["N" = 1.0, "kN" = 1e3, "kgf" = G0, "lbf" = POUND * G0];
    /// Force at an arm.
    Moment, "a moment", "N m", units!["Nm" | "N m" = 1.0, "lbf ft" | "ft lbf" = POUND * G0 * FOOT];
    /// Work or heat.
    Energy, "an energy", "J", units!["J" = 1.0, "kJ" = 1e3, "MJ" = 1e6, "Wh" = HOUR,
        "kWh" = 1e3 * HOUR, "Btu" | "BTU" = BTU, "kcal" = 4186.8];
    /// Heat or work per time.
    Power, "a power", "W", units!["W" = 1.0, "kW" = 1e3, "Btu/h" = BTU / HOUR];
    /// How fast.
    Speed, "a speed", "m/s", units!["m/s" = 1.0, "mm/s" = 1e-3, "cm/s" = 1e-2, "ft/s" = FOOT,
        "in/s" = INCH];
    /// Volume per time.
    Flow, "a flow", "m3/s", units!["m3/s" = 1.0, "L/s" = 1e-3, "L/min" = 1e-3 / 60.0,
        "cm3/s" | "ml/s" | "mL/s" = 1e-6, "mm3/s" = 1e-9, "in3/s" = INCH * INCH * INCH];
    /// How often.
    Frequency, "a frequency", "1/s", units!["/s" | "1/s" | "Hz" = 1.0, "/min" | "1/min" = 1.0 / 60.0,
        "/h" | "1/h" = 1.0 / HOUR];
    /// Heat per mass and degree.
    SpecificHeat, "a specific heat", "J/(kg K)", units!["J/kgK" | "J/kgC" = 1.0,
        "kJ/kgK" | "kJ/kgC" | "J/gK" | "J/gC" = 1e3,
        "Btu/lbF" | "cal/gK" | "cal/gC" = 4186.8];
    /// Heat per mass.
    LatentHeat, "a heat per mass", "J/kg", units!["J/kg" = 1.0, "kJ/kg" | "J/g" = 1e3, "MJ/kg" = 1e6,
        "Btu/lb" = BTU / POUND, "kWh/kg" = 1e3 * HOUR, "cal/g" | "kcal/kg" = 4186.8];
    /// Heat per time, length and degree.
    Conductivity, "a heat conductivity", "W/(m K)", units!["W/mK" | "W/mC" = 1.0];
    /// Heat per time, surface and degree: how well two bodies touch.
    HeatTransfer, "a heat transfer coefficient", "W/(m2 K)", units!["W/m2K" | "W/m2C" = 1.0,
        "kW/m2K" | "kW/m2C" = 1e3];
    /// Time per surface: the mould constant, or work on a face.
    TimePerArea, "a time per area", "s/m2", units!["s/m2" = 1.0, "s/mm2" = 1e6, "s/cm2" = 1e4,
        "min/cm2" = 60e4, "min/mm2" = 60e6, "min/in2" = 60.0 / (INCH * INCH),
        "s/in2" = 1.0 / (INCH * INCH),
        "h/m2" = HOUR, "h/100cm2" = HOUR / 0.01, "h/dm2" = HOUR / 0.01,
        "h/ft2" = HOUR / (FOOT * FOOT)];
    /// Time per mass: fettling.
    TimePerMass, "a time per mass", "s/kg", units!["s/kg" = 1.0, "min/kg" = 60.0, "h/kg" = HOUR,
        "min/lb" = 60.0 / POUND];
    /// Time per volume: ramming.
    TimePerVolume, "a time per volume", "s/m3", units!["s/m3" = 1.0, "h/m3" = HOUR,
        "h/ft3" = HOUR / (FOOT * FOOT * FOOT), "min/L" = 60e3];
    /// Stiffness of a liquid.
    Viscosity, "a viscosity", "Pa s", units!["Pa s" | "Pas" = 1.0, "mPa s" | "cP" = 1e-3];
    /// A slope or turn.
    Angle, "an angle", "deg", units!["deg" | "°" = std::f64::consts::PI / 180.0, "rad" = 1.0];
}

impl Kind {
    /// A value of this kind as JSON tells it: SI, but degrees Celsius and degrees of arc.
    pub fn told(self, si: f64) -> f64 {
        match self {
            Kind::Temperature => si - 273.15,
            Kind::Angle => si.to_degrees(),
            _ => si,
        }
    }

    /// The unit with this spelling: factor and offset to SI.
    pub(super) fn unit(self, spelling: &str) -> Option<(f64, f64)> {
        let units = SPELLED.get(&*plain(spelling))?;
        units.iter().find(|(kind, _)| *kind == self).map(|(_, unit)| (unit.factor, unit.offset))
    }

    /// An example of how a value of this kind is written.
    pub fn example(self) -> &'static str {
        match self {
            Kind::Length => "180 mm, or 7 1/8 in",
            Kind::Area => "640 cm2, or 12 in2",
            Kind::Volume => "1.2 L, or 1 1/2 qt",
            Kind::Mass => "11.4 kg, or 25 lb",
            Kind::Density => "2.68 g/cm3, or 0.097 lb/in3",
            Kind::Ratio => "5 %",
            Kind::MassPerArea => "40 g/m2",
            Kind::Pieces => "4 pieces",
            Kind::Number => "3",
            Kind::Time => "30 min, or 2 h",
            Kind::Temperature => "700 C, or 1300 F",
            Kind::Force => "120 N",
            Kind::Moment => "40 Nm",
            Kind::Energy => "12 MJ, or 3 kWh",
            Kind::Power => "4 kW",
            Kind::Speed => "0.5 m/s",
            Kind::Flow => "0.4 L/s",
            Kind::Frequency => "3 /min",
            Kind::SpecificHeat => "900 J/kgK",
            Kind::LatentHeat => "390 kJ/kg",
            Kind::Conductivity => "0.6 W/mK",
            Kind::HeatTransfer => "1000 W/m2K",
            Kind::TimePerArea => "2.2 min/cm2",
            Kind::TimePerMass => "5 min/kg",
            Kind::TimePerVolume => "25 h/m3",
            Kind::Viscosity => "0.0012 Pa s",
            Kind::Angle => "1.5 deg",
        }
    }

    /// Whether a word alone is a unit of any kind.
    pub fn is_unit(word: &str) -> bool {
        Self::of_unit(word).is_some()
    }

    /// Which kind a unit belongs to, when it is not this one.
    pub(super) fn of_unit(spelling: &str) -> Option<Kind> {
        let units = SPELLED.get(&*plain(spelling)).filter(|_| !spelling.is_empty())?;
        units.first().map(|(kind, _)| *kind)
    }
}

/// A unit without the signs by which those below a stroke are set apart: `J/(kg K)`, `J/kg/K`,
/// `J/kg-K` and `J/(kg °K)` are `J/kgK`.
fn plain(spelling: &str) -> Cow<'_, str> {
    let ends = |text: &str| text.ends_with(|c: char| c.is_alphanumeric() || c == ')');
    match spelling.split_once('/') {
        Some((above, below)) if ends(below) => {
            let apart = |c: &char| " ()-/°".contains(*c);
            let below: String = below.chars().filter(|c| !apart(c)).collect();
            format!("{}/{below}", above.trim_end()).into()
        }
        _ => spelling.into(),
    }
}

/// Every spelling with the units that it stands for, in the order of the kinds: a text that is no
/// quantity asks for hundreds.
static SPELLED: LazyLock<HashMap<&'static str, Vec<(Kind, &'static Unit)>>> = LazyLock::new(|| {
    let mut all: HashMap<&str, Vec<_>> = HashMap::new();
    for (kind, unit) in Kind::ALL.iter().flat_map(|k| k.units().iter().map(move |u| (*k, u))) {
        for spelling in unit.spellings {
            all.entry(spelling).or_default().push((kind, unit));
        }
    }
    all
});
