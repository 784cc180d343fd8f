//! What if: each change has the effect that follows from it, and nothing is written.

use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

fn run(folder: &Path, args: &[&str]) -> Output {
    whole(folder, &[args, &["--tries", "20"]].concat())
}

/// With as many tries as the plan in force was looked for with.
fn whole(folder: &Path, args: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_pourwright"));
    command.arg("suppose").args(args).args(["--json", "--build"]).arg(folder);
    command.output().expect("pourwright runs")
}

/// Now and supposed, of a row of the table.
fn row(view: &Value, what: &str) -> (String, String) {
    let rows = view["rows"].as_array().expect("rows");
    let row = rows.iter().find(|r| r["what"] == what).unwrap_or_else(|| panic!("{what}: {view}"));
    let word = |key: &str| row[key].as_str().expect("a word").to_owned();
    (word("now"), word("supposed"))
}

/// A copy of the demo, in which a plan is in force.
fn demo() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    for name in ["build.yaml", "journal.yaml"] {
        fs::copy(Path::new("demo").join(name), folder.path().join(name)).expect("copied");
    }
    folder
}

fn number(text: &str) -> f64 {
    text.split(' ').next().expect("a word").replace(',', "").parse().expect("a number")
}

#[test]
fn each_change_has_its_effect() {
    let folder = demo();
    let ask = |args: &[&str]| -> Value {
        let out = run(folder.path(), args);
        assert!(out.status.success(), "{args:?}: {}", String::from_utf8_lossy(&out.stderr));
        serde_json::from_slice(&out.stdout).expect("JSON")
    };
    let kept = |name: &str| fs::read(folder.path().join(name)).expect("a file");
    let before = ["build.yaml", "journal.yaml"].map(kept);

    let (now, then) = row(&ask(&["--person"]), "finish");
    assert!(then < now, "a second person: {now}, {then}");
    let (now, then) = row(&ask(&["--person"]), "at the bench");
    // The same work, but for a heat that one cannot lift in one and two can.
    let less = number(&now) - number(&then);
    assert!((0.0..4.0).contains(&less), "the work is the same for two: {now}, {then}");
    let (now, then) = row(&ask(&["--away", "2026-07-09..2026-12-20"]), "finish");
    assert!(then > now, "half a year away: {now}, {then}");
    let (now, then) = row(&ask(&["--lost", "base"]), "moulds");
    assert_eq!(number(&then), number(&now) + 1.0, "a lost casting is one mould more");
    let view = ask(&["--alloy", "bull-gear=ZA-27"]);
    let (now, then) = row(&view, "ZA-27 charged");
    assert!(number(&now) == 0.0 && number(&then) > 0.0, "another alloy: {now}, {then}");

    // What was cast long ago is cast, and a day gone by is gone by: nothing comes of it, and it says so.
    for args in [&["--alloy", "base=319"][..], &["--away", "2026-01-01"]] {
        let out = whole(folder.path(), args);
        let view: Value = serde_json::from_slice(&out.stdout).expect("JSON");
        assert_eq!(view["changes_nothing"], true, "{view}");
    }
    assert_eq!(view["changes_nothing"], false, "{view}");

    assert_eq!(["build.yaml", "journal.yaml"].map(kept), before);
}

#[test]
fn one_more_of_a_machine_sets_two_people_free() {
    let folder = tempfile::tempdir().expect("a folder");
    let part = |i: usize| {
        format!("  part-{i}: {{made: {{}}, steps: {{make: {{hours: 12 h, on: lathe}}}}}}\n")
    };
    let text = "build: {title: Two and a lathe, begun: 2030-01-05}\nshop:\n  people:\n    ann: \
                {hours: {sat: 6 h}}\n    bea: {hours: {sat: 6 h}}\n  machines: {lathe: 1}\nparts:\n"
        .to_owned();
    fs::write(folder.path().join("build.yaml"), text + &part(1) + &part(2)).expect("written");
    let ask = |args: &[&str]| -> Value {
        let out = run(folder.path(), &[args, &["--today", "2030-01-05"]].concat());
        assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
        serde_json::from_slice(&out.stdout).expect("JSON")
    };
    // Four Saturdays one after the other on one lathe and fitting after them; two on two lathes.
    let (now, then) = row(&ask(&["--machine", "lathe"]), "finish");
    assert_eq!((now.as_str(), then.as_str()), ("2030-02-02", "2030-01-19"));
    let worth = ask(&[]);
    let first = &worth["changes"][0];
    assert_eq!(first["change"].as_str(), Some("1 more lathe"), "{worth}");
}

#[test]
fn a_name_that_is_none_is_told_with_the_nearest() {
    let folder = demo();
    for (args, says) in [
        (["--flask", "smal-box"], "no flask is called `smal-box`; did you mean `small-box`?"),
        (["--crucible", "zinc-pod"], "no crucible is called `zinc-pod`; did you mean `zinc-pot`?"),
        (["--alloy", "ram=A365"], "no alloy is called `A365`; did you mean `A356`?"),
        (["--machine", "lathe"], "no machine is called `lathe`; the build lists none"),
        (["--lost", "bas"], "no part is called `bas`; did you mean `base`?"),
    ] {
        let out = run(folder.path(), &args);
        assert_eq!(out.status.code(), Some(2), "{args:?}");
        let told = String::from_utf8_lossy(&out.stderr);
        assert!(told.contains(says), "{args:?}: {told}");
    }
}

/// Two patterns that fit one flask, and one of another sand that does not go with them.
const APART: &str = "
build: {title: Apart, begun: 2030-01-05}
shop:
  people: {me: {hours: {sat: 7 h}}}
  furnaces: {drum: {fuel: propane, efficiency: 10 %, heats-per-session: 2}}
  crucibles: {grey: {holds: 3 L, working-fill: 80 %, family: aluminium}}
  flasks: {small: {inside: 300 x 250 mm, cope: 90 mm, drag: 90 mm, count: 2}}
  sand: {kind: green-sand}
sands:
  green-sand: {rammed-density: 1600 kg/m3}
patterns:
  gib: {size: 180 x 60 x 30 mm, in-cope: 10 mm}
  clapper: {size: 90 x 80 x 40 mm, in-cope: 20 mm}
  cap: {size: 60 x 60 x 30 mm, in-cope: 10 mm, sand: oil-sand}
parts:
  gib: {casting: {pattern: gib, alloy: A356, volume: 0.2 L}}
  clapper: {casting: {pattern: clapper, alloy: A356, volume: 0.1 L}}
  cap: {casting: {pattern: cap, alloy: A356, volume: 0.05 L}}
";

#[test]
fn patterns_that_could_share_a_flask_are_told_and_tried() {
    let folder = tempfile::tempdir().expect("a folder");
    let manifest = |text: &str| fs::write(folder.path().join("build.yaml"), text).expect("written");
    let today = ["--today", "2030-01-05"];
    let ask = |args: &[&str]| -> Value {
        let out = run(folder.path(), &[args, &today].concat());
        assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
        serde_json::from_slice(&out.stdout).expect("JSON")
    };
    let pairs = || -> Vec<(String, u64)> {
        let view = ask(&[]);
        let rows = view["changes"].as_array().expect("changes").iter();
        let row = |r: &Value| Some((r["change"].as_str()?.to_owned(), r["moulds"].as_u64()?));
        rows.filter_map(row).filter(|(says, _)| says.ends_with("in one flask")).collect()
    };
    manifest(APART);
    assert_eq!(pairs(), [("gib and clapper in one flask".to_owned(), 2)]);
    // One mould less; of two flasks of 13.5 L one is not rammed, at 1600 kg/m3.
    let view = ask(&["--beside", "gib=clapper"]);
    assert_eq!(row(&view, "moulds"), ("3".into(), "2".into()));
    let (now, then) = row(&view, "sand rammed");
    assert!((number(&now) - number(&then) - 13.5 * 1.6).abs() < 0.11, "{now}, {then}");
    // With 25 mm of sand the two ask for 215 mm of width: none in a flask of 200 mm, nor where the
    // crucible does not hold the 1.36 kg of both, nor where one waits for the other.
    for (from, to) in [
        ("300 x 250", "300 x 200"),
        ("holds: 3 L", "holds: 0.65 L"),
        ("alloy: A356, volume: 0.1", "alloy: 319, volume: 0.1"),
        ("clapper: {casting", "clapper: {needs: [{part: gib, step: fettle, before: ram}], casting"),
        ("in-cope: 10 mm}\n  clapper", "in-cope: 10 mm, beside: [clapper]}\n  clapper"),
    ] {
        let text = APART.replacen(from, to, 1);
        assert_ne!(text, APART, "`{from}`");
        manifest(&text);
        assert!(pairs().is_empty(), "`{to}`: {:?}", pairs());
    }
    manifest(APART);
    for (pair, says) in [
        ("gib=claper", "no pattern is called `claper`; did you mean `clapper`?"),
        ("gib=gib", "`gib` cannot lie beside itself; `cavities:` says how often"),
        ("gib=cap", "`gib` has the sand green-sand and `cap` oil-sand"),
        ("gib", "--beside gib: try PATTERN=PATTERN"),
    ] {
        let out = run(folder.path(), &[&["--beside", pair], &today[..]].concat());
        let told = String::from_utf8_lossy(&out.stderr);
        assert_eq!(out.status.code(), Some(2), "{pair}");
        assert!(told.contains(says), "{pair}: {told}");
    }
}

/// Two moulds of some 20 kg of sand each that one heat would pour, and a heap for one of them.
#[test]
fn more_sand_makes_one_heat_of_two() {
    let folder = tempfile::tempdir().expect("a folder");
    let build = |sand: &str| {
        let text = format!(
            "
build: {{title: Sand, begun: 2026-01-10}}
shop:
  people: {{me: {{hours: {{sat: 8 h}}}}}}
  poured-before: [A356, green-sand]
  furnaces: {{drum: {{fuel: propane, efficiency: 10 %, clear-up: none}}}}
  crucibles: {{grey: {{holds: 3 L, working-fill: 80 %, family: aluminium}}}}
  flasks: {{box: {{inside: 300 x 250 mm, cope: 90 mm, drag: 90 mm, count: 2}}}}
  sand: {{kind: green-sand{sand}}}
patterns:
  bed: {{made-of: wood, size: 180 x 150 x 50 mm, in-cope: 20 mm}}
parts:
  bed:
    quantity: 2
    casting: {{pattern: bed, alloy: A356, mass: 1.2 kg}}
    steps: {{pattern: none, ram: 30 min}}
"
        );
        fs::write(folder.path().join("build.yaml"), text).expect("written");
    };
    let plan = || {
        let mut command = Command::new(env!("CARGO_BIN_EXE_pourwright"));
        let out = command.args(["plan", "--today", "2026-01-10", "--build"]).arg(folder.path());
        let text = String::from_utf8(out.output().expect("it runs").stdout).expect("text");
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let today = ["--today", "2026-01-10"];
    build(", on-hand: 30 kg");
    let says = plan();
    assert!(says.contains("little sand H1 and H2 could be one heat but for sand"), "{says}");
    assert!(says.contains("the heap has 30 kg; `suppose --sand"), "{says}");
    let view = |args: &[&str]| -> Value {
        let out = run(folder.path(), &[args, &today].concat());
        assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
        serde_json::from_slice(&out.stdout).expect("JSON")
    };
    let (now, then) = row(&view(&["--sand", "15kg"]), "heats");
    assert_eq!((number(&now), number(&then)), (2.0, 1.0));
    let (now, then) = row(&view(&["--sand", "1kg"]), "heats");
    assert_eq!((number(&now), number(&then)), (2.0, 2.0));
    let all = view(&[])["changes"].to_string();
    assert!(all.contains("15 kg more sand"), "{all}");
    // A heap that is no limit is not told, and cannot be larger.
    build("");
    assert!(!plan().contains("little sand"));
    let out = run(folder.path(), &["--sand", "15kg", "--today", "2026-01-10"]);
    assert!(String::from_utf8_lossy(&out.stderr).contains("the heap of sand is no limit"));
}
