//! The handbook's formulas against worked examples from print.
//!
//! Every row is worked through the formula's record, from values written as people write them.
//! `cargo test --test formulas -- --nocapture` prints the table.

use pourwright::figure::{Formula, Range, System, read, show};
use pourwright::handbook::formulas::{ALL, find};
use pourwright::view::reckon::ReckonView;
use std::collections::BTreeSet;

/// What the expected value rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Rests {
    /// Printed by the source.
    Print,
    /// Printed, but wrong: the formula must give `right` and not the printed value.
    Misprint,
    /// Inputs printed, answer worked by hand from them.
    Hand,
    /// A closed form or an identity; no print needed.
    Closed,
}
use Rests::{Closed, Hand, Misprint, Print};

type Inputs = &'static [(&'static str, &'static str)];

struct Row {
    formula: &'static str,
    inputs: Inputs,
    /// As the source prints it, or as the hand works it.
    expected: &'static str,
    /// What is right, where the source is not.
    right: Option<&'static str>,
    /// Greatest difference, per cent.
    within: f64,
    rests: Rests,
    source: &'static str,
}

const fn row(
    formula: &'static str,
    inputs: Inputs,
    expected: &'static str,
    within: f64,
    rests: Rests,
    source: &'static str,
) -> Row {
    Row { formula, inputs, expected, right: None, within, rests, source }
}

const fn misprint(
    formula: &'static str,
    inputs: Inputs,
    printed: &'static str,
    right: &'static str,
    within: f64,
    source: &'static str,
) -> Row {
    Row { formula, inputs, expected: printed, right: Some(right), within, rests: Misprint, source }
}

const GROOVER_RISER: &str = "Groover's riser problem, scribd.com/document/514612776";
const GATE_2018: &str = "GATE-ME 2018 (gate-exam.in)";
const KALPAKJIAN: &str = "Kalpakjian and Schmid Ex. 10.1 p. 252 (FOSSEE companion)";
const ASKELAND_5: &str = "Askeland and Phule Ex. 9-5 p. 342 (FOSSEE companion)";
const ASKELAND_2: &str = "Askeland and Phule Ex. 9-2 p. 339: edge area kept at the old thickness";
const SLAB: &str = "qammunity.org 19812291";
const RISER_CHILLED: &str = "newmkf-consultweb.blogspot q=13440454: digits of a step transposed";
const GATE_1993: &str = "GATE-ME 1993 (edurev.in): riser no larger than its shrinkage asks";
const LEARNEXAMS: &str = "learnexams: 30 mm cube in 4 min, riser for 5 min";
const ASKMET: &str = "askmemetallurgy: 5 cm cube in 1.6 min, riser d/h 0.5 for 3.2 min";
const GHOSH_46: &str = "Ghosh and Mallik p. 46 (FOSSEE companion)";
const GHOSH_55: &str = "Ghosh and Mallik p. 55 (FOSSEE companion)";
const GATE_BYJUS: &str = "GATE-ME (byjus.com): 10 mm sprue base 250 mm down, 100 mm cube";
const GATE_2007: &str = "GATE-ME 2007 (atozexams.com), there with g = 10 m/s2";
const KALPAKJIAN_SPRUE: &str =
    "Kalpakjian's tapered sprue (answer.ya.guru): basin left out of the head";
const SHEET: &str = "gating formula sheet, scribd.com/document/372842832, by hand";
const RAO_PIPE: &str = "P. N. Rao's pipe, scribd.com/document/256424299";
const SHOP_1: &str = "Shop Practice vol. 1, Moulding Work part 3 (chestofbooks.com)";
const SHOP_2: &str = "Shop Practice vol. 2, shrinkage rules (chestofbooks.com)";
const GATE_1991: &str = "GATE-ME 1991 (examside.com), inputs printed";
const JRBL: &str = "jrblindonesia, brass core: inputs printed, turned about";
const NIOSH_EX4: &str = "NIOSH 94-110 rev. 2021, Ex. 4, inch form: its 10 in, 30 in, 51 lb stand for 25 cm, 75 cm, 23 kg";
const NIOSH_FM: &str = "NIOSH 94-110 rev. 2021, p. 15, frequency multiplier x 23 kg";
const NIOSH_AM: &str = "NIOSH 94-110 rev. 2021, p. 13, asymmetry table x 23 kg";
const NAVY: &str = "US Navy Foundry Manual, casting weight; pine taken at 0.45 g/cm3";
const SHOP_STOCK: &str = "DEI MEM-103, Lesson 6, table 6.2";
const ISO_4: &str = "ISO 8062-4:2017, Table 3";
const ISO_DRAFT: &str = "ISO 8062-4:2017, draft of external faces, fine";
const BLOCK: &str = "course note, iron block, 1/96 and 3 mm a face";
const HEAT_FLOW: &str = "ball of 60 mm, cube of 50 mm, plate of 100 x 100 x 30 mm of A356 by two independent heat flow codes";
const RELATIVE_TIMES: &str = "foundry textbook, findout.su/2x32756: time over that of a round bar";
const HSE_TEAM: &str = "HSE L23 (Manual handling, guidance on the regulations), paragraph 120: two lift 2/3, three 1/2 of the sum";
const GEOMETRY: &str = "geometry";
const DEFINITION: &str = "definition";

#[rustfmt::skip]
static ROWS: &[Row] = &[
    row("mass", &[("volume", "12 in3"), ("density", "0.263 lb/in3")], "3.156 lb", 0.01, Print,
        "Builder-Mechanic, weight of any casting: a foot of cast iron of one square inch"),
    row("mass", &[("volume", "1 ft3"), ("density", "0.2604 lb/in3")], "450 lb", 0.02, Print,
        "Shop Practice vol. 2, Weight of Forging: cast iron 450 lb/ft3 = 0.2604 lb/in3"),
    row("poured-by-yield", &[("casting", "6 kg"), ("yield", "60 %")], "10 kg", 1e-9, Closed, DEFINITION),
    row("charge", &[("poured", "9.5 kg"), ("melt-loss", "5 %")], "10 kg", 1e-9, Closed,
        "(10 - 9.5) / 10 = 5 %, afsinc.org ItemNumber=10465"),
    row("frustum-volume", &[("top", "10 cm"), ("bottom", "10 cm"), ("depth", "10 cm")], "785.39816 cm3", 1e-5, Closed, "cylinder: pi/4 d2 h"),
    row("frustum-volume", &[("top", "10 cm"), ("bottom", "0 cm"), ("depth", "10 cm")], "261.79939 cm3", 1e-5, Closed, "cone: pi/12 d2 h"),
    row("frustum-volume", &[("top", "12 cm"), ("bottom", "9 cm"), ("depth", "15 cm")], "1307.6879 cm3", 1e-5, Closed,
        "large cone less small: pi/12 (12^2 x 60 - 9^2 x 45)"),
    row("fill-mass", &[("volume", "470 ml"), ("fill", "100 %"), ("density", "2.37 g/cm3")], "1.1139 kg", 1e-3, Closed, DEFINITION),

    row("modulus", &[("volume", "187.5 cm3"), ("surface", "267.5 cm2")], "0.7 cm", 0.2, Print, GROOVER_RISER),
    row("modulus", &[("volume", "400 cm3"), ("surface", "360 cm2")], "1.111 cm", 0.02, Print, "transtutors: plate 10 x 10 x 4 cm"),
    row("modulus", &[("volume", "523.599 cm3"), ("surface", "314.159 cm2")], "1.667 cm", 0.03, Print, "study.com: sphere of 10 cm"),
    misprint("modulus", &[("volume", "3125 cm3"), ("surface", "1750 cm2")], "2.98 cm", "1.786 cm", 0.05, SLAB),
    misprint("modulus", &[("volume", "440.48 in3"), ("surface", "606.82 in2")], "0.708 in", "0.7259 in", 0.05, ASKELAND_2),
    row("modulus", &[("volume", "427.51 in3"), ("surface", "603.94 in2")], "0.708 in", 0.05, Hand,
        "Askeland and Phule Ex. 9-2 p. 339, exact thickness 1.680 in"),

    row("freezing-time", &[("volume", "192000 mm3"), ("surface", "27200 mm2"), ("constant", "0.040138 min/mm2")], "2 min", 0.01, Print, GATE_2018),
    row("freezing-time", &[("volume", "187.5 cm3"), ("surface", "267.5 cm2"), ("constant", "3.26 min/cm2")], "1.6 min", 0.2, Print, GROOVER_RISER),
    row("freezing-time", &[("volume", "73.92 in3"), ("surface", "222.8 in2"), ("constant", "45 min/in2")], "5 min", 1.0, Print, ASKELAND_5),
    row("freezing-time", &[("volume", "1 cm3"), ("surface", "4.83598 cm2"), ("constant", "1 s/cm2")], "0.043 s", 0.7, Print, KALPAKJIAN),
    row("freezing-time", &[("volume", "1 cm3"), ("surface", "6 cm2"), ("constant", "1 s/cm2")], "0.028 s", 0.9, Print, KALPAKJIAN),
    row("freezing-time", &[("volume", "1 cm3"), ("surface", "5.53581 cm2"), ("constant", "1 s/cm2")], "0.033 s", 1.2, Print, KALPAKJIAN),
    row("freezing-time", &[("volume", "1000 cm3"), ("surface", "600 cm2"), ("constant", "3.5 min/cm2")], "9.72 min", 0.03, Hand, "study.com: 10 cm cube"),
    row("freezing-time", &[("volume", "4 cm3"), ("surface", "2 cm2"), ("constant", "3 min/cm2"), ("exponent", "1.9")], "11.196394 min", 1e-4, Closed, "3 x 2^1.9"),

    row("mould-constant", &[("volume", "187.5 cm3"), ("surface", "267.5 cm2"), ("time", "1.6 min")], "3.26 min/cm2", 0.15, Print, GROOVER_RISER),
    row("mould-constant", &[("volume", "192000 mm3"), ("surface", "27200 mm2"), ("time", "2 min")], "0.040138 min/mm2", 0.01, Print, GATE_2018),
    row("mould-constant", &[("volume", "27000 mm3"), ("surface", "5400 mm2"), ("time", "4 min")], "0.16 min/mm2", 1e-9, Print, LEARNEXAMS),
    row("mould-constant", &[("volume", "125 cm3"), ("surface", "150 cm2"), ("time", "1.6 min")], "2.304 min/cm2", 1e-6, Hand, ASKMET),
    row("mould-constant-derived", &[("melting-point", "1540 C"), ("latent-heat", "272 kJ/kg"), ("metal-density", "7850 kg/m3"),
        ("sand-temperature", "28 C"), ("sand-conductivity", "0.8655 W/mK"), ("sand-density", "1600 kg/m3"), ("sand-heat", "1170 J/kgK")],
        "1.61 min/cm2", 0.1, Hand, "iron in textbook sand by 1 / (beta^2 alpha), beta = 1.496"),

    row("feeder-for-time", &[("constant", "3.26 min/cm2"), ("time", "2 min"), ("height-ratio", "1")], "4.7 cm", 0.05, Print, GROOVER_RISER),
    row("feeder-for-time", &[("constant", "0.040138 min/mm2"), ("time", "3 min"), ("height-ratio", "1")], "51.87 mm", 0.01, Print, GATE_2018),
    row("feeder-for-time", &[("constant", "0.16 min/mm2"), ("time", "5 min"), ("height-ratio", "1")], "33.54 mm", 0.01, Hand, LEARNEXAMS),
    row("feeder-for-time", &[("constant", "2.304 min/cm2"), ("time", "3.2 min"), ("height-ratio", "2")], "5.893 cm", 0.01, Hand, ASKMET),
    misprint("feeder-for-time", &[("constant", "13 min/in2"), ("time", "3.6504 min"), ("height-ratio", "1.5")], "2.711 in", "2.826 in", 0.02, RISER_CHILLED),
    misprint("feeder-by-modulus", &[("modulus", "1 cm"), ("factor", "1"), ("height-ratio", "1")], "8 cm", "6 cm", 1e-9, SLAB),
    misprint("feeder-by-modulus", &[("modulus", "1.66667 cm"), ("factor", "1"), ("height-ratio", "1")], "6.4 cm", "10 cm", 0.001, GATE_1993),
    row("feeder-by-modulus", &[("modulus", "3 mm"), ("factor", "1"), ("height-ratio", "1.5")], "16 mm", 1e-9, Closed, "cylinder with H = 1.5 D: M = 3 D / 16"),
    row("feeder-by-modulus", &[("modulus", "1 cm"), ("factor", "1.2"), ("height-ratio", "2")], "6 cm", 1e-9, Closed, "cylinder with H = 2 D: M = D / 5"),
    row("feeder-by-volume", &[("volume", "1 L"), ("shrinkage", "4 %"), ("efficiency", "14 %")], "400 ml", 1e-9, Closed,
        "14 % of 400 ml gives 56 ml, 4 % of 1400 ml is missing: the same"),

    row("fall-speed", &[("height", "200 mm"), ("entry-speed", "1 m/s")], "2.2361 m/s", 0.8, Print, GATE_2007),
    row("fall-speed", &[("height", "12.7 mm")], "0.5 m/s", 0.2, Hand, "v2 / 2g of the critical gate speed 0.5 m/s (atlasfdry.com, rule 2)"),
    misprint("fall-speed", &[("height", "15 in")], "8.074 ft/s", "8.97 ft/s", 0.05, KALPAKJIAN_SPRUE),
    row("flow", &[("height", "250 mm"), ("area", "78.54 mm2")], "173942 mm3/s", 0.05, Print, GATE_BYJUS),
    row("fill-time", &[("volume", "18750 cm3"), ("area", "5 cm2"), ("height", "15 cm")], "21.86 s", 0.03, Print, GHOSH_46),
    row("fill-time", &[("volume", "1 L"), ("area", "78.54 mm2"), ("height", "250 mm")], "5.75 s", 0.05, Hand, GATE_BYJUS),
    row("fill-time", &[("volume", "18750 cm3"), ("area", "5 cm2"), ("height", "15 cm"), ("discharge", "0.5")], "43.72 s", 0.03, Closed,
        "half the discharge takes twice the time of Ghosh and Mallik p. 46"),
    row("fill-time-bottom", &[("mould-area", "1250 cm2"), ("mould-height", "15 cm"), ("gate-area", "5 cm2"), ("height", "15 cm")], "43.72 s", 0.03, Print, GHOSH_46),
    row("fill-time-bottom", &[("mould-area", "1250 cm2"), ("mould-height", "0.1 mm"), ("gate-area", "5 cm2"), ("height", "15 cm")], "0.014575 s", 0.05, Closed,
        "a thin layer fills as from above: 12.5 cm3 / (5 cm2 sqrt(2 g h))"),
    row("choke-area", &[("mass", "131.25 kg"), ("density", "7000 kg/m3"), ("time", "21.86 s"), ("head", "15 cm")], "5 cm2", 0.03, Print,
        "Ghosh and Mallik p. 46 turned about (FOSSEE companion)"),
    row("choke-area", &[("mass", "131.25 kg"), ("density", "7000 kg/m3"), ("time", "21.86 s"), ("head", "15 cm"), ("discharge", "0.8")], "6.25 cm2", 0.03, Closed,
        "the same at 0.8 of the discharge"),
    row("sprue-base-area", &[("flow", "1 L/s"), ("height", "175 mm")], "540 mm2", 0.1, Print, "Groover, qammunity.org 9135003"),
    row("sprue-base-area", &[("flow", "0.7 L/s"), ("height", "185 mm")], "367.43 mm2", 0.03, Print, "Groover, qammunity.org 11627861"),
    row("sprue-base-area", &[("flow", "500 cm3/s"), ("height", "15 cm")], "2.91 cm2", 0.2, Print, "Groover, qammunity.org 12109622"),
    misprint("sprue-base-area", &[("flow", "40 in3/s"), ("height", "15 in")], "0.41283 in2", "0.37176 in2", 0.2, KALPAKJIAN_SPRUE),
    row("sprue-taper", &[("top-depth", "5 cm"), ("bottom-depth", "20 cm")], "2", 1e-9, Print, "physicsforums.com 364742"),
    row("effective-head", &[("gate", "top"), ("head", "200 mm"), ("casting-height", "100 mm"), ("cope-height", "50 mm")], "200 mm", 1e-9, Hand, SHEET),
    row("effective-head", &[("gate", "bottom"), ("head", "200 mm"), ("casting-height", "100 mm"), ("cope-height", "50 mm")], "150 mm", 1e-9, Hand, SHEET),
    row("effective-head", &[("gate", "parting"), ("head", "200 mm"), ("casting-height", "100 mm"), ("cope-height", "50 mm")], "187.5 mm", 1e-9, Hand, SHEET),
    row("effective-head", &[("gate", "parting"), ("head", "200 mm"), ("casting-height", "100 mm"), ("cope-height", "100 mm")], "150 mm", 1e-9, Closed,
        "a casting wholly in the cope is gated at its bottom"),
    row("pour-time-iron", &[("mass", "20 kg"), ("thickness", "15 mm"), ("fluidity", "28 in")], "7.633 s", 0.05, Hand, SHEET),
    row("pour-time-iron", &[("mass", "1000 kg"), ("thickness", "33.3 mm"), ("fluidity", "40 in")], "32.36 s", 0.01, Hand, SHEET),
    row("reynolds", &[("density", "1000 kg/m3"), ("speed", "32.5738 mm/s"), ("diameter", "55.26 mm"), ("viscosity", "0.9 mPa s")], "2000", 0.01, Hand,
        "GATE-ME 1996: 78125 mm3/s through a gate of 55.26 mm at 0.9 mm2/s"),
    row("ladle-empty-time", &[("diameter", "1 m"), ("depth", "1.2 m"), ("nozzle", "0.075 m"), ("discharge", "0.96")], "91.60 s", 0.03, Print, GHOSH_55),

    row("cope-lift", &[("area", "64 in2"), ("head", "6 in"), ("density", "0.2607 lb/in3")], "100.11 lbf", 0.01, Print, SHOP_1),
    row("cope-lift", &[("area", "2250 cm2"), ("head", "20 cm"), ("density", "7862.0 kg/m3")], "3469.5 N", 0.01, Print, RAO_PIPE),
    row("core-lift", &[("volume", "14137.2 cm3"), ("metal-density", "7862.0 kg/m3"), ("core-density", "1682.5 kg/m3")], "856.7 N", 0.02, Print, RAO_PIPE),
    row("core-lift", &[("volume", "14137.2 cm3"), ("metal-density", "7862.0 kg/m3"), ("core-density", "1682.5 kg/m3"), ("convention", "displaced")], "1090.0 N", 0.02, Hand,
        "the same pipe by displaced metal (giessereilexikon.com): 14137.2 x 0.0771"),
    row("core-lift", &[("volume", "1994.3 cm3"), ("metal-density", "8.62 g/cm3"), ("core-density", "1.6 g/cm3")], "14 kgf", 0.01, Hand, JRBL),
    row("core-lift", &[("volume", "750 cm3"), ("metal-density", "7953.8 kg/m3"), ("core-density", "1631.5 kg/m3"), ("convention", "displaced")], "58.5 N", 0.01, Hand, GATE_1991),

    row("lifting-limit", &[("horizontal", "10 in"), ("vertical", "22 in"), ("travel", "37 in"), ("angle", "0 deg"), ("frequency", "3 /min"), ("hours", "45 min"), ("coupling", "fair")],
        "34.9 lb", 2.5, Print, NIOSH_EX4),
    row("lifting-limit", &[("horizontal", "20 in"), ("vertical", "59 in"), ("travel", "37 in"), ("angle", "0 deg"), ("frequency", "3 /min"), ("hours", "45 min"), ("coupling", "fair")],
        "15.2 lb", 3.0, Print, NIOSH_EX4),
    row("lifting-limit", &[("horizontal", "30 cm"), ("vertical", "75 cm"), ("travel", "50 cm"), ("angle", "30 deg"), ("frequency", "3 /min"), ("hours", "1 h"), ("coupling", "fair")],
        "13.88 kg", 0.05, Hand, "public course note, inputs printed: 23 x .8333 x 1 x .91 x .904 x .88 x 1"),
    row("lifting-limit", &[("horizontal", "25 cm"), ("vertical", "75 cm"), ("travel", "25 cm"), ("angle", "0 deg"), ("frequency", "1 /min"), ("hours", "1 h"), ("coupling", "good")], "21.62 kg", 0.01, Print, NIOSH_FM),
    row("lifting-limit", &[("horizontal", "25 cm"), ("vertical", "75 cm"), ("travel", "25 cm"), ("angle", "0 deg"), ("frequency", "4 /min"), ("hours", "2 h"), ("coupling", "good")], "16.56 kg", 0.01, Print, NIOSH_FM),
    row("lifting-limit", &[("horizontal", "25 cm"), ("vertical", "75 cm"), ("travel", "25 cm"), ("angle", "0 deg"), ("frequency", "9 /min"), ("hours", "8 h"), ("coupling", "good")], "3.45 kg", 0.01, Print, NIOSH_FM),
    row("lifting-limit", &[("horizontal", "25 cm"), ("vertical", "74 cm"), ("travel", "25 cm"), ("angle", "0 deg"), ("frequency", "9 /min"), ("hours", "8 h"), ("coupling", "good")], "0 kg", 0.0, Print, NIOSH_FM),
    row("lifting-limit", &[("horizontal", "25 cm"), ("vertical", "75 cm"), ("travel", "25 cm"), ("angle", "0 deg"), ("frequency", "15 /min"), ("hours", "1 h"), ("coupling", "good")], "6.44 kg", 0.01, Print, NIOSH_FM),
    row("lifting-limit", &[("horizontal", "25 cm"), ("vertical", "75 cm"), ("travel", "25 cm"), ("angle", "0 deg"), ("frequency", "16 /min"), ("hours", "1 h"), ("coupling", "good")], "0 kg", 0.0, Print, NIOSH_FM),
    row("lifting-limit", &[("horizontal", "25 cm"), ("vertical", "75 cm"), ("travel", "25 cm"), ("angle", "0 deg"), ("frequency", "2.4 /min"), ("hours", "1 h"), ("coupling", "good")], "20.654 kg", 0.01, Hand,
        "NIOSH 94-110 p. 56, 2.4 a minute between the rows: 23 x .898"),
    row("lifting-limit", &[("horizontal", "25 cm"), ("vertical", "75 cm"), ("travel", "25 cm"), ("angle", "90 deg"), ("frequency", "0.2 /min"), ("hours", "1 h"), ("coupling", "good")], "16.33 kg", 0.5, Print, NIOSH_AM),
    row("lifting-limit", &[("horizontal", "25 cm"), ("vertical", "75 cm"), ("travel", "25 cm"), ("angle", "135 deg"), ("frequency", "0.2 /min"), ("hours", "1 h"), ("coupling", "poor")], "11.80 kg", 0.5, Print, NIOSH_AM),

    row("melt-heat", &[("mass", "20 kg"), ("solid-heat", "0.896 kJ/kgK"), ("latent-heat", "402 kJ/kg"), ("liquid-heat", "1 kJ/kgK"), ("melting-point", "657 C"), ("start", "20 C"), ("pour", "657 C")],
        "19452 kJ", 0.03, Print, "Muthusubramanian and Salivahanan Ex. 1.12 p. 24 (FOSSEE companion): 16.21 min at 25 kW and 80 %"),
    row("melt-heat", &[("mass", "1 t"), ("solid-heat", "0.094 cal/gK"), ("latent-heat", "40 kcal/kg"), ("liquid-heat", "0.1 cal/gK"), ("melting-point", "920 C"), ("start", "24 C"), ("pour", "920 C")],
        "144.3 kWh", 0.3, Print, "Chakrabarti et al. Ex. 4.2.4 p. 728 (FOSSEE companion): 222 kWh at 65 %, 4.18 kJ to the kcal"),
    row("melt-heat", &[("mass", "5 t"), ("solid-heat", "0.502 kJ/kgK"), ("latent-heat", "270 kJ/kg"), ("liquid-heat", "534.46 J/kgK"), ("melting-point", "1535 C"), ("start", "15 C"), ("pour", "1650 C")],
        "5468.4 MJ", 0.2, Print, "P. K. Nag Ex. 3.5 p. 57 (FOSSEE companion): 2.17 MW for an hour at 70 %"),
    row("melt-heat", &[("mass", "2 kg"), ("solid-heat", "0.212 cal/gK"), ("latent-heat", "77 kcal/kg"), ("liquid-heat", "0.26 cal/gK"), ("melting-point", "660 C"), ("start", "20 C"), ("pour", "660 C")],
        "0.49458 kWh", 0.05, Print, "Thareja vol. III Ex. 47.6 p. 1850 (FOSSEE companion): 59.35 % of 5 kW for 10 min"),
    row("melt-heat", &[("mass", "1 kg"), ("solid-heat", "0.903 kJ/kgK"), ("latent-heat", "390 kJ/kg"), ("liquid-heat", "1 kJ/kgK"), ("melting-point", "660 C"), ("start", "20 C"), ("pour", "660 C")],
        "968 kJ", 0.02, Print, "otvet.ya.guru 1581049: aluminium"),
    row("melt-heat", &[("mass", "1 kg"), ("solid-heat", "0.13 kJ/kgK"), ("latent-heat", "25 kJ/kg"), ("liquid-heat", "1 kJ/kgK"), ("melting-point", "327 C"), ("start", "20 C"), ("pour", "327 C")],
        "65 kJ", 0.2, Print, "otvet.ya.guru 1581049: lead"),
    row("melt-heat", &[("mass", "2 kg"), ("solid-heat", "1 kJ/kgK"), ("latent-heat", "390 kJ/kg"), ("liquid-heat", "1.2 kJ/kgK"), ("melting-point", "600 C"), ("start", "20 C"), ("pour", "500 C")],
        "960 kJ", 1e-9, Closed, "below the melting point nothing melts"),
    row("fuel-mass", &[("energy", "4712 Btu"), ("efficiency", "100 %"), ("heating-value", "20000 Btu/lb")], "0.24 lb", 2.0, Print, "hobby mailing list: 20 lb of brass"),
    row("fuel-mass", &[("energy", "113.4 MJ"), ("efficiency", "15 %"), ("heating-value", "50.05 MJ/kg")], "15.1 kg", 0.1, Hand,
        "100 kg aluminium to 720 C at 1134 kJ/kg (NIST Shomate); propane 50.05 MJ/kg"),

    row("melt-time", &[("energy", "3.6 MJ"), ("efficiency", "50 %"), ("power", "2 kW")], "1 h", 1e-9, Closed, "2 kW for an hour is 7.2 MJ, half of it in the metal"),
    row("warm-up-fuel", &[("power", "20 kW"), ("time", "30 min"), ("heating-value", "50 MJ/kg")], "0.72 kg", 1e-9, Closed, "20 kW for half an hour is 36 MJ"),
    row("pattern-size", &[("size", "24 in"), ("contraction", "1/8 in/ft")], "24 1/4 in", 1e-9, Print, SHOP_2),
    row("pattern-size", &[("size", "24 in"), ("contraction", "3/16 in/ft")], "24 3/8 in", 1e-9, Print, SHOP_2),
    row("pattern-size", &[("size", "24 in"), ("contraction", "1/4 in/ft")], "24 1/2 in", 1e-9, Print, SHOP_2),
    row("pattern-size", &[("size", "500 mm"), ("contraction", "1/8 in/ft")], "505.21 mm", 0.001, Print, BLOCK),
    misprint("pattern-size", &[("size", "100 mm"), ("contraction", "1/8 in/ft")], "106.28 mm", "101.04 mm", 0.01,
        "course note, iron block: draft added to the height, which a taper leaves as it is"),
    row("double-contraction", &[("size", "24 in"), ("first", "1/8 in/ft"), ("second", "1/4 in/ft")], "24.755208 in", 1e-5, Closed, "24 1/4 in by a rule of 24 1/2 in"),
    row("pattern-weight", &[("mass", "1 kg"), ("wood-density", "0.45 g/cm3"), ("metal-density", "7.2 g/cm3")], "16.5 kg", 3.1, Print, NAVY),
    row("pattern-weight", &[("mass", "1 kg"), ("wood-density", "0.45 g/cm3"), ("metal-density", "7.85 g/cm3")], "17 kg", 3.1, Print, NAVY),
    row("heat-to-freeze", &[("latent-heat", "445 kJ/kg"), ("liquid-heat", "1150 J/kgK"), ("solid-heat", "1000 J/kgK"), ("pour", "715 C"),
        ("liquidus", "613 C"), ("solidus", "560 C")], "619.275 kJ/kg", 1e-6, Closed, "A356 by hand: 445 + 1.15 x 102 + 1.075 x 53"),
    row("freezes-at", &[("solidus", "560 C"), ("liquidus", "613 C")], "573.25 C", 1e-6, Closed, "a quarter of 53 K over 560 C"),
    row("mould-constant-derived", &[("melting-point", "573.25 C"), ("latent-heat", "619.275 kJ/kg"), ("metal-density", "2400 kg/m3"),
        ("sand-temperature", "20 C"), ("sand-conductivity", "0.87 W/mK"), ("sand-density", "1550 kg/m3"), ("sand-heat", "1170 J/kgK")],
        "3.605 s/mm2", 1.2, Print, "A356 plate of 20 mm on two fine one-dimensional grids: solid after 360.6 s, modulus 10 mm"),
    row("section-freezing-time", &[("modulus", "1 cm"), ("constant", "1.54 min/cm2"), ("body", "plate")], "1.54 min", 1e-6, Print, RELATIVE_TIMES),
    row("section-freezing-time", &[("modulus", "9.375 mm"), ("constant", "3.606 s/mm2"), ("body", "bar")], "248.8 s", 5.0, Print, HEAT_FLOW),
    row("section-freezing-time", &[("modulus", "8.3333 mm"), ("constant", "3.606 s/mm2"), ("body", "square-bar")], "179.8 s", 5.0, Print, HEAT_FLOW),
    row("section-freezing-time", &[("modulus", "1 cm"), ("constant", "1.54 min/cm2"), ("body", "round")], "1 min", 0.2, Print, RELATIVE_TIMES),
    row("section-freezing-time", &[("modulus", "10 mm"), ("constant", "3.606 s/mm2"), ("body", "ball")], "216.5 s", 2.0, Print, HEAT_FLOW),
    row("feeder-neck", &[("length", "20 mm"), ("feeder", "80 mm")], "36 mm", 1e-9, Hand, "rule of the steel and iron foundry, from memory"),
    row("mould-weight", &[("cope-lift", "104.8 lbf"), ("factor", "1.4313")], "150 lb", 0.01, Print, SHOP_1),
    row("mould-weight", &[("cope-lift", "58.5 N"), ("cope", "4.894627 kg"), ("factor", "1")], "1.070702 kg", 0.01, Hand, GATE_1991),
    row("mould-weight", &[("cope-lift", "10 N"), ("core-lift", "5 N"), ("cope", "40 kg")], "0 kg", 1e-9, Closed, DEFINITION),
    row("casting-size", &[("size", "24 1/4 in"), ("contraction", "1/8 in/ft")], "24 in", 1e-6, Print, SHOP_2),
    row("pattern-weight", &[("mass", "1 kg"), ("wood-density", "0.45 g/cm3"), ("metal-density", "8.7 g/cm3")], "18.5 kg", 4.7, Print, NAVY),
    misprint("pattern-weight", &[("mass", "1 kg"), ("wood-density", "0.45 g/cm3"), ("metal-density", "2.7 g/cm3")], "5 kg", "6 kg", 1e-6,
        "US Navy Foundry Manual: the aluminium factor wants a wood of its own"),
    row("machining-allowance", &[("size", "100 mm"), ("grade", "G")], "1.4 mm", 1e-9, Print, ISO_4),
    row("machining-allowance", &[("size", "101 mm"), ("grade", "G")], "2.2 mm", 1e-9, Print, ISO_4),
    row("machining-allowance", &[("size", "63 mm"), ("grade", "A")], "0.1 mm", 1e-9, Print, ISO_4),
    row("machining-allowance", &[("size", "400 mm"), ("grade", "F")], "2.5 mm", 1e-9, Print, ISO_4),
    row("machining-allowance", &[("size", "6300 mm"), ("grade", "K")], "22 mm", 1e-9, Print, ISO_4),
    row("machining-allowance", &[("size", "1600 mm"), ("grade", "J")], "11 mm", 1e-9, Print, ISO_4),
    row("machining-shop", &[("size", "76 mm"), ("face", "bore"), ("metal", "non-ferrous")], "1.6 mm", 1e-9, Print, SHOP_STOCK),
    row("machining-shop", &[("size", "300 mm"), ("face", "cope"), ("metal", "non-ferrous")], "3.2 mm", 1e-9, Print, SHOP_STOCK),
    row("machining-shop", &[("size", "400 mm"), ("face", "surface"), ("metal", "iron")], "4 mm", 1e-9, Print, SHOP_STOCK),
    misprint("machining-allowance", &[("size", "40 mm"), ("grade", "K")], "2 mm", "1.4 mm", 1e-9,
        "ISO 8062-4 as copied, against ISO 8062-3 and GB/T 6414-2017"),
    row("with-allowance", &[("volume", "1 L"), ("machined-area", "100 cm2"), ("allowance", "2 mm")], "1020 cm3", 1e-9, Closed, GEOMETRY),
    row("draft", &[("height", "4 mm"), ("method", "hand")], "6.9 deg", 1e-9, Print, ISO_DRAFT),
    row("draft", &[("height", "100 mm"), ("method", "hand")], "1.4 deg", 1e-9, Print, ISO_DRAFT),
    row("draft", &[("height", "100 mm"), ("method", "machine")], "1.2 deg", 1e-9, Print, ISO_DRAFT),
    row("draft", &[("height", "1600 mm"), ("method", "machine")], "0.4 deg", 1e-9, Print, ISO_DRAFT),
    row("fillet", &[("wall", "8 mm")], "8 mm", 1e-9, Print, "afsinc.org ItemNumber=6929"),
    row("fillet", &[("wall", "8 mm"), ("other-wall", "12 mm")], "10 mm", 1e-9, Print, "afsinc.org ItemNumber=6929"),
    row("flask-volume", &[("length", "300 mm"), ("width", "200 mm"), ("depth", "50 mm")], "3 L", 1e-9, Closed, GEOMETRY),
    row("mould-sand", &[("flask", "100 L"), ("casting", "0 L"), ("rammed-density", "1682.5 kg/m3")], "168.25 kg", 0.01, Print,
        "P. N. Rao's pipe, scribd.com/document/256424299: cope sand 1650 N"),
    row("mould-sand", &[("flask", "3 L"), ("casting", "0.75 L"), ("rammed-density", "1.6 g/cm3")], "3.6 kg", 1e-9, Closed, DEFINITION),
    row("bench-time-by-volume", &[("volume", "1 ft3"), ("rate", "0.75 h/ft3")], "45 min", 1e-9, Closed, DEFINITION),
    row("bench-time-by-mass", &[("mass", "4 kg"), ("rate", "15 min/kg")], "1 h", 1e-9, Closed, DEFINITION),
    row("bench-time-by-area", &[("area", "400 cm2"), ("rate", "0.5 h/100 cm2")], "2 h", 1e-9, Closed, DEFINITION),
    row("volume-of-mass", &[("mass", "2.7 kg"), ("density", "2.7 g/cm3")], "1 L", 1e-9, Closed, DEFINITION),
    row("casting-yield", &[("casting", "6 kg"), ("poured", "10 kg")], "60 %", 1e-9, Closed, DEFINITION),
    row("taken-by-mass", &[("mass", "20 kg"), ("share", "8 %")], "1.6 kg", 1e-9, Closed, DEFINITION),
    row("taken-by-area", &[("area", "800 cm2"), ("rate", "40 g/m2")], "3.2 g", 1e-9, Closed, DEFINITION),
    row("electricity", &[("heat", "3 MJ"), ("efficiency", "50 %")], "6 MJ", 1e-9, Closed, DEFINITION),
    row("cylinders", &[("fuel", "5.5 kg"), ("cylinder", "11 kg")], "0.5", 1e-9, Closed, DEFINITION),
    row("without-allowance", &[("volume", "1020 cm3"), ("machined-area", "100 cm2"), ("allowance", "2 mm")], "1 L", 1e-9, Closed, GEOMETRY),
    row("shrunk-volume", &[("pattern", "1.030301 L"), ("contraction", "1 %")], "1 L", 1e-6, Closed, "1.01^3"),
    row("shrunk-surface", &[("pattern", "1020.1 cm2"), ("contraction", "1 %")], "1000 cm2", 1e-6, Closed, "1.01^2"),
    row("oversize", &[("contraction", "1.3 %")], "1.3 mm", 1e-9, Closed, DEFINITION),
    row("time-per-area", &[("time", "24 min")], "40 h/m2", 1e-6, Closed, "24 min for 100 cm2, a hundred times for 1 m2"),
    row("rectangle", &[("length", "400 mm"), ("width", "300 mm")], "1200 cm2", 1e-9, Closed, GEOMETRY),
    row("ceiling-head", &[("head", "150 mm"), ("cope", "40 mm")], "130 mm", 1e-9, Closed, GEOMETRY),
    row("cope-margin", &[("cope", "15 kg"), ("lift", "147.09975 N")], "1", 1e-6, Closed, "15 kg weigh 147.09975 N"),
    row("box-mass", &[("length", "300 mm"), ("width", "200 mm"), ("depth", "100 mm"), ("wood", "0.6 g/cm3")], "1.296 kg", 1e-6, Hand,
        "four boards: 2 x 540 mm x 100 mm x 20 mm = 2160 cm3"),
    row("lifting-index", &[("load", "44 lb"), ("limit", "22 lb")], "2", 1e-6, Closed, "definition, NIOSH 94-110 rev. 2021"),
    row("people-to-lift", &[("index", "1")], "1", 1e-9, Print, HSE_TEAM),
    row("people-to-lift", &[("index", "1.01")], "2", 1e-9, Print, HSE_TEAM),
    row("people-to-lift", &[("index", "1.333")], "2", 1e-9, Print, HSE_TEAM),
    row("people-to-lift", &[("index", "1.34")], "3", 1e-9, Print, HSE_TEAM),
    row("people-to-lift", &[("index", "1.5")], "3", 1e-9, Print, HSE_TEAM),
    row("team-limit", &[("limit", "20 kg"), ("team", "one")], "20 kg", 1e-9, Closed, DEFINITION),
    row("team-limit", &[("limit", "20 kg"), ("team", "two")], "26.6 kg", 0.3, Print, "safety.networkrail.co.uk, lifting in teams: 20 kg alone, around 26.6 kg for two"),
    row("team-limit", &[("limit", "20 kg"), ("team", "three")], "30 kg", 1e-9, Print, HSE_TEAM),
    row("reach-over", &[("width", "14 in")], "15 in", 1.0, Print, "NIOSH 94-110, H = 8 + W/2 inches; 20 cm stands for 8 in"),
    row("tong-moment", &[("load", "9 kg"), ("tongs", "2 kg"), ("arm", "1 m")], "98.0665 Nm", 1e-6, Closed, "10 kg at 1 m"),
    row("shrinkage-to-feed", &[("shrinkage", "4.5 %")], "4.5 %", 1e-9, Closed, DEFINITION),
    row("shrinkage-to-feed", &[("shrinkage", "-1 %")], "0 %", 1e-9, Closed, "grey iron that grows wants nothing"),
    row("shrinkage-volume", &[("volume", "200 cm3"), ("shrinkage", "6 %")], "12 cm3", 1e-9, Closed, DEFINITION),
    row("feeding-distance", &[("modulus", "10 mm"), ("factor", "4.5")], "90 mm", 1e-9, Print, "4.5 thicknesses of a steel plate with end effect (Pellini; from memory)"),
    row("feeders", &[("longest", "500 mm"), ("distance", "60 mm"), ("feeder", "50 mm"), ("places", "1")], "3", 1e-9, Hand, "500 / 170 = 2.94"),
    row("feeders", &[("longest", "100 mm"), ("distance", "60 mm"), ("feeder", "50 mm"), ("places", "4")], "4", 1e-9, Hand, "four bosses"),
    row("feeder-diameter", &[("volume", "1178.0972 cm3"), ("ratio", "1.5"), ("feeders", "1")], "100 mm", 1e-5, Closed, "cylinder: pi/4 d2 h, h = 1.5 d"),
    row("feeder-height", &[("diameter", "60 mm"), ("ratio", "1.5")], "90 mm", 1e-9, Closed, DEFINITION),
    row("neck-length", &[("feeder", "60 mm")], "15 mm", 1e-9, Hand, "a quarter"),
    row("feeder-volume", &[("feeders", "2"), ("diameter", "100 mm"), ("height", "100 mm"), ("neck", "100 mm"), ("length", "100 mm")], "3141.5927 cm3", 1e-5, Closed, "four cylinders of 785.398 cm3"),
    row("pour-time", &[("mass", "9 kg"), ("factor", "2")], "6 s", 1e-9, Closed, "2 x root of 9"),
    row("pour-before-freezing", &[("freezing", "40 s")], "20 s", 1e-9, Closed, "half of it"),
    row("circle-diameter", &[("area", "78.539816 mm2")], "10 mm", 1e-6, Closed, GEOMETRY),
    row("circle-area", &[("diameter", "10 mm")], "78.539816 mm2", 1e-6, Closed, GEOMETRY),
    row("square-side", &[("area", "324 mm2")], "18 mm", 1e-9, Closed, GEOMETRY),
    row("sprue-top", &[("foot", "14 mm"), ("taper", "4")], "28 mm", 1e-9, Closed, "four times the area, twice the diameter"),
    row("basin-top", &[("sprue", "19 mm")], "57 mm", 1e-9, Hand, "three times it"),
    row("flow-with-loss", &[("flow", "0.25 L/s"), ("discharge", "0.8")], "0.2 L/s", 1e-9, Closed, DEFINITION),
    row("way-area", &[("choke", "150 mm2"), ("ratio", "4")], "600 mm2", 1e-9, Closed, DEFINITION),
    row("area-for-speed", &[("flow", "0.2 L/s"), ("speed", "0.5 m/s")], "400 mm2", 1e-9, Closed, "continuity"),
    row("way-speed", &[("flow", "0.2 L/s"), ("area", "400 mm2")], "0.5 m/s", 1e-9, Closed, "continuity"),
    row("ingate-thickness", &[("wall", "10 mm")], "6 mm", 1e-9, Hand, "0.6 of it"),
    row("ingate-thickness", &[("wall", "4 mm")], "3 mm", 1e-9, Hand, "no finer"),
    row("ingates", &[("area", "500 mm2"), ("thickness", "6 mm")], "3", 1e-9, Hand, "83 mm of width"),
    row("ingate-width", &[("area", "600 mm2"), ("ingates", "2"), ("thickness", "6 mm")], "50 mm", 1e-9, Closed, GEOMETRY),
    row("ingate-area", &[("ingates", "2"), ("width", "50 mm"), ("thickness", "6 mm")], "600 mm2", 1e-9, Closed, GEOMETRY),
    row("runner-length", &[("pattern", "300 mm"), ("ingates", "3")], "260 mm", 1e-9, Hand, "200 mm and 60 mm"),
    row("ingate-length", &[("thickness", "6 mm")], "24 mm", 1e-9, Hand, "four thicknesses"),
    row("ingate-length", &[("thickness", "3 mm")], "20 mm", 1e-9, Hand, "no shorter"),
    row("well-area", &[("choke", "150 mm2")], "750 mm2", 1e-9, Hand, "five times it"),
    row("well-depth", &[("runner", "18 mm")], "36 mm", 1e-9, Hand, "twice it"),
    row("cylinder-volume", &[("diameter", "10 cm"), ("depth", "10 cm")], "785.39816 cm3", 1e-6, Closed, "cylinder: pi/4 d2 h"),
    row("runner-volume", &[("side", "2 cm"), ("length", "10 cm")], "40 cm3", 1e-9, Closed, GEOMETRY),
    row("ingate-volume", &[("area", "6 cm2"), ("length", "2 cm")], "12 cm3", 1e-9, Closed, GEOMETRY),
    row("shake-out", &[("freezing", "2 min"), ("factor", "7")], "14 min", 1e-9, Closed, DEFINITION),
    row("mould-constant-of-section", &[("time", "4 min"), ("modulus", "1 cm"), ("body", "plate")], "4 min/cm2", 1e-9, Closed, "a plate of 1 cm"),
    row("mould-constant-of-section", &[("time", "4 min"), ("modulus", "1 cm"), ("body", "round")], "6.1538462 min/cm2", 1e-5, Hand, "over 0.65 for a round bar"),
    row("thickness-of-modulus", &[("modulus", "5 mm")], "10 mm", 1e-9, Closed, "plate: M = T/2"),
];

/// Works a formula the way `reckon` does: by key, from text, defaults filled in.
fn reckon(formula: &Formula, given: Inputs) -> f64 {
    for (key, _) in given {
        assert!(formula.input(key).is_some(), "{} takes no {key}", formula.name);
    }
    let values: Vec<f64> = formula
        .inputs
        .iter()
        .map(|input| {
            let text = given.iter().find(|(key, _)| *key == input.name).map(|(_, text)| *text);
            let Some(text) = text else {
                return input
                    .default
                    .unwrap_or_else(|| panic!("{} wants {}", formula.name, input.name));
            };
            if input.words.is_empty() {
                read(input.kind, text)
                    .unwrap_or_else(|e| {
                        panic!("{} {}: {text}: {}", formula.name, input.name, e.says)
                    })
                    .likely
            } else {
                let at = input.words.iter().position(|w| *w == text);
                at.unwrap_or_else(|| panic!("{} is no {}", text, input.name)) as f64
            }
        })
        .collect();
    (formula.evaluate)(&values)
}

fn called(name: &str) -> &'static Formula {
    find(name).unwrap_or_else(|| panic!("no formula is called {name}"))
}

/// Difference of `ours` from `theirs` in per cent.
fn off(ours: f64, theirs: f64) -> f64 {
    if ours == theirs { 0.0 } else { (ours / theirs - 1.0) * 100.0 }
}

#[test]
fn worked_examples() {
    let mut failed = Vec::new();
    println!(
        "{:<23} {:>18} {:>14} {:>9} {:>9}  {:<8}  source",
        "formula", "expected", "ours", "off, %", "within", "rests on"
    );
    for row in ROWS {
        let formula = called(row.formula);
        let ours = reckon(formula, row.inputs);
        let expected = read(formula.kind, row.expected).expect(row.expected).likely;
        let difference = off(ours, expected);
        println!(
            "{:<23} {:>18} {:>14} {:>9.3} {:>9}  {:<8}  {}",
            row.formula,
            row.expected,
            show(formula.kind, ours, System::Metric),
            difference,
            if row.within < 1e-3 { "exact".to_owned() } else { row.within.to_string() },
            format!("{:?}", row.rests).to_lowercase(),
            row.source
        );
        let holds = match row.right {
            None => difference.abs() <= row.within,
            Some(right) => {
                let right = read(formula.kind, right).expect(right).likely;
                difference.abs() > 10.0 * row.within && off(ours, right).abs() <= row.within
            }
        };
        if !holds {
            failed.push(format!("{} from {}: {ours} ({})", row.formula, row.expected, row.source));
        }
    }
    assert!(failed.is_empty(), "{failed:#?}");
}

/// Freezing times of two bodies, one over the other, whatever the mould constant.
fn freezing_ratio(one: Inputs, other: Inputs) -> f64 {
    let constant = [("constant", "3 min/cm2")];
    let time = |body: Inputs| {
        let given: Vec<_> = body.iter().chain(&constant).copied().collect();
        reckon(called("freezing-time"), given.leak())
    };
    time(one) / time(other)
}

#[test]
fn freezing_times_compared() {
    // GATE-ME 2015 (selfstudy365): cylinder h = r against cube of side 2h; cube with its top
    // insulated against the same cube; cylinder D = H against cube of side 2D.
    let cylinder: Inputs = &[("volume", "3.14159265 cm3"), ("surface", "12.5663706 cm2")];
    let cube: Inputs = &[("volume", "8 cm3"), ("surface", "24 cm2")];
    assert!((freezing_ratio(cylinder, cube) - 0.5625).abs() < 1e-6);
    let insulated: Inputs = &[("volume", "8 cm3"), ("surface", "20 cm2")];
    assert!((freezing_ratio(insulated, cube) - 36.0 / 25.0).abs() < 1e-9);
    let equal: Inputs = &[("volume", "0.785398163 cm3"), ("surface", "4.71238898 cm2")];
    assert!((freezing_ratio(equal, cube) - 0.25).abs() < 1e-6);
}

#[test]
fn every_formula_has_its_example_and_its_own_name() {
    let names: BTreeSet<_> = ALL.iter().map(|f| f.name).collect();
    assert_eq!(names.len(), ALL.len(), "two formulas share a name");
    let shown: BTreeSet<_> =
        ROWS.iter().filter(|r| r.rests != Misprint).map(|r| r.formula).collect();
    assert_eq!(names, shown, "formulas and worked examples differ");
}

#[test]
fn every_record_is_whole() {
    for f in ALL {
        for text in [f.name, f.gives, f.says, f.source, f.holds] {
            assert!(!text.trim().is_empty(), "{}", f.name);
        }
        let keys: BTreeSet<_> = f.inputs.iter().map(|i| i.name).collect();
        assert_eq!(keys.len(), f.inputs.len(), "{}", f.name);
        for i in f.inputs {
            assert!(!i.about.is_empty(), "{} {}", f.name, i.name);
            assert!(i.valid.0 < i.valid.1, "{} {}", f.name, i.name);
            if let Some(default) = i.default {
                assert!((i.valid.0..=i.valid.1).contains(&default), "{} {}", f.name, i.name);
            }
            if !i.words.is_empty() {
                assert_eq!(i.valid, (0.0, (i.words.len() - 1) as f64), "{} {}", f.name, i.name);
            }
        }
    }
}

#[test]
fn worked_examples_lie_where_the_formula_holds() {
    // Inputs that test the edge of a table on purpose.
    let beyond = |row: &Row| row.inputs.contains(&("frequency", "16 /min"));
    for row in ROWS.iter().filter(|r| !beyond(r)) {
        let formula = called(row.formula);
        let mut values: Vec<f64> = formula.inputs.iter().map(|i| i.valid.0).collect();
        for (key, text) in row.inputs {
            let (at, input) = formula.input(key).expect(key);
            let word = input.words.iter().position(|word| word == text);
            let read = || read(input.kind, text).expect(text).likely;
            values[at] = word.map_or_else(read, |word| word as f64);
        }
        let strays = formula.strays(&values.into_iter().map(Range::exact).collect::<Vec<_>>());
        assert!(strays.is_empty(), "{} {:?}: {strays:?}", row.formula, row.inputs);
    }
}

#[test]
fn odd_values_never_stop_the_tool() {
    let odd = [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -1.0, -0.0, 0.0, 1e-12, 3.0, 1e12];
    for f in ALL {
        for &all in &odd {
            for at in 0..f.inputs.len() {
                for &one in &odd {
                    let mut values = vec![all; f.inputs.len()];
                    values[at] = one;
                    let _ = (f.evaluate)(&values);
                }
            }
        }
        let _ = (f.evaluate)(&[]);
    }
}

#[test]
fn what_cannot_be_is_said_to_be_so() {
    let never = |name, given| {
        let value = reckon(called(name), given);
        assert!(value.is_infinite() && value > 0.0, "{name}: {value}");
    };
    never("feeder-by-volume", &[("volume", "1 L"), ("shrinkage", "6 %"), ("efficiency", "5 %")]);
    never(
        "fill-time-bottom",
        &[
            ("mould-area", "1 m2"),
            ("mould-height", "2 m"),
            ("gate-area", "1 cm2"),
            ("height", "1 m"),
        ],
    );
    for (name, given) in [
        ("machining-allowance", [("size", "7 m"), ("grade", "F")] as [(&str, &str); 2]),
        ("draft", [("height", "2 m"), ("method", "hand")]),
    ] {
        assert!(reckon(called(name), Vec::from(given).leak()).is_nan(), "{name}");
    }
    let sand = &[("flask", "1 L"), ("casting", "2 L"), ("rammed-density", "1.6 g/cm3")];
    assert_eq!(reckon(called("mould-sand"), sand), 0.0);
    let limit = |frequency, hours| {
        let given = vec![
            ("horizontal", "25 cm"),
            ("vertical", "75 cm"),
            ("travel", "25 cm"),
            ("angle", "0 deg"),
            ("frequency", frequency),
            ("hours", hours),
            ("coupling", "good"),
        ];
        reckon(called("lifting-limit"), given.leak())
    };
    assert_eq!(limit("1 /min", "9 h"), 0.0);
    assert!(limit("1 /min", "8 h") > 0.0);
}

/// No value inside the ranges may lie outside what the formula makes of them: 1,000 boxes of each
/// formula, 40 points in each, every fourth of them on the edge of its box in most inputs.
#[test]
fn ranges_hold_every_value_within() {
    let mut outside = Vec::new();
    'formulas: for f in ALL {
        // Each formula throws its own dice, so that a new one does not change what the others meet.
        let bytes = f.name.bytes().map(u64::from);
        let mut seed = bytes.fold(7_u64, |seed, byte| seed.wrapping_mul(31).wrapping_add(byte));
        let mut dice = || {
            seed = seed
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (seed >> 11) as f64 / (1_u64 << 53) as f64
        };
        for (name, _) in f.turns {
            assert!(f.input(name).is_some(), "{} has no input {name}", f.name);
        }
        for _ in 0..1_000 {
            let mut between = |low: f64, high: f64| low + dice() * (high - low);
            let inputs: Vec<Range> = f
                .inputs
                .iter()
                .map(|i| {
                    // Away from nought, where a default means "the same as the other".
                    let (low, high) = (i.valid.0 + 0.01 * (i.valid.1 - i.valid.0), i.valid.1);
                    if i.words.is_empty() {
                        let (a, b) = (between(low, high), between(low, high));
                        Range::between(a, b)
                    } else {
                        Range::exact(between(0.0, i.valid.1 + 1.0).floor().min(i.valid.1))
                    }
                })
                .collect();
            let range = f.over(&inputs);
            if !(range.low.is_finite() && range.high.is_finite()) {
                continue;
            }
            for point in 0..40 {
                let mut at = |r: &Range| match between(0.0, 1.0) {
                    side if point % 4 == 0 && side < 0.4 => r.low,
                    side if point % 4 == 0 && side < 0.8 => r.high,
                    _ => between(r.low, r.high),
                };
                let values: Vec<f64> = inputs.iter().map(&mut at).collect();
                let value = (f.evaluate)(&values);
                let slack = 1e-9 * (range.high.abs() + range.low.abs());
                if !(range.low - slack..=range.high + slack).contains(&value) {
                    outside.push(format!("{}: {value} for {values:?} not in {range:?}", f.name));
                    continue 'formulas;
                }
            }
        }
    }
    assert!(outside.is_empty(), "{}", outside.join("\n"));
}

/// Metal rises no higher than the basin it comes from: a head below the top of the casting is
/// pointed out beside what is reckoned, and one above it is not.
#[test]
fn a_head_below_what_it_is_to_fill_is_pointed_out() {
    let warned = |given: &[&str]| {
        let given: Vec<String> = given.iter().map(|g| (*g).to_owned()).collect();
        ReckonView::new(called("effective-head"), &given).expect("reckoned").warnings
    };
    let casting = ["head=15 cm", "casting-height=20 cm"];
    for (gate, cope, low) in [
        ("gate=parting", "cope-height=10 cm", false),
        ("gate=parting", "cope-height=16 cm", true),
        ("gate=bottom", "cope-height=10 cm", true),
        ("gate=top", "cope-height=10 cm", false),
        ("gate=parting", "cope-height=22 cm", true),
    ] {
        let warnings = warned(&[gate, casting[0], casting[1], cope]);
        assert_eq!(!warnings.is_empty(), low, "{gate} {cope}: {warnings:?}");
    }
    let says = &warned(&["gate=bottom", casting[0], casting[1], "cope-height=10 cm"])[0];
    assert!(says.contains("does not fill"), "{says}");
    // Of a head in doubt the likely 20 cm are too low, though 30 might be enough.
    let doubted = ["gate=parting", "head=10..30 cm", "casting-height=25 cm", "cope-height=22 cm"];
    assert!(!warned(&doubted).is_empty());
    // Likely 25 cm are enough, 20 are not: the metal may not rise so high.
    let doubted = ["gate=parting", "head=20..30 cm", "casting-height=25 cm", "cope-height=22 cm"];
    let says = &warned(&doubted)[0];
    assert!(
        says.starts_with("at an end of what is given: ") && says.contains("does not fill"),
        "{says}"
    );
    let sure = ["gate=parting", "head=23..30 cm", "casting-height=25 cm", "cope-height=22 cm"];
    assert_eq!(warned(&sure), [""; 0]);
}

/// An input of which an end lies where the formula does not hold is pointed out, as one that lies there
/// itself is.
#[test]
fn an_end_outside_the_range_is_pointed_out() {
    let formula = called("effective-head");
    let head = formula.inputs.iter().position(|i| i.name == "head").expect("an input");
    let span = formula.inputs[head].valid;
    let strays = |low: f64, likely: f64, high: f64| {
        let mut inputs: Vec<Range> = [0.0, 0.2, 0.1, 0.1].map(Range::exact).into();
        inputs[head] = Range { low, likely, high };
        formula
            .strays(&inputs)
            .iter()
            .filter(|s| s.starts_with("head "))
            .cloned()
            .collect::<Vec<_>>()
    };
    let inside = (span.0 + span.1) / 2.0;
    assert_eq!(strays(span.0, inside, span.1), [""; 0]);
    assert_eq!(
        strays(span.0, inside, span.1 * 1.1),
        ["head may be outside the range in which this holds"]
    );
    assert_eq!(
        strays(span.0 * 0.5 - 1e-3, inside, span.1),
        ["head may be outside the range in which this holds"]
    );
    assert_eq!(
        strays(span.0, span.1 * 1.1, span.1 * 1.2),
        ["head is outside the range in which this holds"]
    );
}

/// The lifting limit is highest with the hands at 75 cm: NIOSH 94-110, p. 15.
#[test]
fn the_peak_of_the_lifting_limit_is_seen() {
    let f = called("lifting-limit");
    let at = |low: f64, high: f64| {
        let mut inputs = [0.25, 0.75, 0.25, 0.0, 0.2 / 60.0, 3600.0, 0.0].map(Range::exact);
        inputs[1] = Range::between(low, high);
        f.over(&inputs)
    };
    assert!((at(0.3, 1.5).high - 23.0).abs() < 1e-9, "{:?}", at(0.3, 1.5));
    assert!((at(0.3, 0.7).high - 23.0 * 0.985).abs() < 1e-9, "{:?}", at(0.3, 0.7));
}

/// Each input that is not given is asked for by its name, what it measures and an example; one that has
/// a usual value, or is given wrongly, is not.
#[test]
fn what_is_missing_is_asked_for() {
    let asked = |given: &[&str]| -> Vec<String> {
        let given: Vec<String> = given.iter().map(|g| (*g).to_owned()).collect();
        let refused = ReckonView::new(called("cope-lift"), &given).err().unwrap_or_default();
        refused.into_iter().map(|f| format!("{}; {}", f.says, f.hint.unwrap_or_default())).collect()
    };
    assert_eq!(asked(&["area=600 cm2", "head=15 cm", "density=2.4 g/cm3"]), [""; 0]);
    let told = asked(&["area=600 cm2", "density=2.4 g/cm3"]);
    assert_eq!(told, ["`head` is missing: a length; add head='180 mm'"]);
    let told = asked(&["area=600 kg", "head=15 cm", "density=2.4 g/cm3"]);
    assert!(told.len() == 1 && told[0].starts_with("area: "), "{told:?}");
    // What is shown to write can be written so.
    assert_eq!(asked(&["area=600 cm2", "density=2.4 g/cm3", "head=180 mm"]), [""; 0]);
    let told = asked(&["area", "head=15 cm", "density=2.4 g/cm3"]);
    assert!(told[0].ends_with("; try area=640 cm2"), "{told:?}");
}

/// Of the units that a slip could mean the nearest is offered: from `litrs` it is one letter to litre,
/// two to liter.
#[test]
fn the_nearest_unit_is_offered() {
    let refused = read(pourwright::figure::Kind::Volume, "3 litrs").expect_err("no such unit");
    assert_eq!(refused.hint, "did you mean `litre`?");
}
