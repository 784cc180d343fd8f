//! What was promised lives on: a heat whose moulds are rammed is poured from one melt, by the name
//! it was promised by.

use super::builds::{SHIPPED, files, keeping, random, read};
use pourwright::manifest::Step;
use pourwright::model::Build;
use pourwright::plan::{Aim, PlannedHeat, Schedule};
use std::fmt::Write;

/// Journal entries that say these moulds are rammed, under names that nothing promised.
fn rammed(build: &Build, schedule: &Schedule, moulds: &[usize]) -> String {
    let mut out = String::new();
    for (n, m) in moulds.iter().enumerate() {
        let mould = &schedule.moulds[*m];
        if mould.standing.is_some() {
            continue;
        }
        let pattern = build.parts[mould.part].casting.as_ref().expect("a casting").pattern;
        let lots = mould.lots();
        let lots: Vec<String> =
            lots.iter().map(|(part, n)| format!("{}: {n}", build.parts[*part].id())).collect();
        let (pattern, lots) = (&build.patterns[pattern].id, lots.join(", "));
        let (day, id) = (build.today.max(build.header.begun), format!("ready-{n}"));
        write!(
            out,
            "---\nid: {id}\nat: {day} 07:{n:02}\nrammed:\n  mould: {id}\n  pattern: {pattern}\n  castings: {{{lots}}}\n"
        )
        .expect("text");
    }
    out
}

/// What a heat holds, in an order of its own.
fn holds(schedule: &Schedule, heat: &PlannedHeat) -> Vec<Vec<(usize, u32)>> {
    let sorted = |m: &usize| {
        let mut lots = schedule.moulds[*m].lots();
        lots.sort_unstable();
        lots
    };
    let mut moulds: Vec<_> = heat.moulds.iter().map(sorted).collect();
    moulds.sort();
    moulds
}

fn charge(heat: &PlannedHeat) -> f64 {
    heat.charge.as_ref().map_or(0.0, |c| c.si())
}

/// Logs each promised heat of several moulds as rammed, one build each, and says what went wrong,
/// and how many heats were logged.
fn all_stay_whole(
    name: &str,
    [manifest, journal]: [String; 2],
    tries: usize,
) -> (Vec<String>, usize) {
    let build = read(&manifest, &journal);
    let (promised, kept) = keeping(&build, Aim::Finish, tries, None);
    let (mut faults, mut many, mut stuck) = (Vec::new(), 0, 0);
    for heat in promised.heats.iter().filter(|h| h.moulds.len() > 1) {
        many += 1;
        let ready = read(&manifest, &(journal.clone() + &rammed(&build, &promised, &heat.moulds)));
        // As every command finds it, and as `plan` looks for a better one.
        for tries in [0, tries] {
            let (now, _) = keeping(&ready, Aim::Finish, tries, Some(&kept));
            // What they wait for needs the flasks that they stand in: the plan says so.
            if now.heats.is_empty() || now.moved.iter().any(|m| m.contains("cannot wait for each"))
            {
                stuck += 1;
                break;
            }
            let one = |m: &usize| now.moulds[*m].standing.as_deref() == Some("ready-0");
            let same = now.heats.iter().find(|h| h.moulds.iter().any(one));
            // Of two promised heats that hold the same the earlier one is ready.
            let alike =
                promised.heats.iter().filter(|h| holds(&promised, h) == holds(&promised, heat));
            let names: Vec<_> = alike.map(|h| h.name.clone()).collect();
            let whole = same.is_some_and(|h| {
                let standing = h.moulds.iter().all(|m| now.moulds[*m].standing.is_some());
                standing && holds(&now, h) == holds(&promised, heat) && names.contains(&h.name)
            });
            let kept_charge = same.is_some_and(|h| (charge(h) - charge(heat)).abs() < 1e-9);
            if !whole || !kept_charge {
                let told: Vec<String> =
                    now.heats.iter().map(|h| format!("{} {:?}", h.name, holds(&now, h))).collect();
                faults.push(format!(
                    "{name} {} {:?} with {tries} tries: {:?} {}",
                    heat.name,
                    holds(&promised, heat),
                    now.moved,
                    told.join("; ")
                ));
            }
        }
    }
    if stuck > 0 {
        println!("{name}: {stuck} heats cannot be poured once they are rammed, whatever the plan");
    }
    (faults, many - stuck)
}

#[test]
fn heats_that_are_rammed_stay_whole_in_the_shipped_builds() {
    let (mut faults, mut many) = (Vec::new(), 0);
    for folder in SHIPPED {
        let (new, heats) = all_stay_whole(folder, files(folder), 150);
        faults.extend(new);
        many += heats;
    }
    println!("{many} promised heats of several moulds, {} not whole", faults.len());
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(many >= 15, "{many} heats are worth a test");
}

#[test]
fn heats_that_are_rammed_stay_whole_in_random_builds() {
    let (mut faults, mut many, mut builds) = (Vec::new(), 0, 0);
    for seed in 0.. {
        let (new, heats) =
            all_stay_whole(&format!("seed {seed}"), [random(seed), String::new()], 60);
        faults.extend(new);
        many += heats;
        builds += usize::from(heats > 0);
        if builds == 18 {
            break;
        }
    }
    println!(
        "{many} promised heats of several moulds in {builds} builds, {} not whole",
        faults.len()
    );
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn a_delivery_that_is_ordered_does_not_begin_anew() {
    let text = "
build: {title: Ordered, begun: 2026-01-01}
shop: {people: {me: {hours: {sat: 6 h}}}}
parts: {motor: {bought: {delivery: 60 d}, steps: {fit: none}}}
";
    let day = |day| chrono::NaiveDate::from_ymd_opt(2026, 2, day).expect("a day");
    let ready = |journal: &str, on| {
        let build = super::builds::read_on(text, journal, day(on));
        keeping(&build, Aim::Finish, 1, None).0.finish.expect("a finish").date().to_string()
    };
    let ordered = "---\nid: o\nat: 2026-02-01 00:00\nordered: {part: motor}\n";
    assert_eq!([ready("", 1), ready("", 11)], ["2026-04-02", "2026-04-12"]);
    assert_eq!([ready(ordered, 1), ready(ordered, 11)], ["2026-04-02", "2026-04-02"]);
    let expected = ordered.replace("motor}", "motor, expected: 2026-03-01}");
    assert_eq!(ready(&expected, 11), "2026-03-01");
}

#[test]
fn a_finish_that_moves_is_laid_to_what_changed_and_to_nothing_else() {
    let on = |hours: u32| {
        let text = format!(
            "
build: {{title: Longer, begun: 2026-01-01}}
shop: {{people: {{me: {{hours: {{sat: 6 h}}}}}}}}
parts:
  shaft: {{made: {{from: bar, hours: {hours} h}}, steps: {{fit: 30 min}}}}
  key: {{made: {{from: bar, hours: 10 min}}, steps: {{fit: 10 min}}, needs: [shaft]}}
"
        );
        super::builds::read(&text, "")
    };
    let (first, kept) = keeping(&on(5), Aim::Finish, 1, None);
    assert!(first.moved.is_empty());
    let then = keeping(&on(8), Aim::Finish, 1, Some(&kept)).0;
    let [told] = &*then.moved else { panic!("{:?}", then.moved) };
    assert!(told.ends_with(": making shaft takes 180 min more than it was planned to"), "{told}");
    let (_, kept) = keeping(&on(8), Aim::Finish, 1, None);
    let then = keeping(&on(5), Aim::Finish, 1, Some(&kept)).0;
    let [told] = &*then.moved else { panic!("{:?}", then.moved) };
    assert!(told.ends_with(": making shaft takes 180 min less than it was planned to"), "{told}");
}

#[test]
fn several_changes_at_once_are_named_as_such() {
    let on = |make: u32, sat: u32, more: &str| {
        let text = format!(
            "
build: {{title: Several, begun: 2026-01-01}}
shop: {{people: {{me: {{hours: {{sat: {sat} h}}}}}}}}
parts:
  shaft: {{made: {{from: bar, hours: {make} h}}, steps: {{fit: 30 min}}}}
{more}"
        );
        super::builds::read(&text, "")
    };
    let (_, kept) = keeping(&on(5, 6, ""), Aim::Finish, 1, None);
    let told = |build| {
        let moved = keeping(&build, Aim::Finish, 1, Some(&kept)).0.moved;
        moved.last().cloned().unwrap_or_default()
    };
    let longer = "making shaft takes 480 min more than it was planned to";
    assert!(told(on(13, 6, "")).ends_with(&format!(": {longer}")));
    let both = told(on(13, 4, ""));
    let shop = "the hours or the equipment of the shop have changed";
    assert!(both.ends_with(&format!(": several changes at once: {longer}; {shop}")), "{both}");
    let more = "  key: {made: {from: bar, hours: 3 h}, steps: {fit: none}, needs: [shaft]}\n";
    let new = told(on(13, 6, more));
    let says = format!(": several changes at once: {longer}; making key is new");
    assert!(new.ends_with(&says), "{new}");
}

#[test]
fn a_casting_that_was_scrapped_is_the_cause_of_what_is_made_anew() {
    let text = "
build: {title: Scrapped, begun: 2026-01-05}
shop:
  people: {me: {hours: {sat: 4 h}}}
  furnaces: {drum: {fuel: propane, efficiency: 10 %, clear-up: none}}
  crucibles: {grey: {holds: 2 L, working-fill: 80 %, family: aluminium}}
  flasks: {box: {inside: 300 x 250 mm, cope: 90 mm, drag: 90 mm, count: 2}}
  sand: {kind: green-sand}
patterns:
  bed: {made-of: wood, size: 180 x 150 x 50 mm, in-cope: 20 mm}
parts:
  bed: {casting: {pattern: bed, alloy: A356, mass: 1.2 kg}, steps: {pattern: none, ram: 1 h}}
";
    let at =
        |hour: u32, what: &str| format!("---\nid: e{hour}\nat: 2026-01-10 {hour}:00\n{what}\n");
    let poured = at(10, "rammed: {mould: M1, pattern: bed, castings: {bed: 1}}")
        + &at(12, "poured: {heat: H1, alloy: A356, moulds: [M1]}")
        + &at(16, "shaken-out: {mould: M1}");
    let day = chrono::NaiveDate::from_ymd_opt(2026, 1, 11).expect("a day");
    let (_, kept) = keeping(&super::builds::read_on(text, &poured, day), Aim::Finish, 1, None);
    let lost = poured + &at(18, "inspected: {mould: M1, part: bed, disposition: scrap}");
    let build = super::builds::read_on(text, &lost, day);
    let then = keeping(&build, Aim::Finish, 1, Some(&kept)).0;
    let [told] = &*then.moved else { panic!("{:?}", then.moved) };
    let says = ": a casting of bed in M1 was scrapped, and is made again";
    assert!(told.contains(says) && !told.contains("is new"), "{told}");
    // Once the plan knows of it, it is no cause of what changes after.
    let (_, kept) = keeping(&build, Aim::Finish, 1, None);
    let more = text.replace("ram: 1 h", "ram: 1 h, fit: 9 h");
    let then = keeping(&super::builds::read_on(&more, &lost, day), Aim::Finish, 1, Some(&kept)).0;
    let [told] = &*then.moved else { panic!("{:?}", then.moved) };
    assert!(told.contains(": fitting bed takes") && !told.contains("scrapped"), "{told}");
}

/// A day of two heats, 30 min to ram each mould, 30 to warm up, 90 to melt, 2 h to clear up: what is logged as
/// it was planned leaves the rest of the day as it was.
#[test]
fn what_is_logged_on_the_day_of_a_heat_as_planned_moves_nothing() {
    let furnace = "efficiency: 10 %, warm-up: 30 min, set-up: none, clear-up: 2 h}";
    let on = |journal: &str| {
        let casts = ["bed", "arm"].map(|part| {
            format!(
                "  {part}: {{casting: {{pattern: {part}, alloy: A356, mass: 1.2 kg}}, steps: {{pattern: none, ram: 30 min, pour: 15 min, fettle: none, inspect: none}}}}\n"
            )
        });
        let text = TWO.replace("efficiency: 10 %, set-up: none, clear-up: none}", furnace);
        let text = text.replace("begun: 2026-01-10", "begun: 2026-01-01");
        let text = text.replace("HOLDS", "1.2 L") + &casts.concat();
        let day = chrono::NaiveDate::from_ymd_opt(2026, 1, 10).expect("a day");
        let made = ["bed", "arm"].map(|pattern| {
            format!(
                "---\nid: {pattern}\nat: 2026-01-09 09:00\ndone: {{pattern: {pattern}, hours: 1 h}}\n"
            )
        });
        super::builds::read_on(&text, &(made.concat() + journal), day)
    };
    let times = |s: &Schedule| -> Vec<String> {
        s.heats.iter().map(|h| format!("{} {} {}", h.name, h.lit, h.pour)).collect()
    };
    let (first, kept) = keeping(&on(""), Aim::Finish, 60, None);
    let planned = times(&first);
    assert_eq!(planned.len(), 2, "{planned:?} {:?}", first.missing);
    let mut journal = String::new();
    let mut kept = kept;
    for (n, heat) in first.heats.iter().enumerate() {
        let mould = &first.moulds[heat.moulds[0]];
        let part = on("").parts[mould.part].id().to_string();
        let rammed =
            first.jobs.iter().find(|j| j.step == Step::Ram && j.mould == Some(heat.moulds[0]));
        let rammed = rammed.expect("rammed").end;
        journal += &format!(
            "---\nid: r{n}\nat: {}\nrammed: {{mould: M{n}, pattern: {part}, flask: box, castings: {{{part}: 1}}}}\n",
            rammed.format("%Y-%m-%d %H:%M")
        );
        let (then, keep) = keeping(&on(&journal), Aim::Finish, 60, Some(&kept));
        if n == 0 {
            assert_eq!(times(&then), planned, "{n} rammed: {:?}", then.moved);
        }
        journal += &format!(
            "---\nid: p{n}\nat: {}\npoured: {{heat: {}, alloy: A356, moulds: [M{n}]}}\n",
            heat.over.format("%Y-%m-%d %H:%M"),
            heat.name
        );
        let (then, _) = keeping(&on(&journal), Aim::Finish, 60, Some(&keep));
        // The next finds the furnace no hotter than it is told, and comes no later for that.
        for (then, planned) in then.heats.iter().zip(&first.heats[n + 1..]) {
            assert_eq!((&then.name, then.lit.date()), (&planned.name, planned.lit.date()));
            assert!(then.pour <= planned.pour, "{n} poured: {} at {}", then.name, then.pour);
        }
        assert_eq!(then.heats.len(), first.heats.len() - n - 1);
        kept = keeping(&on(&journal), Aim::Finish, 60, Some(&keep)).1;
    }
}

/// An evening of the demo goes by with nothing done: no heat moves by more than a week for that, and those of
/// the next Saturday not at all unless their work cannot be done by then.
#[test]
fn an_evening_that_is_missed_does_not_tear_up_the_plan() {
    let [manifest, journal] = super::builds::files("demo");
    let on = |day: u32| {
        let day = chrono::NaiveDate::from_ymd_opt(2026, 7, day).expect("a day");
        super::builds::read_on(&manifest, &journal, day)
    };
    let (first, kept) = keeping(&on(8), Aim::Finish, 400, None);
    let (then, _) = keeping(&on(9), Aim::Finish, 400, Some(&kept));
    let mut moved = 0;
    for heat in &first.heats {
        let now = then.heats.iter().find(|h| h.name == heat.name);
        let now = now.unwrap_or_else(|| panic!("{} is gone", heat.name));
        let days = (now.pour.date() - heat.pour.date()).num_days().abs();
        assert!(days <= 7, "{} moves by {days} days: {:?}", heat.name, then.moved);
        assert_eq!(now.moulds.len(), heat.moulds.len(), "{}", heat.name);
        moved += usize::from(days > 0);
    }
    assert!(moved < first.heats.len() / 2 + 1, "{moved} of {} move", first.heats.len());
}

/// The motor should have come by the 2nd. Nothing waits for it, so that it moves nothing; the shorter Saturday
/// does.
#[test]
fn a_delivery_that_is_late_is_no_cause_of_what_does_not_wait_for_it() {
    let on = |day: u32, hours: u32| {
        let text = format!(
            "
build: {{title: Late, begun: 2026-01-01}}
shop: {{people: {{me: {{hours: {{sat: {hours} h}}}}}}}}
parts:
  shaft: {{made: {{from: bar, hours: 9 h}}, steps: {{fit: 30 min}}}}
  motor: {{bought: {{delivery: 1 d}}, steps: {{fit: none}}}}
"
        );
        let day = chrono::NaiveDate::from_ymd_opt(2026, 1, day).expect("a day");
        super::builds::read_on(&text, "", day)
    };
    let (_, kept) = keeping(&on(1, 6), Aim::Finish, 1, None);
    let then = keeping(&on(3, 4), Aim::Finish, 1, Some(&kept)).0;
    let [told] = &*then.moved else { panic!("{:?}", then.moved) };
    assert!(told.contains("the hours or the equipment of the shop have changed"), "{told}");
    // What is asked for the moment: the motor alone is late.
    let then = keeping(&on(3, 6), Aim::Finish, 1, Some(&kept)).0;
    assert_eq!(then.moved, [""; 0]);
}

/// Two castings of 1.2 kg in one heat of a large pot, in two of a small one.
const TWO: &str = "
build: {title: Two, begun: 2026-01-10}
shop:
  people: {me: {hours: {sat: 8 h}}}
  poured-before: [A356, green-sand]
  furnaces: {drum: {fuel: propane, efficiency: 10 %, set-up: none, clear-up: none}}
  crucibles: {pot: {holds: HOLDS, working-fill: 80 %, family: aluminium}}
  flasks: {box: {inside: 300 x 250 mm, cope: 90 mm, drag: 90 mm, count: 2}}
  sand: {kind: green-sand}
patterns:
  bed: {made-of: wood, size: 180 x 150 x 50 mm, in-cope: 20 mm}
  arm: {made-of: wood, size: 180 x 150 x 50 mm, in-cope: 20 mm}
  lid: {made-of: wood, size: 180 x 150 x 50 mm, in-cope: 20 mm}
parts:
";

/// The build with these parts cast and a pot that holds so much.
fn two(parts: [&str; 2], holds: &str) -> Build {
    let cast = |part: &str| {
        format!(
            "  {part}: {{casting: {{pattern: {part}, alloy: A356, mass: 1.2 kg}}, steps: {{pattern: none, ram: 30 min}}}}\n"
        )
    };
    let text = TWO.replace("HOLDS", holds) + &parts.map(cast).concat();
    super::builds::read(&text, "")
}

/// Each heat by its name, with what is poured of it.
fn named(build: &Build, schedule: &Schedule) -> Vec<(String, Vec<String>)> {
    let part = |m: &usize| build.parts[schedule.moulds[*m].part].id().to_string();
    let mut heats: Vec<_> = schedule
        .heats
        .iter()
        .map(|h| {
            let mut parts: Vec<String> = h.moulds.iter().map(part).collect();
            parts.sort();
            (h.name.to_string(), parts)
        })
        .collect();
    heats.sort();
    heats
}

#[test]
fn a_heat_that_is_parted_gives_its_name_to_one_of_the_two() {
    let large = two(["bed", "arm"], "3 L");
    let (first, kept) = keeping(&large, Aim::Heats, 60, None);
    let whole = named(&large, &first);
    assert_eq!(whole, [("H1".to_owned(), vec!["arm".to_owned(), "bed".to_owned()])]);
    let small = two(["bed", "arm"], "1.4 L");
    let now = named(&small, &keeping(&small, Aim::Heats, 60, Some(&kept)).0);
    let names: Vec<&str> = now.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(names, ["H1", "H2"], "{now:?}");
}

/// A heat of nothing that was promised has a name of its own, though one is left over from what is no
/// longer cast.
#[test]
fn a_new_heat_does_not_take_the_name_of_one_that_is_gone() {
    let build = two(["bed", "arm"], "1.4 L");
    let (first, kept) = keeping(&build, Aim::Finish, 60, None);
    let first = named(&build, &first);
    assert_eq!(first.len(), 2);
    // What is poured first is no longer wanted; a lid is.
    let stays = first[1].1[0].as_str();
    let build = two([stays, "lid"], "1.4 L");
    let now = named(&build, &keeping(&build, Aim::Finish, 60, Some(&kept)).0);
    let lid = now.iter().find(|h| h.1 == ["lid"]).expect("a heat");
    let stayed = now.iter().find(|h| h.1 == [stays]).expect("a heat");
    assert_eq!((stayed.0.as_str(), lid.0.as_str()), ("H2", "H3"), "{now:?}");
}

/// Two in one heat, one of which waits for an insert before it is poured: ordered on the first day, it
/// is there 30 days later, and the heat is not poured before that.
#[test]
fn a_heat_waits_for_what_its_last_mould_waits_for() {
    for late in ["bed", "arm"] {
        let parts = ["bed", "arm"].map(|part| {
            let needs = if part == late { ", needs: [{part: pin, before: pour}]" } else { "" };
            format!("  {part}: {{casting: {{pattern: {part}, alloy: A356, mass: 1.2 kg}}, steps: {{pattern: none, ram: 30 min}}{needs}}}\n")
        });
        let text = TWO
            .replace("HOLDS", "3 L")
            .replace("green-sand}", "oil-sand}")
            .replace("green-sand]", "oil-sand]")
            + &parts.concat()
            + "  pin: {bought: {delivery: 30 d}, steps: {fit: none}}\n";
        let build = super::builds::read(&text, "");
        let (plan, _) = keeping(&build, Aim::Heats, 60, None);
        assert_eq!(plan.heats.len(), 1, "{late}");
        // 10 January and 30 days are 9 February, a Monday; the Saturday after is the 14th.
        assert_eq!(plan.heats[0].pour.date().to_string(), "2026-02-14", "{late}");
    }
}

/// Two that are rammed for one heat, and a pot that now holds one of them: that the heat is torn apart is
/// told with its name, its moulds and what may have changed.
#[test]
fn a_heat_that_cannot_stay_whole_is_told() {
    let large = two(["bed", "arm"], "3 L");
    let (first, kept) = keeping(&large, Aim::Heats, 60, None);
    let journal = rammed(&large, &first, &first.heats[0].moulds);
    assert_eq!(first.heats.len(), 1);
    let text = large.text.replace("holds: 3 L", "holds: 1.4 L");
    let now = keeping(&super::builds::read(&text, &journal), Aim::Heats, 60, Some(&kept)).0;
    assert_eq!(now.heats.len(), 2);
    let told: Vec<_> =
        now.moved.iter().filter(|m| m.contains("cannot be poured from one")).collect();
    let [told] = &*told else { panic!("{:?}", now.moved) };
    let whole = ["ready-0", "ready-1", "were rammed for H1", "crucible"];
    assert!(whole.iter().all(|part| told.contains(part)), "{told}");
}
