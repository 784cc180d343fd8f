//! How large a feeder must be.

use crate::figure::*;
use crate::formula;

/// Diameter over modulus of a cylinder with H = ratio x D whose side and both ends cool:
/// M = D r / (2 + 4 r).
fn diameter_per_modulus(height_ratio: Number) -> f64 {
    (2.0 + 4.0 * height_ratio.0) / height_ratio.0
}

/// Diameter D (m) of a cylindrical feeder that freezes in the time t (s), all faces cooling:
/// D = sqrt(t / C) (2 + 4 r) / r, with mould constant C (s/m2) and r = H / D.
///
/// Source: Chvorinov's rule and the geometry of the cylinder; worked with r = 1 in GATE-ME 2018
/// and in Groover's riser problem (scribd.com/document/514612776). Exact for the rule; as good as
/// C, whose error goes in by its root. Where the foot does not cool the result is on the safe
/// side.
pub fn feeder_for_time(constant: TimePerArea, time: Time, height_ratio: Number) -> Length {
    (time / constant).sqrt() * diameter_per_modulus(height_ratio)
}
formula! {
    feeder_for_time(
        constant: TimePerArea = "constant" ("mould constant for this metal, sand and superheat"), 1e4, 5e7;
        time: Time = "time" ("how long the feeder must stay liquid"), 0.0, 1e5;
        height_ratio: Number = "height-ratio" ("height of the feeder over its diameter"), 0.5, 3.0
    ) -> Length;
    name: "feeder-for-time"; gives: "feeder diameter";
    says: "sqrt(time / constant) x (2 + 4 ratio) / ratio";
    source: "Chvorinov's rule on a cylinder; GATE-ME 2018"; known: Published;
    holds: "open-sided cylinders, every face cooling; as good as the root of the constant"
}

/// Diameter D (m) of a cylindrical feeder whose modulus is f times the casting's modulus M (m),
/// all faces cooling: D = f M (2 + 4 r) / r, with r = H / D.
///
/// Source: geometry; the factor f at least 1.2 for aluminium and steel and 1.1 for ductile iron
/// is published at themetalcasting.com (feeder design). Sees freezing time only: whether the
/// feeder holds enough metal is for `feeder-by-volume`.
pub fn feeder_by_modulus(modulus: Length, factor: Number, height_ratio: Number) -> Length {
    modulus * factor.0 * diameter_per_modulus(height_ratio)
}
formula! {
    feeder_by_modulus(
        modulus: Length = "modulus" ("modulus of the part of the casting to be fed"), 0.0, 1.0;
        factor: Number = "factor" ("modulus of the feeder over that of the casting"), 1.0, 2.0;
        height_ratio: Number = "height-ratio" ("height of the feeder over its diameter"), 0.5, 3.0
    ) -> Length;
    name: "feeder-by-modulus"; gives: "feeder diameter";
    says: "factor x modulus x (2 + 4 ratio) / ratio";
    source: "geometry of the cylinder; factors at themetalcasting.com, feeder design"; known: Derived;
    holds: "exact geometry with every face cooling; the factor carries the doubt; metal enough is a second test"
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

/// Diameter (m) of the round neck under a top feeder: its length plus a fifth of the feeder's
/// diameter. The neck is no longer than half the diameter of the feeder.
///
/// From memory: the rule of the steel and iron foundry (American Foundry Society type). Casting
/// and feeder keep so short a neck hot; there is no published figure for light metals.
pub fn feeder_neck(length: Length, feeder: Length) -> Length {
    length + feeder * 0.2
}
formula! {
    feeder_neck(
        length: Length = "length" ("length of the neck, at most half the feeder's diameter"), 0.0, 0.2;
        feeder: Length = "feeder" ("diameter of the feeder"), 0.01, 0.5
    ) -> Length;
    name: "feeder-neck"; gives: "neck diameter"; says: "length + 0.2 x feeder";
    source: "rule of the steel and iron foundry"; known: FromMemory;
    holds: "top feeders on steel and iron; for other metals a guide"
}
