//! How long a casting takes to freeze.

use crate::figure::*;
use crate::{formula, formulas, words};

/// Casting modulus M = V / A (m): volume V (m3) over the surface A (m2) that gives off heat.
///
/// Faces that do not cool (a joint with the feeder, an insulated top) are left out of A. Exact by
/// definition. Known cases: sphere, cylinder with H = D and cube D/6; infinite bar D/4; infinite
/// plate T/2.
pub fn modulus(volume: Volume, surface: Area) -> Length {
    volume / surface
}
formula! {
    modulus(
        volume: Volume = "volume" ("volume of the casting"), 0.0, 10.0;
        surface: Area = "surface" ("surface that gives off heat"), 1e-6, 100.0
    ) -> Length;
    name: "modulus"; gives: "modulus"; says: "volume / surface";
    source: "definition of the casting modulus"; known: Derived; holds: "exact"
}

/// Modulus at which the constant holds for an exponent other than 2.
const ONE_CENTIMETRE: f64 = 0.01;

/// Freezing time by Chvorinov's rule, t = C (V/A)^n (s): volume V (m3), cooling surface A (m2),
/// mould constant C (s/m2), exponent n.
///
/// With n = 2 the units agree. Another exponent has no constant of its own kind, so C is then
/// taken as the time per square centimetre of a casting of 1 cm modulus:
/// t = C M^2 (M / 1 cm)^(n - 2), which is what "min/cm2" with M in centimetres means.
///
/// Source: Chvorinov's rule as worked in Askeland and Phule, Ex. 9-5 p. 342, and GATE-ME 2018.
/// Holds for sand moulds and compact shapes. C must come from a casting of the same alloy, sand
/// and superheat; between shapes of one modulus the time differs: a plate takes up to 1.5 times
/// that of a cylinder (textbook figures), so no better than -20 to +50 % across shapes.
pub fn freezing_time(
    volume: Volume,
    surface: Area,
    constant: TimePerArea,
    exponent: Number,
) -> Time {
    let modulus = volume / surface;
    constant * modulus * modulus * (modulus.si() / ONE_CENTIMETRE).powf(exponent.0 - 2.0)
}
formula! {
    freezing_time(
        volume: Volume = "volume" ("volume of the casting"), 0.0, 10.0;
        surface: Area = "surface" ("surface that gives off heat"), 1e-6, 100.0;
        constant: TimePerArea = "constant" ("mould constant for this metal, sand and superheat"), 1e4, 5e7;
        exponent: Number = "exponent" ("2, unless measured otherwise; then the constant is per cm2") or 2.0, 1.5, 2.2
    ) -> Time;
    name: "freezing-time"; gives: "freezing time"; says: "constant x (volume / surface)^exponent";
    source: "Chvorinov's rule; Askeland and Phule, Ex. 9-5 p. 342; GATE-ME 2018"; known: Published;
    holds: "sand moulds, compact shapes; -20 to +50 % between shapes of one modulus"
}

/// Mould constant from a casting whose freezing was timed: C = t / (V/A)^2 (s/m2).
///
/// Source: Chvorinov's rule turned about; worked so in GATE-ME 2018 and in Groover's riser
/// problem (scribd.com/document/514612776). As good as the timing; holds for the alloy, the sand
/// and the pouring temperature of that casting only: published problems span 2 to 16 min/cm2.
pub fn mould_constant(volume: Volume, surface: Area, time: Time) -> TimePerArea {
    let modulus = volume / surface;
    time / (modulus * modulus)
}
formula! {
    mould_constant(
        volume: Volume = "volume" ("volume of the timed casting"), 1e-9, 10.0;
        surface: Area = "surface" ("its surface that gave off heat"), 1e-6, 100.0;
        time: Time = "time" ("how long it took to freeze"), 0.0, 1e6
    ) -> TimePerArea;
    name: "mould-constant"; gives: "mould constant"; says: "time / (volume / surface)^2";
    source: "Chvorinov's rule; GATE-ME 2018"; known: Published;
    holds: "for the same metal, sand and superheat; as good as the timing"
}

/// Mould constant of a plate from the properties of metal and sand:
/// C = pi/4 (rho H / (Td - T0))^2 / (k rho' c') (s/m2), with the temperature at which it freezes Td
/// (K), the heat given off until it is solid H (J/kg), density of the metal rho (kg/m3), and for
/// the sand its temperature T0 (K), conductivity k (W/mK), density rho' (kg/m3) and specific heat
/// c' (J/kgK). Metal and sand touch perfectly.
///
/// Source: one-dimensional heat flow into a thick mould whose face is at the melting point;
/// form in IIT-type notes, scribd.com/document/153794806. An alloy freezes over a range; with the
/// temperature a quarter of the way from solidus to liquidus for Td the rule is within 1.2 % of
/// plates marched by heat flow, in A356, ZA-12, C905 and grey iron. Infinite where the sand is no
/// colder than that.
pub fn mould_constant_derived(
    melting_point: Temperature,
    latent_heat: LatentHeat,
    metal_density: Density,
    sand_temperature: Temperature,
    sand_conductivity: Conductivity,
    sand_density: Density,
    sand_heat: SpecificHeat,
) -> TimePerArea {
    let drop = melting_point.si() - sand_temperature.si();
    if drop <= 0.0 {
        return super::never();
    }
    let given_off = metal_density.si() * latent_heat.si() / drop;
    let taken_up = sand_conductivity.si() * sand_density.si() * sand_heat.si();
    TimePerArea::from_si(std::f64::consts::FRAC_PI_4 * given_off * given_off / taken_up)
}
formula! {
    mould_constant_derived(
        melting_point: Temperature = "melting-point" ("temperature at which the metal freezes"), 450.0, 2000.0;
        latent_heat: LatentHeat = "latent-heat" ("heat given off until it is solid"), 2e4, 2e6;
        metal_density: Density = "metal-density" ("density of the metal near freezing"), 1500.0, 12e3;
        sand_temperature: Temperature = "sand-temperature" ("temperature of the mould before pouring"), 250.0, 500.0;
        sand_conductivity: Conductivity = "sand-conductivity" ("heat conductivity of the rammed sand"), 0.2, 5.0;
        sand_density: Density = "sand-density" ("density of the rammed sand"), 1200.0, 3500.0;
        sand_heat: SpecificHeat = "sand-heat" ("specific heat of the sand"), 600.0, 1500.0
    ) -> TimePerArea;
    name: "mould-constant-derived"; gives: "mould constant";
    says: "pi/4 x (metal density x latent heat / (melting point - sand temperature))^2 / (sand conductivity x sand density x sand heat)";
    source: "heat flow into a thick mould; form in scribd.com/document/153794806"; known: Published;
    holds: "plates in thick sand moulds, in perfect contact; as good as what is known of the sand"
}

/// Heat (J/kg) that a mould has to take from metal poured hot until it is solid:
/// L + cl (Tp - Tl) + (cs + cl)/2 (Tl - Ts), with latent heat L (J/kg), specific heats of liquid
/// and solid cl and cs (J/kgK), pouring temperature Tp, liquidus Tl and solidus Ts (K). Metal poured
/// below its liquidus brings so much less.
///
/// Source: the superheat is added to the latent heat so in IIT-type notes
/// (scribd.com/document/153794806); so is here the heat between liquidus and solidus, 9 to 23 % of
/// the whole. Exact for constant specific heats.
pub fn heat_to_freeze(
    latent_heat: LatentHeat,
    liquid_heat: SpecificHeat,
    solid_heat: SpecificHeat,
    pour: Temperature,
    liquidus: Temperature,
    solidus: Temperature,
) -> LatentHeat {
    let superheat = liquid_heat.si() * (pour.si() - liquidus.si());
    let mean = 0.5 * (liquid_heat.si() + solid_heat.si());
    let range = mean * (liquidus.si() - solidus.si());
    LatentHeat::from_si((latent_heat.si() + superheat + range).max(0.0))
}
formula! {
    heat_to_freeze(
        latent_heat: LatentHeat = "latent-heat" ("latent heat of the metal"), 2e4, 1e6;
        liquid_heat: SpecificHeat = "liquid-heat" ("specific heat of the liquid"), 100.0, 2000.0;
        solid_heat: SpecificHeat = "solid-heat" ("specific heat of the solid"), 100.0, 2000.0;
        pour: Temperature = "pour" ("pouring temperature"), 450.0, 2100.0;
        liquidus: Temperature = "liquidus" ("where freezing begins"), 450.0, 2000.0;
        solidus: Temperature = "solidus" ("where freezing ends"), 450.0, 2000.0
    ) -> LatentHeat;
    name: "heat-to-freeze"; gives: "heat given off until frozen";
    says: "latent heat + liquid heat x (pour - liquidus) + mean heat x (liquidus - solidus)";
    source: "superheat added to the latent heat, scribd.com/document/153794806; the range likewise"; known: Published;
    holds: "specific heats that do not change with temperature"
}

/// Temperature (K) at which an alloy may be taken to freeze in a rule for pure metals: a quarter of
/// the way from solidus to liquidus.
///
/// Source: fitted here to plates marched by heat flow (A356, ZA-12, C905, grey iron), within 0.6 %
/// in temperature.
pub fn freezes_at(solidus: Temperature, liquidus: Temperature) -> Temperature {
    Temperature::from_si(0.75 * solidus.si() + 0.25 * liquidus.si())
}
formula! {
    freezes_at(
        solidus: Temperature = "solidus" ("where freezing ends"), 450.0, 2000.0;
        liquidus: Temperature = "liquidus" ("where freezing begins"), 450.0, 2000.0
    ) -> Temperature;
    name: "freezes-at"; gives: "temperature at which it freezes";
    says: "solidus + (liquidus - solidus) / 4";
    source: "fitted to heat flow in plates"; known: Derived;
    holds: "ranges up to 150 K"
}

/// Which plain body a section of a casting resembles.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Body {
    /// Much wider and longer than thick.
    Plate,
    /// Long, of flat rectangular section.
    Bar,
    /// Long, of square section.
    SquareBar,
    /// Round bar.
    Round,
    /// Ball.
    Ball,
}
words!(Body {
    Plate = "plate", Bar = "bar", SquareBar = "square-bar", Round = "round", Ball = "ball",
});

/// Time over that of a plate of one modulus, by body.
const RELATIVE: [f64; 5] = [1.0, 0.82, 0.74, 0.65, 0.59];

/// Freezing time (s) of a section by its shape: C M^2 f, with modulus M (m), the mould constant of
/// a plate C (s/m2), and f the time of such a body over that of a plate of one modulus: plate 1, flat
/// bar 0.82, square bar 0.74, round bar 0.65, ball 0.59.
///
/// Sand opens outward around edges and round faces and takes more heat there: over the time t a
/// face takes 2 b root(t / pi) + k g t / M per kelvin and area, with g = 0 on a plate, 0.1 on a flat
/// bar, 0.15 on a square one, 1/4 on a round one, 1/3 on a ball (for edges van den Berg and
/// Srisatkunarajah, 1990). The ratios follow for metals that give off about 1.5 times as much heat
/// per volume as the sand takes up to the same temperature, as all alloys of the handbook do. A
/// foundry textbook prints 1.54 to 1 for plate and round bar too (findout.su/2x32756).
pub fn section_freezing_time(modulus: Length, constant: TimePerArea, body: Body) -> Time {
    constant * modulus * modulus * RELATIVE[body as usize]
}
formula! {
    section_freezing_time(
        modulus: Length = "modulus" ("modulus of the section"), 0.0, 1.0;
        constant: TimePerArea = "constant" ("mould constant of a plate in this metal and sand"), 1e4, 5e7;
        body: Body = "body" ("which plain body it resembles"), 0.0, 4.0
    ) -> Time;
    name: "section-freezing-time"; gives: "freezing time of the section";
    says: "constant x modulus^2 x ratio; ratio: plate 1, bar 0.82, square bar 0.74, round bar 0.65, ball 0.59";
    source: "heat that sand takes up around such bodies; plate to round bar 1.54 to 1 in a textbook too, findout.su/2x32756"; known: Derived;
    holds: "sand moulds, sections that stand free; within 15 % of heat flow for plain bodies; neighbours keep each other hot"
}

formulas! {
    /// Time in the mould (s) until shake-out, by the time of freezing.
    shake_out "shake-out" "time until shake-out"
        (freezing: Time = "time until the casting is frozen" 0.0..1e6, factor: Number = "time in the mould over it" 1.0..20.0) -> Time
        = freezing * factor.0;
    "freezing time x factor", FromMemory "iron in green sand until 500 C; taken for the others too", "a factor of 5 to 10";

    /// Mould constant of a plate (s/m2) from the time that a section took to freeze.
    mould_constant_of_section "mould-constant-of-section" "mould constant"
        (time: Time = "how long it took to freeze" 0.0..1e6, modulus: Length = "modulus of the section" 1e-4..1.0, body: Body = "which plain body it resembles" 0.0..4.0) -> TimePerArea
        = time / (modulus * modulus * RELATIVE[body as usize]);
    "time / (modulus^2 x ratio), ratio as in `reckon section-freezing-time`", Derived "Chvorinov's rule turned about, ratios as in section-freezing-time", "for the same metal, sand and superheat; as good as the timing";

    /// Thickness of a plate of this modulus (m), edges left out.
    thickness_of_modulus "thickness-of-modulus" "thickness"
        (modulus: Length = "modulus of the section" 0.0..1.0) -> Length
        = 2.0 * modulus;
    "2 x modulus", Derived "geometry of the plate", "wide plates";
}
