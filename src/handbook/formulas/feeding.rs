//! How large a feeder must be.

use crate::figure::*;
use crate::{formula, formulas};
use std::f64::consts::PI;

/// Diameter over modulus of a cylinder with H = ratio x D whose side and both ends cool:
/// M = D r / (2 + 4 r).
fn diameter_per_modulus(height_ratio: Number) -> f64 {
    (2.0 + 4.0 * height_ratio.0) / height_ratio.0
}

formulas! {
    /// Diameter D (m) of a cylindrical feeder that freezes in the time t (s), all faces cooling:
    /// D = sqrt(t / C) (2 + 4 r) / r, with mould constant C (s/m2) and r = H / D.
    ///
    /// Source: Chvorinov's rule and the geometry of the cylinder; worked with r = 1 in GATE-ME 2018
    /// and in Groover's riser problem (scribd.com/document/514612776). Exact for the rule; as good as
    /// C, whose error goes in by its root. Where the foot does not cool the result is on the safe
    /// side.
    feeder_for_time "feeder-for-time" "feeder diameter" (
        constant: TimePerArea = "mould constant for this metal, sand and superheat" 1e4..5e7,
        time: Time = "how long the feeder must stay liquid" 0.0..1e5,
        height_ratio: Number = "height of the feeder over its diameter" 0.5..3.0,
    ) -> Length = (time / constant).sqrt() * diameter_per_modulus(height_ratio);
    "sqrt(time / constant) x (2 + 4 ratio) / ratio",
        Published "Chvorinov's rule on a cylinder; GATE-ME 2018",
        "open-sided cylinders, every face cooling; as good as the root of the constant";

    /// Diameter D (m) of a cylindrical feeder whose modulus is f times the casting's modulus M (m),
    /// all faces cooling: D = f M (2 + 4 r) / r, with r = H / D.
    ///
    /// Source: geometry; the factor f at least 1.2 for aluminium and steel and 1.1 for ductile iron
    /// is published at themetalcasting.com (feeder design). Sees freezing time only: whether the
    /// feeder holds enough metal is for `feeder-by-volume`.
    feeder_by_modulus "feeder-by-modulus" "feeder diameter" (
        modulus: Length = "modulus of the part of the casting to be fed" 0.0..1.0,
        factor: Number = "modulus of the feeder over that of the casting" 1.0..2.0,
        height_ratio: Number = "height of the feeder over its diameter" 0.5..3.0,
    ) -> Length = modulus * factor.0 * diameter_per_modulus(height_ratio);
    "factor x modulus x (2 + 4 ratio) / ratio",
        Derived "geometry of the cylinder; factors at themetalcasting.com, feeder design",
        "exact geometry with every face cooling; the factor is the uncertain part; whether the metal is enough is a second test";
}

/// Volume (m3) of a feeder that makes good the shrinkage of casting and feeder alike:
/// Vf = Vc s / (e - s), with casting volume Vc (m3), volumetric shrinkage s and efficiency e (the
/// share of the feeder that it can give).
///
/// Source: balance of what is given, e Vf, and what is missing, s (Vc + Vf). An efficiency of
/// 14 % for a plain cylinder and 30 to 50 % with a sleeve is from memory (Wlodawer, Beeley).
/// Infinite where the efficiency does not exceed the shrinkage: then no feeder is large enough.
pub fn feeder_by_volume(volume: Volume, shrinkage: Ratio, efficiency: Ratio) -> Volume {
    let spare = efficiency - shrinkage;
    if spare.si() <= 0.0 {
        return super::never();
    }
    volume * (shrinkage / spare)
}
formula! {
    feeder_by_volume(
        volume: Volume = "volume" ("volume of the casting to be fed"), 0.0, 10.0;
        shrinkage: Ratio = "shrinkage" ("volume lost on freezing"), 0.0, 0.1;
        efficiency: Ratio = "efficiency" ("share of the feeder that it can give"), 0.05, 0.8
    ) -> Volume;
    name: "feeder-by-volume"; gives: "feeder volume";
    says: "volume x shrinkage / (efficiency - shrinkage)";
    source: "volume balance of feeder and casting"; known: Derived;
    holds: "exact for the efficiency given (from memory: 14 % plain, 30 to 50 % sleeved)"
}

formulas! {
    /// Diameter (m) of the round neck under a top feeder: its length plus a fifth of the feeder's
    /// diameter. The neck is no longer than half the diameter of the feeder.
    ///
    /// From memory: the rule of the steel and iron foundry (American Foundry Society type). Casting
    /// and feeder keep so short a neck hot; there is no published figure for light metals.
    feeder_neck "feeder-neck" "neck diameter" (
        length: Length = "length of the neck, at most half the feeder's diameter" 0.0..0.2,
        feeder: Length = "diameter of the feeder" 0.01..0.5,
    ) -> Length = length + feeder * 0.2;
    "length + 0.2 x feeder",
        FromMemory "rule of the steel and iron foundry",
        "top feeders on steel and iron; for other metals a guide";

    /// Share of its volume that a metal must be fed: none where it grows as it freezes.
    shrinkage_to_feed "shrinkage-to-feed" "shrinkage to be fed"
        (shrinkage: Ratio = "volume lost on freezing; below zero it grows" -0.05..0.1) -> Ratio
        = Ratio::from_si(shrinkage.si().max(0.0));
    "shrinkage, growth counted as none", Derived "definition of shrinkage", "a mould that does not give";

    /// Metal (m3) that is wanting when this much has frozen.
    shrinkage_volume "shrinkage-volume" "shrinkage to be made good"
        (volume: Volume = "volume to be fed" 0.0..10.0, shrinkage: Ratio = "volume lost on freezing" 0.0..0.1) -> Volume
        = volume * shrinkage;
    "volume x shrinkage", Derived "definition of shrinkage", "exact";

    /// How far a feeder feeds (m) along a section of this modulus.
    feeding_distance "feeding-distance" "feeding distance"
        (modulus: Length = "modulus of the section" 0.0..1.0, factor: Number = "distance over thickness" 1.0..10.0) -> Length
        = 2.0 * modulus * factor.0;
    "2 x modulus, as the thickness, x factor", FromMemory "planning rule; no clear limit is known except for steel", "+/- 50 %";

    /// How many feeders reach along the longest section, one at least on each thickest place.
    feeders "feeders" "feeders"
        (longest: Length = "longest section to be fed" 0.0..10.0, distance: Length = "feeding distance" 1e-3..10.0, feeder: Length = "diameter of a feeder" 0.0..1.0, places: Number = "thickest places" 1.0..100.0) -> Number
        = Number((longest / (2.0 * distance + feeder)).si().ceil().max(places.0));
    "longest / (2 x feeding distance + diameter), rounded up, and one for each thickest place", CommonPractice "each feeds its distance to both sides", "a guide: as good as the feeding distance";

    /// Diameter of each of some cylinders (m) that hold this together, height over diameter given.
    feeder_diameter "feeder-diameter" "feeder diameter by volume"
        (volume: Volume = "all feeders" 0.0..10.0, ratio: Number = "height over diameter" 0.5..3.0, feeders: Number = "how many" 1.0..100.0) -> Length
        = (4.0 * volume / (PI * ratio.0 * feeders.0)).cbrt();
    "cube root of 4 volume / (pi x height ratio x number)", Derived "geometry of the cylinder", "exact";

    /// Height of a feeder (m).
    feeder_height "feeder-height" "feeder height"
        (diameter: Length = "diameter of the feeder" 0.0..1.0, ratio: Number = "height over diameter" 0.5..3.0) -> Length
        = diameter * ratio.0;
    "diameter x ratio", Derived "definition of the ratio", "exact";

    /// Length of the neck between casting and feeder (m): short, so that both keep it hot.
    neck_length "neck-length" "length of the neck"
        (feeder: Length = "diameter of the feeder" 0.0..1.0) -> Length
        = feeder / 4.0;
    "a quarter of the feeder's diameter; at most half", FromMemory "rule of the steel and iron foundry", "for other metals a guide";

    /// Volume of some feeders with their necks (m3), all cylinders.
    feeder_volume "feeder-volume" "feeders and necks"
        (feeders: Number = "how many" 0.0..100.0, diameter: Length = "of each feeder" 0.0..1.0, height: Length = "of each feeder" 0.0..3.0, neck: Length = "diameter of each neck" 0.0..1.0, length: Length = "of each neck" 0.0..1.0) -> Volume
        = feeders.0 * PI / 4.0 * (diameter * diameter * height + neck * neck * length);
    "number x pi / 4 x (diameter^2 x height + neck diameter^2 x neck length)", Derived "geometry of the cylinder", "exact";
}
