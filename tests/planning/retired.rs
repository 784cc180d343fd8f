//! A flask or a crucible that broke is used no more, and what was promised with it is planned anew.

use super::builds::{keeping, read_on, told};
use super::checker::broken;
use chrono::NaiveDate;
use pourwright::estimate::{FlaskFit, estimate};
use pourwright::model::Build;
use pourwright::plan::{Aim, Kept, Schedule, Supposition};
use pourwright::supply::bill;

/// Two moulds on each Saturday, in one heat of the pot that takes both. A larger box and a larger pot are
/// there as well.
const BUILD: &str = "
build: {title: Retired, begun: 2026-01-09}
shop:
  people: {me: {hours: {sat: 9:00..17:00}}}
  poured-before: [A356, green-sand]
  furnaces: {drum: {fuel: propane, efficiency: 10 %, clear-up: none}}
  crucibles: {POTS}
  flasks: {FLASKS}
  sand: {kind: green-sand}
patterns:
  bed: {made-of: wood, size: 180 x 150 x 50 mm, in-cope: 20 mm}
parts:
  bed:
    quantity: 4
    casting: {pattern: bed, alloy: A356, mass: 500 g}
    steps: {ram: 8 h, pour: 30 min, shake-out: 30 min, fettle: none, inspect: none, machine: none, fit: none}
";
const BOX: &str = "box: {inside: 300 x 250 mm, cope: 90 mm, drag: 90 mm, count: 2}";
const CRATE: &str = "crate: {inside: 400 x 300 mm, cope: 90 mm, drag: 90 mm, count: 2}";
const POT: &str = "pot: {holds: 1.5 L, working-fill: 80 %, family: aluminium}";
const VAT: &str = "vat: {holds: 4 L, working-fill: 80 %, family: aluminium}";

const PATTERN: &str = "---
id: p1
at: 2026-01-09 07:00
done: {pattern: bed, hours: 1 h}
";

fn gone(id: &str, event: &str) -> String {
    format!("---\nid: {id}\nat: 2026-01-09 08:00\nretired: {{{event}}}\n")
}

fn build(pots: &[&str], flasks: &[&str], journal: &str) -> Build {
    let text = BUILD.replace("POTS", &pots.join(", ")).replace("FLASKS", &flasks.join(", "));
    let day = NaiveDate::from_ymd_opt(2026, 1, 9).expect("a day");
    read_on(&text, &format!("{PATTERN}{journal}"), day)
}

/// The plan, kept to the rules by the checker, and found again as it is.
fn planned(build: &Build, kept: Option<&Kept>) -> (Schedule, Kept) {
    let (plan, estimate) = told(build, Aim::Finish, 60);
    assert_eq!(broken(build, &plan, &estimate), [""; 0]);
    let (schedule, new) = keeping(build, Aim::Finish, 60, kept);
    let (again, _) = keeping(build, Aim::Finish, 60, Some(&new));
    assert_eq!(again.finish, schedule.finish);
    assert!(again.moved.is_empty(), "{:?}", again.moved);
    (schedule, new)
}

fn pots(of: &Schedule) -> Vec<&str> {
    let mut all: Vec<&str> = of.heats.iter().flat_map(|h| &h.crucibles).map(|id| &**id).collect();
    all.dedup();
    all
}

fn flasks(of: &Schedule) -> Vec<&str> {
    let mut all: Vec<&str> = of.moulds.iter().filter_map(|m| m.flask.as_deref()).collect();
    all.dedup();
    all
}

#[test]
fn a_flask_that_broke_is_used_no_more_and_is_the_told_cause() {
    let all = [BOX, CRATE];
    let (first, kept) = planned(&build(&[POT], &all, ""), None);
    assert_eq!(flasks(&first), ["box"]);
    // Both are gone: it is rammed in the larger one.
    let both = build(&[POT], &all, &gone("g", "flask: box, pieces: 2"));
    let (then, _) = planned(&both, Some(&kept));
    assert_eq!(flasks(&then), ["crate"]);
    let says = then.moved.join("\n");
    assert!(says.contains("2 of the flask box were retired on 2026-01-09"), "{says}");
    // What may be tried knows of those that are there.
    let estimates = estimate(&both);
    let thoughts = Supposition::worth_a_thought(&both, &estimates);
    assert!(!thoughts.iter().any(|s| s.in_words(&both).contains("box")), "{thoughts:?}");
    // One of two: both are still rammed in it, one at a time, so a heat has one and there are more.
    let one = build(&[POT], &[BOX], &gone("g", "flask: box"));
    let (_, kept) = planned(&build(&[POT], &[BOX], ""), None);
    let (fewer, _) = planned(&one, Some(&kept));
    assert_eq!(one.shop.flasks["box"].count, 1);
    assert!(fewer.heats.iter().all(|h| h.moulds.len() == 1), "one flask, one mould");
    let says = fewer.moved.join("\n");
    assert!(says.contains("the flask box was retired on 2026-01-09"), "{says}");
    // One of three: the two that a heat takes are left, so nothing moves.
    let three = BOX.replace("count: 2", "count: 3");
    let (_, kept) = planned(&build(&[POT], &[&three], ""), None);
    let spare = build(&[POT], &[&three], &gone("g", "flask: box"));
    assert!(planned(&spare, Some(&kept)).0.moved.is_empty());
    // Taken back, nothing is gone.
    let void = "---\nid: v\nat: 2026-01-09 09:00\nvoid: {entry: g, why: it was the lid}\n";
    let here = build(&[POT], &[BOX], &format!("{}{void}", gone("g", "flask: box")));
    assert_eq!(here.shop.flasks["box"].count, 2);
}

#[test]
fn without_its_last_flask_a_mould_is_not_planned_and_why_is_told() {
    let none = build(&[POT], &[BOX], &gone("g", "flask: box, pieces: 2"));
    let fit = estimate(&none).castings[0].as_ref().expect("cast").mould.flask.clone();
    let FlaskFit::Lacking(says) = fit else { panic!("{fit:?}") };
    assert!(says.contains("the flask box was retired on 2026-01-09"), "{says}");
    let (schedule, _) = keeping(&none, Aim::Finish, 60, None);
    assert!(schedule.heats.is_empty() && schedule.finish.is_none());
    assert!(schedule.missing.iter().any(|m| m.contains("was retired")), "{:?}", schedule.missing);
}

#[test]
fn a_crucible_that_broke_is_used_no_more_until_another_of_it_comes() {
    let all = [POT, VAT];
    let (first, kept) = planned(&build(&all, &[BOX], ""), None);
    assert_eq!(pots(&first), ["pot"]);
    let broke = gone("g", "crucible: pot");
    let without = build(&all, &[BOX], &broke);
    let (then, _) = planned(&without, Some(&kept));
    assert_eq!(pots(&then), ["vat"]);
    let says = then.moved.join("\n");
    assert!(says.contains("the crucible pot was retired on 2026-01-09"), "{says}");
    let worn = bill(&without, &estimate(&without), &then).crucibles;
    assert_eq!(worn.iter().map(|w| &*w.crucible).collect::<Vec<_>>(), ["vat"]);
    // Its only pots: nothing is left to melt in, and what was promised of other work goes on.
    let iron = "urn: {holds: 4 L, family: iron}";
    let (_, kept) = planned(&build(&[POT, iron], &[BOX], ""), None);
    let last = build(&[POT, iron], &[BOX], &broke);
    let (schedule, _) = keeping(&last, Aim::Finish, 60, Some(&kept));
    assert_eq!(schedule.missing, ["bed: the crucible pot was retired on 2026-01-09"]);
    // Another came: it is new, whatever the one that broke had melted.
    let came = "---\nid: c\nat: 2026-01-09 09:00\nreceived: {stock: pot, pieces: 1}\n";
    let heats = "---\nid: r\nat: 2026-01-09 07:10\nrammed: {mould: M1, pattern: bed, castings: {bed: 1}}\n\
                 ---\nid: h\nat: 2026-01-09 07:40\npoured: {heat: H1, alloy: A356, crucible: pot, moulds: [M1]}\n";
    let again = build(&[POT], &[BOX], &format!("{heats}{broke}{came}"));
    let (schedule, _) = planned(&again, None);
    assert_eq!(pots(&schedule), ["pot"]);
    let worn = bill(&again, &estimate(&again), &schedule).crucibles;
    assert_eq!((worn[0].so_far, worn[0].new), (0, 0));
}
