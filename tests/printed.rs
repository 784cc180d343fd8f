//! Patterns as they are written for a printer, read back by an independent mesh library; and a
//! second reader, who cuts a pattern from the words of the card alone.

mod common;

use base64::Engine;
use pourwright::estimate::estimate;
use pourwright::model::{Build, Hole, Piece, Printed};
use pourwright::shape::Body;
use pourwright::view::sheet::{MouldCards, Paper, PatternPaper};
use pourwright::{Today, read_beside};
use serde_json::{Value, json};
use std::path::Path;

fn demo() -> Build {
    let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo");
    let file = |name: &str| std::fs::read(dir.join(name)).unwrap_or_default();
    let clock = chrono::NaiveDate::from_ymd_opt(2026, 7, 8).expect("a day");
    let beside = |name: &str| std::fs::read(dir.join(name));
    let today = Today { asked: None, clock };
    read_beside(file("build.yaml"), file("journal.yaml"), today, &beside)
        .unwrap_or_else(|faults| panic!("{}", faults[0]))
}

fn printed(build: &Build, part: &str, split: bool) -> Vec<Printed> {
    let at = build.part(part).unwrap_or_else(|| panic!("{part}"));
    let casting = build.parts[at].casting.as_ref().expect("cast");
    let on = &build.patterns[casting.pattern];
    casting.printed(on, split).unwrap_or_else(|why| panic!("{part}: {why}"))
}

#[test]
fn exported_patterns_are_read_back_closed_and_as_large_as_told() {
    let build = demo();
    let asked = [
        ("bull-gear", false),
        ("bull-gear", true),
        ("table", false),
        ("base", false),
        ("ram", true),
        ("shaft-bush", true),
        ("handwheel", false),
        ("large-pulley", true),
        ("cone-pulley", false),
    ];
    let all: Vec<Printed> =
        asked.iter().flat_map(|(part, split)| printed(&build, part, *split)).collect();
    let cut = |p: &Printed, share: f64| {
        let body = Body::of_mesh(p.mesh.clone());
        let [low, high] = body.bounds().map(|corner| corner[2]);
        let z = low + share * (high - low);
        (z * 1e3, body.section(2, z).area() * 1e6)
    };
    let cuts: Vec<[(f64, f64); 2]> = all.iter().map(|p| [cut(p, 0.31), cut(p, 0.73)]).collect();
    let files: Vec<Value> = all
        .iter()
        .zip(&cuts)
        .map(|(p, cuts)| {
            let bytes = p.mesh.stl("<!-- pourwright -->");
            let base64 = base64::engine::general_purpose::STANDARD.encode(bytes);
            json!({ "stl": base64, "cuts": cuts.map(|(z, _)| z) })
        })
        .collect();
    let Some(read) = common::ask("printed patterns", "printed", &json!(files)) else { return };
    for ((p, cuts), theirs) in all.iter().zip(&cuts).zip(read.as_array().expect("a list")) {
        let number = |value: &Value| value.as_f64().expect("a number");
        assert_eq!(theirs["watertight"], true, "{}", p.name);
        let volume = number(&theirs["volume"]) * 1e-9;
        assert!((volume / p.volume - 1.0).abs() < 1e-4, "{}: {volume} for {}", p.name, p.volume);
        for i in 0..3 {
            let size = number(&theirs["extents"][i]) * 1e-3;
            assert!((size - p.extents[i]).abs() < 1e-6, "{}: {size}", p.name);
        }
        for (i, (z, area)) in cuts.iter().enumerate() {
            let theirs = number(&theirs["sections"][i]);
            assert!(
                (theirs - area).abs() < 0.002 * area + 1.0,
                "{} at {z}: {area}, {theirs}",
                p.name
            );
        }
    }
    // Two halves hold what the whole holds; four bushes are four; by hand: 186 mm and 2.8 mm of
    // stock on both sides, 1.3 % larger.
    let volume = |of: &[Printed], name: &str| -> f64 {
        of.iter().filter(|p| p.name.starts_with(name)).map(|p| p.volume).sum()
    };
    let (whole, halves) = (printed(&build, "bull-gear", false), printed(&build, "bull-gear", true));
    assert!((volume(&whole, "pattern") / volume(&halves, "pattern") - 1.0).abs() < 1e-6);
    assert!((whole[0].extents[0] * 1e3 - 191.6 * 1.013).abs() < 0.1, "{:?}", whole[0].extents);
    let boxes: Vec<&Printed> = whole.iter().filter(|p| p.name.contains("box")).collect();
    assert!(boxes.len() == 1 && boxes[0].count == 2, "two like halves for the bore");
    // 30 mm and 1/16 in of stock on both sides, 1.6 % larger, cast solid round its core; two prints.
    let bushes = printed(&build, "shaft-bush", false);
    let [d, bore, long] =
        [30.0 + 25.4 / 8.0, 14.0 - 25.4 / 8.0, 45.0 + 25.4 / 8.0].map(|mm| mm * 1.016e-3);
    let area = |d: f64| std::f64::consts::PI / 4.0 * d * d;
    let one = area(d) * long + 2.0 * area(bore) * 0.015 * 1.016;
    let four = volume(&bushes, "pattern");
    assert!((four / (4.0 * one) - 1.0).abs() < 0.005, "{four} for {}", 4.0 * one);
}

#[test]
fn holes_are_left_cored_or_drilled() {
    let build = demo();
    let how = |part: &str, hole: &str| {
        let casting = build.parts[build.part(part).expect(part)].casting.as_ref().expect("cast");
        let on = &build.patterns[casting.pattern];
        let all = casting.openings(on);
        all.iter().find(|o| o.name == hole).unwrap_or_else(|| panic!("{part}: {hole}")).how
    };
    assert_eq!(how("bull-gear", "bore"), Hole::Core, "17 mm across and 54 deep");
    assert_eq!(how("bull-gear", "dished face"), Hole::Green);
    assert_eq!(how("large-pulley", "lightening holes"), Hole::Green);
    assert_eq!(how("shaft-bush", "tube"), Hole::Core, "it lies along the parting");
    assert_eq!(how("table", "hollow"), Hole::Core, "the builder gives it a core");
    assert_eq!(how("base", "window under the column"), Hole::Green);
    let told = |cores: &str, diameter: &str| {
        let text = format!(
            "build: {{title: Holes, begun: 2026-01-10}}
parts: {{b: {{casting: {{pattern: p, alloy: A356, machined: 9 cm2, allowance: 2 mm{cores},
  shape: {{add: [{{block: {{length: 60 mm, width: 60 mm, height: 60 mm}}}}],
    less: [{{cylinder: {{diameter: {diameter}, length: 60 mm}}, as: hole, at: [0, 0, 0]}}]}}}}}}}}
patterns: {{p: {{made-of: wood}}}}
"
        );
        let clock = chrono::NaiveDate::from_ymd_opt(2026, 7, 8).expect("a day");
        let today = Today { asked: None, clock };
        let build = pourwright::read(text.into_bytes(), Vec::new(), today)
            .unwrap_or_else(|f| panic!("{}", f[0]));
        let all = estimate(&build).castings;
        all[0].as_ref().expect("an estimate").pattern.warnings.join("; ")
    };
    let wants = told("", "20 mm");
    assert!(wants.contains("`hole`, 16 mm across") && wants.contains("cores: {volume:"), "{wants}");
    assert_eq!(told(", cores: {volume: 13 cm3}", "20 mm"), "");
    assert_eq!(told("", "50 mm"), "", "46 across and 64 deep: green sand stands in it");
    assert!(told("", "9 mm").contains("cast it solid and drill it"));
}

/// The words of a page, tags left out.
fn words(html: &str) -> String {
    let mut out = String::new();
    let mut tag = false;
    for c in html.chars() {
        match c {
            '<' => {
                tag = true;
                out.push(' ');
            }
            '>' => tag = false,
            c if !tag => out.push(if c == '\u{a0}' { ' ' } else { c }),
            _ => {}
        }
    }
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_second_reader_cuts_the_pattern_from_the_card_alone() {
    let build = demo();
    let estimates = estimate(&build);
    let part = build.part("bull-gear").expect("there");
    let html = MouldCards::new(&build, &estimates, &[part], Paper::A4).html().expect("a card");
    let card = words(&html);
    // He reads a row: its name, then three sizes in mm; he cuts the last.
    let cut = |name: &str| -> [f64; 3] {
        let at = card.find(&format!("{name} ")).unwrap_or_else(|| panic!("{name}: {card}"));
        let mut numbers = card[at + name.len()..]
            .split(" mm")
            .map(|word| word.trim().parse().unwrap_or_else(|_| panic!("{name}: {word}")));
        [(); 3].map(|()| numbers.next().expect("three sizes"))
    };
    // The metal then shrinks by 1.3 % (Rm 1.3 % of ZA-12), and 2 mm a side at the least must come
    // off: grade F of ISO 8062-4, table 3, for 186 mm.
    let casts = |name: &str| cut(name)[2] / 1.013;
    for (name, wanted, sides) in [
        ("over all, length", 186.0, 2.0),
        ("over all, depth", 48.0, 2.0),
        ("rim and web, diameter", 186.0, 2.0),
        ("rim and web, length", 20.0, 2.0),
    ] {
        let left = casts(name) - wanted;
        assert!(left >= sides * 2.0 && left < sides * 4.0, "{name}: {left} mm to machine");
    }
    let bore = 22.0 - casts("bore, diameter");
    assert!((4.0..8.0).contains(&bore), "{bore} mm to bore");
    let as_cast = casts("dished face, outside") - 150.0;
    assert!(as_cast.abs() < 0.5, "{as_cast}");
}

/// What is hollow in a core box is as large as it is told: what the block lacks is the core, half of a
/// round one. And its sizes stand at lines of the drawing, not in words alone.
#[test]
fn core_boxes_are_dimensioned() {
    let build = demo();
    let estimates = estimate(&build);
    let mut boxes = 0;
    for (at, figures) in estimates.castings.iter().enumerate() {
        let Some((casting, figures)) = build.parts[at].casting.as_ref().zip(figures.as_ref())
        else {
            continue;
        };
        let part = build.parts[at].id();
        let Ok(of) = casting.printed(&build.patterns[casting.pattern], false) else { continue };
        let paper = PatternPaper::new(&build, at, (casting, figures), Paper::A4);
        assert_eq!(paper.boxes.len(), of.len() - 1);
        for (told, of) in paper.boxes.iter().zip(&of[1..]) {
            let [from, to] = of.inside.expect("a core box");
            let size = [0, 1, 2].map(|i| to[i] - from[i]);
            let block: f64 = of.extents.iter().product();
            let core = match of.name.ends_with("half") {
                true => std::f64::consts::PI / 8.0 * size[1].powi(2) * size[0],
                false => size.iter().product(),
            };
            let off = (block - of.volume) / core - 1.0;
            assert!(off.abs() < 0.01, "{part}: {off}");
            let written: Vec<&str> = told.drawing.words.iter().map(|w| w.text.as_str()).collect();
            for length in size.iter().chain(&of.extents) {
                let text = format!("{:.1}\u{a0}mm", length * 1e3).replace(".0\u{a0}", "\u{a0}");
                assert!(written.contains(&text.as_str()), "{part}: {text} of {written:?}");
            }
            let paper = [told.drawing.width, told.drawing.height];
            let mut words = told.drawing.words.iter();
            let off_paper = words.any(|w| w.x > paper[0] || w.y > paper[1] || w.y < 0.0);
            assert!(!off_paper, "{part}: {written:?}");
            boxes += 1;
        }
    }
    assert!(boxes >= 2);
}

/// Cut by hand from the manifest's sizes, 2.8 mm of stock and 1.3 % of contraction: hubs of 14 mm on
/// both sides of a rim of 20 mm, all of it machined, and a core of 22 mm less stock in prints.
#[test]
fn pieces_of_a_pattern_lie_where_they_are_printed() {
    let build = demo();
    let part = build.parts.iter().find(|p| **p.id() == *"bull-gear").expect("the gear");
    let casting = part.casting.as_ref().expect("a casting");
    let pieces = casting.pattern_pieces(&build.patterns[casting.pattern]).expect("placed");
    let stock = casting.stock(&build.patterns[casting.pattern]).expect("machined").si() * 1e3;
    let times = 1.013;
    assert!((stock - 2.8).abs() < 0.1, "{stock}");
    // The rough casting is 48 mm + 2 stocks deep; its finished bottom lies one stock up.
    let print = (22.0 - 2.0 * stock).clamp(15.0, 50.0);
    let wanted = [
        ("rim and web", Piece::Added, 14.0, 14.0 + 20.0 + 2.0 * stock),
        ("hub", Piece::Added, 0.0, 14.0 + stock),
        ("hub", Piece::Added, stock + 34.0, 48.0 + 2.0 * stock),
        ("dished face", Piece::CutOut, 14.0, 14.0 + stock + 8.0),
        ("bore", Piece::Print, -print, 0.0),
        ("bore", Piece::Print, 48.0 + 2.0 * stock, 48.0 + 2.0 * stock + print),
    ];
    let told = pieces.iter().flat_map(|p| p.lies.iter().map(move |lies| (p, lies)));
    let told: Vec<_> = told.collect();
    assert_eq!(told.len(), wanted.len());
    for ((piece, lies), (name, how, from, to)) in told.iter().zip(wanted) {
        assert_eq!((piece.name.as_str(), piece.how), (name, how));
        for (is, by_hand) in lies[2].iter().zip([from, to]) {
            let off = is * 1e3 - by_hand * times;
            assert!(off.abs() < 0.01, "{name}: {} mm, by hand {}", is * 1e3, by_hand * times);
        }
    }
    let across = |name: &str| pieces.iter().find(|p| p.name == name).map(|p| p.sizes.clone());
    let sizes = across("dished face").expect("told");
    let ring = [150.0, 66.0].map(|mm| mm * times / 1e3);
    assert!(sizes.iter().zip(ring).all(|((_, is), by_hand)| (is - by_hand).abs() < 1e-5));
    // The whole of what is printed, for every casting.
    for part in &build.parts {
        let Some(casting) = &part.casting else { continue };
        let mut on = build.patterns[casting.pattern].clone();
        on.given.cavities = 1;
        let Ok(pieces) = casting.pattern_pieces(&on) else { continue };
        let printed = casting.printed(&on, false).expect("what has pieces has a body");
        for axis in 0..3 {
            let all = || {
                let solid = pieces.iter().filter(|p| p.how != Piece::CutOut);
                solid.flat_map(|p| &p.lies).map(|lies| lies[axis])
            };
            let from = all().map(|[from, _]| from).fold(f64::INFINITY, f64::min);
            let to = all().map(|[_, to]| to).fold(f64::NEG_INFINITY, f64::max);
            let off = (to - from) - printed[0].extents[axis];
            assert!(off.abs() < 1e-4, "{}: {off} along {axis}", part.id());
        }
    }
}

/// A block of 120 x 90 x 60 mm with a hole of 60 x 40 mm through it, which is cored: the frame of the
/// core box is as large inside as the core with its two prints, and 1.3 % more, and the core lies in
/// its middle.
#[test]
fn the_frame_of_a_square_core_is_around_it() {
    let text = "\
build: {title: Cored, begun: 2026-01-10}
patterns: {p: {made-of: wood, in-cope: 0 mm}}
parts:
  box:
    casting:
      pattern: p
      alloy: A356
      cores: {volume: 144 cm3}
      shape:
        add: [{block: {length: 120 mm, width: 90 mm, height: 60 mm}, at: [0, 0, 0]}]
        less: [{block: {length: 60 mm, width: 40 mm, height: 60 mm}, at: [0, 0, 0]}]
";
    let clock = chrono::NaiveDate::from_ymd_opt(2026, 7, 8).expect("a day");
    let build = pourwright::read(text.into(), Vec::new(), Today { asked: None, clock })
        .unwrap_or_else(|faults| panic!("{}", faults[0]));
    let casting = build.parts[0].casting.as_ref().expect("cast");
    let openings = casting.openings(&build.patterns[casting.pattern]);
    let print = openings[0].print();
    assert!(openings[0].how == Hole::Core && openings[0].open == [true; 2] && print > 0.0);
    let all = printed(&build, "box", false);
    let frame = all.iter().find(|p| p.name.ends_with("frame")).expect("a frame");
    let by_hand = [[-0.030, -0.020, 0.0], [0.030, 0.020, 0.060 + 2.0 * print]];
    let inside = frame.inside.expect("the core in it");
    for (is, by_hand) in inside.iter().flatten().zip(by_hand.iter().flatten()) {
        assert!((is - by_hand * 1.013).abs() < 1e-9, "{inside:?}");
    }
    // What the frame lacks of its block is the core.
    let block: f64 = frame.extents.iter().product();
    let core = (0.060 * 0.040 * (0.060 + 2.0 * print)) * 1.013_f64.powi(3);
    assert!(((block - frame.volume) / core - 1.0).abs() < 1e-6, "{} of {block}", frame.volume);
}

/// A build that has a manifest and no journal.
fn alone(manifest: String) -> Build {
    let clock = chrono::NaiveDate::from_ymd_opt(2026, 7, 8).expect("a day");
    pourwright::read(manifest.into(), Vec::new(), Today { asked: None, clock })
        .unwrap_or_else(|faults| panic!("{}", faults[0]))
}

/// The core sand that is bought is what fills the core boxes: the drawn core with its prints, whatever
/// of it the builder gives. What the metal lifts is the core between the prints, at the least.
#[test]
fn the_sand_of_a_drawn_core_is_what_its_box_holds() {
    let told = |given: &str| {
        let text = format!(
            "build: {{title: Cored, begun: 2026-01-10}}
shop: {{core-sand: {{kind: baked-sand}}}}
patterns: {{p: {{made-of: wood, in-cope: 0 mm}}}}
parts:
  box:
    casting:
      pattern: p
      alloy: A356
      cores: {{volume: {given}}}
      shape:
        add: [{{block: {{length: 120 mm, width: 90 mm, height: 60 mm}}, at: [0, 0, 0]}}]
        less: [{{block: {{length: 60 mm, width: 40 mm, height: 60 mm}}, at: [0, 0, 0]}}]
"
        );
        let build = alone(text);
        let all = estimate(&build).castings;
        let told = all[0].as_ref().expect("an estimate");
        let si = |name: &str| {
            let figures = told.figures();
            let found = figures.iter().find(|(n, _)| *n == name);
            found.unwrap_or_else(|| panic!("{name}")).1.range()
        };
        (si("cores").likely, si("core-sand").likely, told.pattern.warnings.join("; "))
    };
    // Prints of 40 mm at both ends, as long as the core is thick; 1.3 % of contraction; 1.6 g/cm3.
    let with_prints = 0.060 * 0.040 * 0.140 * 1.013_f64.powi(3);
    for given in ["100 cm3", "144 cm3", "300 cm3"] {
        let (cores, sand, _) = told(given);
        assert!((cores / with_prints - 1.0).abs() < 1e-9, "{given}: {cores}");
        assert!((sand / (with_prints * 1600.0) - 1.0).abs() < 1e-9, "{given}: {sand}");
    }
    assert!((told("400 cm3").0 - 400e-6).abs() < 1e-12, "more than is drawn is taken as given");
    for (given, differs) in
        [("144 cm3", false), ("340 cm3", false), ("100 cm3", true), ("400 cm3", true)]
    {
        let warnings = told(given).2;
        let says =
            "and the cores that are drawn are 0.15 L in the metal and 0.349 L with their prints";
        assert_eq!(warnings.contains(says), differs, "{given}: {warnings}");
    }
}

/// The bar that a print is held to is one that the ruler of the shop has: 100 mm, or 4 in.
#[test]
fn the_bar_on_a_card_is_in_the_units_of_the_shop() {
    let bars = |units: &str| {
        let text = format!(
            "build: {{title: Bar, begun: 2026-01-10, units: {units}}}
patterns: {{p: {{made-of: wood, in-cope: 0 mm}}}}
parts:
  box:
    casting:
      pattern: p
      alloy: A356
      shape: {{add: [{{block: {{length: 120 mm, width: 90 mm, height: 60 mm}}, at: [0, 0, 0]}}]}}
"
        );
        let build = alone(text);
        let all = estimate(&build);
        let casting = build.parts[0].casting.as_ref().expect("cast");
        let figures = all.castings[0].as_ref().expect("an estimate");
        let card = MouldCards::new(&build, &all, &[0], Paper::Letter).html().expect("a card");
        let sheet = PatternPaper::new(&build, 0, (casting, figures), Paper::Letter);
        [card, sheet.html().expect("a sheet")].map(|html| {
            let bar = html.split("class=\"bar\">").nth(1).expect("a bar");
            let bar = bar.split("</p>").next().expect("its end");
            let line = bar.split("H").nth(1).and_then(|l| l.split('"').next()).expect("a line");
            let says = bar.rsplit("</svg>").next().expect("words");
            let unit: String =
                says.split(" on the ruler").next().expect("a length").replace('\u{a0}', " ");
            (line.parse::<f64>().expect("mm") - 2.0, unit)
        })
    };
    assert_eq!(bars("metric"), [(100.0, "100 mm".to_owned()), (100.0, "100 mm".to_owned())]);
    for (long, says) in bars("us") {
        assert!((long - 4.0 * 25.4).abs() < 1e-9 && says == "4 in", "{long} mm, {says}");
    }
}
