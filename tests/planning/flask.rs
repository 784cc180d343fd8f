//! The only flask holds a mould: what is rammed in it next waits until that is shaken out.

use super::builds::{read, told};
use super::checker::broken;
use super::told::minute;
use pourwright::plan::Aim;
use serde_json::Value;

/// Much is to be done to the bed and nothing to the nut, so that the bed comes first where it can.
const BUILD: &str = "
build: {title: One flask, begun: 2026-01-10}
shop:
  people: {me: {hours: {sat: 9:00..17:00, sun: 9:00..17:00}}}
  furnaces: {drum: {fuel: propane, efficiency: 10 %, set-up: none, clear-up: none, heats-per-session: 3}}
  crucibles: {grey: {holds: 2.5 L, working-fill: 80 %, family: aluminium, mass: 2 kg}}
  flasks: {box: {inside: 300 x 250 mm, cope: 90 mm, drag: 90 mm}}
  sand: {kind: green-sand}
patterns:
  bed: {made-of: wood, size: 180 x 150 x 50 mm, in-cope: 20 mm}
  nut: {made-of: wood, size: 120 x 80 x 40 mm, in-cope: 20 mm}
parts:
  bed: {casting: {pattern: bed, alloy: A356, mass: 1.2 kg}, steps: {machine: 20 h}}
  nut: {casting: {pattern: nut, alloy: A356, mass: 0.4 kg}, steps: {machine: none, fit: none}}
";

const RAMMED: &str = "---
id: p1
at: 2026-01-10 09:00
done: {pattern: bed, hours: 1 h}
---
id: p2
at: 2026-01-10 09:00
done: {pattern: nut, hours: 1 h}
---
id: r1
at: 2026-01-10 09:30
rammed: {mould: M1, pattern: nut, flask: box, castings: {nut: 1}}
";

const POURED: &str = "---
id: c1
at: 2026-01-10 12:00
poured: {heat: H1, alloy: A356, crucible: grey, charge: {ingot: 1 kg}, temperature: 715 C, moulds: [M1]}
";

/// With one try and with many: when the nut is shaken out and the bed is rammed.
fn follows(journal: &str, heats: usize) {
    for (tries, aim) in [(1, Aim::Finish), (300, Aim::Finish), (300, Aim::Heats)] {
        let build = read(BUILD, journal);
        let (plan, estimate) = told(&build, aim, tries);
        assert_eq!(broken(&build, &plan, &estimate), [""; 0], "{tries} {aim:?}");
        let schedule = &plan["schedule"];
        assert_eq!(schedule["missing"].as_array().map(Vec::len), Some(0), "{schedule}");
        assert_eq!(schedule["heats"].as_array().map(Vec::len), Some(heats), "{tries} {aim:?}");
        let jobs = schedule["jobs"].as_array().expect("jobs");
        let at = |on: &str, step: &str, when: &str| {
            let job = jobs.iter().find(|j| j["on"] == on && j["step"] == step);
            let stamp: &Value =
                &job.unwrap_or_else(|| panic!("{on} {step}: {tries} {aim:?}"))[when];
            minute(stamp.as_str().expect("a stamp")).expect("a stamp")
        };
        assert!(at("nut", "shake-out", "end") <= at("bed", "ram", "start"), "{tries} {aim:?}");
    }
}

#[test]
fn a_mould_that_stands_is_poured_first() {
    follows(RAMMED, 2);
}

#[test]
fn a_mould_that_cools_is_shaken_out_first() {
    follows(&format!("{RAMMED}{POURED}"), 1);
}
