//! Which crucible a heat is melted in: the least that holds it, a larger one where that is taken.

use super::builds::{read, told};
use super::checker::broken;
use pourwright::plan::Aim;
use serde_json::Value;

/// Two people and two furnaces, one session of three hours and a half in the week. Each charge is
/// 1.75 kg (1.2 kg of casting, gates and melt loss); at 2.36 kg/L and 80 % the small crucible takes
/// 2.64 kg, so that the two moulds are two heats in it.
const BUILD: &str = "
build: {title: Pots, begun: 2026-01-10}
shop:
  people: {ann: {hours: {sat: 3.5 h}}, bea: {hours: {sat: 3.5 h}}}
  poured-before: [A356, green-sand]
  furnaces:
    drum: {fuel: propane, efficiency: 10 %, set-up: none, clear-up: none, heats-per-session: 1}
    pit: {fuel: propane, efficiency: 10 %, set-up: none, clear-up: none, heats-per-session: 1}
  crucibles:
    small: {holds: 1.4 L, working-fill: 80 %, family: aluminium, mass: 1 kg, tongs: 1 kg}
  flasks: {box: {inside: 300 x 250 mm, cope: 90 mm, drag: 90 mm, count: 2}}
  sand: {kind: green-sand}
patterns:
  bed: {made-of: wood, size: 180 x 150 x 50 mm, in-cope: 20 mm}
  arm: {made-of: wood, size: 180 x 150 x 50 mm, in-cope: 20 mm}
parts:
  bed: {casting: {pattern: bed, alloy: A356, mass: 1.2 kg}, steps: {pattern: none, ram: 30 min}}
  arm: {casting: {pattern: arm, alloy: A356, mass: 1.2 kg}, steps: {pattern: none, ram: 30 min}}
";

/// Day and crucibles of each heat, with these crucibles beside the small one.
fn heats(more: &str) -> Vec<(String, Vec<String>)> {
    let line = "    small: {holds: 1.4 L, working-fill: 80 %, family: aluminium, mass: 1 kg, tongs: 1 kg}\n";
    let text = BUILD.replace(line, &format!("{line}{more}"));
    let build = read(&text, "");
    let (plan, estimate) = told(&build, Aim::Finish, 200);
    assert_eq!(broken(&build, &plan, &estimate), [""; 0], "{more}");
    let word = |v: &Value| v.as_str().expect("a word").to_owned();
    let heats = plan["schedule"]["heats"].as_array().expect("heats").iter();
    let pots = |h: &Value| h["crucibles"].as_array().expect("crucibles").iter().map(word).collect();
    heats.map(|h| (word(&h["lit"])[..10].to_owned(), pots(h))).collect()
}

#[test]
fn one_crucible_makes_the_second_heat_wait_a_week() {
    let heats = heats("");
    assert_eq!(heats.len(), 2);
    assert_ne!(heats[0].0, heats[1].0, "{heats:?}");
}

#[test]
fn a_second_crucible_lets_both_furnaces_melt() {
    // As large as the first, and one of 3.4 kg, in which the two moulds are not one heat either.
    for more in [
        "    twin: {holds: 1.4 L, working-fill: 80 %, family: aluminium, mass: 1 kg, tongs: 1 kg}\n",
        "    large: {holds: 1.8 L, working-fill: 80 %, family: aluminium, mass: 1.5 kg, tongs: 1 kg}\n",
    ] {
        let heats = heats(more);
        assert_eq!(heats.len(), 2, "{heats:?}");
        assert_eq!(heats[0].0, heats[1].0, "{more} {heats:?}");
        assert_ne!(heats[0].1, heats[1].1, "{more}");
        assert!(heats.iter().any(|h| h.1 == ["small"]), "{heats:?}");
    }
}

#[test]
fn a_crucible_of_another_family_is_no_help() {
    let heats = heats("    brown: {holds: 1.4 L, working-fill: 80 %, family: copper}\n");
    assert_ne!(heats[0].0, heats[1].0, "{heats:?}");
}

#[test]
fn a_crucible_that_holds_both_makes_one_heat_of_two() {
    let heats = heats("    large: {holds: 3 L, working-fill: 80 %, family: aluminium}\n");
    assert_eq!(heats.len(), 1, "{heats:?}");
    assert_eq!(heats[0].1, ["large"]);
}

#[test]
fn little_metal_is_not_melted_in_a_large_crucible() {
    // Two moulds for which the session is too short to be poured from one heat: 1.75 kg are 26 %
    // of the 6.6 kg that 3.5 L take, and 24 % of the 7.4 kg of 3.9 L.
    let lone = BUILD.replace("ram: 30 min", "ram: 60 min, pour: 40 min");
    for (holds, same) in [("3.5 L", true), ("3.9 L", false)] {
        let large =
            format!("    large: {{holds: {holds}, working-fill: 80 %, family: aluminium}}\n");
        let text = lone.replace("  flasks:", &format!("{large}  flasks:"));
        let build = read(&text, "");
        let (plan, estimate) = told(&build, Aim::Finish, 200);
        assert_eq!(broken(&build, &plan, &estimate), [""; 0]);
        let heats = plan["schedule"]["heats"].as_array().expect("heats");
        assert_eq!(heats.len(), 2, "{holds}");
        let day = |h: &Value| h["lit"].as_str().expect("a stamp")[..10].to_owned();
        assert_eq!(day(&heats[0]) == day(&heats[1]), same, "{holds}");
    }
}

#[test]
fn the_lifting_is_told_of_the_crucible_that_is_lit() {
    // The pot that is lit for the second heat weighs 30 kg: no load for one.
    let heavy = "    large: {holds: 1.8 L, working-fill: 80 %, family: aluminium, mass: 30 kg}\n";
    let text = BUILD.replace("  flasks:", &format!("{heavy}  flasks:"));
    let text = text.replace(
        "bea: {hours: {sat: 3.5 h}}",
        "bea: {hours: {sat: 3.5 h}}, cas: {hours: {sat: 3.5 h}}, dee: {hours: {sat: 3.5 h}}",
    );
    let build = read(&text, "");
    let (plan, estimate) = told(&build, Aim::Finish, 200);
    assert_eq!(broken(&build, &plan, &estimate), [""; 0]);
    for heat in plan["schedule"]["heats"].as_array().expect("heats") {
        let people = heat["people"].as_u64().expect("people");
        let large = heat["crucibles"][0] == "large";
        assert_eq!(people > 1, large, "{heat}");
    }
}
