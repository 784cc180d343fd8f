//! Sizes of patterns, and the work that moulding them makes.

use super::step;
use crate::figure::*;
use crate::{formula, formulas, words};

/// Length of the pattern (m) for a length of the casting a (m): a (1 + c), with contraction c.
///
/// Source: the shrink rule as it is made (Shop Practice vol. 2: rules of 24 1/4, 24 3/8 and
/// 24 1/2 in for 1/8, 3/16 and 1/4 in to the foot). Exact for the c given; tables differ by half
/// of c between authors, and a casting held by its mould contracts less.
pub fn pattern_size(size: Length, contraction: Ratio) -> Length {
    size * (Ratio::from_si(1.0) + contraction)
}
formula! {
    pattern_size(
        size: Length = "size" ("length of the casting"), 0.0, 10.0;
        contraction: Ratio = "contraction" ("contraction, such as 1.3 % or 5/32 in/ft"), 0.0, 0.04
    ) -> Length;
    name: "pattern-size"; gives: "pattern size"; says: "size x (1 + contraction)";
    source: "Shop Practice vol. 2, shrinkage rules (chestofbooks.com)"; known: Published;
    holds: "free contraction; exact for the contraction given"
}

/// Length of the casting (m) that comes from a pattern of the length p (m): p / (1 + c), with
/// contraction c.
///
/// Source: the shrink rule turned about; holds as it does.
pub fn casting_size(size: Length, contraction: Ratio) -> Length {
    size / (Ratio::from_si(1.0) + contraction)
}
formula! {
    casting_size(
        size: Length = "size" ("length of the pattern"), 0.0, 10.0;
        contraction: Ratio = "contraction" ("contraction, such as 1.3 % or 5/32 in/ft"), 0.0, 0.04
    ) -> Length;
    name: "casting-size"; gives: "casting size"; says: "size / (1 + contraction)";
    source: "shrink rule turned about"; known: Derived; holds: "as pattern-size"
}

/// Length of a master (m) from which a metal pattern is cast: a (1 + c1) (1 + c2), with the
/// contractions of the pattern's metal and of the casting's.
///
/// Source: the shrink rule applied twice. Adding the two instead is short by c1 c2 (under 0.05 %).
pub fn double_contraction(size: Length, first: Ratio, second: Ratio) -> Length {
    pattern_size(pattern_size(size, first), second)
}
formula! {
    double_contraction(
        size: Length = "size" ("length of the casting"), 0.0, 10.0;
        first: Ratio = "first" ("contraction of the casting's metal"), 0.0, 0.04;
        second: Ratio = "second" ("contraction of the pattern's metal"), 0.0, 0.04
    ) -> Length;
    name: "double-contraction"; gives: "master pattern size"; says: "size x (1 + first) x (1 + second)";
    source: "shrink rule applied twice"; known: Derived; holds: "as pattern-size"
}

/// Mass of a casting (kg) from its solid pattern on the scale: m rho / rho', with the densities
/// of metal rho and wood rho' (kg/m3).
///
/// Source: definition of density. The US Navy Foundry Manual's factors for solid pine (steel 17,
/// iron 16.5, bronze 18.5) are met within 5 % with pine at 0.45 g/cm3; its 5.0 for aluminium is
/// not (6.0). Wood varies by 20 % between boards: weigh a block of it. Deduct core prints.
pub fn pattern_weight(mass: Mass, wood_density: Density, metal_density: Density) -> Mass {
    mass * (metal_density / wood_density)
}
formula! {
    pattern_weight(
        mass: Mass = "mass" ("mass of the solid pattern"), 0.0, 1000.0;
        wood_density: Density = "wood-density" ("density of the pattern's wood"), 80.0, 1400.0;
        metal_density: Density = "metal-density" ("density of the metal"), 1000.0, 2e4
    ) -> Mass;
    name: "pattern-weight"; gives: "casting mass"; says: "mass x metal density / wood density";
    source: "definition of density; factors of the US Navy Foundry Manual agree within 5 % save aluminium"; known: Derived;
    holds: "solid patterns without prints; as good as the wood's density, +/- 20 % unless weighed"
}

/// Grade of required machining allowance, ISO 8062.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs, reason = "the letters are the standard's own names")]
pub enum Grade {
    A,
    B,
    C,
    D,
    E,
    F,
    G,
    H,
    J,
    K,
}
words!(Grade {
    A = "A", B = "B", C = "C", D = "D", E = "E", F = "F", G = "G", H = "H", J = "J", K = "K",
});

/// Largest dimension of the casting, mm, to which each row of the table goes.
const ALLOWANCE_TO: [f64; 11] =
    [40.0, 63.0, 100.0, 160.0, 250.0, 400.0, 630.0, 1000.0, 1600.0, 3000.0, 6300.0];

/// Required machining allowance, mm, by grade and row.
const ALLOWANCE: [[f64; 11]; 10] = [
    [0.1, 0.1, 0.2, 0.3, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 1.0],
    [0.1, 0.2, 0.3, 0.4, 0.5, 0.7, 0.8, 0.9, 1.0, 1.1, 1.4],
    [0.2, 0.3, 0.4, 0.5, 0.7, 0.9, 1.1, 1.2, 1.4, 1.6, 2.0],
    [0.3, 0.3, 0.5, 0.8, 1.0, 1.3, 1.5, 1.8, 2.0, 2.2, 2.8],
    [0.4, 0.4, 0.7, 1.1, 1.4, 1.8, 2.2, 2.5, 2.8, 3.2, 4.0],
    [0.5, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.5],
    [0.5, 0.7, 1.4, 2.2, 2.8, 3.5, 4.0, 5.0, 5.5, 6.0, 8.0],
    [0.7, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 11.0],
    [1.0, 1.4, 2.8, 4.0, 5.5, 7.0, 9.0, 10.0, 11.0, 13.0, 16.0],
    [1.4, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0, 18.0, 22.0],
];

/// Required machining allowance (m) on each machined face, by the largest dimension of the
/// finished casting (m) and the grade A to K.
///
/// Source: ISO 8062-4:2017, Table 3, read in a copied table. For grade K up to 63 mm that prints
/// 2 and 3 mm where ISO 8062-3 and GB/T 6414-2017 have 1.4 and 2 mm; the latter are used. Usual
/// for hand moulding: grey iron, copper, zinc and light metals F to H, steel G to K (Annex C).
/// The least stock that must be there: tolerance and draft come on top. Up to 6300 mm; beyond
/// that there is no number.
pub fn machining_allowance(size: Length, grade: Grade) -> Length {
    Length::from_si(step(&ALLOWANCE_TO, &ALLOWANCE[grade as usize], size.si() * 1e3) * 1e-3)
}
formula! {
    machining_allowance(
        size: Length = "size" ("largest dimension of the finished casting"), 0.0, 6.3;
        grade: Grade = "grade" ("A to K; by hand in sand F to H is usual, steel G to K"), 0.0, 9.0
    ) -> Length;
    name: "machining-allowance"; gives: "machining allowance"; says: "table by size and grade";
    source: "ISO 8062-4:2017, Table 3 (grade K to 63 mm from ISO 8062-3)"; known: Published;
    holds: "up to 6300 mm; the least stock on each machined face"
}

/// What a shop's machining stock is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Face {
    /// A plain surface in the drag or on a side.
    Surface,
    /// A bore.
    Bore,
    /// A surface in the cope, where dirt gathers.
    Cope,
}
words!(Face { Surface = "surface", Bore = "bore", Cope = "cope" });

/// Metals that the shop table tells apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Metal {
    /// Grey iron.
    Iron,
    /// Light metals, zinc and copper alloys.
    NonFerrous,
}
words!(Metal { Iron = "iron", NonFerrous = "non-ferrous" });

/// Largest size of the casting, mm, to which each row goes: iron, non-ferrous.
const SHOP_TO: [&[f64]; 2] =
    [&[152.0, 305.0, 510.0, 915.0, 1524.0], &[76.0, 152.0, 305.0, 510.0, 915.0, 1524.0]];

/// Machining stock, mm, by metal, face (surface, bore, cope) and row.
const SHOP: [[&[f64]; 3]; 2] = [
    [&[2.4, 3.2, 4.0, 4.8, 4.8], &[3.2, 3.2, 4.8, 6.4, 7.9], &[4.8, 6.4, 6.4, 6.4, 7.9]],
    [
        &[1.6, 1.6, 1.6, 2.4, 3.2, 3.2],
        &[1.6, 2.4, 2.4, 3.2, 3.2, 4.0],
        &[1.6, 2.4, 3.2, 3.2, 4.0, 4.8],
    ],
];

/// Machining stock (m) on each machined face of a casting rammed by hand, by its largest size (m),
/// the face and the metal.
///
/// Source: DEI MEM-103, Lesson 6, table 6.2, in millimetres from sixteenths of an inch. Above
/// 1524 mm there is no number.
pub fn machining_shop(size: Length, face: Face, metal: Metal) -> Length {
    let metal = metal as usize;
    Length::from_si(step(SHOP_TO[metal], SHOP[metal][face as usize], size.si() * 1e3) * 1e-3)
}
formula! {
    machining_shop(
        size: Length = "size" ("largest dimension of the finished casting"), 0.0, 1.524;
        face: Face = "face" ("surface, bore or cope"), 0.0, 2.0;
        metal: Metal = "metal" ("iron or non-ferrous"), 0.0, 1.0
    ) -> Length;
    name: "machining-shop"; gives: "machining stock by shop table"; says: "table by size, face and metal";
    source: "DEI MEM-103, Lesson 6, table 6.2"; known: Published;
    holds: "up to 1524 mm, rammed by hand"
}

/// Volume of a casting (m3) with the stock on its machined faces: V + A s, with finished volume
/// V (m3), machined area A (m2) and allowance s (m).
///
/// Source: geometry. Slightly low at outer edges, where two layers meet (about s^2 per length of
/// edge).
pub fn with_allowance(volume: Volume, machined_area: Area, allowance: Length) -> Volume {
    volume + machined_area * allowance
}
formula! {
    with_allowance(
        volume: Volume = "volume" ("volume of the finished part"), 0.0, 10.0;
        machined_area: Area = "machined-area" ("area of all machined faces"), 0.0, 100.0;
        allowance: Length = "allowance" ("stock on each face"), 0.0, 0.03
    ) -> Volume;
    name: "with-allowance"; gives: "casting volume"; says: "volume + machined area x allowance";
    source: "geometry"; known: Derived; holds: "stock thin against the part; corners left out"
}

/// How the mould is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DraftMethod {
    /// Rammed and drawn by hand.
    Hand,
    /// On a moulding machine.
    Machine,
}
words!(DraftMethod { Hand = "hand", Machine = "machine" });

/// Height of the drawn face, mm, to which each row of the table goes.
const DRAFT_TO: [f64; 14] =
    [4.0, 6.3, 10.0, 16.0, 25.0, 40.0, 63.0, 100.0, 160.0, 250.0, 400.0, 630.0, 1000.0, 1600.0];

/// Draft, degrees, by method and row.
const DRAFT: [[f64; 14]; 2] = [
    [6.9, 6.5, 4.8, 3.2, 2.6, 2.2, 1.9, 1.4, 1.0, 0.8, 0.7, 0.5, 0.5, 0.4],
    [5.8, 5.3, 3.9, 2.7, 2.2, 2.0, 1.6, 1.2, 1.0, 0.9, 0.8, 0.7, 0.5, 0.4],
];

/// Draft angle of an outer face by its height (m) and the way of moulding.
///
/// Source: ISO 8062-4:2017, external faces, fine. Trade rules are coarser: 1 degree for 1 to 4 in
/// (rainiercast.com), 1 to 3 degrees outside (northernim.com); pockets want more. Up to 1600 mm;
/// beyond that there is no number.
pub fn draft(height: Length, method: DraftMethod) -> Angle {
    Angle::from_si(step(&DRAFT_TO, &DRAFT[method as usize], height.si() * 1e3).to_radians())
}
formula! {
    draft(
        height: Length = "height" ("height of the face along the draw"), 0.0, 1.6;
        method: DraftMethod = "method" ("rammed by hand, or on a machine"), 0.0, 1.0
    ) -> Angle;
    name: "draft"; gives: "draft"; says: "table by height and method";
    source: "ISO 8062-4:2017, draft of external faces, fine"; known: Published;
    holds: "outer faces up to 1600 mm; pockets want more"
}

/// Radius (m) of the fillet between two walls (m): half their sum, so the wall itself where both
/// are alike or where three meet in a T.
///
/// A second wall of nothing means the same as the first. Source: afsinc.org ItemNumber=6929. A
/// larger fillet makes a hot spot, a smaller one tears; 2 mm is the least (newayprecision.com).
pub fn fillet(wall: Length, other_wall: Length) -> Length {
    if other_wall.si() > 0.0 { (wall + other_wall) / 2.0 } else { wall }
}
formula! {
    fillet(
        wall: Length = "wall" ("thickness of one wall"), 1e-3, 0.2;
        other_wall: Length = "other-wall" ("thickness of the other; left out: the same") or 0.0, 0.0, 0.2
    ) -> Length;
    name: "fillet"; gives: "fillet radius"; says: "(wall + other wall) / 2";
    source: "afsinc.org ItemNumber=6929"; known: Published;
    holds: "L and T joints of walls; not under 2 mm"
}

/// Inside of a flask (m3): length times width times depth of cope and drag together (m). Exact.
pub fn flask_volume(length: Length, width: Length, depth: Length) -> Volume {
    length * width * depth
}
formula! {
    flask_volume(
        length: Length = "length" ("inside length"), 0.0, 5.0;
        width: Length = "width" ("inside width"), 0.0, 5.0;
        depth: Length = "depth" ("depth of cope and drag together"), 0.0, 3.0
    ) -> Volume;
    name: "flask-volume"; gives: "flask volume"; says: "length x width x depth";
    source: "geometry"; known: Derived; holds: "exact for straight sides"
}

/// Rammed sand in a mould (kg): flask volume less what the metal takes up (m3), times the density
/// of rammed sand (kg/m3).
///
/// Source: definition of density; 1.6 to 1.7 g/cm3 rammed in textbook problems (Groover, Ghosh and
/// Mallik, GATE-ME 1991). +/- 10 % with the ramming. Nothing where the metal fills the flask.
pub fn mould_sand(flask: Volume, casting: Volume, rammed_density: Density) -> Mass {
    let sand = flask - casting;
    if sand.si() < 0.0 { Mass::from_si(0.0) } else { sand * rammed_density }
}
formula! {
    mould_sand(
        flask: Volume = "flask" ("inside volume of the flask"), 0.0, 10.0;
        casting: Volume = "casting" ("volume of casting, gating and feeders") or 0.0, 0.0, 10.0;
        rammed_density: Density = "rammed-density" ("density of the rammed sand"), 1200.0, 2200.0
    ) -> Mass;
    name: "mould-sand"; gives: "rammed sand"; says: "(flask - casting) x rammed density";
    source: "definition of density; 1.6 to 1.7 g/cm3 in Groover, Ghosh and Mallik, GATE-ME 1991"; known: Derived;
    holds: "+/- 10 % with the ramming"
}

/// Time (s) of work that goes by volume, as ramming: volume (m3) times time per volume (s/m3).
///
/// As good as the rate, which is the builder's own; 18 to 35 h/m3 of flask by hand, closing
/// included, is from memory.
pub fn bench_time_by_volume(volume: Volume, rate: TimePerVolume) -> Time {
    volume * rate
}
formula! {
    bench_time_by_volume(
        volume: Volume = "volume" ("volume worked, such as that of the flask"), 0.0, 10.0;
        rate: TimePerVolume = "rate" ("time per volume; ramming 18 to 35 h/m3 from memory"), 0.0, 1e6
    ) -> Time;
    name: "bench-time-by-volume"; gives: "bench time"; says: "volume x rate";
    source: "definition of a rate"; known: Derived; holds: "as good as the rate, which is the builder's own"
}

/// Time (s) of work that goes by mass, as fettling: mass (kg) times time per mass (s/kg).
///
/// As good as the rate; 10 to 20 min/kg for small iron with hand tools is from memory.
pub fn bench_time_by_mass(mass: Mass, rate: TimePerMass) -> Time {
    mass * rate
}
formula! {
    bench_time_by_mass(
        mass: Mass = "mass" ("mass worked, such as that of the casting"), 0.0, 1e4;
        rate: TimePerMass = "rate" ("time per mass; fettling 10 to 20 min/kg from memory"), 0.0, 1e5
    ) -> Time;
    name: "bench-time-by-mass"; gives: "bench time"; says: "mass x rate";
    source: "definition of a rate"; known: Derived; holds: "as good as the rate, which is the builder's own"
}

/// Time (s) of work that goes by surface, as scraping: area (m2) times time per area (s/m2).
///
/// As good as the rate; 0.5 to 2 h per 100 cm2 for scraping a way is from memory.
pub fn bench_time_by_area(area: Area, rate: TimePerArea) -> Time {
    area * rate
}
formula! {
    bench_time_by_area(
        area: Area = "area" ("area worked, such as that of a way"), 0.0, 100.0;
        rate: TimePerArea = "rate" ("time per area; scraping 0.5 to 2 h/100 cm2 from memory"), 0.0, 1e7
    ) -> Time;
    name: "bench-time-by-area"; gives: "bench time"; says: "area x rate";
    source: "definition of a rate"; known: Derived; holds: "as good as the rate, which is the builder's own"
}

formulas! {
    /// Volume of the finished part (m3) within a casting with machining stock.
    without_allowance "without-allowance" "volume of the finished part"
        (volume: Volume = "volume of the casting, stock and all" 0.0..10.0, machined_area: Area = "area of all machined faces" 0.0..100.0, allowance: Length = "stock on each face" 0.0..0.03) -> Volume
        = volume - machined_area * allowance;
    "volume - machined area x allowance", Derived "geometry", "stock thin against the part; corners left out";

    /// Volume of a casting (m3) off a pattern of this volume.
    shrunk_volume "shrunk-volume" "volume"
        (pattern: Volume = "volume of the pattern, prints left out" 0.0..10.0, contraction: Ratio = "contraction of the alloy" 0.0..0.05) -> Volume
        = pattern / (1.0 + contraction.si()).powi(3);
    "volume of the pattern / (1 + contraction)^3", Derived "geometry", "exact where the casting is free to shrink";

    /// Surface of a casting (m2) off a pattern of this surface.
    shrunk_surface "shrunk-surface" "surface"
        (pattern: Area = "surface of the pattern" 0.0..100.0, contraction: Ratio = "contraction of the alloy" 0.0..0.05) -> Area
        = pattern / (1.0 + contraction.si()).powi(2);
    "surface of the pattern / (1 + contraction)^2", Derived "geometry", "exact where the casting is free to shrink";

    /// What a pattern is larger (m) on 100 mm of casting.
    oversize "oversize" "oversize on 100 mm"
        (contraction: Ratio = "contraction of the alloy" 0.0..0.05) -> Length
        = Length::from_si(0.1) * contraction;
    "100 mm x contraction", Derived "definition of contraction", "exact";

    /// Time for a surface (s/m2) from the time for 100 cm2 of it.
    time_per_area "time-per-area" "time for a machined surface"
        (time: Time = "time for 100 cm2" 0.0..1e5) -> TimePerArea
        = time / Area::from_si(0.01);
    "time for 100 cm2 / 100 cm2", Derived "definition of a rate", "exact";
}
