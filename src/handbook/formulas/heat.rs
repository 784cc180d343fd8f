//! Heat to melt, and the fuel for it.

use crate::figure::*;
use crate::{formula, formulas};

/// Heat (J) to bring a charge from cold to pouring heat:
/// Q = m (cs (Tm - T0) + L + cl (Tp - Tm)), with mass m (kg), specific heats of the solid cs and
/// the liquid cl (J/kgK), latent heat L (J/kg), melting point Tm, start T0 and pouring
/// temperature Tp (K).
///
/// Below the melting point only the solid is warmed, and a charge that starts liquid only the
/// liquid. Source: Groover, heating energy for casting (per volume there). With specific heats
/// read at room temperature the result is some 9 % low (aluminium, against the integral of the
/// NIST Shomate curve); with means over the span, a few per cent. Furnace losses are not in it.
pub fn melt_heat(
    mass: Mass,
    solid_heat: SpecificHeat,
    latent_heat: LatentHeat,
    liquid_heat: SpecificHeat,
    melting_point: Temperature,
    start: Temperature,
    pour: Temperature,
) -> Energy {
    let (cold, melts, hot) = (start.si(), melting_point.si(), pour.si());
    let per_mass = if hot < melts {
        solid_heat.si() * (hot - cold)
    } else if cold > melts {
        liquid_heat.si() * (hot - cold)
    } else {
        solid_heat.si() * (melts - cold) + latent_heat.si() + liquid_heat.si() * (hot - melts)
    };
    Energy::from_si(mass.si() * per_mass)
}
formula! {
    melt_heat(
        mass: Mass = "mass" ("metal charged"), 0.0, 1e4;
        solid_heat: SpecificHeat = "solid-heat" ("mean specific heat of the solid"), 100.0, 2000.0;
        latent_heat: LatentHeat = "latent-heat" ("latent heat"), 1e4, 1e6;
        liquid_heat: SpecificHeat = "liquid-heat" ("specific heat of the liquid"), 100.0, 2000.0;
        melting_point: Temperature = "melting-point" ("melting point, or liquidus"), 450.0, 2000.0;
        start: Temperature = "start" ("temperature of the cold charge"), 230.0, 450.0;
        pour: Temperature = "pour" ("temperature to be reached"), 450.0, 2100.0
    ) -> Energy;
    name: "melt-heat"; gives: "heat to melt";
    says: "mass x (solid heat x (melting point - start) + latent heat + liquid heat x (pour - melting point))";
    source: "Groover, heating energy for casting (coursehero.com 6046908)"; known: Published;
    holds: "without furnace losses; some 9 % low with specific heats taken at room temperature";
    turns: "pour" Meets("melting-point")
}

formulas! {
    /// Fuel (kg) that gives a melt its heat: m = Q / (e Hu), with heat in the metal Q (J), efficiency
    /// of the furnace e, and heating value of the fuel Hu (J/kg).
    ///
    /// Exact for the efficiency given, which must be reckoned on the same heating value (upper or
    /// lower). Source: definition of efficiency. 10 to 80 % over all furnaces
    /// (heattreatconsortium.com); 7 to 19 % for a fuel-fired crucible is from memory (DOE/BCS).
    /// Warming a cold furnace comes on top.
    fuel_mass "fuel-mass" "fuel" (
        energy: Energy = "heat that the metal takes up" 0.0..1e11,
        efficiency: Ratio = "share of the fuel's heat that reaches the metal" 0.02..1.0,
        heating_value: HeatingValue = "heat of a mass of fuel" 1e6..1.5e8,
    ) -> Mass = energy / efficiency / heating_value;
    "energy / (efficiency x heating value)",
        Derived "definition of efficiency; 10 to 80 % over all furnaces, heattreatconsortium.com",
        "exact for the efficiency given, which is the uncertain part";

    /// Time (s) to melt in a furnace that is warm: t = Q / (e P), with heat in the metal Q (J),
    /// efficiency e and power P (W): the heat of the burner, or what is drawn from the mains.
    ///
    /// Source: definitions of efficiency and power. Holds while the furnace runs at that power
    /// throughout; the efficiency of a cold furnace is lower.
    melt_time "melt-time" "time to melt" (
        energy: Energy = "heat that the metal takes up" 0.0..1e11,
        efficiency: Ratio = "share of the furnace's heat that reaches the metal" 0.02..1.0,
        power: Power = "heat of the burner, or power from the mains" 100.0..1e7,
    ) -> Time = energy / (power * efficiency);
    "energy / (efficiency x power)",
        Derived "definitions of efficiency and power",
        "a warm furnace at full power throughout";

    /// Fuel (kg) that warms a cold furnace: m = P t / Hu, with the heat of the burner P (W), the time
    /// until the furnace is ready t (s), and the heating value of the fuel Hu (J/kg).
    ///
    /// Source: definitions of power and heating value. High where the burner is throttled while the
    /// furnace warms; what the first charge takes up meanwhile counts in it.
    warm_up_fuel "warm-up-fuel" "fuel to warm the furnace" (
        power: Power = "heat of the burner" 100.0..1e7,
        time: Time = "until the furnace is ready for the first heat" 0.0..1e6,
        heating_value: HeatingValue = "heat of a mass of fuel" 1e6..1.5e8,
    ) -> Mass = power * time / heating_value;
    "power x time / heating value",
        Derived "definitions of power and heating value",
        "a burner at full power until the furnace is ready";

    /// Electricity (J) that brings so much heat into the metal.
    electricity "electricity" "electricity to melt"
        (heat: Energy = "heat in the metal" 0.0..1e10, efficiency: Ratio = "share of the power that reaches the metal" 0.01..1.0) -> Energy
        = heat / efficiency;
    "heat / efficiency", Derived "definition of efficiency", "exact for the efficiency given; warming a cold furnace comes on top";

    /// Cylinders of gas that so much fuel comes to.
    cylinders "cylinders" "cylinders"
        (fuel: Mass = "fuel burnt" 0.0..1e3, cylinder: Mass = "gas in one cylinder" 0.1..100.0) -> Number
        = Number((fuel / cylinder).si());
    "fuel / one cylinder", Derived "arithmetic", "a cylinder chills as it gives off gas and never empties at full flow";
}
