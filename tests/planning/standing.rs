//! A mould of a sand that may stand is poured within the time that the manifest says.

use super::builds::{read, told};
use super::checker::broken;
use super::told::minute;
use pourwright::model::Build;
use pourwright::plan::Aim;
use serde_json::Value;

/// Ramming of five hours and a melt with its pour of 1.75 h are more than a Saturday of six, so the
/// mould is rammed on one day and poured on another. The first Monday is away.
const BUILD: &str = "
build: {title: Standing, begun: 2026-01-09}
shop:
  people: {me: {hours: {sat: 6 h, mon: 2 h}}}
  away: [2026-01-12]
  furnaces: {drum: {fuel: propane, efficiency: 10 %, set-up: none, clear-up: none}}
  crucibles: {grey: {holds: 2 L, working-fill: 80 %, family: aluminium}}
  flasks: {box: {inside: 300 x 250 mm, cope: 90 mm, drag: 90 mm, count: 2}}
  sand: {kind: oil-sand, stands: LIMIT}
patterns:
  bed: {made-of: wood, size: 180 x 150 x 50 mm, in-cope: 20 mm}
parts:
  bed:
    casting: {pattern: bed, alloy: A356, mass: 1.2 kg}
    steps: {ram: 5 h, pour: 15 min}
";

/// The pattern is made.
const JOURNAL: &str = "---
id: p1
at: 2026-01-09 07:00
done: {pattern: bed, hours: 5 h}
";

/// The build, its plan and what `estimate` tells, with such a limit.
fn planned(limit: &str) -> (Build, Value, Value) {
    let build = read(&BUILD.replace("LIMIT", limit), JOURNAL);
    let (plan, estimate) = told(&build, Aim::Finish, 100);
    (build, plan, estimate)
}

/// When ramming is over and when the pour begins.
fn stood(plan: &Value) -> [String; 2] {
    let jobs = plan["schedule"]["jobs"].as_array().expect("jobs");
    let ram = jobs.iter().find(|j| j["step"] == "ram").expect("ramming");
    let pour = &plan["schedule"]["heats"][0]["pour"];
    [&ram["end"], pour].map(|v| v.as_str().expect("a stamp").to_owned())
}

fn minutes([from, to]: &[String; 2]) -> i64 {
    minute(to).expect("a stamp") - minute(from).expect("a stamp")
}

#[test]
fn the_limit_moves_the_ramming_to_the_next_week() {
    // Without a limit that matters: rammed to the end of the first Saturday at 15:00, poured on the
    // next after a melt of 1.5 h: six days and 19.5 h, 163.5 h in all.
    let (build, plan, estimate) = planned("10 d");
    assert_eq!(broken(&build, &plan, &estimate), [""; 0]);
    let free = stood(&plan);
    assert_eq!(free, ["2026-01-10T15:00", "2026-01-17T10:30"]);
    assert_eq!(minutes(&free), 9810);
    // With three days: rammed on the second Saturday, poured on the Monday after, where the
    // evening begins at 18:00: 52.5 h later.
    let (build, plan, estimate) = planned("72 h");
    assert_eq!(broken(&build, &plan, &estimate), [""; 0]);
    let held = stood(&plan);
    assert_eq!(held, ["2026-01-17T15:00", "2026-01-19T19:30"]);
    assert_eq!(minutes(&held), 3150);
}

#[test]
fn the_limit_binds_to_the_minute() {
    assert_eq!(stood(&planned("163.5 h").1)[1], "2026-01-17T10:30");
    assert_eq!(stood(&planned("163.4 h").1)[1], "2026-01-19T19:30");
}

#[test]
fn the_free_schedule_breaks_the_rule_of_the_short_limit() {
    let (_, plan, estimate) = planned("10 d");
    let short = read(&BUILD.replace("LIMIT", "72 h"), JOURNAL);
    let faults = broken(&short, &plan, &estimate);
    assert!(faults.iter().any(|f| f.starts_with("stands: ") && f.contains("9810")), "{faults:?}");
}
