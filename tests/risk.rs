//! The plan under chance: moulds to allow for against scipy, the plan in memory against the kept one.

mod common;

use pourwright::Today;
use pourwright::estimate::{Estimates, estimate};
use pourwright::model::Build;
use pourwright::plan::{Aim, Budget, Schedule, SearchOptions};
use pourwright::risk::Risk;
use serde_json::{Value, json};
use std::fs;
use std::path::Path;
use std::process::Command;

const SHOP: &str = "\
build: {title: Chances, begun: 2026-01-10}
shop:
  people: {one: {hours: {sat: 8 h, sun: 8 h}}}
  furnaces: {drum: {fuel: propane, heats-per-session: 3}}
  crucibles: {pot: {holds: 3 L, working-fill: 80 %}}
  flasks: {box: {inside: 400 x 300 mm, cope: 120 mm, drag: 120 mm, count: 6}}
patterns:
  block-pattern: {made-of: wood, size: 120 x 80 x 40 mm}
parts:
";

fn read(parts: &str) -> Build {
    let today = Today { asked: None, clock: chrono::NaiveDate::MIN };
    let text = format!("{SHOP}{parts}");
    let found = pourwright::read(text.into_bytes(), Vec::new(), today);
    found.unwrap_or_else(|faults| panic!("{}", faults[0]))
}

fn planned(build: &Build) -> (Estimates, Schedule) {
    let estimates = estimate(build);
    let budget = Budget { tries: 1, seed: 1, stop: &mut |_, _| false };
    let looking = SearchOptions { aim: Aim::Finish, kept: None, gain: 0, budget };
    let (schedule, _) = pourwright::plan::schedule(build, &estimates, looking);
    (estimates, schedule)
}

fn replayed(build: &Build, seed: u64) -> Risk {
    let (estimates, schedule) = planned(build);
    pourwright::risk::risk(build, &estimates, &schedule, (200, seed), &|_| {}).expect("a plan")
}

/// What `risk` allows for one part: P80, P90, mean, and the chance that at least one is lost.
fn allowed(quantity: u64, chance: &str) -> (Risk, [f64; 4]) {
    let build = read(&format!(
        "  block: {{quantity: {quantity}, casting: {{pattern: block-pattern, alloy: A356, {chance}}}}}\n"
    ));
    let risk = replayed(&build, 1);
    let [of] = &risk.attempts[..] else { panic!("one part: {:?}", risk.attempts) };
    let told = [f64::from(of.allow[0]), f64::from(of.allow[1]), of.moulds, of.lost];
    (risk, told)
}

#[test]
fn moulds_to_allow_for_are_those_of_the_distribution() {
    // scipy.stats.betanbinom(n = 60, a = 3, b = 2) and its like, written down.
    assert_eq!(allowed(60, "difficulty: hard").1[..2], [144.0, 188.0]);
    assert_eq!(allowed(40, "difficulty: fair").1[..2], [69.0, 87.0]);
    assert_eq!(allowed(60, "difficulty: easy").1[..2], [72.0, 78.0]);

    let beliefs = [("easy", 1.0, 9.0), ("fair", 1.0, 3.0), ("hard", 2.0, 3.0)];
    let counts = [1, 2, 7, 60];
    let (mut tries, mut fixed, mut ranges) = (Vec::new(), Vec::new(), Vec::new());
    for good in counts {
        for chance in [0.8, 0.9] {
            tries.extend(beliefs.map(|(_, a, b)| json!([good, b, a, good, chance])));
            fixed.push(json!([good, 0.7, good, chance]));
            ranges.push(json!([good, [0.4, 0.7, 0.9], good, chance]));
        }
    }
    let question = json!({
        "beta": [], "beta_negative_binomial": tries, "negative_binomial": fixed, "mixed": ranges,
    });
    let Some(answer) = common::ask("moulds to allow against scipy", "chance", &question) else {
        return;
    };
    let number = |v: &Value, key: &str| v[key].as_f64().expect("a number");
    let equal = |good: u64, chance: &str, [at_80, at_90]: [&Value; 2], mean: f64| {
        let (_, [eight, nine, moulds, lost]) = allowed(good, chance);
        let what = format!("{good} of {chance}");
        assert_eq!([eight, nine], [number(at_80, "quantile"), number(at_90, "quantile")], "{what}");
        let near = |found: f64, wanted: f64, within: f64| {
            assert!((found - wanted).abs() <= within, "{what}: {found}, wanted {wanted}");
        };
        near(moulds, number(at_80, "mean"), mean * good as f64);
        near(lost, 1.0 - number(at_80, "pmf"), 2e-4);
    };
    for (at, good) in counts.into_iter().enumerate() {
        for (class, (word, ..)) in beliefs.iter().enumerate() {
            let row =
                |chance: usize| &answer["beta_negative_binomial"][6 * at + 3 * chance + class];
            equal(good, &format!("difficulty: {word}"), [row(0), row(1)], 1e-6);
        }
        let row = |kind: &str, chance: usize| answer[kind][2 * at + chance].clone();
        let [eight, nine] = [0, 1].map(|chance| row("negative_binomial", chance));
        equal(good, "scrap: 30 %", [&eight, &nine], 1e-6);
        let [eight, nine] = [0, 1].map(|chance| row("mixed", chance));
        equal(good, "scrap: {is: 10..60 %, likely: 30 %}", [&eight, &nine], 2e-3);
    }
}

#[test]
fn moulds_to_allow_for_do_not_depend_on_the_seed() {
    let parts = "  block: {quantity: 9, casting: {pattern: block-pattern, alloy: A356}}\n";
    let build = read(parts);
    let told = |seed: u64| {
        let risk = replayed(&build, seed);
        let of: Vec<_> = risk.attempts.iter().map(|a| (a.part, a.least, a.allow)).collect();
        (of, risk.lost, risk.finish.iter().map(|p| p.value).collect::<Vec<_>>())
    };
    let (of, lost, finish) = told(1);
    for seed in 2..6 {
        assert_eq!((&told(seed).0, told(seed).1), (&of, lost), "seed {seed}");
    }
    assert!((2..9).any(|seed| told(seed).2 != finish), "the finish is drawn");
}

/// `risk` and the finish of `plan` of a copy of the demo.
fn of_demo(prepare: impl Fn(&Path)) -> (Value, Value) {
    let folder = tempfile::tempdir().expect("a folder");
    for name in ["build.yaml", "journal.yaml"] {
        fs::copy(Path::new("demo").join(name), folder.path().join(name)).expect("copied");
    }
    prepare(folder.path());
    let ask = |args: &[&str]| -> Value {
        let mut command = Command::new(env!("CARGO_BIN_EXE_pourwright"));
        let out = command.args(args).args(["--json", "--build"]).arg(folder.path());
        let out = out.output().expect("pourwright runs");
        assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
        serde_json::from_slice(&out.stdout).expect("JSON")
    };
    (ask(&["risk", "--replays", "500"]), ask(&["heats"]))
}

#[test]
fn risk_without_a_kept_plan_is_that_with_one() {
    let (kept, heats) = of_demo(|_| ());
    // A folder stands where the plan would be kept.
    let none = |folder: &Path| fs::create_dir(folder.join(".plan.json")).expect("a folder");
    let (without, same) = of_demo(none);
    assert_eq!(heats, same, "the same plan is found");
    assert_eq!(kept, without);
}
