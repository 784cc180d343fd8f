//! Heat flow decides where it was reckoned: one body, one time, whoever tells it.

use chrono::NaiveDate;
use pourwright::estimate::{self, CastingEstimate, Field, estimate, setup};
use pourwright::figure::Figure;
use pourwright::freezing::{
    Alone, Chill, Feeding, Fields, Frozen, Ingate, Ingates, Pocket, Setup, Ways, freeze,
};
use pourwright::model::Build;
use pourwright::shape::mesh::Mesh;
use pourwright::shape::{Frame, Placed, Solid};
use pourwright::view::freezing::{FreezingTold, FreezingView, Pictured, picture};
use pourwright::view::sheet::{MouldCards, Paper};
use pourwright::{Today, read, read_beside};

const PLACED: &str = "shape: {add: [{block: {length: 50 mm, width: 40 mm, height: 30 mm}, at: [0, 0, 0]}, {cylinder: {diameter: 24 mm, length: 20 mm}, at: [10 mm, 0, 30 mm]}]}";

fn build(shape: &str, more: &str, stl: Option<&[u8]>) -> Build {
    let text = format!(
        "build: {{title: A lug, begun: 2026-01-01}}\nshop:\n  sand: {{kind: green-sand, on-hand: 100 kg}}\npatterns:\n  p: {{size: 60 x 50 x 60 mm, in-cope: 0 mm}}\nparts:\n  lug: {{name: Lug, casting: {{pattern: p, alloy: A356, {shape}{more}}}}}\n  cap: {{name: Cap, casting: {{pattern: p, alloy: A356, shape: {{add: [{{block: {{length: 40 mm, width: 40 mm, height: 25 mm}}}}]}}}}}}\n"
    );
    let day = NaiveDate::from_ymd_opt(2026, 1, 1).expect("a day");
    let beside =
        |_: &str| stl.map(<[u8]>::to_vec).ok_or_else(|| std::io::ErrorKind::NotFound.into());
    read_beside(text.into_bytes(), Vec::new(), Today { asked: None, clock: day }, &beside)
        .unwrap_or_else(|faults| panic!("{}", faults[0]))
}

fn of(castings: &[Option<CastingEstimate>], at: usize) -> &CastingEstimate {
    castings[at].as_ref().expect("an estimate")
}

/// Reckons these parts and keeps what was found.
fn reckoned(build: &mut Build, parts: &[usize]) -> Vec<(Setup, Frozen)> {
    let castings = estimate(build).castings;
    let one = |at: &usize| {
        let casting = build.parts[*at].casting.as_ref().expect("a casting");
        let setup = setup(build, casting, &of(&castings, *at).feeding).expect("all is known");
        let frozen = estimate::freeze(build, *at, &setup).expect("all is known");
        (setup, frozen)
    };
    let all: Vec<_> = parts.iter().map(one).collect();
    for (at, (setup, frozen)) in parts.iter().zip(&all) {
        let id = build.parts[*at].id().clone();
        build.fields.keep(&id, setup, frozen.clone());
    }
    all
}

fn range<Q: pourwright::figure::Quantity>(figure: Option<&Figure<Q>>) -> [f64; 3] {
    let figure = figure.expect("a figure");
    [figure.node().range().low, figure.si(), figure.high()]
}

fn stl(mesh: &Mesh) -> Vec<u8> {
    let mut out = vec![0; 80];
    out.extend((mesh.triangles.len() as u32).to_le_bytes());
    for triangle in &mesh.triangles {
        out.extend([0; 12]);
        for corner in triangle {
            for x in mesh.vertices[*corner as usize] {
                out.extend((x as f32 * 1e3).to_le_bytes());
            }
        }
        out.extend([0; 2]);
    }
    out
}

/// The same body as placed solids and as a mesh: the same cells, so the same field; and estimate,
/// sheet, `freezing` and the plan's waiting time tell the one time of it.
#[test]
fn one_body_has_one_time() {
    let mut solids = build(PLACED, "", None);
    let body = solids.parts[0].casting.as_ref().and_then(|c| c.given.body.clone()).expect("a body");
    let file = stl(body.mesh());
    let mut mesh = build("mesh: {file: lug.stl, of: part, unit: 1 mm}", "", Some(&file));
    let fields = [&mut solids, &mut mesh].map(|build| {
        let (setup, frozen) = reckoned(build, &[0]).remove(0);
        let castings = estimate(build).castings;
        let told = of(&castings, 0);
        assert!(matches!(&told.field, Field::Holds(kept) if **kept == frozen));
        assert_eq!(range(told.freezing.solid_after.as_ref()), frozen.solid);
        let [soon, likely, late] = frozen.shake_out.expect("a temperature is told");
        let cool = [soon[0], likely[1], late[2]];
        assert_eq!(range(told.freezing.shake_out_after.as_ref()), cool);
        let usual = build.handbook.time("cool/aluminium").map_or(0.0, Figure::si);
        assert_eq!(told.not_before.as_ref().map(Figure::si), Some(cool[2].max(usual)));
        let view = FreezingView::new(build, "lug", &setup, &frozen, told);
        assert_eq!((view.solid_after, view.shake_out_after), (frozen.solid, Some(cool)));
        let feeders = told.feeding.feeders.as_ref().expect("feeders");
        let fed = frozen.feeding.as_ref().expect("feeders");
        assert_eq!(feeders.diameter.si(), fed.feeders.diameter);
        assert!((feeders.volume.si() / fed.feeders.volume() - 1.0).abs() < 1e-9);
        let cards = MouldCards::new(build, &estimate(build), &[0], Paper::A4);
        let card = &cards.cards[0];
        assert!(card.freezing.picture.is_some() && card.freezing.last.is_some());
        freeze(&Setup { advice: None, ..setup }, &Alone).expect("all is known")
    });
    // The feeders that are tried start from those of the rule, which sees solids and meshes differently:
    // the body itself is compared.
    let [one, two] = fields;
    for (a, b) in one.solid.iter().zip(&two.solid) {
        assert!((a / b - 1.0).abs() < 1e-3, "{a} s as solids, {b} s as a mesh");
    }
    assert!(
        (0..3).all(|i| (one.last[i] - two.last[i]).abs() < 1e-6),
        "{:?} {:?}",
        one.last,
        two.last
    );
    assert_eq!(one.cells, two.cells);
}

/// What it depends on changes: the rule of thumb stands again until it is reckoned anew.
#[test]
fn what_has_changed_is_out_of_date() {
    let mut build = build(PLACED, "", None);
    let rule = range(of(&estimate(&build).castings, 1).freezing.shake_out_after.as_ref());
    assert!(matches!(of(&estimate(&build).castings, 1).field, Field::Missing));
    let (setup, frozen) = reckoned(&mut build, &[1]).remove(0);
    let held = estimate(&build).castings;
    // What nobody can have reckoned is not gone by, whatever file it stands in.
    for cell in [0.0, 10.0] {
        let mut odd = frozen.clone();
        odd.sections[0].cell = cell;
        build.fields.keep("cap", &setup, odd);
        let told = estimate(&build).castings;
        assert_eq!(range(of(&told, 1).freezing.shake_out_after.as_ref()), rule, "{cell} m");
    }
    build.fields.keep("cap", &setup, frozen.clone());
    assert_eq!(range(of(&held, 1).freezing.shake_out_by_rule.as_ref()), rule);
    assert!(matches!(of(&held, 0).field, Field::Missing));
    let casting = build.parts[1].casting.as_mut().expect("a casting");
    let alloy = std::sync::Arc::make_mut(&mut casting.alloy);
    alloy.pours = alloy
        .pours
        .as_ref()
        .map(|t| Figure::counted("poured at", t.si() - 10.0, "ten kelvin colder"));
    let after = estimate(&build).castings;
    assert!(matches!(of(&after, 1).field, Field::Outdated));
    build.fields = Fields::default();
    let never = range(of(&estimate(&build).castings, 1).freezing.shake_out_after.as_ref());
    assert_eq!(range(of(&after, 1).freezing.shake_out_after.as_ref()), never);
    assert_ne!(range(of(&held, 1).freezing.solid_after.as_ref()), rule);
    assert_eq!(range(of(&held, 1).freezing.solid_after.as_ref()), frozen.solid);
}

/// A casting timed half-way from likely to slow in its sand draws every casting of that sand there,
/// and their ranges to a tenth either way.
#[test]
fn one_clocked_casting_narrows_all_of_its_sand() {
    let mut plain = build(PLACED, "", None);
    let fields = reckoned(&mut plain, &[0, 1]);
    let [_, likely, slow] = fields[0].1.solid;
    let time = (likely * slow).sqrt();
    let mut clocked = build(PLACED, &format!(", froze-in: {time} s"), None);
    clocked.fields = plain.fields.clone();
    let [before, after] = [&plain, &clocked].map(|b| {
        [0, 1].map(|at| range(of(&estimate(b).castings, at).freezing.solid_after.as_ref()))
    });
    for at in [0, 1] {
        let [_, likely, slow] = fields[at].1.solid;
        let want = (likely * slow).sqrt();
        let [low, middle, high] = after[at];
        assert!((middle / want - 1.0).abs() < 1e-6, "{middle} for {want}");
        assert!((low / want - 0.9).abs() < 1e-6 && (high / want - 1.1).abs() < 1e-6);
        let wide = |r: [f64; 3]| r[2] / r[0];
        println!("from {:.2} to {:.2} times the low end", wide(before[at]), wide(after[at]));
        assert!(wide(after[at]) < 0.6 * wide(before[at]));
    }
    let cool = |b: &Build| range(of(&estimate(b).castings, 1).freezing.shake_out_after.as_ref());
    assert!(cool(&clocked)[2] < cool(&plain)[2] && cool(&clocked)[1] > cool(&plain)[1]);
}

/// Of the demonstration: what is advised feeds in all three runs, with no more metal than the rule's
/// where that feeds too.
#[test]
fn feeders_are_sized_by_trying() {
    let day = NaiveDate::from_ymd_opt(2026, 7, 8).expect("a day");
    let text = include_str!("../../demo/build.yaml");
    let mut build = read(text.into(), Vec::new(), Today { asked: None, clock: day })
        .unwrap_or_else(|faults| panic!("{}", faults[0]));
    let parts = ["clapper", "way-block"].map(|id| build.part(id).expect("a part"));
    let all = reckoned(&mut build, &parts);
    let fed = |i: usize| all[i].1.feeding.as_ref().expect("feeders");
    let (clapper, block) = (fed(0), fed(1));
    assert_eq!((clapper.verdict(), block.verdict()), ("fed", "fed"), "{clapper:?} {block:?}");
    for fed in [clapper, block] {
        let (tried, rule) = (fed.feeders.volume(), fed.rule.volume());
        println!("rule {rule:.2e} m3, cut off {:.3}; tried {tried:.2e} m3", fed.rule_cut_off);
        // Where the rule's feed, nothing larger is advised; where they do not, others are.
        assert!(tried <= rule * 1.001 || fed.rule_cut_off > 0.005);
    }
    // The rule's leave just a little of the clapper: the least of those that feed is no third larger.
    assert!(clapper.feeders.volume() < 1.3 * clapper.rule.volume(), "{clapper:?}");
}

/// Where no feeder that was tried reaches all of a casting, its estimate says what is left.
#[test]
fn what_is_left_is_told() {
    let mut build = build(PLACED, "", None);
    let (_, frozen) = reckoned(&mut build, &[0]).remove(0);
    let fed = frozen.feeding.as_ref().expect("feeders");
    let castings = estimate(&build).castings;
    let told = of(&castings, 0);
    let said = |word: &str| told.notes.iter().chain(&told.warnings).any(|n| n.contains(word));
    assert!(fed.rule_cut_off > Feeding::MARGIN && fed.tries > 1);
    match fed.verdict() {
        "fed" => assert!(said("the feeders reach all of it")),
        "cut off" => assert!(said("freezes after its way to a feeder has closed")),
        _ => assert!(said("whether it is fed depends on the sand")),
    }
    // The card says the same, and where most of it is.
    let card = &MouldCards::new(&build, &estimate(&build), &[0], Paper::A4).cards[0];
    let short = &card.freezing.short;
    match fed.verdict() {
        "fed" => assert!(short.ends_with("Fed.")),
        other => assert!(short.contains(other) && short.contains("most of it at"), "{short}"),
    }
}

/// The three words for how a casting is fed, and all that is told with each: the share of each run, the
/// place of the largest pocket, and a warning only where it is cut off in all sands.
#[test]
fn each_verdict_has_its_words() {
    let mut build = build(PLACED, "", None);
    let (setup, frozen) = reckoned(&mut build, &[0]).remove(0);
    let mut told = |cut_off: [f64; 3], places: &[[f64; 3]]| {
        let mut frozen = frozen.clone();
        let fed = frozen.feeding.as_mut().expect("feeders");
        let pocket = |place| Pocket { place, volume: 1e-6, cut_off: 60.0, last: 90.0 };
        fed.cut_off = cut_off;
        fed.pockets = places.iter().map(|place| pocket(*place)).collect();
        let verdict = fed.verdict();
        build.fields.keep("lug", &setup, frozen);
        let estimates = estimate(&build);
        let said = |list: &[String]| {
            list.iter().filter(|n| n.starts_with("heat flow: ")).cloned().collect::<Vec<_>>()
        };
        let casting = of(&estimates.castings, 0);
        let (notes, warnings) = (said(&casting.notes), said(&casting.warnings));
        let mut cards = MouldCards::new(&build, &estimates, &[0], Paper::A4).cards;
        (verdict, notes, warnings, cards.remove(0).freezing.short)
    };
    let none: [String; 0] = [];
    // Half a per cent is grain of the cells, a little more is not.
    let (verdict, notes, warnings, short) = told([0.005, 0.0, 0.005], &[]);
    assert_eq!(verdict, "fed");
    assert_eq!(notes, ["heat flow: the feeders reach all of it, in every sand that is likely"]);
    assert_eq!(warnings, none);
    assert_eq!(short, "Last to freeze here: the cross. Fed.");
    let places = [[0.010, -0.020, 0.035], [0.001, 0.002, 0.003]];
    let (verdict, notes, warnings, short) = told([0.1, 0.02, 0.0051], &places);
    assert_eq!(verdict, "cut off");
    assert_eq!(notes, none);
    assert_eq!(
        warnings,
        [
            "heat flow: up to 10 % of the casting freezes after its way to a feeder has closed (10 % in the fast run, 2 % in the likely one, 0.51 % in the slow one): pores there are likely"
        ]
    );
    assert_eq!(
        short,
        "Last to freeze here: the cross. Feeding: cut off, up to 10 % left, most of it at 10 mm, -20 mm, 35 mm."
    );
    let (verdict, notes, warnings, short) = told([0.1, 0.02, 0.0], &places[1..]);
    assert_eq!(verdict, "depends on the sand");
    assert_eq!(
        notes,
        [
            "heat flow: whether it is fed depends on the sand: 10 % is cut off in the fast run, 2 % in the likely one, 0 % in the slow one"
        ]
    );
    assert_eq!(warnings, none);
    assert_eq!(
        short,
        "Last to freeze here: the cross. Feeding: depends on the sand, up to 10 % left, most of it at 1 mm, 2 mm, 3 mm."
    );
}

/// The ingates close before the casting where they do in all three runs, after it where in none.
#[test]
fn which_closes_first_is_told() {
    let told = |closes| Ingates { closes, casting: [60.0, 90.0, 120.0] }.verdict();
    assert_eq!(told([59.0, 89.0, 119.0]), "before the casting");
    assert_eq!(told([60.0, 91.0, 130.0]), "after the casting");
    assert_eq!(told([59.0, 91.0, 130.0]), "before or after the casting, by the sand");
    assert_eq!(told([61.0, 91.0, 119.0]), "before or after the casting, by the sand");
}

/// On the other side of a casting from 10 to 110 mm the way in is its own mirror image: what lay 20 mm
/// off its low side lies 20 mm off its high one.
#[test]
fn a_gate_on_the_other_side_is_a_mirror_image() {
    let gate =
        Ingate { low: [-0.010, 0.002, -0.004], high: [0.010, 0.022, 0.0], along: 0, up: true };
    let block = Solid::Block { length: 0.02, width: 0.06, height: 0.012 };
    let frames = vec![Frame::HOME.moved([-0.020, 0.012, -0.012])];
    let runner = vec![Placed { solid: block, frames, less: false, of: None }];
    let ways = Ways { ingates: vec![gate], runner };
    let other = ways.across([[0.010, 0.0, 0.0], [0.110, 0.024, 0.05]]);
    let [gate] = other.ingates[..] else { panic!("{other:?}") };
    let near = |a: [f64; 3], b: [f64; 3]| {
        assert!((0..3).all(|i| (a[i] - b[i]).abs() < 1e-12), "{a:?}, not {b:?}");
    };
    near(gate.low, [0.110, 0.002, -0.004]);
    near(gate.high, [0.130, 0.022, 0.0]);
    assert_eq!((gate.along, gate.up), (0, false));
    near(other.runner[0].frames[0].at, [0.140, 0.012, -0.012]);
}

/// The way in is laid out in the mould and freezes with it: it is told which closes first, and where
/// it comes to lie otherwise what was reckoned is out of date.
#[test]
fn the_way_in_freezes_too() {
    let mut build = build(PLACED, "", None);
    let (setup, frozen) = reckoned(&mut build, &[0]).remove(0);
    // What is kept is read back to the last digit.
    let kept = serde_json::to_string(&frozen).expect("JSON");
    assert_eq!(serde_json::from_str::<Frozen>(&kept).expect("a field"), frozen);
    let way = frozen.way_in.as_ref().expect("a mould that is laid out");
    let own = way.ingates.expect("they meet the casting");
    assert!(own.closes.iter().all(|at| *at > 0.0) && own.closes[0] < own.closes[2], "{way:?}");
    let castings = estimate(&build).castings;
    let told = FreezingTold::new("lug", of(&castings, 0), 1, build.header.units);
    assert!(told.says.iter().any(|line| line.contains(own.verdict())), "{:?}", told.says);
    // They are metal in the mould beside it.
    let feeders = frozen.feeding.as_ref().expect("feeders");
    let standing = feeders.fed();
    let fixed = Setup { standing: Some(standing), ..setup };
    let bare = freeze(&fixed, &Alone).expect("all is known");
    assert!(bare.way_in.is_none() && bare.cells[1] < frozen.cells[1]);
    let across = Setup { gate_across: true, ..fixed.clone() };
    let across = estimate::freeze(&build, 0, &across).expect("all is known");
    let other = across.way_in.as_ref().expect("a mould that is laid out");
    assert!(
        other.ingates.is_some_and(|own| own.closes[1] > 0.0) && other.of != way.of,
        "{other:?}"
    );
    let depth = Figure::counted("depth in the cope", 0.010, "supposed");
    build.patterns[0].given.in_cope = Some(depth);
    assert!(matches!(of(&estimate(&build).castings, 0).field, Field::Outdated));
}

/// A core keeps the heat where the sand of the mould would take it, a chill takes it out.
#[test]
fn cores_and_chills_are_in_the_mould() {
    const CORED: &str = "shape: {add: [{block: {length: 56 mm, width: 46 mm, height: 50 mm}, at: [0, 0, 0]}], less: [{cylinder: {diameter: 20 mm, length: 50 mm}, at: [0, 0, 0]}]}";
    let build = build(CORED, "", None);
    let casting = build.parts[0].casting.as_ref().expect("a casting");
    let setup = setup(&build, casting, &of(&estimate(&build).castings, 0).feeding).expect("known");
    let setup = Setup { advice: None, ..setup };
    assert_eq!(setup.cores.len(), 1, "a deep hole is cored");
    let time = |setup: &Setup| freeze(setup, &Alone).expect("all is known");
    let cored = time(&setup);
    let green = time(&Setup { cores: Vec::new(), ..setup.clone() });
    assert!(cored.solid[1] > 1.02 * green.solid[1], "{:?} {:?}", cored.solid, green.solid);
    let iron = build.handbook.inserts["iron-chill"].clone();
    let chill = Chill::under(iron, cored.last, 0.020);
    // Half as wide again as the ball of 20 mm, and four fifths of it thick.
    assert!((chill.size[0] - 0.030).abs() < 1e-12 && (chill.size[1] - 0.016).abs() < 1e-12);
    let chill = Some(chill);
    let chilled = time(&Setup { chill, ..setup.clone() });
    assert!(chilled.solid[1] < 0.97 * cored.solid[1], "{:?} {:?}", chilled.solid, cored.solid);
    assert!(chilled.last[2] >= cored.last[2], "{:?} {:?}", chilled.last, cored.last);
    // Side by side: both titles, and nothing beside the paper.
    let pictured = |title: &str, frozen| Pictured {
        title: title.into(),
        says: vec!["solid after so many seconds, and more words than go into one line".into()],
        frozen,
    };
    let svg = picture(&[pictured("now", &cored), pictured("with an iron chill", &chilled)]);
    assert!(svg.contains(">now: solid after, s<") && svg.contains("iron chill"));
    assert_eq!(svg.matches("aria-label=").count(), 6);
    let number =
        |s: &str| s.split('"').next().and_then(|n| n.parse::<f64>().ok()).expect("a number");
    let box_ = svg.split("viewBox=\"").nth(1).and_then(|b| b.split('"').next()).expect("a box");
    let [_, _, _, height] = box_.split(' ').map(number).collect::<Vec<_>>()[..] else {
        panic!("{box_}")
    };
    let lines =
        svg.split("<text ").skip(1).map(|t| number(t.split(" y=\"").nth(1).expect("a place")));
    assert!(
        lines.clone().all(|y| y > 0.0 && y < height),
        "{:?} of {height}",
        lines.collect::<Vec<_>>()
    );
}

/// Feeders are tried where the mould has room for them, and drawn where they were tried: on metal all
/// round, and never over a bore.
#[test]
fn feeders_stand_where_they_were_tried() {
    const BORED: &str = "shape: {add: [{block: {length: 36 mm, width: 46 mm, height: 40 mm}, at: [-10 mm, 0, 0]}, {block: {length: 20 mm, width: 46 mm, height: 20 mm}, at: [18 mm, 0, 0]}], less: [{cylinder: {diameter: 14 mm, length: 40 mm}, at: [-10 mm, 0, 0]}]}";
    for (shape, bore) in [(PLACED, None), (BORED, Some([-0.010, 0.007]))] {
        let mut build = build(shape, "", None);
        let (_, frozen) = reckoned(&mut build, &[0]).remove(0);
        let fed = frozen.feeding.as_ref().expect("feeders").fed();
        assert_eq!(fed.feet.len(), fed.feeders.number);
        let castings = estimate(&build).castings;
        let (layout, n) = of(&castings, 0).layout.as_ref().expect("a mould that is laid out");
        let laid = &layout.patterns[*n];
        let lying = laid.body.as_ref().expect("its body is known");
        assert_eq!((laid.feeders.len(), laid.no_room), (fed.feet.len(), 0));
        for (foot, drawn) in fed.feet.iter().zip(&laid.feeders) {
            let [x, y, top] = lying.lies(*foot);
            let at = laid.place(0, [x, y]);
            let off = (0..2).map(|i| (at[i] - drawn.at[i]).abs()).fold(0.0, f64::max);
            assert!(off < 1e-9 && (drawn.root - top).abs() < 1e-9, "{foot:?} and {drawn:?}");
            assert_eq!(drawn.size, [fed.feeders.diameter, fed.feeders.height]);
            assert_eq!(drawn.neck, [fed.feeders.neck, fed.feeders.neck_length]);
            let clear = bore.map(|[x, radius]| (foot[0] - x).hypot(foot[1]) - radius);
            assert!(clear.is_none_or(|c| c > 0.45 * fed.feeders.neck), "over the bore: {foot:?}");
        }
    }
}
