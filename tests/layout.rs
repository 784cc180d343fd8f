//! Moulds laid out: what lies in them has sand all round, feeders stand on metal, and what a casting
//! covers is what an independent library finds.

mod common;

#[path = "common/dice.rs"]
mod dice;

use dice::Dice;
use pourwright::estimate::layout::{Laid, Layout, Rect};
use pourwright::estimate::{CastingEstimate, Estimates, FlaskFit, estimate};
use pourwright::model::Build;
use serde_json::{Value, json};
use std::path::Path;

const EXAMPLES: [&str; 4] =
    ["demo", "projects/bench-shaper", "projects/filing-machine", "projects/surface-grinder"];

fn today() -> pourwright::Today {
    let clock = chrono::NaiveDate::from_ymd_opt(2026, 7, 8).expect("a day");
    pourwright::Today { asked: None, clock }
}

fn example(folder: &str) -> Build {
    let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let file = |name: &str| std::fs::read(dir.join(name)).unwrap_or_default();
    let beside = |name: &str| std::fs::read(dir.join(name));
    pourwright::read_beside(file("build.yaml"), file("journal.yaml"), today(), &beside)
        .unwrap_or_else(|faults| panic!("{folder}: {}", faults[0]))
}

/// Every mould of a build that was laid out in a flask of the shop.
fn laid_out(build: &Build, estimates: &Estimates) -> Vec<(String, std::sync::Arc<Layout>)> {
    let alone = estimates.castings.iter().enumerate().filter_map(|(i, e)| {
        Some((build.parts[i].id().to_string(), e.as_ref()?.layout.as_ref()?.0.clone()))
    });
    let shared = estimates.together.iter();
    let shared = shared.filter_map(|t| Some((t.name(build), t.layout.clone()?)));
    alone.chain(shared).filter(|(_, layout)| layout.flask.is_some()).collect()
}

/// A rectangle, or a disc: a point with so much around it.
#[derive(Clone, Copy)]
struct Piece {
    rect: Rect,
    around: f64,
}

impl Piece {
    fn apart(&self, other: &Self) -> f64 {
        self.rect.apart(&other.rect) - self.around - other.around
    }
}

fn disc(at: [f64; 2], across: f64) -> Piece {
    Piece { rect: Rect::around(at, [0.0; 2]), around: across / 2.0 }
}

/// What of a pattern lies in sand, each with its name and the sand that it asks for to the wall.
fn in_sand(laid: &Laid, side: f64) -> Vec<(&'static str, Piece, f64)> {
    let plain = |rect| Piece { rect, around: 0.0 };
    let mut out: Vec<_> = laid.boxes().map(|r| ("casting", plain(r), side)).collect();
    out.extend(laid.feeders.iter().map(|f| ("feeder", disc(f.at, f.size[0]), 0.010)));
    if let Some(ways) = &laid.ways {
        out.push(("runner", plain(ways.runner), 0.020));
        out.push(("sprue", disc(ways.sprue, ways.sizes.sprue[1]), 0.020));
        out.push(("well", disc(ways.sprue, ways.sizes.well[0]), 0.020));
        out.push(("basin", disc(ways.sprue, ways.sizes.basin[0]), 0.0));
    }
    out
}

/// What is wrong with a mould, in words.
fn wrong(build: &Build, layout: &Layout) -> Vec<String> {
    let mut out = Vec::new();
    let sizes = layout.patterns.iter().map(|laid| &build.patterns[laid.pattern].given);
    let largest = sizes
        .flat_map(|p| [&p.length, &p.width])
        .map(|f| f.as_ref().expect("a size").si())
        .fold(0.0, f64::max);
    let side = build.handbook.cover_for(largest).expect("a cover").side.node().range().low;
    const NEAR: f64 = 2e-4;
    let flask = Rect { low: [0.0; 2], high: layout.inside };
    let mut all: Vec<(usize, &str, Piece)> = Vec::new();
    for (n, laid) in layout.patterns.iter().enumerate() {
        for (name, piece, sand) in in_sand(laid, side) {
            let free = piece.rect.grown(piece.around + sand - NEAR);
            if free.with(&flask) != flask {
                out.push(format!("the {name} of pattern {n} is too near the wall: {free:?}"));
            }
            all.push((n, name, piece));
        }
        let Some(ways) = &laid.ways else { continue };
        let reached = laid.boxes().filter(|r| ways.ingates.iter().any(|g| g.apart(r) < 1e-6));
        if reached.count() != laid.castings.len() {
            out.push(format!("a casting of pattern {n} has no ingate"));
        }
        if ways.ingates.iter().any(|g| g.apart(&ways.runner) > 1e-9) {
            out.push(format!("an ingate of pattern {n} does not begin at the runner"));
        }
        for (runs_into, rect) in laid.boxes().map(|r| ("casting", r)) {
            if ways.runner.apart(&rect) < 0.004 {
                out.push(format!("the runner of pattern {n} runs into a {runs_into}"));
            }
        }
    }
    for (i, (n, one, a)) in all.iter().enumerate() {
        for (m, other, b) in &all[..i] {
            let apart = a.apart(b);
            let least = match (*one, *other) {
                // The way in is one; feeders stand on castings; a basin stands on the cope.
                ("runner" | "sprue" | "well" | "basin", "runner" | "sprue" | "well" | "basin")
                    if n == m =>
                {
                    continue;
                }
                ("feeder", "casting" | "runner") | ("casting", "feeder") if n == m => continue,
                ("basin", "basin") => 0.0,
                // Both may stand open on the cope.
                ("basin", "feeder") | ("feeder", "basin") if n == m => 0.010,
                ("basin", _) | (_, "basin") => continue,
                ("casting", "casting") if n == m => 0.005,
                ("casting", "casting") => side - NEAR,
                ("feeder", "feeder") => 0.009,
                ("runner", "casting") if n == m => 0.004,
                ("sprue" | "well", "casting" | "feeder") if n == m => 0.010,
                ("casting" | "feeder", "sprue" | "well") if n == m => 0.010,
                ("casting", "runner") if n == m => 0.004,
                _ => 0.0,
            };
            if apart < least - 1e-9 || (least == 0.0 && apart <= 0.0) {
                out.push(format!("{one} of pattern {n} and {other} of {m} are {apart} m apart"));
            }
        }
    }
    out
}

#[test]
fn nothing_overlaps_and_sand_is_all_round_in_the_examples() {
    let mut moulds = 0;
    for folder in EXAMPLES {
        let build = example(folder);
        let estimates = estimate(&build);
        let mut cramped = 0;
        for (name, layout) in laid_out(&build, &estimates) {
            let wrong = wrong(&build, &layout);
            assert!(wrong.is_empty(), "{folder}, {name}: {wrong:#?}");
            assert!(layout.patterns.iter().all(|laid| laid.ways.is_some()), "{folder}, {name}");
            cramped += layout.patterns.iter().filter(|laid| laid.no_room > 0).count();
            moulds += 1;
        }
        // A neck wider than a thin ring finds no room on it, and that is told.
        let told = estimates.castings.iter().flatten();
        let told = told.filter(|e| e.warnings.iter().any(|says| says.contains("do not fit on it")));
        let told = told.count();
        assert!(cramped <= 8 && (cramped == 0) == (told == 0), "{folder}: {cramped}, {told} told");
    }
    assert!(moulds > 100, "{moulds} moulds");
}

/// Boxes of random sizes, up to four of them in a mould, in a shop of three flasks.
#[test]
fn random_boxes_lie_right_or_are_told() {
    let mut dice = Dice(11);
    let (mut fit, mut not) = (0, 0);
    for _ in 0..40 {
        let many = 1 + dice.roll(3);
        let mut patterns = String::new();
        let mut parts = String::new();
        for n in 0..many {
            let [l, w, d] = [40 + dice.roll(220), 30 + dice.roll(120), 15 + dice.roll(60)];
            let wall = 6 + dice.roll(20);
            let (in_cope, cavities) = (dice.roll(d.min(40)), 1 + dice.roll(4));
            let beside: Vec<String> = (1..many).map(|k| format!("p{k}")).collect();
            let beside = match n {
                0 if many > 1 => format!(", beside: [{}]", beside.join(", ")),
                _ => String::new(),
            };
            let (over, wide, d) = (cavities * (l + 30), w + w / 40 + 1, d + 3);
            patterns += &format!(
                "  p{n}: {{size: {over} x {wide} x {d} mm, in-cope: {in_cope} mm, cavities: {cavities}{beside}}}\n"
            );
            parts += &format!(
                "  q{n}: {{quantity: {cavities}, casting: {{pattern: p{n}, alloy: A356, wall: {wall} mm, shape: {{add: [{{block: {{length: {l} mm, width: {w} mm, height: {} mm}}}}]}}}}}}\n",
                d - 3
            );
        }
        let build = match pourwright::read(
            format!(
                "build: {{title: Boxes, begun: 2026-01-10}}
shop:
  people: {{me: {{hours: {{sat: 7 h}}}}}}
  furnaces: {{drum: {{fuel: propane, efficiency: 10 %}}}}
  crucibles: {{grey: {{holds: 20 L, working-fill: 80 %, family: aluminium}}}}
  flasks:
    small: {{inside: 300 x 250 mm, cope: 90 mm, drag: 90 mm}}
    middle: {{inside: 520 x 400 mm, cope: 130 mm, drag: 130 mm}}
    large: {{inside: 1100 x 700 mm, cope: 180 mm, drag: 180 mm}}
  sand: {{kind: green-sand}}
patterns:
{patterns}parts:
{parts}"
            )
            .into(),
            Vec::new(),
            today(),
        ) {
            Ok(build) => build,
            // A pattern too small for its block and its contraction.
            Err(_) => continue,
        };
        let estimates = estimate(&build);
        for (name, layout) in laid_out(&build, &estimates) {
            let wrong = wrong(&build, &layout);
            assert!(wrong.is_empty(), "{name}: {wrong:#?}\n{patterns}");
            fit += 1;
        }
        let all = estimates.castings.iter().flatten();
        not += all.filter(|e| matches!(e.mould.flask, FlaskFit::Lacking(_))).count();
    }
    assert!(fit > 30 && not > 3, "{fit} fit, {not} do not");
}

/// The body of each casting of the examples as cast, and the necks of its feeders.
fn covered(folder: &str) -> Vec<(Value, f64)> {
    let build = example(folder);
    let estimates = estimate(&build);
    let each = estimates.castings.iter().enumerate().filter_map(
        |(i, e): (_, &Option<CastingEstimate>)| {
            let (layout, n) = e.as_ref()?.layout.as_ref()?;
            let laid = &layout.patterns[*n];
            let body = laid.body.as_ref()?;
            let casting = build.parts[i].casting.as_ref()?;
            let on = &build.patterns[casting.pattern];
            let mesh = casting.as_cast(on)?;
            let [low, high] = mesh.bounds();
            let times = 1.0 + casting.alloy.contraction.as_ref()?.si();
            // Of the first casting, turned back to its own measures.
            let own = |at: [f64; 2]| {
                let off = [at[0] - laid.castings[0][0], at[1] - laid.castings[0][1]];
                let [x, y] = if laid.turned { [off[1], -off[0]] } else { off };
                [x / times + (low[0] + high[0]) / 2.0, y / times + (low[1] + high[1]) / 2.0]
            };
            let each = laid.feeders.len() / laid.castings.len();
            let necks: Vec<Value> = laid.feeders[..each]
                .iter()
                .map(|f| json!({"at": own(f.at), "across": f.neck[0] / times}))
                .collect();
            let question = json!({
                "name": format!("{folder}: {}", build.parts[i].id()),
                "vertices": mesh.mesh().vertices,
                "triangles": mesh.mesh().triangles,
                "necks": necks,
            });
            Some((question, body.plan_area() / (times * times)))
        },
    );
    each.collect()
}

/// Plan areas against the union of the faces seen from above, and the metal straight under each
/// neck, both by shapely.
#[test]
fn plans_agree_with_shapely_and_feeders_stand_on_metal() {
    let asked: Vec<(Value, f64)> = ["demo", "projects/filing-machine", "projects/surface-grinder"]
        .into_iter()
        .flat_map(covered)
        .collect();
    assert!(asked.len() > 50, "{}", asked.len());
    let question: Vec<&Value> = asked.iter().map(|(q, _)| q).collect();
    let Some(answers) = common::ask("layout against shapely", "layout", &json!(question)) else {
        return;
    };
    let mut necks = 0;
    for ((question, area), answer) in asked.iter().zip(answers.as_array().expect("a list")) {
        let found = answer["area"].as_f64().expect("an area");
        assert!((area - found).abs() <= 0.002 * found, "{}: {area}, {found}", question["name"]);
        for bare in answer["bare"].as_array().expect("a list") {
            necks += 1;
            let bare = bare.as_f64().expect("a share");
            // A column of the lattice is some mm wide, so an edge may be missed by half of one.
            assert!(bare <= 0.03, "{}: {bare} of a neck stands on no metal", question["name"]);
        }
    }
    assert!(necks > 40, "{necks} necks");
}

/// Four bars with a nose on each long side, at opposite ends: between two rows the metal comes to the near
/// ones by the nose on their far side, and to the far ones by that on their near side. No ingate reaches
/// past a nose to the bar, 25 mm farther back.
#[test]
fn ingates_join_what_lies_nearest_on_both_sides_of_a_runner() {
    let text = "
build: {title: Noses, begun: 2026-01-10}
shop:
  furnaces: {drum: {fuel: propane, efficiency: 10 %}}
  crucibles: {pot: {holds: 6 L, working-fill: 80 %, family: aluminium}}
  flasks: {box: {inside: 600 x 600 mm, cope: 100 mm, drag: 100 mm}}
  sand: {kind: green-sand}
patterns:
  bars: {cavities: 4, in-cope: 0 mm}
parts:
  bar:
    quantity: 4
    casting:
      pattern: bars
      alloy: A356
      wall: 20 mm
      shape:
        add:
          - block: {length: 100 mm, width: 30 mm, height: 20 mm}
            at: [0, 0, 0]
          - block: {length: 20 mm, width: 25 mm, height: 20 mm}
            at: [-35 mm, 27.5 mm, 0]
          - block: {length: 20 mm, width: 25 mm, height: 20 mm}
            at: [35 mm, -27.5 mm, 0]
";
    let build = pourwright::read(text.into(), Vec::new(), today())
        .unwrap_or_else(|faults| panic!("{}", faults[0]));
    let estimates = estimate(&build);
    let laid = laid_out(&build, &estimates);
    let [(_, layout)] = laid.as_slice() else { panic!("{} moulds", laid.len()) };
    let ways = layout.patterns[0].ways.as_ref().expect("a way in");
    let runner = ways.runner.size();
    let across = usize::from(runner[0] > runner[1]);
    let middle = ways.runner.middle()[across];
    let sides = [-1.0, 1.0].map(|side| {
        ways.ingates.iter().filter(|g| (g.middle()[across] - middle) * side > 0.0).count()
    });
    assert!(sides[0] >= 2 && sides[1] >= 2, "{sides:?}: a runner between two rows");
    // They are cut as long as each must be, and none is longer than the shortest by more than 8 mm.
    let long: Vec<f64> = ways.ingates.iter().map(|g| g.size()[across]).collect();
    let least = long.iter().copied().fold(f64::INFINITY, f64::min);
    assert!(long.iter().all(|l| *l <= least + 0.008 + 1e-9), "{long:?} m");
}

/// Runner and ingates are told as long as they are laid, to a millimetre, in every mould of the examples.
#[test]
fn ways_are_told_as_long_as_they_are_laid() {
    let mut between = 0;
    for folder in EXAMPLES {
        let build = example(folder);
        let estimates = estimate(&build);
        for (i, casting) in estimates.castings.iter().enumerate() {
            let Some((layout, gating)) = casting
                .as_ref()
                .and_then(|e| Some((e.layout.as_ref()?.0.clone(), e.gating.as_ref()?)))
            else {
                continue;
            };
            let Some(ways) = layout.patterns.iter().find_map(|laid| laid.ways.as_ref()) else {
                continue;
            };
            let told = [&gating.ways.runner_length, &gating.ways.ingate_length].map(|f| f.si());
            let laid = [ways.runner_length(), ways.ingate_length()];
            for (told, laid) in told.iter().zip(laid) {
                assert!((told - laid).abs() <= 1e-3, "{}: {told} and {laid}", build.parts[i].id());
            }
            // Two rows on a board of 100 mm, of castings 30 mm across with stock and contraction: half of
            // what they and the runner leave is all that an ingate can be.
            if &**build.parts[i].id() == "shaft-bush" && folder == "demo" {
                let across = layout.patterns[0].casting.map(|side| side * 1e3);
                let across = across[0].min(across[1]);
                assert!((32.0..35.0).contains(&across), "{across} mm");
                let hand = (100.0 - 2.0 * across - gating.ways.runner_side.si() * 1e3) / 2.0;
                assert!((told[1] * 1e3 - hand).abs() < 0.1, "{} and {hand} mm", told[1] * 1e3);
                between += 1;
            }
        }
    }
    assert_eq!(between, 1);
}
