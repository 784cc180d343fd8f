//! Metal that is left in the pot: what it leaves room for, what must be charged for it, and when it
//! stays for the next heat.

use super::builds::{read, told};
use super::checker::broken;
use pourwright::plan::Aim;
use serde_json::Value;

/// Two moulds of 1.75 kg each (1.2 kg of casting, gates and melt loss) that are two heats in a
/// crucible of 2.7 kg at its working fill; the day is long enough for both.
const BUILD: &str = "
build: {title: Heel, begun: 2026-01-10}
shop:
  people: {me: {hours: {sat: DAY}}}
  furnaces: {drum: {fuel: propane, efficiency: 10 %, heats-per-session: 2}}
  crucibles:
    pot: {holds: 1.4 L, working-fill: 80 %, family: aluminium, mass: 1 kg, heel: HEEL}
  flasks: {box: {inside: 300 x 250 mm, cope: 90 mm, drag: 90 mm, count: 2}}
  sand: {kind: green-sand}
patterns:
  bed: {made-of: wood, size: 180 x 150 x 50 mm, in-cope: 20 mm}
  arm: {made-of: wood, size: 180 x 150 x 50 mm, in-cope: 20 mm}
parts:
  bed: {casting: {pattern: bed, alloy: A356, mass: 1.2 kg}, steps: {pattern: 1 h, ram: 30 min}}
  arm: {casting: {pattern: arm, alloy: A356, mass: 1.2 kg}, steps: {pattern: 1 h, ram: 30 min}}
";

fn planned(day: &str, heel: &str, arm: &str) -> Value {
    let text = BUILD.replace("DAY", day).replace("HEEL", heel);
    let text = text.replace("pattern: arm, alloy: A356", &format!("pattern: arm, alloy: {arm}"));
    let build = read(&text, "");
    let (plan, estimate) = told(&build, Aim::Finish, 200);
    assert_eq!(broken(&build, &plan, &estimate), [""; 0], "{day} {heel} {arm}");
    plan["schedule"].clone()
}

/// Of each heat: its day, what is charged and what its moulds take, kg.
fn heats(schedule: &Value) -> Vec<(String, f64, f64)> {
    let kg = |v: &Value| v["charge"]["value"].as_f64().expect("kg");
    let heats = schedule["heats"].as_array().expect("heats").iter();
    heats
        .map(|h| {
            let day = h["lit"].as_str().expect("a stamp")[..10].to_owned();
            (day, kg(h), h["moulds"].as_array().expect("moulds").iter().map(kg).sum())
        })
        .collect()
}

fn near(got: f64, want: f64) {
    assert!((got - want).abs() < 1e-9, "{got}, not {want}");
}

#[test]
fn on_the_fire_a_heel_is_charged_once() {
    let schedule = planned("9 h", "300 g", "A356");
    let [first, second] = &heats(&schedule)[..] else { panic!("{schedule}") };
    assert_eq!(first.0, second.0);
    near(first.1, first.2 + 0.3);
    near(second.1, second.2);
    let heels = |n: usize| &schedule["heats"][n]["heels"][0];
    assert_eq!((&heels(0)["from"], &heels(0)["to"]), (&Value::Null, &"H2".into()));
    assert_eq!((&heels(1)["from"], &heels(1)["to"]), (&"H1".into(), &Value::Null));
}

#[test]
fn over_night_it_is_pigged_and_charged_again() {
    let schedule = planned("3.5 h", "300 g", "A356");
    let [first, second] = &heats(&schedule)[..] else { panic!("{schedule}") };
    assert_ne!(first.0, second.0);
    near(first.1, first.2 + 0.3);
    near(second.1, second.2 + 0.3);
    for heat in schedule["heats"].as_array().expect("heats") {
        assert!(heat["heels"][0]["from"].is_null() && heat["heels"][0]["to"].is_null());
    }
}

#[test]
fn another_alloy_gets_an_empty_pot() {
    let schedule = planned("9 h", "300 g", "319");
    let [first, second] = &heats(&schedule)[..] else { panic!("{schedule}") };
    assert_eq!(first.0, second.0);
    near(second.1, second.2 + 0.3);
    assert!(schedule["heats"][1]["heels"][0]["from"].is_null());
}

#[test]
fn a_heel_takes_room_from_the_charge() {
    // 2.7 kg less 1 kg are less than 1.75 kg: no mould can be poured, and it is said why.
    let schedule = planned("9 h", "1 kg", "A356");
    assert!(heats(&schedule).is_empty());
    let missing = schedule["missing"][0].as_str().expect("a word");
    for word in
        ["pot, holds 2.69 kg", "the charge is 1.75 kg, and 1 kg of heel", "1.43 L to the brim"]
    {
        assert!(missing.contains(word), "`{missing}` tells `{word}`");
    }
    // Of 0.9 kg it is enough: 1.79 kg are left.
    assert_eq!(heats(&planned("9 h", "0.9 kg", "A356")).len(), 2);
    // None is as if nothing was said.
    let none = planned("9 h", "0 kg", "A356");
    assert!(none["heats"].as_array().expect("heats").iter().all(|h| h["heels"].is_null()));
}
