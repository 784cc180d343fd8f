//! The checker can find fault: a schedule broken in every way there is a rule for.

use super::builds::{read, told};
use super::checker::broken;
use pourwright::figure::{Because, Figure, Quantity, Range};
use pourwright::manifest::Crucible;
use pourwright::model::Build;
use pourwright::plan::Aim;
use serde_json::{Value, json};

/// A build in which every rule has something to say: bought parts, needs, a warm-up, two alloys,
/// moulds that share a heat, flasks that are all in use, days away.
const RICH: &str = "
build: {title: Rich, begun: 2026-01-10}
shop:
  people:
    ann: {hours: {sat: 7 h, sun: 4 h}}
    bea: {hours: {sat: 7 h}}
  away: [2026-01-17]
  poured-before: [A356, C905, green-sand]
  furnaces:
    drum: {fuel: propane, efficiency: 10 %, warm-up: 30 min, heats-per-session: 2}
    pit: {fuel: propane, efficiency: 10 %, warm-up: 60 min, heats-per-session: 1}
  crucibles:
    grey: {holds: 3 L, working-fill: 80 %, family: aluminium, mass: 9 kg, heel: 200 g}
    brown: {holds: 1 L, working-fill: 80 %, family: copper}
  flasks:
    small: {inside: 300 x 250 mm, cope: 90 mm, drag: 90 mm, count: 2}
  sand: {kind: green-sand, on-hand: 60 kg}
  machines: {lathe: 1}
patterns:
  bed: {made-of: wood, size: 180 x 150 x 50 mm, in-cope: 20 mm}
  arm: {made-of: wood, size: 180 x 120 x 50 mm, in-cope: 20 mm}
  nut: {made-of: wood, size: 120 x 80 x 40 mm, in-cope: 20 mm}
  gib: {made-of: wood, size: 150 x 50 x 30 mm, in-cope: 10 mm, beside: [pin]}
  pin: {made-of: wood, size: 100 x 60 x 40 mm, in-cope: 20 mm}
parts:
  bed: {casting: {pattern: bed, alloy: A356, mass: 1.2 kg}, steps: {machine: {hours: 12 h, on: lathe}}}
  arm: {quantity: 2, casting: {pattern: arm, alloy: A356, mass: 700 g, cores: {volume: 20 cm3}}}
  nut: {quantity: 2, casting: {pattern: nut, alloy: C905, mass: 600 g}, needs: [bed.machine]}
  motor: {bought: {delivery: 12 d}, needs: [{part: bed, before: fit}]}
  jig: {made: {hours: 2 h}, steps: {make: {on: lathe}, scrape: {hours: 1 h, on: bed}}}
  gib: {quantity: 2, casting: {pattern: gib, alloy: A356, mass: 400 g}}
  pin: {casting: {pattern: pin, alloy: A356, mass: 300 g, cores: {volume: 20 cm3}}}
";

/// A way to break a schedule, and the word by which the checker tells it.
type Break = (&'static str, fn(&mut Build, &mut Value));

/// The first block of a job, to be changed.
fn block<'a>(plan: &'a mut Value, on: &str, step: &str) -> &'a mut Value {
    let jobs = plan["schedule"]["jobs"].as_array().expect("jobs");
    let job = jobs.iter().position(|j| j["on"] == on && j["step"] == step).expect("the job");
    let sessions = plan["schedule"]["sessions"].as_array_mut().expect("sessions").iter_mut();
    let mut blocks = sessions.flat_map(|s| s["blocks"].as_array_mut().expect("blocks"));
    blocks.find(|b| b["job"] == job).expect("a block")
}

/// Moves every stamp of a job, and its blocks, by minutes.
fn shift(plan: &mut Value, on: &str, step: &str, by: i64) {
    let jobs = plan["schedule"]["jobs"].as_array_mut().expect("jobs");
    let n = jobs.iter().position(|j| j["on"] == on && j["step"] == step).expect("the job");
    for key in ["start", "end", "ready"] {
        later(&mut jobs[n][key], by);
    }
    let sessions = plan["schedule"]["sessions"].as_array_mut().expect("sessions");
    let mut moved = Vec::new();
    for session in sessions.iter_mut() {
        let blocks = session["blocks"].as_array_mut().expect("blocks");
        moved.extend(blocks.iter().filter(|b| b["job"] == n).cloned());
        blocks.retain(|b| b["job"] != n);
    }
    for mut b in moved {
        later(&mut b["from"], by);
        later(&mut b["to"], by);
        let day = b["from"].as_str().expect("a stamp")[..10].to_owned();
        match sessions.iter_mut().find(|s| s["day"] == *day) {
            Some(s) => s["blocks"].as_array_mut().expect("blocks").push(b),
            None => sessions.push(json!({"day": day, "blocks": [b]})),
        }
    }
}

/// Moves a stamp by minutes.
fn later(stamp: &mut Value, by: i64) {
    const FORM: &str = "%Y-%m-%dT%H:%M";
    let at = chrono::NaiveDateTime::parse_from_str(stamp.as_str().expect("a stamp"), FORM);
    let at = at.expect("a stamp") + chrono::TimeDelta::minutes(by);
    *stamp = at.format(FORM).to_string().into();
}

fn heats(plan: &mut Value) -> &mut Vec<Value> {
    plan["schedule"]["heats"].as_array_mut().expect("heats")
}

/// The heat in which a part is poured.
fn heat<'a>(plan: &'a mut Value, part: &str) -> &'a mut Value {
    let holds = |h: &&mut Value| {
        h["moulds"].as_array().is_some_and(|m| m.iter().any(|m| m["part"] == part))
    };
    heats(plan).iter_mut().find(holds).expect("the heat")
}

const WEEK: i64 = 7 * 24 * 60;

const BREAKS: &[Break] = &[
    ("once", |_, plan| {
        // A job is left out: the last one, so that no other is renumbered.
        let jobs = plan["schedule"]["jobs"].as_array_mut().expect("jobs");
        jobs.pop();
        let n = jobs.len();
        for s in plan["schedule"]["sessions"].as_array_mut().expect("sessions") {
            s["blocks"].as_array_mut().expect("blocks").retain(|b| b["job"] != n);
        }
    }),
    ("once", |build, _| {
        // Something is planned that the journal says is done: here, that the machine has one less.
        build.parts[2].given.quantity = 1;
    }),
    ("in full", |_, plan| {
        // Work of twelve hours in a quarter of an hour less.
        let jobs = plan["schedule"]["jobs"].as_array_mut().expect("jobs");
        let job = jobs.iter_mut().find(|j| j["step"] == "machine").expect("machining");
        later(&mut job["start"], 15);
        later(&mut block(plan, "bed", "machine")["from"], 15);
    }),
    ("order", |_, plan| shift(plan, "bed", "machine", -4 * WEEK)),
    ("order", |_, plan| shift(plan, "nut", "fit", -12 * WEEK)),
    ("cooling", |_, plan| {
        // Shaken out as soon as it is poured.
        let from = block(plan, "bed", "shake-out")["from"].clone();
        let poured = block(plan, "bed", "pour")["to"].clone();
        let minute =
            |v: &Value| super::told::minute(v.as_str().expect("a stamp")).expect("a stamp");
        shift(plan, "bed", "shake-out", minute(&poured) - minute(&from));
        let at = block(plan, "bed", "shake-out")["to"].clone();
        let moulds = heat(plan, "bed")["moulds"].as_array_mut().expect("moulds");
        moulds.iter_mut().find(|m| m["part"] == "bed").expect("bed")["shaken_out"] = at;
    }),
    ("waits", |_, plan| {
        // A motor that is there before it is delivered.
        let jobs = plan["schedule"]["jobs"].as_array_mut().expect("jobs");
        let job = jobs.iter_mut().find(|j| j["step"] == "receive").expect("the motor");
        job["ready"] = job["start"].clone();
    }),
    ("hours", |_, plan| shift(plan, "bed", "pattern", -120)),
    ("hours", |build, plan| {
        // A day away on which there is work.
        let day = plan["schedule"]["sessions"][1]["day"].as_str().expect("a day");
        let day = day.parse().expect("a day");
        build.shop.away.push((day, day));
    }),
    ("one thing at a time", |_, plan| {
        let sessions = plan["schedule"]["sessions"].as_array_mut().expect("sessions").iter_mut();
        let blocks = sessions.flat_map(|s| s["blocks"].as_array_mut().expect("blocks"));
        blocks.for_each(|b| b["person"] = "ann".into());
    }),
    ("broken off", |build, _| {
        // The day is longer than the plan says.
        for person in build.shop.people.values_mut() {
            person.hours.iter_mut().filter(|h| **h > 0.0).for_each(|h| *h += 3600.0);
        }
    }),
    ("unbroken", |_, plan| {
        // Ramming in two goes.
        let whole = block(plan, "bed", "ram").clone();
        let mut middle = whole["from"].clone();
        later(&mut middle, 5);
        block(plan, "bed", "ram")["to"] = middle.clone();
        let mut rest = whole.clone();
        rest["from"] = middle;
        let day = whole["from"].as_str().expect("a stamp")[..10].to_owned();
        let sessions = plan["schedule"]["sessions"].as_array_mut().expect("sessions");
        let session = sessions.iter_mut().find(|s| s["day"] == *day).expect("the session");
        session["blocks"].as_array_mut().expect("blocks").push(rest);
    }),
    ("same session", |_, plan| {
        shift(plan, "bed", "ram", -24 * 60);
        let at = block(plan, "bed", "ram")["from"].clone();
        let moulds = heat(plan, "bed")["moulds"].as_array_mut().expect("moulds");
        moulds.iter_mut().find(|m| m["part"] == "bed").expect("bed")["rammed"] = at;
    }),
    ("stands", |build, _| {
        // A sand that crumbles in ten minutes.
        build.shop.sand.as_mut().expect("sand").stands = Some(figure(600.0));
    }),
    ("stands", |build, plan| {
        // A sand that may stand a day, rammed two weeks before.
        build.shop.sand.as_mut().expect("sand").stands = Some(figure(24.0 * 3600.0));
        shift(plan, "bed", "ram", -2 * WEEK);
        let at = block(plan, "bed", "ram")["from"].clone();
        let moulds = heat(plan, "bed")["moulds"].as_array_mut().expect("moulds");
        moulds.iter_mut().find(|m| m["part"] == "bed").expect("bed")["rammed"] = at;
    }),
    ("in full", |build, _| {
        // A furnace so weak that the charge takes hours.
        build.shop.furnaces.values_mut().for_each(|f| f.power = Some(figure(500.0)));
    }),
    ("clear up", |build, _| {
        build.shop.furnaces.values_mut().for_each(|f| f.clear_up = Some(figure(3600.0)));
    }),
    ("clear up", |_, plan| {
        for session in plan["schedule"]["sessions"].as_array_mut().expect("sessions") {
            session["blocks"].as_array_mut().expect("blocks").retain(|b| b["clears_up"] != true);
        }
    }),
    ("clear up", |_, plan| {
        // Cleared up before the session ends.
        let sessions = plan["schedule"]["sessions"].as_array_mut().expect("sessions").iter_mut();
        let mut blocks = sessions.flat_map(|s| s["blocks"].as_array_mut().expect("blocks"));
        let block = blocks.find(|b| b["clears_up"] == true).expect("a block");
        later(&mut block["from"], -5);
        later(&mut block["to"], -5);
    }),
    ("warm-up", |_, plan| later(&mut heat(plan, "bed")["lit"], 10)),
    ("pour day", |build, _| build.shop.pours = Some([false; 7])),
    ("heats in a session", |build, _| {
        build.shop.furnaces.values_mut().for_each(|f| f.heats_per_session = 0);
    }),
    ("furnace", |_, plan| {
        // Two heats in one furnace at once.
        let (lit, over) = (heats(plan)[0]["lit"].clone(), heats(plan)[0]["over"].clone());
        let furnace = heats(plan)[0]["furnace"].clone();
        let second = &mut heats(plan)[1];
        (second["lit"], second["over"], second["furnace"]) = (lit, over, furnace);
    }),
    ("hands", |_, plan| {
        // The one who helps goes home.
        for session in plan["schedule"]["sessions"].as_array_mut().expect("sessions") {
            session["blocks"].as_array_mut().expect("blocks").retain(|b| b["helps"] != true);
        }
    }),
    ("lifting", |build, _| {
        // Tongs of 20 kg.
        build.shop.crucibles.get_mut("grey").expect("a crucible").tongs = Some(figure(20.0));
    }),
    ("lifting", |_, plan| {
        heat(plan, "bed")["people"] = 1.into();
    }),
    ("family", |_, plan| heat(plan, "nut")["crucibles"] = json!(["grey"])),
    ("working fill", |build, _| {
        let pot = build.shop.crucibles.get_mut("grey").expect("a crucible");
        pot.holds = figure(4e-4);
    }),
    ("crucible", |_, plan| heat(plan, "bed")["crucibles"] = json!(["grey", "brown"])),
    ("working fill", |build, _| {
        let pot = build.shop.crucibles.get_mut("grey").expect("a crucible");
        pot.heel = Some(figure(5.0));
    }),
    ("heel", |_, plan| {
        // A heel that is not in the pot.
        heat(plan, "bed")["heels"][0]["from"] = "H9".into();
    }),
    ("charge", |_, plan| {
        let kg = heat(plan, "bed")["charge"]["value"].as_f64().expect("kg");
        heat(plan, "bed")["charge"]["value"] = (kg + 0.2).into();
    }),
    ("larger", |build, _| {
        // A smaller crucible that would do, and is free.
        let grey = build.shop.crucibles["grey"].clone();
        let small = Crucible { holds: figure(grey.holds.si() * 0.99), mass: None, ..grey };
        build.shop.crucibles.insert("little".into(), small);
    }),
    ("one alloy", |_, plan| heat(plan, "nut")["alloy"] = "A356".into()),
    ("one heat", |_, plan| {
        // A mould that is poured from no heat.
        heat(plan, "arm")["moulds"].as_array_mut().expect("moulds").pop();
    }),
    ("one heat", |_, plan| {
        // A mould that is poured twice.
        let moulds = heat(plan, "nut")["moulds"].as_array_mut().expect("moulds");
        moulds[0]["mould"] = "M1".into();
        let again = moulds[0].clone();
        moulds.push(again);
    }),
    ("flasks", |build, _| {
        build.shop.flasks.get_mut("small").expect("a flask").count = 1;
    }),
    ("sand", |build, _| {
        build.shop.sand.as_mut().expect("sand").on_hand = Some(figure(1.0));
    }),
    ("machine", |_, plan| {
        let jobs = plan["schedule"]["jobs"].as_array_mut().expect("jobs");
        jobs.iter_mut().find(|j| j["step"] == "make").expect("the jig")["machine"] = "bed".into();
    }),
    ("machines", |build, _| {
        build.shop.machines.insert("lathe".into(), 0);
    }),
    ("order", |_, plan| shift(plan, "jig", "scrape", -4 * WEEK)),
    ("side by side", |build, _| {
        // A flask that takes the patterns, and too little sand with them.
        build.shop.flasks.get_mut("small").expect("a flask").width = figure(0.200);
    }),
    ("side by side", |build, _| {
        // A pattern that is larger than the place it has.
        let pin = build.patterns.iter_mut().find(|p| *p.id == *"pin").expect("a pattern");
        pin.given.length = Some(figure(0.110));
    }),
    ("order", |_, plan| shift(plan, "pin", "core", 4 * WEEK)),
    ("castings", |_, plan| {
        // One more casting of what lies beside.
        let moulds = heat(plan, "gib")["moulds"].as_array_mut().expect("moulds");
        let shared = moulds.iter_mut().find(|m| m["others"][0]["part"] == "pin").expect("a mould");
        shared["others"][0]["castings"] = 2.into();
    }),
    ("bound", |_, plan| later(&mut plan["schedule"]["bound"], 52 * WEEK)),
    ("finish", |_, plan| later(&mut plan["schedule"]["finish"], -1)),
];

/// A figure in SI.
pub fn figure<Q: Quantity>(si: f64) -> Figure<Q> {
    Figure::new("for the test", Range::exact(si), Because::Counted("for the test".into()))
}

#[test]
fn the_checker_catches_every_kind_of_break() {
    let build = read(RICH, "");
    let (plan, estimate) = told(&build, Aim::Finish, 200);
    assert_eq!(broken(&build, &plan, &estimate), [""; 0]);
    for (i, (word, spoil)) in BREAKS.iter().enumerate() {
        let (mut build, mut plan) = (build.clone(), plan.clone());
        spoil(&mut build, &mut plan);
        let faults = broken(&build, &plan, &estimate);
        let caught = faults.iter().any(|f| f.starts_with(&format!("{word}:")));
        assert!(caught, "break {i}, `{word}`, was not caught: {faults:?}");
    }
}

#[test]
fn a_pattern_moved_in_its_flask_is_caught() {
    let build = read(RICH, "");
    let (plan, estimate) = told(&build, Aim::Finish, 20);
    assert_eq!(broken(&build, &plan, &estimate), [""; 0]);
    let places = &estimate["together"][0]["places"];
    let at = |i: usize, key: &str| places[i][key].as_f64().expect("a length");
    for (x, y, says) in [
        (at(0, "x"), at(0, "y"), "between"),
        (at(1, "x"), 0.010, "at the wall"),
        (0.290, at(1, "y"), "at the wall"),
    ] {
        let mut moved = estimate.clone();
        let place = &mut moved["together"][0]["places"][1];
        (place["x"], place["y"]) = (x.into(), y.into());
        let faults = broken(&build, &plan, &moved);
        let caught = |f: &String| f.starts_with("side by side:") && f.ends_with(says);
        assert!(faults.iter().any(caught), "{x} {y}, `{says}`: {faults:?}");
    }
}
