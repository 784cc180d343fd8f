//! The plan under chance: moulds to allow for against scipy; the plan in memory and the one that was kept.

mod common;

use pourwright::estimate::{Estimates, estimate};
use pourwright::job::{self, Today};
use pourwright::model::Build;
use pourwright::plan::{Budget, Schedule, SearchOptions};
use pourwright::risk::Risk;
use serde_json::{Value, json};

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
    let clock = chrono::NaiveDate::from_ymd_opt(2026, 1, 10).expect("a day");
    let today = Today { asked: None, clock };
    let text = format!("{SHOP}{parts}");
    let found = pourwright::read(text.into_bytes(), Vec::new(), today);
    found.unwrap_or_else(|faults| panic!("{}", faults[0]))
}

fn planned(build: &Build) -> (Estimates, Schedule) {
    let estimates = estimate(build);
    let budget = Budget { tries: 1, seed: 1, stop: &mut |_, _| false };
    let looking = SearchOptions::new(budget);
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
        "  block: {{quantity: {quantity}, casting: {{pattern: block-pattern, alloy: A356, mass: 1 kg, {chance}}}}}\n"
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
        equal(good, "scrap: 30 % (10 to 60 %)", [&eight, &nine], 2e-3);
    }
}

#[test]
fn moulds_to_allow_for_do_not_depend_on_the_seed() {
    let parts =
        "  block: {quantity: 9, casting: {pattern: block-pattern, alloy: A356, mass: 1 kg}}\n";
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

/// One replay does not differ from itself: nothing is told to drive its finish.
#[test]
fn one_replay_tells_of_nothing_that_drives_it() {
    let build = read("  pin: {made: {hours: 3 h}}\n");
    let (estimates, schedule) = planned(&build);
    let risk = pourwright::risk::risk(&build, &estimates, &schedule, (1, 1), &|_| {});
    let drivers = risk.expect("a plan").drivers;
    assert!(drivers.len() == 2 && drivers.iter().all(|d| d.share == 0.0), "{drivers:?}");
}

#[test]
fn risk_without_a_kept_plan_is_that_with_one() {
    let file = |name: &str| std::fs::read(format!("demo/{name}.yaml")).expect("the demo");
    let today = Today { asked: None, clock: chrono::NaiveDate::MIN };
    let build = pourwright::read(file("build"), file("journal"), today).expect("no faults");
    let of = job::estimate(build);
    let search = job::Search { tries: Some(60), ..job::Search::default() };
    let found = job::plan(of.clone(), None, Some(search), &mut |_, _| false);
    let again = job::plan(of.clone(), found.kept.as_ref(), None, &mut |_, _| false);
    let replayed = |of: &job::Planned| job::risk(of, (300, 1), &|_| ()).expect("a plan");
    let [in_memory, from_kept] = [&found, &again].map(|of| format!("{:?}", replayed(of)));
    assert_eq!(in_memory, from_kept);
    // Nor is it the plan that nobody looked for.
    let search = job::Search { tries: Some(1), ..search };
    let other = job::plan(of, None, Some(search), &mut |_, _| false);
    assert_ne!(in_memory, format!("{:?}", replayed(&other)));
}

/// The page of the risk has each number of moulds under its own chance.
#[test]
fn moulds_to_allow_for_stand_under_their_chance() {
    let build = read(
        "  block: {quantity: 60, casting: {pattern: block-pattern, alloy: A356, mass: 1 kg, difficulty: hard}}\n",
    );
    let (estimates, schedule) = planned(&build);
    let bill = pourwright::supply::bill(&build, &estimates, &schedule);
    let view = pourwright::view::risk::RiskView::new(&build, &bill, &replayed(&build, 1), None);
    // As scipy has them, above.
    assert_eq!((view.attempts[0].allow_80, view.attempts[0].allow_90), (144, 188));
}
