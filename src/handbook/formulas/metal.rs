//! How much metal: from volume to casting, to what is poured, to what is charged.

use crate::figure::*;
use crate::formula;

/// Mass of a body: volume times density. Exact.
pub fn part_mass(volume: Volume, density: Density) -> Mass {
    volume * density
}
formula! {
    part_mass(volume: Volume = "volume", 0.0, 10.0; density: Density = "density", 100.0, 2e4) -> Mass;
    name: "mass"; gives: "mass"; says: "volume x density";
    source: "definition of density"; known: Derived; holds: "exact"
}

/// Metal poured for a casting when gating and feeders are not reckoned one by one:
/// casting mass over casting yield.
pub fn poured_by_yield(casting: Mass, casting_yield: Ratio) -> Mass {
    casting / casting_yield
}
formula! {
    poured_by_yield(casting: Mass = "casting", 0.0, 1e4; casting_yield: Ratio = "yield", 0.1, 1.0) -> Mass;
    name: "poured-by-yield"; gives: "metal poured"; says: "casting / yield";
    source: "definition of casting yield"; known: Derived;
    holds: "as well as the yield is known; small work varies widely"
}

/// Metal to charge so that enough is left to pour: poured over what melting leaves.
/// The loss is the share of the charge that is not tapped.
pub fn charge(poured: Mass, melt_loss: Ratio) -> Mass {
    poured / (Ratio::from_si(1.0) - melt_loss)
}
formula! {
    charge(poured: Mass = "poured", 0.0, 1e4; melt_loss: Ratio = "melt-loss", 0.0, 0.3) -> Mass;
    name: "charge"; gives: "charge"; says: "poured / (1 - melt loss)";
    source: "loss = (charged - tapped) / charged, afsinc.org ItemNumber=10465"; known: Published;
    holds: "exact for the loss given"
}
