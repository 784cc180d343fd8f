//! Metal that is left in the pot: what it leaves room for, what must be charged for it, and when it
//! stays for the next heat.

use super::builds::{read, schedule, told};
use super::checker::broken;
use pourwright::estimate::estimate;
use pourwright::figure::{Mass, Quantity};
use pourwright::plan::{Aim, Pour};
use pourwright::supply::{Ask, Count, at_hand};
use serde_json::Value;
use std::collections::BTreeMap;

/// Two moulds of 1.75 kg each (1.2 kg of casting, gates and melt loss) that are two heats in a
/// crucible that takes 2.64 kg at its working fill. The patterns are made.
const BUILD: &str = "
build: {title: Heel, begun: 2026-01-09}
shop:
  people: {PEOPLE}
  furnaces: {drum: {fuel: propane, efficiency: 10 %, set-up: none, clear-up: none, heats-per-session: 2}}
  crucibles:
    pot: {holds: 1.4 L, working-fill: 80 %, family: aluminium, mass: 1 kg, tongs: 1 kg, heel: HEEL}
  flasks: {box: {inside: 300 x 250 mm, cope: 90 mm, drag: 90 mm, count: 2}}
  sand: {kind: green-sand}
patterns:
  bed: {made-of: wood, size: 180 x 150 x 50 mm, in-cope: 20 mm}
  arm: {made-of: wood, size: 180 x 150 x 50 mm, in-cope: 20 mm}
parts:
  bed: {casting: {pattern: bed, alloy: A356, mass: 1.2 kg}, steps: {ram: 30 min}}
  arm: {casting: {pattern: arm, alloy: A356, mass: 1.2 kg}, steps: {ram: 30 min}}
";

/// Both patterns are made.
const PATTERNS: &str = "---
id: p1
at: 2026-01-09 07:00
done: {pattern: bed, hours: 1 h}
---
id: p2
at: 2026-01-09 07:00
done: {pattern: arm, hours: 1 h}
";

/// One person whose day is long enough for both.
const ALONE: &str = "me: {hours: {sat: 9 h}}";
/// Another comes at noon to shake out, so that the second heat need not wait for that.
const BOTH: &str = "mate: {hours: {sat: 12:00..18:00}}, me: {hours: {sat: 9 h}}";

fn planned(people: &str, heel: &str, arm: &str) -> Value {
    of(BUILD, people, heel, arm)
}

fn of(text: &str, people: &str, heel: &str, arm: &str) -> Value {
    let text = text.replace("PEOPLE", people).replace("HEEL", heel);
    let text = text.replace("pattern: arm, alloy: A356", &format!("pattern: arm, alloy: {arm}"));
    let build = read(&text, PATTERNS);
    let (plan, estimate) = told(&build, Aim::Finish, 200);
    assert_eq!(broken(&build, &plan, &estimate), [""; 0], "{people} {heel} {arm}");
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
    let schedule = planned(BOTH, "300 g", "A356");
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
    let schedule = planned("me: {hours: {sat: 3.5 h}}", "300 g", "A356");
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
    let schedule = planned(BOTH, "300 g", "319");
    let [first, second] = &heats(&schedule)[..] else { panic!("{schedule}") };
    assert_eq!(first.0, second.0);
    near(second.1, second.2 + 0.3);
    assert!(schedule["heats"][1]["heels"][0]["from"].is_null());
}

#[test]
fn it_freezes_if_it_waits_longer_than_half_an_hour() {
    // The ramming of the second mould lies between.
    let text = BUILD.replace("ram: 30 min", "ram: 31 min");
    let schedule = of(&text, BOTH, "300 g", "A356");
    let [first, second] = &heats(&schedule)[..] else { panic!("{schedule}") };
    assert_eq!(first.0, second.0);
    near(second.1, second.2 + 0.3);
    assert!(schedule["heats"][0]["heels"][0]["to"].is_null());
}

#[test]
fn another_pot_in_the_furnace_sends_it_to_the_pig_mould() {
    // Three heats, half an hour from each to the next; the more is to be fitted, the earlier.
    let cup = "300 g}\n    cup: {holds: 1.4 L, working-fill: 80 %, family: aluminium, mass: 1 kg, tongs: 1 kg";
    let three = |pots: [&str; 3]| {
        let part = |name: &str, pattern: &str, pot: &str, fit: &str| {
            format!(
                "  {name}: {{casting: {{pattern: {pattern}, alloy: A356, mass: 1.2 kg, \
                 crucible: {pot}}}, steps: {{ram: 30 min, fit: {fit}}}}}\n"
            )
        };
        let (shop, _) = BUILD.split_once("parts:").expect("parts");
        let text = [
            shop,
            "parts:\n",
            &part("bed", "bed", pots[0], "2 h"),
            &part("arm", "arm", pots[1], "100 min"),
            &part("nut", "bed", pots[2], "80 min"),
        ];
        let text = text.concat().replace("heats-per-session: 2", "heats-per-session: 3");
        let schedule = of(&text.replace("count: 2", "count: 3"), BOTH, cup, "A356");
        let days: Vec<String> = heats(&schedule).into_iter().map(|h| h.0).collect();
        assert_eq!(days, [&*days[0]; 3]);
        let heats = schedule["heats"].as_array().expect("heats").iter();
        let told = |h: &Value| {
            let to = h["heels"][0]["to"].as_str().map(str::to_owned);
            (h["crucibles"][0].as_str().expect("a pot").to_owned(), to)
        };
        heats.map(told).collect::<Vec<_>>()
    };
    let pot = |to: Option<&str>| ("pot".to_owned(), to.map(str::to_owned));
    assert_eq!(three(["pot"; 3]), [pot(Some("H2")), pot(Some("H3")), pot(None)]);
    // Whichever part comes second has the other pot in one of these.
    let mixed = [["cup", "pot", "pot"], ["pot", "cup", "pot"], ["pot", "pot", "cup"]].map(three);
    let between = [pot(None), ("cup".to_owned(), None), pot(None)];
    assert!(mixed.iter().any(|heats| heats[..] == between), "{mixed:?}");
}

#[test]
fn a_heel_takes_room_from_the_charge() {
    // 2.64 kg, the least that it holds, less 1 kg are less than 1.75 kg: no mould can be poured, and it
    // is said why.
    let schedule = planned(ALONE, "1 kg", "A356");
    assert!(heats(&schedule).is_empty());
    let missing = schedule["missing"][0].as_str().expect("a word");
    for word in [
        "pot, takes no more than 2.64 kg",
        "the charge is 1.75 kg, and 1 kg of heel",
        "1.55 L to the brim",
    ] {
        assert!(missing.contains(word), "`{missing}` tells `{word}`");
    }
    // Of 0.89 kg it is enough: 1.753 kg are left. Of 0.9 kg it would be by the likely density, and is
    // not by the least; nor is it of a heel that may be more.
    assert_eq!(heats(&planned(ALONE, "0.89 kg", "A356")).len(), 2);
    assert!(heats(&planned(ALONE, "0.9 kg", "A356")).is_empty());
    assert!(heats(&planned(ALONE, "0.7..1 kg", "A356")).is_empty());
    // None is as if nothing was said.
    let none = planned(ALONE, "0 kg", "A356");
    assert!(none["heats"].as_array().expect("heats").iter().all(|h| h["heels"].is_null()));
}

/// What a charge may be beside a heel that stays in the pot from the heat before: the least that the pot
/// takes, 1.4 L x 80 % x 2.36 kg/L (the least of what liquid A356 may weigh), and the most of the heel.
#[test]
fn beside_a_heel_that_is_kept_there_is_the_least_room() {
    let text = BUILD.replace("PEOPLE", BOTH).replace("HEEL", "200..300 g")
        + "metals: {ingot: {composition: {Si: 7 %, Mg: 0.35 %}, balance: Al, price: 5.00, per: 1 kg}}\n";
    let build = read(&text, PATTERNS);
    let estimates = estimate(&build);
    let planned = schedule(&build, Aim::Finish, 200);
    let room = |name: &str| {
        let pour = Pour::planned(&build, &planned, name).expect("planned");
        let mass = Mass::from_si(pour.charge.as_ref().expect("a charge").si());
        let (likely, count, use_up) = (false, Count::Sold, BTreeMap::new());
        let ask =
            Ask { alloy: "A356", mass, pour: Some(&pour), lighting: None, likely, count, use_up };
        (
            pour.heels[0].from.is_some(),
            at_hand(&build, &estimates, &ask).expect("a metal").rooms[0].1,
        )
    };
    let holds = 1.4 * 0.8 * 2.36;
    let (first, second) = (room("H1"), room("H2"));
    assert_eq!((first.0, second.0), (false, true), "the heel of the first stays for the second");
    near(first.1, holds);
    near(second.1, holds - 0.3);
}
