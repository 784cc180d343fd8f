//! Several hands at one heat, and work that is laid aside for other work, by hand.

use super::builds::{keeping, read, read_on, told};
use super::checker::broken;
use pourwright::estimate::estimate;
use pourwright::plan::Aim;
use serde_json::Value;

/// Green sand, so that moulds are rammed in the session of their heat; the patterns are made. Setting
/// up is in the 90 min of a melt, and nobody clears up. Hours are those of all three moulds.
const BUILD: &str = "
build: {title: Hands, begun: 2026-01-09}
shop:
  people: {PEOPLE}
  poured-before: [A356, green-sand]
  furnaces: {drum: {fuel: propane, efficiency: 10 %, clear-up: none}}
  crucibles: {pot: {holds: 4 L, working-fill: 80 %, family: aluminium}}
  flasks: {box: {inside: 300 x 250 mm, cope: 90 mm, drag: 90 mm, count: 3}}
  sand: {kind: green-sand}
patterns:
  bed: {made-of: wood, size: 180 x 150 x 50 mm, in-cope: 20 mm}
parts:
  bed:
    quantity: 3
    casting: {pattern: bed, alloy: A356, mass: 500 g}
    steps: {ram: 3 h, pour: 30 min, shake-out: 90 min, fettle: none, inspect: none, machine: none, fit: none}
OTHER";

const PATTERN: &str = "---
id: p1
at: 2026-01-09 07:00
done: {pattern: bed, hours: 1 h}
";

fn planned(people: &str, other: &str) -> Value {
    of(BUILD, people, other)
}

fn of(text: &str, people: &str, other: &str) -> Value {
    let build = read(&text.replace("PEOPLE", people).replace("OTHER", other), PATTERN);
    let (plan, estimate) = told(&build, Aim::Finish, 100);
    assert_eq!(broken(&build, &plan, &estimate), [""; 0], "{people}");
    plan["schedule"].clone()
}

/// From and to of each block of a step, by the clock, with who does it.
fn blocks(schedule: &Value, on: &str, step: &str) -> Vec<(String, String, String)> {
    let text = |v: &Value| v.as_str().expect("text").to_owned();
    let job = |b: &Value| schedule["jobs"][b["job"].as_u64().expect("a job") as usize].clone();
    let sessions = schedule["sessions"].as_array().expect("sessions").iter();
    let all = sessions.flat_map(|s| s["blocks"].as_array().expect("blocks").iter());
    let mine = all.filter(|b| job(b)["on"] == on && job(b)["step"] == step && b["helps"] != true);
    mine.map(|b| {
        (text(&b["from"])[11..].to_owned(), text(&b["to"])[11..].to_owned(), text(&b["person"]))
    })
    .collect()
}

/// One person has five hours: three moulds of an hour each and a heat of two hours are just that. With
/// three hours and a mate three moulds are one heat too: the mate rams the second while the first is
/// rammed, and the third while the metal melts. Without, it is one mould a session.
#[test]
fn whoever_is_there_rams_for_a_heat() {
    let alone = planned("me: {hours: {sat: 9:00..14:00}}", "");
    assert_eq!(alone["heats"].as_array().expect("heats").len(), 1);
    let short = planned("me: {hours: {sat: 9:00..12:00}}", "");
    assert_eq!(short["heats"].as_array().expect("heats").len(), 3);
    let both = planned("me: {hours: {sat: 9:00..12:00}}, mate: {hours: {sat: 9:00..12:00}}", "");
    assert_eq!(both["heats"].as_array().expect("heats").len(), 1);
    let rams = blocks(&both, "bed", "ram");
    let by = |who: &str| rams.iter().filter(|r| r.2 == who).count();
    assert_eq!((by("me"), by("mate")), (1, 2), "{rams:?}");
    assert_eq!(both["heats"][0]["pour"].as_str().map(|s| &s[11..]), Some("11:30"));
    assert_eq!(rams.iter().map(|r| &*r.1).max(), Some("11:00"));
}

/// The wash of the moulds dries for two hours before they are poured: work that may be laid aside fills
/// them.
#[test]
fn work_that_may_be_laid_aside_fills_the_time_of_drying() {
    let jig = |keys: &str| {
        let other = format!(
            "  jig: {{made: {{hours: 4 h}}, steps: {{make: {{hours: 4 h{keys}}}, fit: none}}}}\n"
        );
        let washed = BUILD.replace("ram: 3 h,", "ram: {hours: 3 h, wait: 2 h},");
        let schedule = of(&washed, "me: {hours: {sat: 9:00..16:30}}", &other);
        blocks(&schedule, "jig", "make")
    };
    let whole = jig("");
    assert!(whole.iter().rev().skip(1).all(|b| b.1 == "16:30"), "{whole:?}");
    let pieces = jig(", put-down: yes");
    assert!(pieces.iter().rev().skip(1).any(|b| b.1 != "16:30"), "{pieces:?}");
}

/// A jig of 3 h was finished this morning, of which 1 to 2 h, likely 1.5, were told the day before: 1.5 h
/// are gone of a day that began at nine.
#[test]
fn what_was_worked_before_is_not_gone_of_today() {
    let journal = format!(
        "{PATTERN}---
id: w1
at: 2026-01-09 20:00
worked: {{part: jig, step: make, hours: 1..2 h}}
---
id: d1
at: 2026-01-10 09:30
done: {{part: jig, step: make, hours: 3 h}}
"
    );
    let text = BUILD.replace("PEOPLE", "me: {hours: {sat: 9:00..16:30}}");
    let text = text.replace("OTHER", "  jig: {made: {hours: 3 h}, steps: {fit: none}}\n");
    let build =
        read_on(&text, &journal, chrono::NaiveDate::from_ymd_opt(2026, 1, 10).expect("day"));
    let (schedule, _) = keeping(&build, Aim::Finish, 20, None);
    let first = schedule.jobs.iter().map(|job| job.start).min().expect("a job");
    assert_eq!(first.format("%H:%M").to_string(), "10:30");
}

/// A mould rammed and poured this morning: an hour, the melt of 90 min, the pour of 10 min and clearing up
/// of 45 min are gone of a day that began at nine, whenever that was written down.
#[test]
fn a_heat_of_today_and_clearing_up_after_it_are_gone_of_the_day() {
    let morning = "---
id: m1
at: 2026-01-10 10:00
rammed: {mould: M1, pattern: bed, castings: {bed: 1}}
---
id: h1
at: 2026-01-10 10:30
poured: {heat: H1, alloy: A356, moulds: [M1]}
";
    let journal = format!("{PATTERN}{morning}");
    let today = chrono::NaiveDate::from_ymd_opt(2026, 1, 10).expect("a day");
    let begins = |keys: &str| {
        let text = BUILD.replace("PEOPLE", "me: {hours: {sat: 9:00..16:30}}").replace("OTHER", "");
        let build = read_on(&text.replace("clear-up: none", keys), &journal, today);
        let (schedule, _) = keeping(&build, Aim::Finish, 20, None);
        let first = schedule.jobs.iter().map(|job| job.start).min().expect("a job");
        let heat = estimate(&build).castings[0].as_ref().and_then(|e| e.mould.melt_heat.clone());
        (first.format("%H:%M").to_string(), heat.expect("a charge").si())
    };
    let (none, joules) = begins("clear-up: none");
    assert_eq!(none, "11:40");
    assert_eq!(begins("clear-up: 45 min").0, "12:25");
    // A furnace that takes 100 min for this charge, after 15 min of setting up.
    let watts = joules / 0.1 / (60.0 * 99.9);
    assert_eq!(begins(&format!("power: {watts} W, clear-up: 45 min")).0, "12:50");
}
