//! What dries, cures and stands by the clock, by hand.

use super::builds::{keeping, read_on, told};
use super::checker::broken;
use chrono::NaiveDateTime;
use pourwright::estimate::estimate;
use pourwright::manifest::Step;
use pourwright::model::Build;
use pourwright::plan::{Aim, Does, Pour, Schedule};
use pourwright::view::sheet::{HeatSheet, Paper};
use serde_json::Value;

/// Two hours each evening; a cored casting of a sand whose moulds stand for days.
const BUILD: &str = "
build: {title: Clocks, begun: 2026-01-05}
shop:
  people: {me: {hours: {mon: 18:00..20:00, tue: 18:00..20:00, wed: 18:00..20:00, thu: 18:00..20:00, fri: 18:00..20:00, sat: 10:00..16:00}}}
  furnaces: {drum: {fuel: propane, efficiency: 10 %, clear-up: none}}
  crucibles: {grey: {holds: 2 L, working-fill: 80 %, family: aluminium}}
  flasks: {box: {inside: 300 x 250 mm, cope: 90 mm, drag: 90 mm, count: 2}}
  sand: {kind: SAND}
  pours: [POURS]
  core-sand: {kind: baked-sand, on-hand: 20 kg}
patterns:
  bed: {made-of: wood, size: 180 x 150 x 50 mm, in-cope: 20 mm}
parts:
  bed:
    quantity: COUNT
    needs: [NEEDS]
    casting: {pattern: bed, alloy: A356, mass: 1.2 kg, cores: {volume: 40 cm3}}
    steps: {pattern: PATTERN, core: CORE, ram: RAM, pour: 15 min}
  jig: {made: {hours: 3 h}}
";

struct Shop {
    sand: &'static str,
    steps: [&'static str; 3],
    count: &'static str,
    needs: &'static str,
    pours: &'static str,
}

const PLAIN: Shop = Shop {
    sand: "oil-sand",
    steps: ["2 h", "1 h", "30 min"],
    count: "1",
    needs: "",
    pours: "mon, tue, wed, thu, fri, sat",
};

impl Shop {
    fn build(&self, journal: &str, day: u32) -> Build {
        let day = chrono::NaiveDate::from_ymd_opt(2026, 1, day).expect("a day");
        read_on(&self.manifest(), journal, day)
    }

    fn manifest(&self) -> String {
        let [pattern, core, ram] = self.steps;
        let text = BUILD.replace("SAND", self.sand).replace("PATTERN", pattern);
        let text = text.replace("CORE", core).replace("RAM", ram);
        let text = text.replace("COUNT", self.count).replace("NEEDS", self.needs);
        text.replace("POURS", self.pours)
    }

    /// The plan on a day of January, checked by every rule.
    fn plan(&self, journal: &str, day: u32) -> Value {
        let build = self.build(journal, day);
        let (plan, estimate) = told(&build, Aim::Finish, 60);
        assert_eq!(broken(&build, &plan, &estimate), [""; 0]);
        plan
    }
}

fn done(at: &str, what: &str) -> String {
    format!("---\nid: \"{at}\"\nat: 2026-01-{at}\ndone: {{{what}, hours: 1 h}}\n")
}

/// When each job of a step begins.
fn starts(plan: &Value, step: &str) -> Vec<String> {
    let jobs = plan["schedule"]["jobs"].as_array().expect("jobs").iter();
    let jobs = jobs.filter(|j| j["step"] == step);
    let mut found: Vec<String> =
        jobs.map(|j| j["start"].as_str().expect("a stamp").into()).collect();
    found.sort();
    found
}

#[test]
fn the_next_step_waits_until_it_is_dry() {
    // The pattern takes Monday evening; the core comes on Tuesday.
    let core = |shop: &Shop| starts(&shop.plan("", 5), "core");
    assert_eq!(core(&PLAIN), ["2026-01-06T18:00"]);
    // Paint that dries 30 h from Monday at 20:00 is dry on Wednesday at 2:00.
    let painted = Shop { steps: ["{hours: 2 h, wait: 30 h}", "1 h", "30 min"], ..PLAIN };
    let plan = painted.plan("", 5);
    assert_eq!(starts(&plan, "core"), ["2026-01-07T18:00"]);
    let pattern = &plan["schedule"]["jobs"][0];
    assert_eq!(
        (&pattern["end"], &pattern["ready"]),
        (&"2026-01-05T20:00".into(), &"2026-01-07T02:00".into())
    );
    // By the handbook a day is likely: Tuesday at 20:00 is too late for that evening.
    let usual = Shop { steps: ["{hours: 2 h, wait: usual}", "1 h", "30 min"], ..PLAIN };
    assert_eq!(core(&usual), ["2026-01-07T18:00"]);
    // Of two castings of one pattern the longer wait counts, as each is likely: 7 h, not 5.5.
    let long = Shop { steps: ["{hours: 2 h, wait: 4..10 h}", "1 h", "30 min"], ..PLAIN };
    let cap = "  cap: {casting: {pattern: bed, alloy: A356, mass: 1 kg}, steps: {pattern: {wait: 5..6 h}}}";
    let day = chrono::NaiveDate::from_ymd_opt(2026, 1, 5).expect("a day");
    let build = read_on(&format!("{}{cap}\n", long.manifest()), "", day);
    assert_eq!(pourwright::estimate::pattern_times(&build)[0].wait_si(), 7.0 * 3600.0);
}

#[test]
fn cores_and_washes_go_by_the_longest_of_their_range() {
    // The core is over at 19:00 on Tuesday. Dry at the most 24.5 h later it goes into the last half
    // hour of Wednesday; an hour later still, into that of Thursday.
    let pour = |core| {
        let shop = Shop { steps: ["2 h", core, "30 min"], ..PLAIN };
        starts(&shop.plan("", 5), "pour")
    };
    assert_eq!(pour("{hours: 1 h, wait: 1..24.5 h}"), ["2026-01-08T18:00"]);
    assert_eq!(pour("{hours: 1 h, wait: 1..25.5 h}"), ["2026-01-09T18:00"]);
    // A mould must be dry when the melt begins: rammed on Tuesday, dry on Friday morning.
    let wash = Shop { steps: ["2 h", "1 h", "{hours: 30 min, wait: 1..60 h}"], ..PLAIN };
    let plan = wash.plan("", 5);
    assert_eq!(starts(&plan, "ram"), ["2026-01-06T19:30"]);
    assert_eq!(starts(&plan, "pour"), ["2026-01-09T18:00"]);
    // Green sand that dries is rammed and poured in one session all the same.
    let steps = ["2 h", "1 h", "{hours: 30 min, wait: 2 h}"];
    let plan = Shop { sand: "green-sand", steps, ..PLAIN }.plan("", 5);
    assert_eq!(starts(&plan, "ram"), ["2026-01-10T10:00"]);
    assert_eq!(starts(&plan, "pour"), ["2026-01-10T12:30"]);
}

#[test]
fn what_is_finished_goes_on_drying() {
    let shop = Shop { steps: ["{hours: 2 h, wait: 2 d}", "1 h", "30 min"], ..PLAIN };
    let made = done("05 20:00", "pattern: bed");
    // Dry on Wednesday at 20:00, when the evening is over.
    assert_eq!(starts(&shop.plan(&made, 6), "core"), ["2026-01-08T18:00"]);
    assert_eq!(starts(&shop.plan(&made, 8), "core"), ["2026-01-08T18:00"]);
    assert_eq!(starts(&PLAIN.plan(&made, 6), "core"), ["2026-01-06T18:00"]);
    // A mould that stands dries too: until Thursday at 11:00.
    let shop = Shop { steps: ["2 h", "none", "{hours: 30 min, wait: 40 h}"], ..PLAIN };
    assert_eq!(starts(&shop.plan(&rammed("06 19:00"), 7), "pour"), ["2026-01-08T18:00"]);
}

#[test]
fn a_wash_that_dries_too_long_is_told() {
    let shop =
        Shop { sand: "oil-sand, stands: 30 h", steps: ["2 h", "1 h", "{wait: 31 h}"], ..PLAIN };
    let missing = shop.plan("", 5)["schedule"]["missing"].to_string();
    assert!(missing.contains("dries 31.0 h, and may stand no longer than 30.0 h"), "{missing}");
    let steps = ["2 h", "1 h", "{hours: 30 min, wait: 5 h}"];
    let missing = Shop { sand: "green-sand", steps, ..PLAIN }.plan("", 5);
    let missing = missing["schedule"]["missing"].to_string();
    assert!(
        missing.contains("ramming, drying, melting, pouring and clearing up take 7.2 h"),
        "{missing}"
    );
}

fn rammed(at: &str) -> String {
    let mould = "mould: M1, pattern: bed, castings: {bed: 1}";
    format!("---\nid: ram {at}\nat: 2026-01-{at}\nrammed: {{{mould}}}\n")
}

/// Whether the mould that stands is rammed again, when, and when it is poured.
fn again(plan: &Value) -> (bool, Vec<String>, Vec<String>) {
    let mould = &plan["schedule"]["heats"][0]["moulds"][0];
    assert_eq!(mould["mould"], "M1");
    let told = plan["schedule"]["stale"].to_string().contains("M1 was rammed on 2026-01-0");
    assert_eq!(told, mould["again"] == true);
    (told, starts(plan, "ram"), starts(plan, "pour"))
}

#[test]
fn a_mould_that_stood_too_long_is_rammed_again() {
    // Rammed on Monday at 19:00, looked at on Tuesday; the first pour there can be is at 19:30.
    let look = |sand| {
        let shop = Shop { sand, ..PLAIN };
        let build = shop.build(&rammed("05 19:00"), 6);
        let sure = !pourwright::plan::in_the_way(&build, &estimate(&build)).stale.is_empty();
        let plan = shop.plan(&rammed("05 19:00"), 6);
        assert_eq!(again(&plan).0, sure, "{sand}");
        // So says the sheet of a heat that is picked by hand.
        let estimates = estimate(&build);
        let pour = Pour::picked(&build, &estimates, &[0]).expect("a heat");
        let sheet = HeatSheet::new(&build, &estimates, &pour, Paper::A4);
        let told = sheet.warnings.iter().any(|w| w.contains("M1 was rammed on 2026-01-05"));
        assert_eq!((pour.moulds[0].again, told), (sure, sure), "{sand}: {:?}", sheet.warnings);
        again(&plan)
    };
    let stamps = |of: &[&str]| -> Vec<String> { of.iter().map(ToString::to_string).collect() };
    let tuesday = stamps(&["2026-01-06T18:00"]);
    let saturday = |clock: &str| stamps(&[&format!("2026-01-10T{clock}")]);
    // Green sand, 4 h to be safe: rammed again, and that is one session with the melt.
    assert_eq!(look("green-sand"), (true, saturday("10:00"), saturday("10:30")));
    // Oil sand, 336 h, is poured as it stands; so is one that may stand to the minute.
    assert_eq!(look("oil-sand"), (false, stamps(&[]), tuesday.clone()));
    assert_eq!(look("oil-sand, stands: 24.5 h"), (false, stamps(&[]), tuesday));
    assert!(look("oil-sand, stands: 24.4 h").0);
    // A shop that pours on Fridays has no heat before 19:30 on the 9th, 96.5 h later.
    let stale = |stands: &'static str| {
        let build = Shop { sand: stands, pours: "fri", ..PLAIN }.build(&rammed("05 19:00"), 6);
        !pourwright::plan::in_the_way(&build, &estimate(&build)).stale.is_empty()
    };
    assert!(!stale("oil-sand, stands: 96.5 h") && stale("oil-sand, stands: 96.4 h"));
}

/// A plan made on the first Monday of 2026, in which the checker finds nothing broken.
fn sound(manifest: &str, aim: Aim) -> serde_json::Value {
    let day = chrono::NaiveDate::from_ymd_opt(2026, 1, 5).expect("a day");
    let build = read_on(manifest, "", day);
    let (plan, estimate) = told(&build, aim, 60);
    assert_eq!(broken(&build, &plan, &estimate), [""; 0]);
    plan
}

#[test]
fn a_mould_stands_no_longer_than_is_safe_in_its_own_session() {
    // Three moulds of 3 h 10 min of ramming each. The first heat of a shop is one mould; of two in
    // another, the first stands 3 h 10 min and the melt of 1 h 30 min, or 1 h 15 min in a hot furnace.
    let heats = |sand| {
        let steps = ["2 h", "none", "570 min"];
        let shop = Shop { sand, steps, count: "3", ..PLAIN };
        let text = shop.manifest().replace("sat: 10:00..16:00", "sat: 8:00..20:00");
        let text = text.replace("holds: 2 L", "holds: 4 L");
        let plan = sound(&text, Aim::Heats);
        let heats = plan["schedule"]["heats"].as_array().expect("heats").len();
        // The bound on heats knows it too.
        assert_eq!(plan["schedule"]["least_heats"], heats, "{sand}");
        heats
    };
    // Green sand: 4 h are safe of 4 to 24, though 8 are likely. What the builder gives counts as given.
    assert_eq!(heats("green-sand"), 3);
    assert_eq!(heats("green-sand, stands: 280 min"), 2);
    assert_eq!(heats("green-sand, stands: 264 min"), 3);
    assert_eq!(heats("green-sand, stands: 4..9 h"), 3);
    // Of a mould that stands, it is told until when by the same number.
    let at = |sand, looked: u32| {
        let build = Shop { sand, ..PLAIN }.build(&rammed("06 19:00"), looked);
        let until = build.good_until(&build.history.attempts["M1"]).expect("a time");
        (until.to_string(), pourwright::plan::in_the_way(&build, &estimate(&build)).stale)
    };
    let (until, stale) = at("green-sand", 7);
    assert_eq!(until, "2026-01-06 23:00:00");
    assert!(
        stale[0].contains("may stand 4 h to be safe (4 to 24, likely 8 h) before it is poured"),
        "{stale:?}"
    );
    assert!(at("green-sand, stands: 9 h", 7).1[0].contains("may stand 9 h before it is poured"));
}

#[test]
fn what_may_stand_longest_is_rammed_first() {
    // The first heat of the shop is the cap. Of the next, the bed is heavier and there is more to do on it; it
    // takes 30 min of ramming, the slab 180. Behind the slab and a melt in a hot furnace of 1 h 15 min the bed would stand 255 min, where
    // 240 are safe; the other way about the slab stands 105, and the bed 75 and the pour of the slab.
    let part = |name: &str, mass: &str, ram: &str, machine: &str| {
        format!(
            "  {name}:\n    casting: {{pattern: {name}, alloy: A356, mass: {mass}}}\n    \
             steps: {{pattern: 2 h, ram: {ram}, pour: 15 min, machine: {machine}}}\n"
        )
    };
    let pattern = |name: &str| {
        format!("  {name}: {{made-of: wood, size: 180 x 150 x 50 mm, in-cope: 20 mm}}\n")
    };
    let text = Shop { sand: "green-sand", steps: ["2 h", "none", "1 h"], ..PLAIN }.manifest();
    let begin = text.find("patterns:\n").expect("patterns");
    let names = ["cap", "bed", "slab"];
    let text = text[..begin].to_owned()
        + "patterns:\n"
        + &names.map(pattern).concat()
        + "parts:\n"
        + &part("cap", "0.5 kg", "30 min", "none")
        + &part("bed", "1.5 kg", "30 min", "5 h")
        + &part("slab", "1.2 kg", "180 min", "none");
    let text = text.replace("sat: 10:00..16:00", "sat: 8:00..20:00");
    let day = chrono::NaiveDate::from_ymd_opt(2026, 1, 5).expect("a day");
    let build = read_on(&text.replace("holds: 2 L", "holds: 4 L"), "", day);
    let (plan, estimate) = told(&build, Aim::Heats, 4);
    assert_eq!(broken(&build, &plan, &estimate), [""; 0]);
    let heats = plan["schedule"]["heats"].as_array().expect("heats").iter();
    let order = |of: &Value| {
        let moulds = of["moulds"].as_array().expect("moulds").iter();
        moulds.map(|m| m["part"].as_str().expect("a part").to_owned()).collect::<Vec<_>>()
    };
    assert_eq!(heats.map(order).collect::<Vec<_>>(), [vec!["cap"], vec!["slab", "bed"]]);
}

#[test]
fn a_melt_longer_than_a_mould_may_stand_is_told() {
    let steps = ["2 h", "none", "30 min"];
    let told = |sand| {
        let shop = Shop { sand, steps, ..PLAIN };
        let text = shop.manifest().replace("efficiency: 10 %", "efficiency: 10 %, power: 1 kW");
        let text = text.replace("sat: 10:00..16:00", "sat: 4:00..22:00");
        let plan = sound(&text, Aim::Finish);
        plan["schedule"]["overlong"].to_string()
    };
    let says = told("green-sand");
    assert!(says.contains("bed stands") && says.contains("may stand 4 h to be safe"), "{says}");
    assert_eq!(told("green-sand, stands: 20 h"), "null");
}

#[test]
fn a_mould_whose_heat_comes_too_late_is_rammed_again_and_that_stays() {
    // The jig is over on Wednesday at 19:00, and the heat is poured on Thursday.
    let shop = Shop {
        sand: "oil-sand, stands: 30 h",
        steps: ["2 h", "none", "30 min"],
        needs: "{part: jig, step: make, before: pour}",
        ..PLAIN
    };
    let journal = rammed("05 19:00");
    let build = shop.build(&journal, 6);
    assert!(pourwright::plan::in_the_way(&build, &estimate(&build)).stale.is_empty());
    let plan = shop.plan(&journal, 6);
    assert!(again(&plan).0);
    assert_eq!(again(&plan).2, ["2026-01-08T18:00"]);
    // Found again without a search; and once it is rammed, as it stands.
    let (first, kept) = keeping(&build, Aim::Finish, 60, None);
    let (now, _) = keeping(&build, Aim::Finish, 0, Some(&kept));
    let starts = |s: &Schedule| s.jobs.iter().map(|j| (j.start, j.end)).collect::<Vec<_>>();
    assert_eq!((now.tried, starts(&now)), (1, starts(&first)));
    let anew = rammed("07 19:30").replace("castings", "again: yes, castings");
    let jig = done("07 19:00", "part: jig, step: make");
    let build = shop.build(&(journal + &jig + &anew), 8);
    let (now, _) = keeping(&build, Aim::Finish, 0, Some(&kept));
    assert!(now.stale.is_empty() && !now.moulds[0].again, "{:?}", now.stale);
    assert_eq!(now.heats[0].pour.to_string(), "2026-01-08 19:30:00");
}

#[test]
fn cores_of_a_casting_that_is_lost_are_made_again() {
    let shop = Shop { count: "2", ..PLAIN };
    let hours = |journal: &str| {
        let plan = shop.plan(journal, 7);
        let jobs = plan["schedule"]["jobs"].as_array().expect("jobs").clone();
        jobs.iter()
            .filter(|j| j["step"] == "core")
            .map(|j| j["minutes"].as_i64())
            .collect::<Vec<_>>()
    };
    // An hour for the two; half an hour for the one that was lost, half an hour for one where the
    // first was rammed and nobody said that its core was made.
    let made = done("05 20:00", "pattern: bed");
    assert_eq!(hours(&made), [Some(60)]);
    assert_eq!(hours(&(made.clone() + &rammed("06 18:00"))), [Some(30)]);
    let cored = made + &done("06 10:00", "part: bed, step: core");
    assert_eq!(hours(&cored), []);
    let standing = cored + &rammed("06 18:00");
    assert_eq!(hours(&standing), []);
    let entry = |id: &str, what: &str| format!("---\nid: {id}\nat: 2026-01-06 2{id}:00\n{what}\n");
    let lost = standing
        + &entry("0", "poured: {heat: H1, alloy: A356, moulds: [M1]}")
        + &entry("2", "shaken-out: {mould: M1}")
        + &entry("3", "inspected: {mould: M1, part: bed, disposition: scrap}");
    assert_eq!(hours(&lost), [Some(30)]);
    // Made again, and worked on since.
    let worked = "worked: {part: bed, step: core, hours: 10 min}";
    let worked = format!("---\nid: w\nat: 2026-01-07 06:30\n{worked}\n");
    assert_eq!(hours(&(lost.clone() + &worked)), [Some(20)]);
    assert_eq!(hours(&(lost + &done("07 07:00", "part: bed, step: core"))), []);
}

#[test]
fn what_was_machined_on_a_casting_that_is_scrapped_is_machined_again() {
    let shop = Shop { count: "2", steps: ["2 h", "1 h, machine: 2 h", "30 min"], ..PLAIN };
    let hours = |journal: &str| {
        let plan = shop.plan(journal, 8);
        let jobs = plan["schedule"]["jobs"].as_array().expect("jobs").clone();
        let machine = jobs.iter().filter(|j| j["step"] == "machine");
        machine.map(|j| j["minutes"].as_i64()).collect::<Vec<_>>()
    };
    let at = |day: u32, hour: u32, what: &str| {
        format!("---\nid: d{day}h{hour}\nat: 2026-01-0{day} {hour}:00\n{what}\n")
    };
    let entry = |hour: u32, what: &str| at(6, hour, what);
    let inspected = |mould: u32, what: &str| {
        format!("inspected: {{mould: M{mould}, part: bed, disposition: {what}}}")
    };
    let good = done("05 20:00", "pattern: bed")
        + &done("06 10:00", "part: bed, step: core")
        + &entry(11, "rammed: {mould: M1, pattern: bed, castings: {bed: 1}}")
        + &entry(12, "rammed: {mould: M2, pattern: bed, castings: {bed: 1}}")
        + &entry(13, "poured: {heat: H1, alloy: A356, moulds: [M1, M2]}")
        + &entry(14, "shaken-out: {mould: M1}")
        + &entry(15, "shaken-out: {mould: M2}")
        + &entry(16, &inspected(1, "accept"))
        + &entry(17, &inspected(2, "accept"));
    assert_eq!(hours(&good), [Some(120)]);
    let machined = good + &done("06 18:00", "part: bed, step: machine");
    assert_eq!(hours(&machined), []);
    // One of the two is lost under the cutter: half of the work comes again with the new one.
    let lost = machined + &entry(19, &inspected(1, "scrap"));
    assert_eq!(hours(&lost), [Some(60)]);
    let anew = lost
        + &at(7, 10, "rammed: {mould: M3, pattern: bed, castings: {bed: 1}}")
        + &at(7, 12, "poured: {heat: H2, alloy: A356, moulds: [M3]}")
        + &at(7, 18, "shaken-out: {mould: M3}")
        + &at(7, 20, &inspected(3, "accept"));
    assert_eq!(hours(&anew), [Some(60)]);
    assert_eq!(hours(&(anew + &done("07 21:00", "part: bed, step: machine"))), []);
}

#[test]
fn nothing_is_planned_before_what_was_done_today() {
    // The pattern took an hour of the evening from 18:00 to 20:00.
    let first = |journal: &str| {
        let plan = PLAIN.plan(journal, 5);
        let jobs = plan["schedule"]["jobs"].as_array().expect("jobs").clone();
        jobs.iter().filter_map(|job| job["start"].as_str().map(str::to_owned)).min()
    };
    let done_at = |at: &str| first(&done(at, "pattern: bed")).expect("work");
    assert_eq!(done_at("05 18:30"), "2026-01-05T19:00");
    assert_eq!(done_at("05 19:15"), "2026-01-05T19:15");
    assert_eq!(done_at("05 20:30"), "2026-01-06T18:00");
    // What was noted late in the evening is no work at the bench.
    let note = "---\nid: n\nat: 2026-01-05 21:00\nnote: {says: Rain.}\n";
    let noted = first(&(done("05 18:30", "pattern: bed") + note));
    assert_eq!(noted.as_deref(), Some("2026-01-05T19:00"));
}

#[test]
fn a_heat_that_may_fill_its_pot_to_the_brim_is_told() {
    let plan = |litres: f64| {
        let text = PLAIN.manifest().replace("holds: 2 L", &format!("holds: {litres:.3} L"));
        let build = read_on(&text, "", chrono::NaiveDate::from_ymd_opt(2026, 1, 5).expect("a day"));
        keeping(&build, Aim::Finish, 60, None).0
    };
    // The least pot in which the heat is planned takes the likely charge, and not the most.
    let least = (100..2000).step_by(5).map(|ml| f64::from(ml) / 1e3);
    let least = least.into_iter().find(|l| !plan(*l).heats.is_empty()).expect("a pot");
    let full = plan(least);
    let told = full.brimming.as_ref().expect("told");
    assert!(told.starts_with("H1 may come to more metal than the pot holds"), "{told}");
    let roomy = plan(least * 1.3);
    assert_eq!(roomy.brimming, None);
    // What is charged goes by the most that the mould may take, and stops at what the pot takes: four
    // fifths of its brim, of the lightest liquid.
    let (full, roomy) = (&full.heats[0].charge, &roomy.heats[0].charge);
    let [full, roomy] = [full, roomy].map(|charge| charge.as_ref().expect("a charge"));
    let build = PLAIN.build("", 5);
    let liquid = build.handbook.alloys["A356"].liquid_density.as_ref().expect("a density").low();
    assert!((full.safe() - least / 1e3 * 0.8 * liquid).abs() < 1e-9, "{}", full.safe());
    assert!(full.si() < full.safe() && full.safe() < roomy.safe());
    assert_eq!(roomy.safe(), roomy.high());
}

/// Heats on Saturdays, when there are six hours.
const SATURDAYS: Shop = Shop { pours: "sat", ..PLAIN };

/// Minutes from taking up the heat to the pour, clearing up in minutes, and what is missing; with these
/// keys of the furnace.
fn at_furnace(keys: &str) -> (i64, i64, Vec<String>) {
    let text = SATURDAYS.manifest().replace("10 %, clear-up: none}", &format!("50 %{keys}}}"));
    let build = read_on(&text, "", chrono::NaiveDate::from_ymd_opt(2026, 1, 5).expect("a day"));
    let (schedule, _) = keeping(&build, Aim::Finish, 60, None);
    let Some(heat) = schedule.heats.first() else { return (0, 0, schedule.missing) };
    let pour = schedule.jobs.iter().find(|j| j.step == Step::Pour).expect("a pour");
    let minutes = |from: NaiveDateTime, to: NaiveDateTime| (to - from).num_minutes();
    let session = schedule.sessions.iter().find(|s| s.day == heat.lit.date()).expect("a session");
    let last = session.blocks.last().filter(|b| b.does == Does::ClearUp);
    let clear_up = last.map_or(0, |b| minutes(b.from, b.to));
    (minutes(pour.start, heat.pour), clear_up, schedule.missing)
}

/// The heat of the charge over the power that reaches it, against the 90 min that are usual; 15 min of
/// setting up come before it.
#[test]
fn a_melt_takes_what_its_charge_takes_in_its_furnace() {
    let build = SATURDAYS.build("", 5);
    let estimates = estimate(&build);
    let heat = estimates.castings[0].as_ref().and_then(|e| e.mould.melt_heat.clone());
    let joules = heat.expect("a charge").si();
    // Watts of a furnace, half of which reach the metal, that melt it in so many minutes.
    let watts = |minutes: f64| format!(", power: {} W", joules / 0.5 / (60.0 * minutes));
    let melt = |keys: &str| at_furnace(keys).0;
    assert_eq!(melt(""), 90);
    assert_eq!(melt(&watts(74.5)), 90);
    assert_eq!(melt(&watts(99.5)), 115);
    assert_eq!(melt(&(watts(99.5) + ", set-up: 40 min")), 140);
    // The day has no room for that: said once, with what would do.
    let (_, _, missing) = at_furnace(&watts(900.0));
    let says = "15.2 h of it melting; the longest is 6.0 h: plan a longer day";
    assert!(missing.len() == 1 && missing[0].contains(says), "{missing:?}");
}

#[test]
fn a_session_with_a_heat_ends_with_clearing_up() {
    assert_eq!(at_furnace("").1, 30);
    assert_eq!(at_furnace(", clear-up: 45 min").1, 45);
    assert_eq!(at_furnace(", clear-up: none").1, 0);
}

/// An evening of 2 h holds 90 min until the pour and 15 of pouring, and 15 of clearing up, not 30.
#[test]
fn an_evening_too_short_by_clearing_up_alone_is_told_what_would_do() {
    let evenings = |keys: &str| {
        let shop = Shop { pours: "mon, tue, wed, thu, fri", ..PLAIN };
        let text = shop.manifest().replace(", clear-up: none", keys);
        let day = chrono::NaiveDate::from_ymd_opt(2026, 1, 5).expect("a day");
        keeping(&read_on(&text, "", day), Aim::Finish, 60, None).0.missing
    };
    let says = "with `clear-up: 15 min` the heat would fit";
    let missing = evenings("");
    assert!(missing.len() == 1 && missing[0].contains(says), "{missing:?}");
    assert_eq!(evenings(", clear-up: 15 min"), [""; 0]);
    // Setting up so long that no clearing up at all would do.
    let missing = evenings(", set-up: 3 h");
    assert!(missing.len() == 1 && !missing[0].contains("would fit"), "{missing:?}");
}

#[test]
fn heats_are_poured_on_the_days_on_which_the_shop_pours() {
    let pour = |pours| starts(&Shop { pours, ..PLAIN }.plan("", 5), "pour");
    assert_eq!(pour(PLAIN.pours), ["2026-01-07T18:00"]);
    assert_eq!(pour("fri, sun"), ["2026-01-09T18:00"]);
    let plan = Shop { pours: "fri", ..PLAIN }.plan("", 5);
    let jobs = plan["schedule"]["jobs"].as_array().expect("jobs").clone();
    let poured = jobs.iter().find(|j| j["step"] == "pour").expect("a pour");
    assert_eq!(poured["waited_for"], "pour-day");
    // Nobody is there on Sundays.
    let missing = Shop { pours: "sun", ..PLAIN }.plan("", 5)["schedule"]["missing"].to_string();
    assert!(
        missing.contains("bed: nobody has hours on a day on which the shop pours"),
        "{missing}"
    );
}
