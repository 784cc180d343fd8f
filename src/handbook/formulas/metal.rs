//! How much metal: from volume to casting, to what is poured, to what is charged and melted.

use crate::figure::*;
use crate::{formula, formulas};

formulas! {
    /// Mass of a body: volume V (m3) times density rho (kg/m3). Exact.
    ///
    /// Source: the definition of density. Worked check: 3.156 lb for a foot of cast iron of one
    /// square inch (Builder-Mechanic), which is 0.263 lb/in3.
    part_mass "mass" "mass" (
        volume: Volume = "volume of the body" 0.0..10.0,
        density: Density = "density of what it is made of" 100.0..2e4,
    ) -> Mass = volume * density;
    "volume x density", Derived "definition of density", "exact";
}

/// Metal poured for a casting when gating and feeders are not computed one by one:
/// casting mass (kg) over casting yield (share of the metal poured that is casting).
///
/// Exact for the yield given; the yield itself is a guess until weighed.
pub fn poured_by_yield(casting: Mass, casting_yield: Ratio) -> Mass {
    casting / casting_yield
}
formula! {
    poured_by_yield(
        casting: Mass = "casting" ("mass of the casting alone"), 0.0, 1e4;
        casting_yield: Ratio = "yield" ("share of the metal poured that is casting"), 0.1, 1.0
    ) -> Mass;
    name: "poured-by-yield"; gives: "metal poured"; says: "casting / yield";
    source: "definition of casting yield"; known: Derived;
    holds: "as well as the yield is known; small work varies widely"
}

formulas! {
    /// Metal to charge so that enough is left to pour: poured over what melting leaves.
    /// The loss is the share of the charge that is not tapped.
    ///
    /// Exact for the loss given.
    charge "charge" "charge" (
        poured: Mass = "metal that must leave the crucible" 0.0..1e4,
        melt_loss: Ratio = "share of the charge that is lost" 0.0..0.3,
    ) -> Mass = poured / (Ratio::from_si(1.0) - melt_loss);
    "poured / (1 - melt loss)",
        Published "loss = (charged - tapped) / charged, afsinc.org ItemNumber=10465",
        "exact for the loss given";

    /// Inside of a round vessel that widens evenly, as a crucible or ladle:
    /// V = (pi/12) h (D2 + D d + d2), with D and d the inside diameters at top and bottom (m) and
    /// h the inside depth (m).
    ///
    /// Exact for a straight-sided vessel with a flat bottom. A bilge pot holds more than its ends
    /// tell, a rounded bottom takes a little away: a few per cent either way.
    frustum_volume "frustum-volume" "volume" (
        top: Length = "inside diameter at the top" 0.0..1.0,
        bottom: Length = "inside diameter at the bottom" 0.0..1.0,
        depth: Length = "inside depth" 0.0..2.0,
    ) -> Volume
        = std::f64::consts::PI / 12.0 * depth * (top * top + top * bottom + bottom * bottom);
    "pi/12 x depth x (top^2 + top x bottom + bottom^2)",
        Derived "geometry of the frustum of a cone",
        "exact for straight sides and a flat bottom; a bilge pot holds more";

    /// What a vessel may carry: brim volume V (m3) times the share of it that is filled, times the
    /// density of the liquid metal rho (kg/m3).
    ///
    /// Exact for the fill given. A working fill of 75 to 85 % of the brim (25 to 50 mm left below
    /// the lip) is from memory.
    fill_mass "fill-mass" "metal held" (
        volume: Volume = "volume to the brim" 0.0..1.0,
        fill: Ratio = "share of the brim volume that is filled" 0.0..1.0,
        density: Density = "density of the liquid metal" 1000.0..2e4,
    ) -> Mass = volume * fill * density;
    "volume x fill x density",
        Derived "definition of density",
        "exact for the fill given; liquid metal is lighter than cold by some 5 to 12 %";

    /// Volume (m3) of so much of a metal: mass over density. Exact.
    volume_of_mass "volume-of-mass" "volume"
        (mass: Mass = "mass of the body" 0.0..1e4, density: Density = "density of what it is made of" 100.0..2e4) -> Volume
        = mass / density;
    "mass / density", Derived "definition of density", "exact";

    /// Share of the metal poured that is casting.
    casting_yield "casting-yield" "casting yield"
        (casting: Mass = "mass of the casting alone" 0.0..1e4, poured: Mass = "metal poured for it" 1e-6..1e4) -> Ratio
        = casting / poured;
    "casting / metal poured", Derived "definition of casting yield", "exact";

    /// What is taken (kg) where it goes by a mass: flux by the charge, binder by the sand.
    taken_by_mass "taken-by-mass" "taken by the mould"
        (mass: Mass = "mass that it goes by" 0.0..1e4, share: Ratio = "how much of it to that mass" 0.0..1.0) -> Mass
        = mass * share;
    "mass x share", Derived "definition of a share", "as good as the share";

    /// What is taken (kg) where it goes by a surface: parting powder, wash.
    taken_by_area "taken-by-area" "taken by the mould"
        (area: Area = "surface that it goes on" 0.0..100.0, rate: MassPerArea = "how much on each square metre" 0.0..10.0) -> Mass
        = area * rate;
    "surface x mass on it", Derived "definition of a rate", "as good as the rate";
}
