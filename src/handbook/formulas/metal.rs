//! How much metal: from volume to casting, to what is poured, to what is charged and melted.

use crate::figure::*;
use crate::formula;

/// Mass of a body: volume V (m3) times density rho (kg/m3). Exact.
///
/// Source: the definition of density. Worked check: 3.156 lb for a foot of cast iron of one
/// square inch (Builder-Mechanic), which is 0.263 lb/in3.
pub fn part_mass(volume: Volume, density: Density) -> Mass {
    volume * density
}
formula! {
    part_mass(
        volume: Volume = "volume" ("volume of the body"), 0.0, 10.0;
        density: Density = "density" ("density of what it is made of"), 100.0, 2e4
    ) -> Mass;
    name: "mass"; gives: "mass"; says: "volume x density";
    source: "definition of density"; known: Derived; holds: "exact"
}

/// Metal poured for a casting when gating and feeders are not reckoned one by one:
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

/// Metal to charge so that enough is left to pour: poured over what melting leaves.
/// The loss is the share of the charge that is not tapped.
///
/// Exact for the loss given.
pub fn charge(poured: Mass, melt_loss: Ratio) -> Mass {
    poured / (Ratio::from_si(1.0) - melt_loss)
}
formula! {
    charge(
        poured: Mass = "poured" ("metal that must leave the crucible"), 0.0, 1e4;
        melt_loss: Ratio = "melt-loss" ("share of the charge that is lost"), 0.0, 0.3
    ) -> Mass;
    name: "charge"; gives: "charge"; says: "poured / (1 - melt loss)";
    source: "loss = (charged - tapped) / charged, afsinc.org ItemNumber=10465"; known: Published;
    holds: "exact for the loss given"
}

/// Inside of a round vessel that widens evenly, as a crucible or ladle:
/// V = (pi/12) h (D2 + D d + d2), with D and d the inside diameters at top and bottom (m) and
/// h the inside depth (m).
///
/// Exact for a straight-sided vessel with a flat bottom. A bilge pot holds more than its ends
/// tell, a rounded bottom takes a little away: a few per cent either way.
pub fn frustum_volume(top: Length, bottom: Length, depth: Length) -> Volume {
    std::f64::consts::PI / 12.0 * depth * (top * top + top * bottom + bottom * bottom)
}
formula! {
    frustum_volume(
        top: Length = "top" ("inside diameter at the top"), 0.0, 1.0;
        bottom: Length = "bottom" ("inside diameter at the bottom"), 0.0, 1.0;
        depth: Length = "depth" ("inside depth"), 0.0, 2.0
    ) -> Volume;
    name: "frustum-volume"; gives: "volume";
    says: "pi/12 x depth x (top^2 + top x bottom + bottom^2)";
    source: "geometry of the frustum of a cone"; known: Derived;
    holds: "exact for straight sides and a flat bottom; a bilge pot holds more"
}

/// What a vessel may carry: brim volume V (m3) times the share of it that is filled, times the
/// density of the liquid metal rho (kg/m3).
///
/// Exact for the fill given. A working fill of 75 to 85 % of the brim (25 to 50 mm left below
/// the lip) is from memory.
pub fn fill_mass(volume: Volume, fill: Ratio, density: Density) -> Mass {
    volume * fill * density
}
formula! {
    fill_mass(
        volume: Volume = "volume" ("volume to the brim"), 0.0, 1.0;
        fill: Ratio = "fill" ("share of the brim volume that is filled"), 0.0, 1.0;
        density: Density = "density" ("density of the liquid metal"), 1000.0, 2e4
    ) -> Mass;
    name: "fill-mass"; gives: "metal held"; says: "volume x fill x density";
    source: "definition of density"; known: Derived;
    holds: "exact for the fill given; liquid metal is lighter than cold by some 5 to 12 %"
}
