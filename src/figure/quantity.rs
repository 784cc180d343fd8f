//! Typed quantities: the measures the trade works in, each tied to its [`Kind`].

use super::Kind;
use uom::si::{ISQ, Quantity as Uom, SI};
use uom::typenum::{N1, N2, N3, P1, Z0};

pub use uom::si::f64::{
    Angle, Area, AvailableEnergy as LatentHeat, DynamicViscosity as Viscosity, Energy, Force,
    Frequency, HeatTransfer, Length, Mass, MassDensity as Density, Power, Ratio,
    SpecificHeatCapacity as SpecificHeat, ThermalConductivity as Conductivity,
    ThermodynamicTemperature as Temperature, Time, Torque as Moment, Velocity as Speed, Volume,
    VolumeRate as Flow,
};

/// Powder or wash on a surface, kg/m2.
pub type MassPerArea = Uom<ISQ<N2, P1, Z0, Z0, Z0, Z0, Z0>, SI<f64>, f64>;
/// Mould constant of the freezing rule, s/m2; also bench time per surface.
pub type TimePerArea = Uom<ISQ<N2, Z0, P1, Z0, Z0, Z0, Z0>, SI<f64>, f64>;
/// Bench time per volume (ramming), s/m3.
pub type TimePerVolume = Uom<ISQ<N3, Z0, P1, Z0, Z0, Z0, Z0>, SI<f64>, f64>;
/// Bench time per mass (fettling), s/kg.
pub type TimePerMass = Uom<ISQ<Z0, N1, P1, Z0, Z0, Z0, Z0>, SI<f64>, f64>;

/// A bare number: a count, a factor, a ratio of heights.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Number(pub f64);

/// A measure that a [`super::Figure`] can hold.
pub trait Quantity: Copy {
    /// Which units it is written and shown in.
    const KIND: Kind;
    /// Whether a figure of this kind can be held under the type.
    fn holds(kind: Kind) -> bool {
        kind == Self::KIND
    }
    /// From the value in SI base units.
    fn from_si(value: f64) -> Self;
    /// The value in SI base units.
    fn si(self) -> f64;
}

impl Quantity for Number {
    const KIND: Kind = Kind::Number;
    fn from_si(value: f64) -> Self {
        Self(value)
    }
    fn si(self) -> f64 {
        self.0
    }
}

/// So much of a stock: kilograms, or pieces where it is counted. Which of the two, its figure knows.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Amount(pub f64);

impl Quantity for Amount {
    const KIND: Kind = Kind::Mass;
    fn holds(kind: Kind) -> bool {
        matches!(kind, Kind::Mass | Kind::Pieces)
    }
    fn from_si(value: f64) -> Self {
        Self(value)
    }
    fn si(self) -> f64 {
        self.0
    }
}

impl super::Figure<Mass> {
    /// As so much of a stock.
    pub fn amount(&self) -> super::Figure<Amount> {
        super::Figure::typed(self.node().clone())
    }
}

impl super::Worded for Number {}

macro_rules! quantities {
    ($($name:ident),* $(,)?) => {$(
        impl super::Worded for $name {}
        impl Quantity for $name {
            const KIND: Kind = Kind::$name;
            fn from_si(value: f64) -> Self {
                Uom { dimension: std::marker::PhantomData, units: std::marker::PhantomData, value }
            }
            fn si(self) -> f64 {
                self.value
            }
        }
    )*};
}

quantities!(
    Angle,
    Area,
    Conductivity,
    Density,
    Energy,
    Flow,
    Force,
    Frequency,
    HeatTransfer,
    LatentHeat,
    Length,
    Mass,
    MassPerArea,
    Moment,
    Power,
    Ratio,
    SpecificHeat,
    Speed,
    Temperature,
    Time,
    TimePerArea,
    TimePerMass,
    TimePerVolume,
    Viscosity,
    Volume,
);

/// Heating value of a fuel is an energy per mass, like latent heat.
pub type HeatingValue = LatentHeat;
