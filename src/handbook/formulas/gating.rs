//! How fast the metal runs, how long the mould takes to fill, how wide the way must be.

use super::{fallen, gravity, never};
use crate::figure::*;
use crate::{formula, formulas, words};
use std::f64::consts::PI;

formulas! {
    /// Speed (m/s) of metal that has fallen through the height h (m), entering at v0 (m/s):
    /// v = sqrt(v0^2 + 2 g h).
    ///
    /// Source: energy of a falling stream without loss; worked in GATE-ME 2007 (with entry speed).
    /// An upper bound: a real sprue gives 75 to 90 % of it (from memory).
    fall_speed "fall-speed" "speed" (
        height: Length = "drop of the metal" 0.0..2.0,
        entry_speed: Speed = "speed at the top" or 0.0, 0.0..10.0,
    ) -> Speed = (entry_speed * entry_speed + 2.0 * gravity() * height).sqrt();
    "sqrt(entry speed^2 + 2 g height)",
        Published "fall without loss; GATE-ME 2007",
        "no friction: an upper bound; real sprues give 75 to 90 % (from memory)";

    /// Flow (m3/s) through an area A (m2) under the height h (m): Q = A sqrt(2 g h).
    ///
    /// Source: worked in a GATE-ME problem (byjus.com, 10 mm sprue base 250 mm down). No loss: an
    /// upper bound.
    flow "flow" "flow" (
        height: Length = "metal above the place" 0.0..2.0,
        area: Area = "narrowest area of the stream" 0.0..0.1,
    ) -> Flow = area * fallen(height);
    "area x sqrt(2 g height)",
        Published "fall without loss; GATE-ME",
        "no friction, sprue kept full: an upper bound";

    /// Time (s) to fill a cavity from above, at constant head: t = V / (Cd A sqrt(2 g h)), with
    /// volume V (m3), gate area A (m2), head h (m) and discharge coefficient Cd.
    ///
    /// Source: Ghosh and Mallik, Manufacturing Science, p. 46 (no loss). Without loss a lower bound;
    /// Cd of 0.75 to 0.9 for a sprue, 0.4 to 0.6 for a whole pressurised system, from memory.
    fill_time "fill-time" "fill time" (
        volume: Volume = "volume to be filled" 0.0..10.0,
        area: Area = "narrowest area of the way in" 1e-7..0.1,
        height: Length = "metal above that place" 1e-3..2.0,
        discharge: Number = "discharge coefficient; 1 is no loss" or 1.0, 0.2..1.0,
    ) -> Time = volume / (area * fallen(height) * discharge.0);
    "volume / (discharge x area x sqrt(2 g height))",
        Published "Ghosh and Mallik, Manufacturing Science, p. 46",
        "top gate, constant head, sprue kept full; without a discharge coefficient the least time";
}

/// Time (s) to fill a mould of even section from below:
/// t = 2 Am / (Ag sqrt(2 g)) (sqrt(h) - sqrt(h - hm)), with mould area Am (m2), mould height
/// hm (m), gate area Ag (m2) and head h (m) of the basin above the gate.
///
/// Source: Ghosh and Mallik, Manufacturing Science, p. 46. No loss: the least time. Infinite
/// where the mould stands higher than the basin, since it then never fills.
pub fn fill_time_bottom(
    mould_area: Area,
    mould_height: Length,
    gate_area: Area,
    height: Length,
) -> Time {
    if mould_height > height {
        return never();
    }
    let fall = fallen(height) - fallen(height - mould_height);
    mould_area / gate_area * fall / gravity()
}
formula! {
    fill_time_bottom(
        mould_area: Area = "mould-area" ("level section of the cavity"), 0.0, 10.0;
        mould_height: Length = "mould-height" ("height of the cavity above the gate"), 0.0, 2.0;
        gate_area: Area = "gate-area" ("area of the gate"), 1e-7, 0.1;
        height: Length = "height" ("level of the basin above the gate"), 1e-3, 2.0
    ) -> Time;
    name: "fill-time-bottom"; gives: "fill time";
    says: "2 mould area / (gate area x sqrt(2 g)) x (sqrt(height) - sqrt(height - mould height))";
    source: "Ghosh and Mallik, Manufacturing Science, p. 46"; known: Published;
    holds: "cavity of even section, mould no higher than the basin, no loss: the least time"
}

formulas! {
    /// Choke area (m2) that passes the mass W (kg) in the time t (s):
    /// A = W / (rho t Cd sqrt(2 g H)), with density of the liquid rho (kg/m3), effective head H (m)
    /// and discharge coefficient Cd.
    ///
    /// Source: Bernoulli's equation, as formula sheets of unknown origin have it too. As good as Cd: 1 is no loss and
    /// gives the least area; 0.4 to 0.9 is usual (from memory).
    choke_area "choke-area" "choke area" (
        mass: Mass = "metal that passes the choke" 0.0..1e4,
        density: Density = "density of the liquid metal" 1000.0..12e3,
        time: Time = "pouring time" 0.5..600.0,
        head: Length = "effective head, see effective-head" 1e-3..2.0,
        discharge: Number = "discharge coefficient; 1 is no loss" or 1.0, 0.2..1.0,
    ) -> Area = mass / density / time / (fallen(head) * discharge.0);
    "mass / (density x time x discharge x sqrt(2 g head))",
        Derived "Bernoulli's equation with a discharge coefficient",
        "sprue kept full; as good as the discharge coefficient (from memory: 0.4 to 0.9)";

    /// Area (m2) at the foot of the sprue that passes the flow Q (m3/s) under the height h (m):
    /// A = Q / sqrt(2 g h).
    ///
    /// Source: Groover's sprue problems (qammunity.org 9135003, 11627861, 12109622). No loss: the
    /// least area at which the sprue stays full; a wider foot draws air.
    sprue_base_area "sprue-base-area" "sprue base area" (
        flow: Flow = "flow to be passed" 0.0..0.05,
        height: Length = "metal above the foot of the sprue" 1e-3..2.0,
    ) -> Area = flow / fallen(height);
    "flow / sqrt(2 g height)",
        Published "Groover's sprue problems, qammunity.org 9135003, 11627861, 12109622",
        "no friction";

    /// Area at the top of a sprue over the area at its foot: sqrt(h2 / h1), with h1 and h2 (m) the
    /// depths of the two places under the level of the basin.
    ///
    /// Source: the same flow passes through both places of a freely falling stream. Exact without friction.
    sprue_taper "sprue-taper" "top area over base area" (
        top_depth: Length = "level of the basin above the top of the sprue" 1e-3..1.0,
        bottom_depth: Length = "level of the basin above the foot of the sprue" 1e-3..2.0,
    ) -> Number = Number((bottom_depth / top_depth).si().sqrt());
    "sqrt(bottom depth / top depth)",
        Derived "continuity of a freely falling stream, v^2 = 2 g h",
        "no friction; depths from the level in the basin, not from the top of the sprue";
}

/// Where the metal enters the cavity.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gate {
    /// At the top of the cavity.
    Top,
    /// At the parting, between the two.
    Parting,
    /// At the bottom of the cavity.
    Bottom,
}
words!(Gate { Top = "top", Parting = "parting", Bottom = "bottom" });

/// Head (m) that acts over the filling as a whole: top gate h; bottom gate h - c/2; parting gate
/// h - p^2 / (2 c), with the sprue's height above the gate h (m), height of the casting c (m) and
/// its height in the cope p (m).
///
/// Source: Bernoulli's equation, as formula sheets of unknown origin have it too. A mean that is good while the
/// casting is well below the basin; the cope height counts for the parting gate only.
pub fn effective_head(
    gate: Gate,
    head: Length,
    casting_height: Length,
    cope_height: Length,
) -> Length {
    match gate {
        Gate::Top => head,
        Gate::Bottom => head - casting_height / 2.0,
        Gate::Parting => head - cope_height * cope_height / (2.0 * casting_height),
    }
}
formula! {
    effective_head(
        gate: Gate = "gate" ("where the metal enters the cavity"), 0.0, 2.0;
        head: Length = "head" ("level of the basin above the gate"), 1e-3, 2.0;
        casting_height: Length = "casting-height" ("whole height of the casting"), 1e-3, 2.0;
        cope_height: Length = "cope-height" ("height of the casting above the parting"), 0.0, 2.0
    ) -> Length;
    name: "effective-head"; gives: "effective head";
    says: "top: head; bottom: head - casting height / 2; parting: head - cope height^2 / (2 casting height)";
    source: "Bernoulli's equation, the head averaged over the filling"; known: Derived;
    holds: "casting well below the level of the basin; cope height no more than casting height";
    doubt: head_too_low
}

/// Metal rises no higher than the basin it comes from.
fn head_too_low(values: &[f64]) -> Option<&'static str> {
    let [gate, head, casting, cope] = *values else { return None };
    let above_gate = match Gate::from_si(gate) {
        Gate::Top => 0.0,
        Gate::Bottom => casting,
        Gate::Parting => cope,
    };
    if cope > casting {
        return Some("the casting is higher above the parting than on the whole");
    }
    (head < above_gate)
        .then_some("the basin lies below the top of the casting, which does not fill")
}

/// Pouring time (s) of a grey iron casting of the mass W (kg) and section T (mm), with fluidity
/// as the length of the test spiral K = inches / 40:
/// K (1.41 + T/14.59) sqrt(W) up to 450 kg, K (1.236 + T/16.65) W^(1/3) above.
///
/// Source: P. N. Rao, Manufacturing Technology: Foundry, Forming and Welding prints this form.
/// A rule of thumb for grey iron in sand, perhaps +/- 25 %; the two forms do not meet at 450 kg.
pub fn pour_time_iron(mass: Mass, thickness: Length, fluidity: Length) -> Time {
    let section = thickness.si() * 1e3;
    let factor = fluidity.si() / 0.0254 / 40.0;
    let kilograms = mass.si();
    Time::from_si(if kilograms <= 450.0 {
        factor * (1.41 + section / 14.59) * kilograms.sqrt()
    } else {
        factor * (1.236 + section / 16.65) * kilograms.cbrt()
    })
}
formula! {
    pour_time_iron(
        mass: Mass = "mass" ("metal poured"), 0.0, 5000.0;
        thickness: Length = "thickness" ("mean section of the casting"), 2.5e-3, 0.15;
        fluidity: Length = "fluidity" ("length of the fluidity spiral, such as 28 in"), 0.25, 1.3
    ) -> Time;
    name: "pour-time-iron"; gives: "pouring time";
    says: "fluidity / 40 in x (1.41 + thickness / 14.59 mm) x sqrt(mass / kg); above 450 kg: (1.236 + thickness / 16.65 mm) x cbrt(mass / kg)";
    source: "P. N. Rao, Manufacturing Technology: Foundry, Forming and Welding"; known: Published;
    holds: "grey iron in sand; a rule of thumb, +/- 25 % (from memory)";
    turns: "mass" At(450.0), "mass" At(450.000_001)
}

formulas! {
    /// Reynolds number rho v d / eta: density rho (kg/m3), speed v (m/s), diameter of the way d (m),
    /// viscosity eta (Pa s).
    ///
    /// Source: definition. Below about 2000 a stream in a pipe is smooth; gating streams lie far
    /// above, whatever is done, so that the number tells friction and not calm.
    reynolds "reynolds" "Reynolds number" (
        density: Density = "density of the liquid metal" 500.0..2e4,
        speed: Speed = "mean speed of the stream" 0.0..20.0,
        diameter: Length = "diameter of a round way" 1e-4..1.0,
        viscosity: Viscosity = "viscosity of the liquid metal" 1e-4..0.1,
    ) -> Number = Number((density * speed * diameter / viscosity).si());
    "density x speed x diameter / viscosity",
        Derived "definition of the Reynolds number; limit 2000 as in GATE-ME 1996",
        "exact for round ways; for others use four times area over perimeter";
}

/// Time (s) for a straight ladle to empty through a nozzle in its floor:
/// t = (D/d)^2 / Cd sqrt(2 H / g), with inside diameter D (m), depth of metal H (m), nozzle
/// bore d (m) and discharge coefficient Cd.
///
/// Source: Ghosh and Mallik, Manufacturing Science, p. 55. As good as Cd and the bore, which
/// wears; the level is taken to sink slowly (D much wider than d).
pub fn ladle_empty_time(
    diameter: Length,
    depth: Length,
    nozzle: Length,
    discharge: Number,
) -> Time {
    let wider = (diameter / nozzle).si();
    (2.0 * depth / gravity()).sqrt() * (wider * wider / discharge.0)
}
formula! {
    ladle_empty_time(
        diameter: Length = "diameter" ("inside diameter of the ladle"), 0.02, 5.0;
        depth: Length = "depth" ("depth of metal at the start"), 0.0, 5.0;
        nozzle: Length = "nozzle" ("bore of the nozzle"), 2e-3, 0.3;
        discharge: Number = "discharge" ("discharge coefficient of the nozzle"), 0.4, 1.0
    ) -> Time;
    name: "ladle-empty-time"; gives: "emptying time";
    says: "(diameter / nozzle)^2 / discharge x sqrt(2 depth / g)";
    source: "Ghosh and Mallik, Manufacturing Science, p. 55"; known: Published;
    holds: "bottom-pour ladle with straight sides, much wider than its nozzle"
}

formulas! {
    /// Pouring time (s) to aim at by the mass alone.
    pour_time "pour-time" "pouring time by mass"
        (mass: Mass = "metal through the choke" 0.0..1e4, factor: Number = "seconds over the root of kilograms" 0.5..5.0) -> Time
        = Time::from_si(factor.0 * mass.si().sqrt());
    "factor x sqrt(mass / kg)", FromMemory "no published rule for light metal or bronze was found", "a factor of 1 to 3; the thinnest section may ask for less";

    /// Time (s) in which a mould is full before its thinnest section freezes.
    pour_before_freezing "pour-before-freezing" "half the freezing time of the thinnest section"
        (freezing: Time = "freezing time of the thinnest section" 0.0..1e6) -> Time
        = freezing / 2.0;
    "time / 2 (common practice)", CommonPractice "the metal is to run for no more than half the time it stays liquid", "as good as the freezing time";

    /// Diameter (m) of a round way of this area.
    circle_diameter "circle-diameter" "diameter"
        (area: Area = "section of the way" 0.0..1.0) -> Length
        = (4.0 * area / PI).sqrt();
    "sqrt(4 area / pi)", Derived "geometry of the circle", "exact";

    /// Area (m2) of a round way.
    circle_area "circle-area" "area"
        (diameter: Length = "across the way" 0.0..1.0) -> Area
        = PI / 4.0 * diameter * diameter;
    "pi / 4 x diameter^2", Derived "geometry of the circle", "exact";

    /// Side (m) of a square way of this area.
    square_side "square-side" "side of the runner"
        (area: Area = "section of the way" 0.0..1.0) -> Length
        = area.sqrt();
    "sqrt(area), as wide as deep", Derived "geometry of the square", "exact";

    /// Top of a sprue (m) that the stream fills all the way down.
    sprue_top "sprue-top" "top of the sprue"
        (foot: Length = "diameter of its foot" 0.0..0.2, taper: Number = "top area over base area" 1.0..10.0) -> Length
        = foot * taper.0.sqrt();
    "foot x sqrt(top area over base area)", Derived "geometry of the circle", "round sprues";

    /// Top of a round pouring basin (m).
    basin_top "basin-top" "top of the basin"
        (sprue: Length = "top of the sprue" 0.0..0.2) -> Length
        = 3.0 * sprue;
    "3 x top of the sprue (common practice)", CommonPractice "wide enough to be kept full", "a cup; an offset basin is better and larger";

    /// Flow (m3/s) with what bends and walls take of it.
    flow_with_loss "flow-with-loss" "flow"
        (flow: Flow = "flow without loss" 0.0..1.0, discharge: Number = "share of it that runs" 0.3..1.0) -> Flow
        = flow * discharge.0;
    "flow without loss x discharge", Derived "definition of the discharge", "as good as the discharge";

    /// Area (m2) of runner or ingates by the gating ratio.
    way_area "way-area" "area by ratio"
        (choke: Area = "area of the choke" 0.0..1.0, ratio: Number = "area of the way over that of the choke" 0.5..20.0) -> Area
        = choke * ratio.0;
    "choke x ratio", Derived "definition of the gating ratio", "exact";

    /// Area (m2) at which metal runs no faster than this.
    area_for_speed "area-for-speed" "ingate area by speed"
        (flow: Flow = "flow through it" 0.0..1.0, speed: Speed = "most that it may run" 0.05..5.0) -> Area
        = flow / speed;
    "flow / speed limit", Derived "continuity", "all ingates run alike";

    /// Speed (m/s) of metal through ways of this area.
    way_speed "way-speed" "speed in the ingates"
        (flow: Flow = "flow through them" 0.0..1.0, area: Area = "all of them together" 1e-6..1.0) -> Speed
        = flow / area;
    "flow / area", Derived "continuity", "all ingates run full and alike";

    /// Thickness of an ingate (m) that breaks off clean.
    ingate_thickness "ingate-thickness" "ingate thickness"
        (wall: Length = "wall that it joins" 0.0..0.5) -> Length
        = Length::from_si((0.6 * wall.si()).clamp(0.003, 0.010));
    "0.6 x wall, so that it breaks off (common practice), between 3 and 10 mm", CommonPractice "thinner than the wall, no finer than it can be cut", "sand moulds";

    /// Ingates to one casting: none wider than 40 mm.
    ingates "ingates" "ingates to one casting"
        (area: Area = "ingate area that it needs" 0.0..1.0, thickness: Length = "thickness of an ingate" 1e-3..0.1) -> Number
        = Number((area / (thickness * Length::from_si(0.04))).si().ceil().max(1.0));
    "one for each 40 mm of width (common practice)", CommonPractice "wider ones run uneven", "a guide";

    /// Width of each ingate (m).
    ingate_width "ingate-width" "ingate width"
        (area: Area = "all ingates" 0.0..1.0, ingates: Number = "how many" 1.0..100.0, thickness: Length = "of each" 1e-3..0.1) -> Length
        = area / (ingates.0 * thickness);
    "area / (ingates x thickness)", Derived "geometry", "exact";

    /// Area of all ingates (m2).
    ingate_area "ingate-area" "all ingates, as made"
        (ingates: Number = "how many" 1.0..100.0, width: Length = "of each" 0.0..1.0, thickness: Length = "of each" 0.0..0.1) -> Area
        = ingates.0 * width * thickness;
    "ingates x width x thickness", Derived "geometry", "exact";

    /// Length of the runner (m) from the sprue past its last ingate.
    runner_length "runner-length" "runner length"
        (pattern: Length = "longest size of the pattern" 0.0..3.0, ingates: Number = "how many" 1.0..100.0) -> Length
        = pattern * (ingates.0 - 1.0) / ingates.0 + Length::from_si(0.06);
    "longest size of the pattern x (ingates - 1) / ingates + 60 mm from the sprue and past the last ingate (our layout)", CommonPractice "our layout", "one straight runner along the pattern";

    /// Length of an ingate (m) between runner and casting.
    ingate_length "ingate-length" "ingate length"
        (thickness: Length = "thickness of the ingate" 0.0..0.1) -> Length
        = Length::from_si((4.0 * thickness.si()).max(0.02));
    "4 thicknesses, 20 mm at least (a Kalpakjian-type text asks 3 to 5)", FromMemory "a Kalpakjian-type text, 3 to 5 thicknesses", "sand moulds";

    /// Area of the well under a sprue (m2).
    well_area "well-area" "area of the well"
        (choke: Area = "area of the choke" 0.0..1.0) -> Area
        = 5.0 * choke;
    "5 x choke (rule of the American Foundry Society, from memory)", FromMemory "rule of the American Foundry Society", "a guide";

    /// Depth of the well under a sprue (m).
    well_depth "well-depth" "depth of the well"
        (runner: Length = "depth of the runner" 0.0..0.5) -> Length
        = 2.0 * runner;
    "2 x depth of the runner (rule of the American Foundry Society, from memory)", FromMemory "rule of the American Foundry Society", "a guide";

    /// Volume of a round well (m3).
    cylinder_volume "cylinder-volume" "volume"
        (diameter: Length = "across it" 0.0..1.0, depth: Length = "depth of it" 0.0..1.0) -> Volume
        = PI / 4.0 * diameter * diameter * depth;
    "pi / 4 x diameter^2 x depth", Derived "geometry of the cylinder", "exact";

    /// Volume of a square runner (m3).
    runner_volume "runner-volume" "runner"
        (side: Length = "side of its section" 0.0..0.5, length: Length = "length of it" 0.0..5.0) -> Volume
        = side * side * length;
    "side^2 x length", Derived "geometry", "exact";

    /// Volume of ingates (m3).
    ingate_volume "ingate-volume" "ingates"
        (area: Area = "all ingates together" 0.0..1.0, length: Length = "of each" 0.0..1.0) -> Volume
        = area * length;
    "area x length", Derived "geometry", "exact";
}
