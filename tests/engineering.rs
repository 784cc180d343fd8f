//! The foundry engineering of every casting in the example builds, and one plate by hand.

use pourwright::estimate::{CastingEstimate, estimate};
use pourwright::journal::Journal;
use pourwright::manifest;
use pourwright::model::{self, Build};
use std::collections::BTreeSet;
use std::path::Path;

/// None of these builds names a file beside it.
fn no_files(_: &str) -> std::io::Result<Vec<u8>> {
    Err(std::io::ErrorKind::NotFound.into())
}

fn load(text: &str) -> Build {
    let (manifest, faults) = manifest::read("build.yaml", text.as_bytes().to_vec(), &no_files)
        .unwrap_or_else(|f| panic!("unreadable: {:?}", f.list));
    assert!(faults.is_empty(), "{faults:?}");
    let today = manifest.header.looked_at.unwrap_or(manifest.header.begun);
    match model::check(manifest, faults, Journal::default(), today) {
        Ok((build, faults)) => {
            assert!(faults.is_empty(), "{faults:?}");
            build
        }
        Err((_, faults)) => panic!("{faults:?}"),
    }
}

fn examples() -> Vec<(String, Build)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("projects");
    let mut out = Vec::new();
    for entry in std::fs::read_dir(root).expect("projects") {
        let path = entry.expect("entry").path().join("build.yaml");
        if let Ok(text) = std::fs::read_to_string(&path) {
            out.push((path.display().to_string(), load(&text)));
        }
    }
    assert!(out.len() >= 3, "the examples are missing");
    out
}

fn castings(build: &Build) -> Vec<(String, CastingEstimate)> {
    let estimates = estimate(build).castings;
    let parts = build.parts.iter().zip(estimates);
    parts.filter_map(|(p, e)| Some((p.id().to_string(), e?))).collect()
}

#[test]
fn every_casting_of_the_examples_can_be_made_so() {
    let mut faults = Vec::new();
    let mut seen = 0;
    for (file, build) in examples() {
        println!("\n{file}");
        println!(
            "{:<18} {:>7} {:>7} {:>5} {:>8} {:>7} {:>6} {:>6} {:>14} {:>6} {:>7} {:>6}",
            "casting",
            "kg",
            "poured",
            "yield",
            "feeders",
            "D mm",
            "sprue",
            "runner",
            "ingates mm",
            "time s",
            "lift N",
            "lay kg"
        );
        let parts = build.parts.iter().filter(|p| p.casting.is_some());
        for ((id, e), part) in castings(&build).into_iter().zip(parts) {
            seen += 1;
            let mut wrong = |says: String| faults.push(format!("{file} {id}: {says}"));
            let mut names = BTreeSet::new();
            for (name, node) in e.figures() {
                let r = node.range();
                if ![r.low, r.likely, r.high].iter().all(|v| v.is_finite()) {
                    wrong(format!("{name} is not finite: {r:?}"));
                }
                if r.low > r.likely || r.likely > r.high {
                    wrong(format!("{name} is out of order: {r:?}"));
                }
                if !name.bytes().all(|b| b.is_ascii_lowercase() || b == b'-') {
                    wrong(format!("{name} is no name"));
                }
                if !names.insert(name) {
                    wrong(format!("two figures are called {name}"));
                }
            }
            let casting = part.casting.as_ref().expect("cast");
            let sized = build.patterns[casting.pattern].given.length.is_some();
            let (g, f) = (e.gating.as_ref(), e.feeding.feeders.as_ref());
            if sized && g.is_none() {
                wrong("has sizes but no gating".into());
            }
            let si = |x: Option<f64>| x.unwrap_or(f64::NAN);
            let mass = si(e.size.rough_mass.as_ref().map(|f| f.si()));
            let poured = si(e.poured.as_ref().map(|f| f.si()));
            println!(
                "{:<18} {:>7.2} {:>7.2} {:>5.2} {:>8} {:>7.1} {:>6.1} {:>6.1} {:>14} {:>6.1} {:>7.0} {:>6.1}",
                id,
                mass,
                poured,
                si(e.casting_yield.as_ref().map(|f| f.si())),
                format!(
                    "{}{}",
                    si(f.map(|f| f.number.si())),
                    if f.is_some_and(|f| f.sleeved) { " slv" } else { "" }
                ),
                1e3 * si(f.map(|f| f.diameter.si())),
                1e3 * si(g.map(|g| g.sprue.base.si())),
                1e3 * si(g.map(|g| g.ways.runner_side.si())),
                format!(
                    "{} x {:.1} x {:.1}",
                    si(g.map(|g| g.ways.ingates.si())),
                    1e3 * si(g.map(|g| g.ways.ingate_width.si())),
                    1e3 * si(g.map(|g| g.ways.ingate_thickness.si()))
                ),
                si(g.map(|g| g.sprue.time.si())),
                si(e.loads.cope_lift.as_ref().map(|f| f.si())),
                si(e.loads.weights.as_ref().map(|f| f.si())),
            );
            for text in e.warnings.iter().chain(&e.notes) {
                println!("    - {text}");
            }
            let casting_yield = si(e.casting_yield.as_ref().map(|f| f.si()));
            if !(0.2..=0.85).contains(&casting_yield) {
                wrong(format!("casting yield {casting_yield:.3}"));
            }
            if let (Some(feeder), Some(whole)) = (f.map(|f| &f.volume), &e.size.rough_volume) {
                if feeder.si() > 2.0 * whole.si() {
                    wrong(format!("feeders {} on {}", feeder.si(), whole.si()));
                }
                if feeder.si() > whole.si() && e.feeding.warnings.is_empty() {
                    wrong("a feeder larger than its casting, and not a word".into());
                }
            }
            if let Some(g) = g {
                let (n, w, t) = (&g.ways.ingates, &g.ways.ingate_width, &g.ways.ingate_thickness);
                if w.si() * t.si() < 20e-6 * (1.0 - 1e-9) {
                    wrong(format!("an ingate of {} x {}", w.si(), t.si()));
                }
                if n.si() < f64::from(build.patterns[casting.pattern].given.cavities) {
                    wrong("a casting without an ingate".into());
                }
            }
            let speed = g.map(|g| &g.ways.ingate_speed);
            if let (Some(v), Some(limit)) = (speed, &casting.alloy.ingate_speed)
                && v.si() > limit.si() * (1.0 + 1e-6)
            {
                wrong(format!("{} m/s in the ingates", v.si()));
            }
            if let Some((wanted, time)) = g.map(|g| (&g.sprue.time_wanted, &g.sprue.time))
                && time.si() > wanted.si() * 1.001
            {
                wrong(format!("fills in {} instead of {}", time.si(), wanted.si()));
            }
            let per = f64::from(e.mould.cavities);
            let parts = mass
                + e.feeding.mass().map_or(0.0, |m| m.si())
                + g.map_or(0.0, |g| g.mass.si() / per);
            if g.is_some() && (parts / poured - 1.0).abs() > 1e-9 {
                wrong(format!("{parts} kg in parts, {poured} kg poured"));
            }
            if let Some(index) = &e.handling.crucible_index
                && (index.high() > 1.0) != e.warnings.iter().any(|w| w.contains("full crucible"))
            {
                wrong(format!("crucible index {} and the wrong words", index.si()));
            }
            let told = |words: &str| e.warnings.iter().any(|w| w.contains(words));
            let weighted = e.loads.weights.as_ref().is_some_and(|w| w.high() > 0.0);
            if (weighted, e.loads.cope_lift.is_some() && !weighted)
                != (told("clamped"), told("its own weight is enough"))
            {
                wrong("not a word of weights on the cope, or a wrong one".into());
            }
        }
    }
    assert!(seen > 50, "{seen} castings");
    assert!(faults.is_empty(), "{faults:#?}");
}

const PLATE: &str = "
build: {title: One plate, begun: 2026-01-10}
shop:
  flasks:
    box: {inside: 320 x 300 mm, cope: 100 mm, drag: 100 mm}
  sand: {kind: green-sand, on-hand: 100 kg}
patterns:
  plate: {size: 203 x 152 x 20.3 mm, in-cope: 0 mm}
parts:
  plate:
    name: Plate
    casting:
      pattern: plate
      alloy: A356
      wall: 20 mm
      shape: {add: [{plate: {length: 200 mm, width: 150 mm, thickness: 20 mm}}]}
";

/// A plate of A356, 200 x 150 x 20 mm, followed by hand with the likely values of the tables.
#[test]
fn a_plate_by_hand() {
    let build = load(PLATE);
    let (_, e) = castings(&build).remove(0);
    // name, by hand in SI, how
    let hand = [
        ("volume", 600e-6, "20 x 15 x 2 cm"),
        ("rough-mass", 1.608, "600 cm3 x 2.68 g/cm3"),
        ("modulus", 8.108e-3, "600 cm3 / 740 cm2"),
        ("heat-to-freeze", 619.3e3, "445 + 1.15 x (715 - 613) + 1.075 x (613 - 560) kJ/kg"),
        (
            "mould-constant",
            3.593e6,
            "pi/4 x (2400 x 619275 / (573.25 - 20))^2 / (0.87 x 1550 x 1170) = 5.99 min/cm2",
        ),
        ("freezes-last", 236.2, "3.593e6 x 0.008108^2; a plate, so without correction"),
        ("shake-out-after", 1653.0, "7 x 236.2 s"),
        ("fed-volume", 600e-6, "all of it"),
        ("shrinkage-volume", 31.2e-6, "5.2 % of 600 cm3"),
        ("feeder-by-modulus", 51.89e-3, "1.2 x 8.108 x (2 + 4 x 1.5) / 1.5"),
        ("feeder-volume-wanted", 354.5e-6, "600 x 5.2 / (14 - 5.2)"),
        ("feeding-distance", 48.65e-3, "3 x 2 x 8.108"),
        ("feeders", 2.0, "200 / (51.9 + 2 x 48.65) = 1.34, up"),
        ("feeder-by-volume", 53.19e-3, "cube root of 4 x 354.5 / (pi x 1.5 x 2) cm3"),
        ("feeder-diameter", 54e-3, "next millimetre"),
        ("feeder-height", 81e-3, "1.5 x 54"),
        ("neck-length", 13.5e-3, "54 / 4"),
        ("neck-diameter", 25e-3, "13.5 + 0.2 x 54 = 24.3, up"),
        ("feeder-volume", 384.3e-6, "2 x pi/4 x (5.4^2 x 8.1 + 2.5^2 x 1.35) cm3"),
        ("feeder-mass", 0.9222, "384.3 x 2.4 g"),
        ("metal-through-choke", 2.530, "1.608 + 0.922"),
        ("pouring-time-wanted", 3.181, "2 x sqrt(2.530)"),
        ("basin-depth", 63e-3, "2.5 x 23 = 57.5: 50 is too little, 63 serves"),
        ("head", 163e-3, "100 + 63"),
        ("effective-head", 163e-3, "nothing in the cope"),
        ("choke-area", 231.7e-6, "2.530 / (2400 x 3.181 x 0.8 x sqrt(2 x 9.807 x 0.163))"),
        ("sprue-base", 18e-3, "sqrt(4 x 231.7 / pi) = 17.2, up"),
        ("sprue-taper", 1.6085, "sqrt(163 / 63)"),
        ("sprue-top", 23e-3, "18 x sqrt(1.6085) = 22.8, up"),
        ("flow", 364.0e-6, "0.8 x 1.788 m/s x 254.5 mm2"),
        ("pouring-time", 2.896, "1054 cm3 / 364 cm3/s"),
        ("sprue-speed", 1.788, "sqrt(2 x 9.807 x 0.163)"),
        ("reynolds", 70_220.0, "2400 x 1.788 x 0.018 / 0.0011"),
        ("runner-side", 23e-3, "sqrt(2 x 254.5) = 22.6, up"),
        ("ingate-area-wanted", 728.0e-6, "364 cm3/s / 0.5 m/s; by ratio 509"),
        ("ingate-thickness", 10e-3, "0.6 x 20 = 12, at most 10; a plate of 10"),
        ("thickest-place", 20e-3, "its thickness"),
        ("ingates", 2.0, "728 / (10 x 40) = 1.8, up"),
        ("ingate-width", 37e-3, "728 / (2 x 10) = 36.4, up"),
        ("ingate-speed", 0.4919, "364 / 740"),
        ("runner-length", 161.5e-3, "203 / 2 + 60"),
        ("well-diameter", 41e-3, "sqrt(4 x 5 x 254.5 / pi) = 40.2, up"),
        ("well-depth", 46e-3, "2 x 23"),
        ("basin-diameter", 69e-3, "3 x 23"),
        (
            "gating-volume",
            322.4e-6,
            "113.4 basin + 33.2 sprue + 60.7 well + 85.4 runner + 29.6 gates",
        ),
        ("gating-mass", 0.7737, "322.4 x 2.4 g"),
        ("poured", 3.304, "1.608 + 0.922 + 0.774"),
        ("casting-yield", 0.4867, "1.608 / 3.304"),
        ("charge", 3.442, "3.304 / 0.96"),
        ("plan-area", 374.6e-4, "20.26 x 15.2 plate + 16.13 x 2.3 runner + 2 x 3.7 x 4 gates, cm"),
        ("cope-lift", 143.7, "0.03746 x 0.163 x 2400 x 9.807"),
        ("cope-mass", 15.82, "(9.6 - 0.384 feeders - 0.033 sprue) L x 1.55 + boards 2.64 L x 0.6"),
        ("weights-on-cope", 6.16, "1.5 x 143.7 / 9.807 - 15.82"),
        ("fall-in-cavity", 20.3e-3, "all of it in the drag"),
        ("sand-over", 100e-3, "the cope; nothing of the plate in it"),
        ("sand-under", 79.7e-3, "100 - 20.26"),
        ("casting-length", 200.4e-3, "203 / 1.013"),
        ("pattern-sizes", 202.6e-3, "200 x 1.013"),
        ("fillet", 20e-3, "the wall"),
        ("draft-drag", 2.6_f64.to_radians(), "20 mm deep, by hand"),
    ];
    // A foot of 18 mm: EN 1057 goes 15, 18, 22.
    assert!(e.notes.iter().any(|n| n.contains("tube of 18 mm")), "{:?}", e.notes);
    let ours = e.figures();
    for (name, by_hand, how) in hand {
        let node = ours.iter().find(|(n, _)| *n == name).map(|(_, f)| f);
        let node = node.unwrap_or_else(|| panic!("no figure is called {name}"));
        let off = (node.range().likely / by_hand - 1.0) * 100.0;
        println!("{name:<22} {:>12.5e} {by_hand:>12.5e} {off:>7.3} %  {how}", node.range().likely);
        assert!(off.abs() < 1.0, "{name}: {} against {by_hand} ({how})", node.range().likely);
    }
}

/// The same plate in inches, thin, in grey iron, unsized and in a metal that floats.
#[test]
fn the_plate_changed() {
    let changed = |from: &str, to: &str| {
        let text = PLATE.replace(from, to);
        assert_ne!(text, PLATE, "{from}");
        castings(&load(&text)).remove(0).1
    };
    let inches = changed("begun: 2026-01-10", "begun: 2026-01-10, units: us");
    let base = inches.gating.expect("gating").sprue.base.si() / 0.0254 * 16.0;
    assert!((base - base.round()).abs() < 1e-9, "{base} sixteenths");

    let thin = changed("thickness: 20 mm", "thickness: 6 mm");
    assert!(thin.feeding.feeders.is_none());
    assert!(thin.notes.iter().any(|n| n.contains("no feeder")), "{:?}", thin.notes);

    // A quarter of the plate lies in the cope, 150 cm3, and so much less sand: 1.55 kg to the litre.
    let cope = |e: &CastingEstimate| e.loads.cope_mass.as_ref().expect("a cope").si();
    let parted = changed("in-cope: 0 mm", "in-cope: 5.065 mm");
    let less = cope(&castings(&load(PLATE)).remove(0).1) - cope(&parted);
    assert!((less - 0.150 * 1.55).abs() < 0.005, "{less} kg");

    let iron = changed("A356", "grey-iron-20");
    let aluminium = castings(&load(PLATE)).remove(0).1;
    let feeder = |e: &CastingEstimate| e.feeding.feeders.as_ref().expect("feeder").volume.si();
    assert!(feeder(&iron) < 0.2 * feeder(&aluminium));

    // A shape tells the size of its pattern; a volume does not.
    let shape = "shape: {add: [{plate: {length: 200 mm, width: 150 mm, thickness: 20 mm}}]}";
    let unsized_ = PLATE.replace("size: 203 x 152 x 20.3 mm, in-cope: 0 mm", "made-of: wood");
    assert!(castings(&load(&unsized_)).remove(0).1.gating.is_some());
    let unsized_ = castings(&load(&unsized_.replace(shape, "volume: 600 cm3"))).remove(0).1;
    assert!(unsized_.gating.is_none());
    let poured = unsized_.poured.expect("by the yield of the table").si();
    assert!((poured - 1.608 / 0.55).abs() < 1e-9, "{poured}");

    let floats = changed("A356", "ZA-27");
    assert!(floats.notes.iter().any(|n| n.contains("drag")), "{:?}", floats.notes);

    let odd = changed(
        "parts:",
        "alloys: {A356: {shrinkage: 20 %}}
parts:",
    );
    assert!(odd.feeding.feeders.is_none() && odd.poured.expect("poured").si().is_finite());
    assert!(odd.warnings.iter().any(|n| n.contains("shrinkage")), "{:?}", odd.warnings);

    let wall = changed("wall: 20 mm", "wall: 2 mm");
    assert!(wall.warnings.iter().any(|n| n.contains("thinner")), "{:?}", wall.warnings);

    let massy = changed(
        "shape: {add: [{plate: {length: 200 mm, width: 150 mm, thickness: 20 mm}}]}",
        "mass: 1.6 kg",
    );
    // Of an unknown body feeders are shared out along the 203 mm of its pattern, about its middle.
    let (layout, n) = massy.layout.as_ref().expect("laid out as a box");
    let laid = &layout.patterns[*n];
    let from_middle = |i: usize| laid.feeders.iter().map(move |f| f.at[i] - laid.castings[0][i]);
    let mut along: Vec<f64> = (0..2).flat_map(from_middle).filter(|m| m.abs() > 1e-9).collect();
    along.sort_by(f64::total_cmp);
    assert_eq!(along.len(), 2, "{along:?}");
    assert!(
        (along[0] + 0.203 / 4.0).abs() < 1e-9 && (along[1] - 0.203 / 4.0).abs() < 1e-9,
        "{along:?}"
    );
    let modulus = massy.freezing.thickest.expect("by the wall").si();
    assert!(modulus < 0.010 && modulus > 0.007, "{modulus}");
}

/// Changes a build by its text and gives its first casting and its likely figures.
fn reckoned(text: &str) -> (CastingEstimate, impl Fn(&str) -> f64 + use<>) {
    let e = castings(&load(text)).remove(0).1;
    let figures = e.figures();
    let si = move |name: &str| {
        let found = figures.iter().find(|(n, _)| *n == name);
        found.unwrap_or_else(|| panic!("no figure is called {name}")).1.range().likely
    };
    (e, si)
}

fn near(ours: f64, theirs: f64, within: f64, what: &str) {
    assert!((ours / theirs - 1.0).abs() < within, "{what}: {ours}, by hand {theirs}");
}

const BOSSED: &str = "
build: {title: A plate with a boss, begun: 2026-01-10}
shop:
  furnaces:
    oven: {fuel: propane, efficiency: 10 %, power: 20 kW, cylinder: 11 kg}
  crucibles:
    pot: {holds: 3 L, mass: 3 kg, tongs: 2 kg, tong-length: 80 cm, family: aluminium}
  flasks:
    box: {inside: 320 x 300 mm, cope: 100 mm, drag: 100 mm}
  sand: {kind: green-sand, on-hand: 100 kg}
patterns:
  plate: {size: 203 x 152 x 40 mm, in-cope: 10 mm}
parts:
  plate:
    name: Plate
    casting:
      pattern: plate
      alloy: A356
      cores: {volume: 1 L}
      shape:
        add:
          - plate: {length: 200 mm, width: 150 mm, thickness: 10 mm}
          - cylinder: {diameter: 50 mm, length: 30 mm}
            as: boss
        less:
          - cylinder: {diameter: 30 mm, length: 30 mm}
            of: boss
";

/// A bored boss cools like the tube it is, and not like a solid bar; the plate keeps its metal.
#[test]
fn a_bore_is_taken_from_the_boss_that_it_is_in() {
    let (e, si) = reckoned(BOSSED);
    let section = |name: &str| e.freezing.sections.iter().find(|s| s.name == name).expect("named");
    // Tube of 50 x 30 x 30 mm standing on one end: 37.70 cm3 over pi x 8 x 3 + pi/4 x 16 cm2.
    near(section("boss").modulus.si(), 37.699e-6 / 87.965e-4, 1e-3, "boss");
    near(section("boss").modulus.node().range().low, 37.699e-6 / 100.531e-4, 1e-3, "free");
    near(section("plate").modulus.si(), 300e-6 / 670e-4, 1e-9, "plate");
    let unnamed = BOSSED.replace("            of: boss\n", "");
    let (blind, _) = reckoned(&unnamed);
    let solid = blind.freezing.sections.iter().find(|s| s.name == "boss").expect("named");
    near(solid.modulus.si(), 58.905e-6 / 66.759e-4, 1e-3, "boss, unbored");
    // Plate 670 less the boss's ring of 12.57, boss 47.12 around and 12.57 on top, bore 28.27.
    near(
        si("cooling-surface"),
        (670.0 - 12.566 + 47.124 + 12.566 + 28.274) * 1e-4,
        1e-3,
        "cooling surface",
    );
    // A rib b on a plate a holds a ball of a + b^2 / (4 a), 12.5 mm for 10 on 10; here the plate's
    // 10 mm on no more than 4 x 4.286 mm, since 36 % of the boss are bored away.
    let place = e.freezing.thickest_place.expect("a place").node().range();
    let a = 4.0 * 37.699e-6 / 87.965e-4;
    near(place.high, a + 0.010 * 0.010 / (4.0 * a), 1e-3, "boss on plate");
    assert!(place.low <= 0.010 && 0.010 <= place.likely, "the ring is 10 mm thick: {place:?}");
}

#[test]
fn chilled_and_insulated_faces_change_the_modulus() {
    let (_, bare) = reckoned(BOSSED);
    let with = |key: &str| {
        reckoned(&BOSSED.replace("alloy: A356\n", &format!("alloy: A356\n      {key}\n"))).1
    };
    near(
        with("insulated: 100 cm2")("cooling-surface"),
        bare("cooling-surface") - 0.01,
        1e-9,
        "insulated",
    );
    near(
        with("chilled: 100 cm2")("cooling-surface"),
        bare("cooling-surface") + 0.01,
        1e-9,
        "chilled",
    );
    assert!(with("insulated: 100 cm2")("modulus") > bare("modulus"));
    // At the least 60 cm2 are chilled, and take the heat of half as much sand again.
    let low = |text: &str| {
        let figures = reckoned(text).0.figures();
        figures.iter().find(|(n, _)| *n == "cooling-surface").expect("it").1.range().low
    };
    let doubted = BOSSED.replace("alloy: A356\n", "alloy: A356\n      chilled: 60..100 cm2\n");
    near(low(&doubted), low(BOSSED) + 0.003, 1e-9, "chilled at the least");
}

/// The constant that the builder's clock gives makes the timed section freeze in just that time,
/// and serves every casting of that alloy in that sand.
#[test]
fn a_timed_casting_sets_the_constant() {
    let timed = BOSSED.replace("alloy: A356\n", "alloy: A356\n      froze-in: 100 s\n")
        + "  other:
    name: Other
    casting: {pattern: plate, alloy: A356, wall: 10 mm, volume: 0.3 L}
  zinc:
    name: Zinc
    casting: {pattern: plate, alloy: ZA-12, wall: 10 mm, volume: 0.3 L}
";
    let all = castings(&load(&timed));
    let derived = castings(&load(&timed.replace("      froze-in: 100 s\n", "")));
    near(all[0].1.freezing.freezes_last.as_ref().expect("time").si(), 100.0, 1e-9, "timed");
    let constant = |e: &CastingEstimate| e.freezing.mould_constant.as_ref().expect("C").si();
    near(constant(&all[1].1), constant(&all[0].1), 1e-12, "other");
    near(constant(&all[2].1), constant(&derived[2].1), 1e-12, "zinc");
    assert!((constant(&all[0].1) / constant(&derived[0].1) - 1.0).abs() > 0.05);
}

#[test]
fn gates_furnace_tongs_and_cores_by_hand() {
    let (e, si) = reckoned(BOSSED);
    let g = 9.806_65;
    near(si("head"), 0.100 + si("basin-depth"), 1e-9, "parting");
    // h - p^2 / (2 c), with 10 of 40 mm in the cope.
    near(si("effective-head"), si("head") - 0.010 * 0.010 / 0.080, 1e-9, "parting, effective");
    let gated = |at: &str| {
        reckoned(&BOSSED.replace("in-cope: 10 mm", &format!("in-cope: 10 mm, gate: {at}"))).1
    };
    let bottom = gated("bottom");
    near(bottom("head"), 0.130 + bottom("basin-depth"), 1e-9, "bottom: 30 mm lower");
    near(bottom("effective-head"), bottom("head") - 0.020, 1e-9, "bottom, effective");
    near(bottom("cope-lift"), si("cope-lift"), 0.2, "the cope feels the basin, not the gate");
    let top = gated("top");
    near(top("head"), 0.090 + top("basin-depth"), 1e-9, "top: 10 mm higher");
    near(top("effective-head"), top("head"), 1e-9, "top, effective");

    let heat = si("melt-heat");
    near(si("melt-time"), heat / 0.1 / 20e3, 1e-9, "time");
    near(si("cylinders"), si("fuel") / 11.0, 1e-9, "cylinders");
    let electric = BOSSED.replace(
        "{fuel: propane, efficiency: 10 %, power: 20 kW, cylinder: 11 kg}",
        "{fuel: electricity}",
    );
    // The handbook's usual efficiency of a resistance furnace is 60 %.
    near(reckoned(&electric).1("electricity"), heat / 0.6, 1e-9, "electricity");

    near(si("moment-at-hands"), (si("crucible-full") + 1.0) * 0.8 * g, 1e-9, "tongs");
    let sand = 1550.0;
    let metal = 2400.0;
    near(si("core-lift"), 1e-3 * (metal - sand) * g, 1e-9, "net");
    let displaced = BOSSED.replace("cores: {volume: 1 L}", "cores: {volume: 1 L, lift: displaced}");
    near(reckoned(&displaced).1("core-lift"), 1e-3 * metal * g, 1e-9, "displaced");
    // 998.2 g of water at 20 C is a litre.
    let boxed = BOSSED.replace("cores: {volume: 1 L}", "cores: {water: 998.2 g}");
    near(reckoned(&boxed).1("core-lift"), si("core-lift"), 1e-9, "water");
    assert!(!e.warnings.iter().any(|w| w.contains("trade number")), "{:?}", e.warnings);

    let numbered = BOSSED.replace("holds: 3 L", "trade-number: 16");
    let warnings = reckoned(&numbered).0.warnings;
    assert!(warnings.iter().any(|w| w.contains("trade number")), "{warnings:?}");
    let shared = BOSSED.replace(", family: aluminium", "");
    let warnings = reckoned(&shared).0.warnings;
    assert!(warnings.iter().any(|w| w.contains("an alloy of another family")), "{warnings:?}");

    // A pattern is larger than its casting by the contraction, 1.3 %, along each side.
    let weighed = BOSSED[..BOSSED.find("      shape:").expect("shape")].to_owned()
        + "      wall: 10 mm\n      water: 998.2 g\n";
    near(reckoned(&weighed).1("volume"), 1e-3 / 1.013_f64.powi(3), 1e-9, "water pushed out");
}

/// A dumb-bell as a mesh: two cubes of 40 mm on a plate of 8 mm. The thickest place is found, and
/// it is that which is fed.
#[test]
fn the_thickest_place_of_a_mesh_is_fed() {
    // Outline of a T lying on its side, pulled up by 40 mm: head 40 x 40, tail 100 x 8.
    let outline = [
        [0.0, 0.0],
        [40.0, 0.0],
        [40.0, 16.0],
        [140.0, 16.0],
        [140.0, 24.0],
        [40.0, 24.0],
        [40.0, 40.0],
        [0.0, 40.0],
    ];
    let mut stl = String::from("solid t\n");
    let mut facet = |corners: [[f64; 3]; 3]| {
        stl += "facet normal 0 0 0\nouter loop\n";
        for [x, y, z] in corners {
            stl += &format!("vertex {x} {y} {z}\n");
        }
        stl += "endloop\nendfacet\n";
    };
    let up = |[x, y]: [f64; 2], z: f64| [x, y, z];
    for i in 0..outline.len() {
        let (a, b) = (outline[i], outline[(i + 1) % outline.len()]);
        facet([up(a, 0.0), up(b, 0.0), up(b, 40.0)]);
        facet([up(a, 0.0), up(b, 40.0), up(a, 40.0)]);
    }
    for [a, b, c] in [[0, 1, 2], [0, 2, 5], [0, 5, 7], [5, 6, 7], [2, 3, 4], [2, 4, 5]] {
        let corners = [outline[a], outline[b], outline[c]];
        facet(corners.map(|p| up(p, 40.0)));
        let [a, b, c] = corners.map(|p| up(p, 0.0));
        facet([a, c, b]);
    }
    stl += "endsolid t\n";
    let text = BOSSED[..BOSSED.find("      shape:").expect("shape")].to_owned()
        + "      mesh: {file: t.stl}\n";
    let text = text.replace("203 x 152 x 40 mm", "203 x 152 x 41 mm");
    let beside = |_: &str| Ok(stl.clone().into_bytes());
    let (manifest, faults) = manifest::read("build.yaml", text.clone().into_bytes(), &beside)
        .unwrap_or_else(|f| panic!("unreadable: {:?}", f.list));
    assert!(faults.is_empty(), "{faults:?}");
    let today = manifest.header.begun;
    let (build, _) = model::check(manifest, faults, Journal::default(), today)
        .unwrap_or_else(|(_, faults)| panic!("{faults:?}"));
    let e = castings(&build).remove(0).1;
    near(e.size.volume.as_ref().expect("volume").si(), (64.0 + 32.0) * 1e-6, 1e-9, "volume");
    let place = e.freezing.thickest_place.as_ref().expect("a place").node().range();
    assert!(place.low <= 0.040 && 0.040 <= place.high, "{place:?}");
    assert!((place.likely / 0.040 - 1.0).abs() < 0.06, "{place:?}");
    let last = e.freezing.sections.last().expect("sections");
    assert_eq!(last.name, "thickest place");
    // A cube of 40 mm has a modulus of 40/6 mm: within what is said, and above the mean.
    let modulus = last.modulus.node().range();
    assert!(modulus.low <= 0.040 / 6.0 && 0.040 / 6.0 <= modulus.high, "{modulus:?}");
    assert!(e.feeding.feeders.is_some(), "{:?}", e.notes);
}

/// An ingate is 0.6 of the wall that it joins, as it is likely to be: of 8 to 14 mm, likely 11, that is
/// 6.6 mm, and the next plate is 8 mm. By the thinnest it would be 4.8 mm, and 5.
#[test]
fn an_ingate_goes_by_the_likely_wall() {
    let text = BOSSED
        .replace("      cores: {volume: 1 L}", "      cores: {volume: 1 L}\n      wall: 8..14 mm");
    let (_, si) = reckoned(&text);
    near(si("ingate-thickness"), 0.008, 1e-9, "plate for the ingates");
}

/// The plate of the boss, 20 mm thick, with other solids on it.
fn with_solids(wall: &str, solids: &str) -> Vec<String> {
    let (before, _) = BOSSED.split_once("      cores:").expect("a casting");
    let text = format!("{before}      wall: {wall}\n      shape:\n        add:\n{solids}");
    reckoned(&text).0.warnings
}

/// A plate of 20 mm has a modulus of 8.1 mm, one of 100 x 80 x 15 mm of 5.6 mm, seven tenths of it, and is
/// frozen first: told below four fifths. One of 20 mm beside it has 6.9 mm, more than that.
#[test]
fn a_thin_section_that_may_cut_off_a_thick_one_is_told() {
    let told = |thickness: u32| {
        let solids = format!(
            "          - plate: {{length: 200 mm, width: 150 mm, thickness: 20 mm}}\n          - plate: {{length: 100 mm, width: 80 mm, thickness: {thickness} mm}}\n"
        );
        let warnings = with_solids("20 mm", &solids);
        warnings.iter().filter(|w| w.contains("may cut a thick one off")).count()
    };
    assert_eq!([told(15), told(20)], [1, 0]);
}

/// A pin of 14 mm, short as it is thick, has a modulus of 14 / 6 mm or a little more, as thin as a wall of
/// 6 mm; but a ball of 14 mm lies in it, more than half as thick again as such a wall, and not as one of 10 mm.
#[test]
fn a_thick_place_among_thin_walls_is_told() {
    let told = |wall: &str| {
        let solids = format!(
            "          - plate: {{length: 200 mm, width: 150 mm, thickness: {wall}}}\n          - cylinder: {{diameter: 14 mm, length: 14 mm}}\n            as: pin\n"
        );
        let warnings = with_solids(wall, &solids);
        let told = warnings.into_iter().filter(|w| w.contains("fits inside where the walls are"));
        told.collect::<Vec<_>>()
    };
    let warnings = told("6 mm");
    assert!(warnings.len() == 1 && warnings[0].starts_with("pin: a ball of 14 mm"), "{warnings:?}");
    assert_eq!(told("10 mm"), [""; 0]);
}

/// 120 mm of grey iron: ISO 8062-4 asks for 1.5 to 3.0 mm by grades F to H, 2.2 mm by G; a shop leaves
/// 2.4 mm on a plain face and 4.8 mm in the cope. Each end is the larger that is there.
#[test]
fn stock_is_the_larger_of_the_standard_and_of_a_shop() {
    let (before, _) = BOSSED.split_once("      cores:").expect("a casting");
    let plate = "{length: 120 mm, width: 80 mm, thickness: 20 mm}";
    let text =
        format!("{before}      machined: 90 cm2\n      shape: {{add: [{{plate: {plate}}}]}}\n")
            .replace("alloy: A356", "alloy: grey-iron-30");
    let allowance = reckoned(&text).0.size.allowance.expect("stock");
    let range = allowance.node().range();
    for (ours, by_hand) in [(range.low, 1.5), (range.likely, 2.4), (range.high, 4.8)] {
        near(ours * 1e3, by_hand, 1e-9, "stock");
    }
}
