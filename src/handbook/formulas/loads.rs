//! What lifts the cope and the cores.

use super::gravity;
use crate::figure::*;
use crate::{formula, formulas, words};

formulas! {
    /// Force (N) with which the metal lifts the cope: F = A h rho g, with projected area A (m2) of the
    /// cavity's ceiling, height h (m) of the basin above that ceiling, and density rho (kg/m3) of the
    /// metal.
    ///
    /// Source: giessereilexikon.com, lifting force; worked in Shop Practice vol. 1, Moulding Work
    /// part 3. Exact at rest; the blow of the metal when the mould comes full is not in it, which is
    /// why more is laid on: that source weights a lift of 104.8 lb with 150 lb.
    cope_lift "cope-lift" "lift of the cope" (
        area: Area = "plan area of the cavity's ceiling" 0.0..10.0,
        head: Length = "level of the basin above that ceiling" 0.0..2.0,
        density: Density = "density of the metal" 1000.0..2e4,
    ) -> Force = area * head * density * gravity();
    "area x head x density x g",
        Published "giessereilexikon.com, lifting force; Shop Practice vol. 1, Moulding Work part 3",
        "exact at rest; add a margin of 1.4 or more for the blow when the mould fills";
}

/// How the lift of a core is reckoned: the books differ.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LiftConvention {
    /// Weight of the metal displaced, less the weight of the core.
    Net,
    /// Weight of the metal displaced, the core's own weight left out.
    Displaced,
}
words!(LiftConvention { Net = "net", Displaced = "displaced" });

/// Force (N) with which the metal lifts a core of the volume V (m3): net V (rho - rho') g, or by
/// displaced metal alone V rho g, with the densities of metal rho and core rho' (kg/m3).
///
/// Source: net, P. N. Rao's pipe problem (scribd.com/document/256424299); displaced,
/// giessereilexikon.com, lifting force. Exact for a core wholly covered; prints that lie in sand
/// count for the core's weight and not for the volume.
pub fn core_lift(
    volume: Volume,
    metal_density: Density,
    core_density: Density,
    convention: LiftConvention,
) -> Force {
    let carried = match convention {
        LiftConvention::Net => metal_density - core_density,
        LiftConvention::Displaced => metal_density,
    };
    volume * carried * gravity()
}
formula! {
    core_lift(
        volume: Volume = "volume" ("volume of core that metal surrounds"), 0.0, 10.0;
        metal_density: Density = "metal-density" ("density of the metal"), 1000.0, 2e4;
        core_density: Density = "core-density" ("density of the rammed core"), 500.0, 4000.0;
        convention: LiftConvention = "convention" ("net of the core's weight, or all metal displaced") or 0.0, 0.0, 1.0
    ) -> Force;
    name: "core-lift"; gives: "lift of the core";
    says: "net: volume x (metal density - core density) x g; displaced: volume x metal density x g";
    source: "net: scribd.com/document/256424299; displaced: giessereilexikon.com, lifting force"; known: Published;
    holds: "exact at rest for a core wholly covered; displaced is the larger, so the safer"
}

/// Weight to lay on a mould (kg): f (Fc + Fk) / g less the cope's own mass m (kg), never below
/// nought, with the lift of the cope Fc and of the cores Fk (N) and the factor f.
///
/// Source: Shop Practice vol. 1, Moulding Work part 3, lays at least 150 lb on a lift of 104.8 lb
/// and leaves the cope out; a factor of 1.5 is common teaching. The factor stands on the whole
/// lift here, which asks for more than a factor on what the cope leaves over.
pub fn mould_weight(cope_lift: Force, core_lift: Force, cope: Mass, factor: Number) -> Mass {
    let wanted = (cope_lift + core_lift) * factor.0 / gravity() - cope;
    if wanted.si() < 0.0 { Mass::from_si(0.0) } else { wanted }
}
formula! {
    mould_weight(
        cope_lift: Force = "cope-lift" ("lift of the cope"), 0.0, 1e6;
        core_lift: Force = "core-lift" ("lift of the cores") or 0.0, 0.0, 1e6;
        cope: Mass = "cope" ("mass of the cope, sand and box") or 0.0, 0.0, 1e5;
        factor: Number = "factor" ("margin on the lift") or 1.5, 1.0, 3.0
    ) -> Mass;
    name: "mould-weight"; gives: "weight to lay on";
    says: "factor x (cope lift + core lift) / g - cope";
    source: "Shop Practice vol. 1, Moulding Work part 3; factor 1.5 is common teaching"; known: Published;
    holds: "a mould at rest; the factor is for the blow as it comes full"
}

formulas! {
    /// Area of a rectangle (m2). Exact.
    rectangle "rectangle" "area"
        (length: Length = "one side" 0.0..10.0, width: Length = "the other side" 0.0..10.0) -> Area
        = length * width;
    "length x width", Derived "geometry", "exact";

    /// Basin above the ceiling of the cavity (m), where the pattern rises evenly into the cope.
    ceiling_head "ceiling-head" "basin above the ceiling of the cavity"
        (head: Length = "basin above the parting" 0.0..2.0, cope: Length = "depth of the pattern in the cope" 0.0..1.0) -> Length
        = head - cope / 2.0;
    "basin above the parting, less half the depth in the cope; low: all of it, high: none", Derived "geometry", "half, as there is no drawing: the ends hold any shape";

    /// Weight of the cope over the whole lift.
    cope_margin "cope-margin" "weight of the cope over the lift"
        (cope: Mass = "cope, sand and box" 0.0..1e4, lift: Force = "lift of cope and cores" 1e-3..1e6) -> Number
        = Number((cope * gravity() / lift).si());
    "mass x 9.80665 m/s2 / lift", Derived "definition of weight", "exact at rest";

    /// Mass of a box of four boards, each 20 mm thick (kg).
    box_mass "box-mass" "box"
        (length: Length = "inside length" 0.0..3.0, width: Length = "inside width" 0.0..3.0, depth: Length = "height of its boards" 0.0..1.0, wood: Density = "density of the wood" 200.0..1200.0) -> Mass
        = 2.0 * (length + width + Length::from_si(0.04)) * depth * Length::from_si(0.02) * wood;
    "four boards of 20 mm: 2 x (length + width + 40 mm) x depth x 20 mm x wood", CommonPractice "boards of 20 mm", "handles and bars come on top";
}
