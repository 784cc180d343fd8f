//! How fast the metal runs, how long the mould takes to fill, how wide the way must be.

use super::{fallen, gravity, never};
use crate::figure::*;
use crate::{formula, words};

/// Speed (m/s) of metal that has fallen through the height h (m), entering at v0 (m/s):
/// v = sqrt(v0^2 + 2 g h).
///
/// Source: energy of a falling stream without loss; worked in GATE-ME 2007 (with entry speed).
/// An upper bound: a real sprue gives 75 to 90 % of it (from memory).
pub fn fall_speed(height: Length, entry_speed: Speed) -> Speed {
    (entry_speed * entry_speed + 2.0 * gravity() * height).sqrt()
}
formula! {
    fall_speed(
        height: Length = "height" ("drop of the metal"), 0.0, 2.0;
        entry_speed: Speed = "entry-speed" ("speed at the top") or 0.0, 0.0, 10.0
    ) -> Speed;
    name: "fall-speed"; gives: "speed"; says: "sqrt(entry speed^2 + 2 g height)";
    source: "fall without loss; GATE-ME 2007"; known: Published;
    holds: "no friction: an upper bound; real sprues give 75 to 90 % (from memory)"
}

/// Flow (m3/s) through an area A (m2) under the height h (m): Q = A sqrt(2 g h).
///
/// Source: worked in a GATE-ME problem (byjus.com, 10 mm sprue base 250 mm down). No loss: an
/// upper bound.
pub fn flow(height: Length, area: Area) -> Flow {
    area * fallen(height)
}
formula! {
    flow(
        height: Length = "height" ("metal above the place"), 0.0, 2.0;
        area: Area = "area" ("narrowest area of the stream"), 0.0, 0.1
    ) -> Flow;
    name: "flow"; gives: "flow"; says: "area x sqrt(2 g height)";
    source: "fall without loss; GATE-ME"; known: Published;
    holds: "no friction, sprue kept full: an upper bound"
}

/// Time (s) to fill a cavity from above, at constant head: t = V / (Cd A sqrt(2 g h)), with
/// volume V (m3), gate area A (m2), head h (m) and discharge coefficient Cd.
///
/// Source: Ghosh and Mallik, Manufacturing Science, p. 46 (no loss). Without loss a lower bound;
/// Cd of 0.75 to 0.9 for a sprue, 0.4 to 0.6 for a whole pressurised system, from memory.
pub fn fill_time(volume: Volume, area: Area, height: Length, discharge: Number) -> Time {
    volume / (area * fallen(height) * discharge.0)
}
formula! {
    fill_time(
        volume: Volume = "volume" ("volume to be filled"), 0.0, 10.0;
        area: Area = "area" ("narrowest area of the way in"), 1e-7, 0.1;
        height: Length = "height" ("metal above that place"), 1e-3, 2.0;
        discharge: Number = "discharge" ("discharge coefficient; 1 is no loss") or 1.0, 0.2, 1.0
    ) -> Time;
    name: "fill-time"; gives: "fill time"; says: "volume / (discharge x area x sqrt(2 g height))";
    source: "Ghosh and Mallik, Manufacturing Science, p. 46"; known: Published;
    holds: "top gate, constant head, sprue kept full; without a discharge coefficient the least time"
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

/// Choke area (m2) that passes the mass W (kg) in the time t (s):
/// A = W / (rho t Cd sqrt(2 g H)), with density of the liquid rho (kg/m3), effective head H (m)
/// and discharge coefficient Cd.
///
/// Source: gating formula sheet, scribd.com/document/372842832. As good as Cd: 1 is no loss and
/// gives the least area; 0.4 to 0.9 is usual (from memory).
pub fn choke_area(
    mass: Mass,
    density: Density,
    time: Time,
    head: Length,
    discharge: Number,
) -> Area {
    mass / density / time / (fallen(head) * discharge.0)
}
formula! {
    choke_area(
        mass: Mass = "mass" ("metal that passes the choke"), 0.0, 1e4;
        density: Density = "density" ("density of the liquid metal"), 1000.0, 12e3;
        time: Time = "time" ("pouring time"), 0.5, 600.0;
        head: Length = "head" ("effective head, see effective-head"), 1e-3, 2.0;
        discharge: Number = "discharge" ("discharge coefficient; 1 is no loss") or 1.0, 0.2, 1.0
    ) -> Area;
    name: "choke-area"; gives: "choke area";
    says: "mass / (density x time x discharge x sqrt(2 g head))";
    source: "gating formula sheet, scribd.com/document/372842832"; known: Published;
    holds: "sprue kept full; as good as the discharge coefficient (from memory: 0.4 to 0.9)"
}

/// Area (m2) at the foot of the sprue that passes the flow Q (m3/s) under the height h (m):
/// A = Q / sqrt(2 g h).
///
/// Source: Groover's sprue problems (qammunity.org 9135003, 11627861, 12109622). No loss: the
/// least area at which the sprue stays full; a wider foot draws air.
pub fn sprue_base_area(flow: Flow, height: Length) -> Area {
    flow / fallen(height)
}
formula! {
    sprue_base_area(
        flow: Flow = "flow" ("flow to be passed"), 0.0, 0.05;
        height: Length = "height" ("metal above the foot of the sprue"), 1e-3, 2.0
    ) -> Area;
    name: "sprue-base-area"; gives: "sprue base area"; says: "flow / sqrt(2 g height)";
    source: "Groover's sprue problems, qammunity.org 9135003, 11627861, 12109622"; known: Published;
    holds: "no friction"
}

/// Area at the top of a sprue over the area at its foot: sqrt(h2 / h1), with h1 and h2 (m) the
/// depths of the two places under the level of the basin.
///
/// Source: a freely falling stream narrows so; physicsforums.com 364742. Exact without friction.
pub fn sprue_taper(top_depth: Length, bottom_depth: Length) -> Number {
    Number((bottom_depth / top_depth).si().sqrt())
}
formula! {
    sprue_taper(
        top_depth: Length = "top-depth" ("level of the basin above the top of the sprue"), 1e-3, 1.0;
        bottom_depth: Length = "bottom-depth" ("level of the basin above the foot of the sprue"), 1e-3, 2.0
    ) -> Number;
    name: "sprue-taper"; gives: "top area over base area"; says: "sqrt(bottom depth / top depth)";
    source: "continuity of a falling stream; physicsforums.com 364742"; known: Published;
    holds: "no friction; depths from the level in the basin, not from the top of the sprue"
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
/// Source: gating formula sheet, scribd.com/document/372842832. A mean that is good while the
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
    source: "gating formula sheet, scribd.com/document/372842832"; known: Published;
    holds: "casting well below the level of the basin; cope height no more than casting height"
}

/// Pouring time (s) of a grey iron casting of the mass W (kg) and section T (mm), with fluidity
/// as the length of the test spiral K = inches / 40:
/// K (1.41 + T/14.59) sqrt(W) up to 450 kg, K (1.236 + T/16.65) W^(1/3) above.
///
/// Source: gating formula sheet, scribd.com/document/372842832 (the form that P. N. Rao prints).
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
    source: "gating formula sheet, scribd.com/document/372842832"; known: Published;
    holds: "grey iron in sand; a rule of thumb, +/- 25 % (from memory)";
    turns: "mass" at 450.0, "mass" at 450.000_001
}

/// Reynolds number rho v d / eta: density rho (kg/m3), speed v (m/s), diameter of the way d (m),
/// viscosity eta (Pa s).
///
/// Source: definition. Below about 2000 a stream in a pipe is smooth; gating streams lie far
/// above, whatever is done, so that the number tells friction and not calm.
pub fn reynolds(density: Density, speed: Speed, diameter: Length, viscosity: Viscosity) -> Number {
    Number((density * speed * diameter / viscosity).si())
}
formula! {
    reynolds(
        density: Density = "density" ("density of the liquid metal"), 500.0, 2e4;
        speed: Speed = "speed" ("mean speed of the stream"), 0.0, 20.0;
        diameter: Length = "diameter" ("diameter of a round way"), 1e-4, 1.0;
        viscosity: Viscosity = "viscosity" ("viscosity of the liquid metal"), 1e-4, 0.1
    ) -> Number;
    name: "reynolds"; gives: "Reynolds number"; says: "density x speed x diameter / viscosity";
    source: "definition of the Reynolds number; limit 2000 as in GATE-ME 1996"; known: Derived;
    holds: "exact for round ways; for others use four times area over perimeter"
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
