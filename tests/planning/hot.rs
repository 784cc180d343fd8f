//! A furnace that melted a heat today is hot for the next one, whether the first is planned or poured.

use super::builds::{keeping, read_on, told};
use super::checker::broken;
use chrono::{NaiveDate, NaiveDateTime};
use pourwright::estimate::estimate;
use pourwright::model::Build;
use pourwright::plan::{Aim, Kept, PlannedHeat, Schedule};
use pourwright::supply::bill;

/// A pot that takes one of the three moulds at a time, and a furnace that takes long to warm. Green sand
/// keeps a mould to its session; nobody clears up.
const BUILD: &str = "
build: {title: Hot, begun: 2026-01-09}
shop:
  people: {me: {hours: {sat: 9:00..17:00, sun: 9:00..17:00}}}
  poured-before: [A356, green-sand]
  furnaces: {drum: {fuel: propane, efficiency: 10 %, power: 20 kW, warm-up: 20 min, set-up: 40 min, clear-up: none, heats-per-session: HEATS}}
  crucibles: {pot: {holds: 0.7 L, working-fill: 80 %, family: aluminium}}
  flasks: {box: {inside: 300 x 250 mm, cope: 90 mm, drag: 90 mm, count: 3}}
  sand: {kind: green-sand}
  stock: {propane: 11 kg}
patterns:
  bed: {made-of: wood, size: 180 x 150 x 50 mm, in-cope: 20 mm}
parts:
  bed:
    quantity: 3
    casting: {pattern: bed, alloy: A356, mass: 500 g}
    steps: {ram: 30 min, pour: 15 min, shake-out: 30 min, fettle: none, inspect: none, machine: none, fit: none}
";

const PATTERN: &str = "---
id: p1
at: 2026-01-09 07:00
done: {pattern: bed, hours: 1 h}
";

fn on_saturday(heats: u32, journal: &str) -> Build {
    let day = NaiveDate::from_ymd_opt(2026, 1, 10).expect("a day");
    read_on(&BUILD.replace("HEATS", &heats.to_string()), journal, day)
}

fn planned(build: &Build, kept: Option<&Kept>) -> (Schedule, Kept) {
    let (plan, estimate) = told(build, Aim::Finish, 60);
    assert_eq!(broken(build, &plan, &estimate), [""; 0]);
    keeping(build, Aim::Finish, 60, kept)
}

/// When each heat is lit, pours and is over, and whether it finds its furnace hot.
fn heats(schedule: &Schedule) -> Vec<(&str, [NaiveDateTime; 3], bool)> {
    let told = |h: &'_ PlannedHeat| [h.lit, h.pour, h.over];
    schedule.heats.iter().map(|h| (&*h.name, told(h), h.hot)).collect()
}

/// Propane that is left once all is cast, kg.
fn left(build: &Build, schedule: &Schedule) -> f64 {
    let flow = bill(build, &estimate(build), schedule).flow.expect("a walk").likely;
    flow.stocks["propane"].points.last().expect("a point").1.stock
}

/// The journal once these heats of the plan went as planned, with all that was rammed by then.
fn logged(schedule: &Schedule, heats: usize) -> String {
    let mut entries = Vec::new();
    let over = schedule.heats[heats - 1].over;
    for heat in &schedule.heats {
        let (name, at) = (&heat.name, schedule.moulds[heat.moulds[0]].rammed);
        let rammed = format!("rammed: {{mould: M-{name}, pattern: bed, castings: {{bed: 1}}}}");
        let poured = format!("poured: {{heat: {name}, alloy: A356, moulds: [M-{name}]}}");
        entries
            .extend([(at, format!("r-{name}"), rammed), (heat.over, format!("h-{name}"), poured)]);
    }
    entries.retain(|(at, _, _)| *at <= over);
    entries.sort();
    let told = |(at, id, event): &(NaiveDateTime, String, String)| {
        format!("---\nid: {id}\nat: {}\n{event}\n", at.format("%F %H:%M"))
    };
    entries.iter().map(told).collect()
}

#[test]
fn the_second_heat_of_a_day_stays_as_it_was_planned_when_the_first_is_poured() {
    let before = on_saturday(3, PATTERN);
    let (first, kept) = planned(&before, None);
    let of = heats(&first);
    assert_eq!(of.len(), 3);
    assert_eq!(of.iter().map(|h| h.2).collect::<Vec<_>>(), [false, true, true], "{of:?}");
    let journal = format!("{PATTERN}{}", logged(&first, 1));
    let after = on_saturday(3, &journal);
    let (then, _) = planned(&after, Some(&kept));
    assert_eq!(heats(&then), of[1..], "the rest of the day is as it was promised");
    // What warmed the furnace is burnt once, by the heat that found it cold.
    let (now, later) = (left(&before, &first), left(&after, &then));
    assert!((now - later).abs() < 1e-9, "{now} kg left by the plan, {later} kg by the journal");
    assert!(then.bound <= then.finish, "{:?} {:?}", then.bound, then.finish);
}

#[test]
fn a_heat_that_is_poured_counts_among_those_of_its_session() {
    let (first, kept) = planned(&on_saturday(2, PATTERN), None);
    let day = |h: &PlannedHeat| h.lit.date().to_string();
    let days = |of: &Schedule| of.heats.iter().map(day).collect::<Vec<_>>();
    assert_eq!(days(&first), ["2026-01-10", "2026-01-10", "2026-01-11"]);
    let journal = format!("{PATTERN}{}", logged(&first, 1));
    let (then, _) = planned(&on_saturday(2, &journal), Some(&kept));
    assert_eq!(days(&then), ["2026-01-10", "2026-01-11"]);
    assert_eq!(then.heats.iter().map(|h| h.hot).collect::<Vec<_>>(), [true, false]);
}

/// The plan's hours of a poured heat are those that the journal lets it have: what is told of setting up
/// is not told twice.
#[test]
fn what_is_gone_of_today_goes_by_the_furnace_as_the_heats_found_it() {
    let (first, _) = planned(&on_saturday(3, PATTERN), None);
    let both = format!("{PATTERN}{}", logged(&first, 2));
    // Written down in the morning, so that only the hours count: 3 heats less one are gone of them.
    let early = |line: &str| match line.strip_prefix("at: 2026-01-10") {
        Some(_) => "at: 2026-01-10 08:00".to_owned(),
        None => line.to_owned(),
    };
    let both: Vec<String> = both.lines().map(early).collect();
    let (then, _) = planned(&on_saturday(3, &(both.join("\n") + "\n")), None);
    let minutes = |m: i64| chrono::TimeDelta::minutes(m);
    let nine = NaiveDate::from_ymd_opt(2026, 1, 10).expect("a day").and_hms_opt(9, 0, 0);
    let melts = |h: &PlannedHeat| {
        let work = first.jobs.iter().find(|j| j.end == h.over && j.step.word() == "pour");
        minutes(work.expect("its pour").minutes)
    };
    // Two moulds rammed, and both heats as they were planned.
    let gone = minutes(2 * 10) + melts(&first.heats[0]) + melts(&first.heats[1]);
    let begins = then.jobs.iter().map(|job| job.start).min();
    assert_eq!(begins, nine.map(|nine| nine + gone));
}
