//! Builds for the tests: random ones, each told by its seed, and what is reckoned of a build.

use pourwright::model::Build;
use pourwright::plan::{Aim, Budget, Kept, Schedule, SearchOptions};
use pourwright::view::estimate::EstimateView;
use pourwright::view::plan::PlanView;
use pourwright::{Today, estimate, plan};
use serde_json::Value;
use std::fmt::Write;

/// A small generator of our own for test inputs: repeatable, no quality claimed.
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0xD1CE)
    }

    pub fn roll(&mut self, sides: usize) -> usize {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % sides
    }

    pub fn one<T: Copy>(&mut self, of: &[T]) -> T {
        of[self.roll(of.len())]
    }
}

/// Reads a manifest and a journal; panics with the faults.
pub fn read(manifest: &str, journal: &str) -> Build {
    let clock = chrono::NaiveDate::from_ymd_opt(2026, 1, 10).expect("a day");
    read_at(manifest, journal, Today { asked: None, clock })
}

/// The same on a day.
pub fn read_on(manifest: &str, journal: &str, day: chrono::NaiveDate) -> Build {
    read_at(manifest, journal, Today { asked: Some(day), clock: day })
}

fn read_at(manifest: &str, journal: &str, today: Today) -> Build {
    pourwright::read(manifest.into(), journal.into(), today).unwrap_or_else(|faults| {
        let faults: Vec<String> = faults.iter().map(ToString::to_string).collect();
        panic!("{}\n{manifest}", faults.join("\n"))
    })
}

/// Looks for a schedule with so many tries.
pub fn schedule(build: &Build, aim: Aim, tries: usize) -> Schedule {
    keeping(build, aim, tries, None).0
}

/// The same, from a plan in force, which another has to beat by three days.
pub fn keeping(build: &Build, aim: Aim, tries: usize, kept: Option<&Kept>) -> (Schedule, Kept) {
    let estimates = estimate::estimate(build);
    let mut stop = |_, _| false;
    let budget = Budget { tries, seed: 1, stop: &mut stop };
    plan::schedule(
        build,
        &estimates,
        SearchOptions { aim, kept, gain: 3, ..SearchOptions::new(budget) },
    )
}

/// What `plan --json` and `estimate --json` print.
pub fn told(build: &Build, aim: Aim, tries: usize) -> (Value, Value) {
    let estimates = estimate::estimate(build);
    let mut plan = plan::plan(build, &estimates);
    plan.schedule = schedule(build, aim, tries);
    let plan = serde_json::to_value(PlanView::new(build, &plan)).expect("JSON");
    let estimate = serde_json::to_value(EstimateView::new(build, &estimates, None)).expect("JSON");
    (plan, estimate)
}

/// A shop with one to three people, and three to fifteen parts that need each other.
pub fn random(seed: u64) -> String {
    let mut dice = Dice::new(seed);
    let mut out = format!("build: {{title: Random {seed}, begun: 2026-01-10}}\n");
    shop(&mut dice, &mut out).expect("text");
    if Dice::new(8000 + seed).roll(2) == 0 {
        out.push_str("  poured-before: [A356, C905, green-sand]\n");
    }
    // Pairs have dice of their own, so that the rest of a build stays what it was.
    let (patterns, cast) = pair(&mut Dice::new(7000 + seed));
    parts(&mut dice, &mut out, &patterns).expect("text");
    out + &cast
}

/// The same, where paint, cores, washes and castings wait; some pour on two days of the week only.
pub fn drying(seed: u64) -> String {
    let waits = [
        ("ram: 75 min", "ram: {hours: 75 min, wait: 40 min}, core: {wait: usual}"),
        ("pattern: 4 h", "pattern: {hours: 4 h, wait: usual}, fettle: {wait: 5 h}"),
        ("machine: 9 h", "machine: {hours: 9 h, wait: 3 d}"),
        ("  machines: {lathe: 2,", "  pours: [sat, wed]\n  machines: {lathe: 2,"),
    ];
    waits.iter().fold(random(seed), |text, (of, with)| text.replace(of, with))
}

fn shop(dice: &mut Dice, out: &mut String) -> std::fmt::Result {
    writeln!(out, "shop:\n  people:")?;
    for person in 0..1 + dice.one(&[0, 0, 0, 1, 1, 2]) {
        let mut hours = vec![format!("sat: {} h", 6 + dice.roll(3))];
        for day in ["mon", "wed", "thu"] {
            match dice.roll(4) {
                0 => hours.push(format!("{day}: 18:30..21:{:02}", 10 * dice.roll(6))),
                1 => hours.push(format!("{day}: {} h", dice.one(&["1.5", "2", "3.25"]))),
                _ => {}
            }
        }
        if dice.roll(2) == 0 {
            hours.push(dice.one(&["sun: 13:00..17:30", "sun: 3 h", "sun: 8:00..12:00"]).into());
        }
        writeln!(out, "    person-{person}: {{hours: {{{}}}}}", hours.join(", "))?;
    }
    writeln!(out, "  away: [2026-01-17, 2026-02-{:02}..2026-03-02]", 10 + dice.roll(15))?;
    writeln!(out, "  furnaces:")?;
    for furnace in 0..1 + dice.roll(2) {
        let (warm, heats) = (dice.one(&[0, 20, 45]), 1 + dice.roll(3));
        let warm = if warm == 0 { String::new() } else { format!("warm-up: {warm} min, ") };
        writeln!(
            out,
            "    furnace-{furnace}: {{fuel: propane, efficiency: 10 %, {warm}heats-per-session: {heats}}}"
        )?;
    }
    writeln!(out, "  crucibles:")?;
    for (family, sizes) in [("aluminium", ["1.5", "3", "4"]), ("copper", ["1", "1.4", "2"])] {
        for pot in 0..1 + dice.roll(2) {
            let size = dice.one(&sizes);
            let kept =
                if dice.roll(6) == 0 { String::new() } else { format!(", family: {family}") };
            // Some weigh so much that one person should not lift them full.
            let mass = dice.one(&["", ", mass: 2 kg", ", mass: 9 kg"]);
            let heel = dice.one(&["", "", ", heel: 200 g", ", heel: 0.4..0.6 kg"]);
            writeln!(
                out,
                "    {family}-{pot}: {{holds: {size} L, working-fill: 80 %{kept}{mass}{heel}}}"
            )?;
        }
    }
    writeln!(out, "  flasks:")?;
    let small = 1 + dice.roll(3);
    writeln!(out, "    small: {{inside: 360 x 320 mm, cope: 90 mm, drag: 90 mm, count: {small}}}")?;
    let large = 1 + dice.roll(2);
    writeln!(
        out,
        "    large: {{inside: 560 x 480 mm, cope: 110 mm, drag: 110 mm, count: {large}}}"
    )?;
    let kind = dice.one(&["green-sand", "green-sand", "oil-sand", "co2-sand"]);
    let heap = dice.one(&["", ", on-hand: 20 kg", ", on-hand: 60 kg", ", on-hand: 120 kg"]);
    let stands = dice.one(&["", "", ", stands: 30 h", ", stands: 60 h", ", stands: 12 h"]);
    writeln!(out, "  sand: {{kind: {kind}{heap}{stands}}}")?;
    writeln!(out, "  machines: {{lathe: {}, bench: 1}}", 1 + dice.roll(2))?;
    if dice.roll(3) == 0 {
        writeln!(out, "  pours-from-two: yes")?;
    }
    Ok(())
}

/// Now and then patterns that share a flask, and their parts; some find none that takes them.
fn pair(dice: &mut Dice) -> (String, String) {
    let (mut patterns, mut parts) = (String::new(), String::new());
    let many = dice.one(&[0, 0, 0, 2, 2, 3]);
    let alloy = dice.one(&["A356", "A356", "C905"]);
    for i in 0..many {
        let size = dice.one(&["120 x 80 x 40", "150 x 50 x 30", "90 x 60 x 40", "230 x 180 x 60"]);
        let cavities = dice.one(&[1, 1, 2]);
        let beside = match (i, many) {
            (0, 2) => ", beside: [pair-1]",
            (0, 3) => ", beside: [pair-2, pair-1]",
            _ => "",
        };
        writeln!(
            patterns,
            "  pair-{i}: {{made-of: wood, size: {size} mm, in-cope: 20 mm, cavities: {cavities}{beside}}}"
        )
        .expect("text");
        let mass = dice.one(&["150 g", "300 g", "700 g"]);
        let cores = dice.one(&["", ", cores: {volume: 10 cm3}"]);
        let own = dice.one(&["", "", "    steps: {ram: 75 min}\n", "    steps: {pour: 20 min}\n"]);
        let needs = dice.one(&[
            "",
            "    needs: [{part: part-0, step: pattern, before: ram}]\n",
            "    needs: [{part: part-0, step: pattern, before: pour}]\n",
        ]);
        write!(
            parts,
            "  pair-{i}:\n    quantity: {}\n    casting: {{pattern: pair-{i}, alloy: {alloy}, mass: {mass}{cores}}}\n{own}{needs}",
            dice.one(&[1, 1, 2, 3])
        )
        .expect("text");
    }
    (patterns, parts)
}

fn parts(dice: &mut Dice, out: &mut String, more: &str) -> std::fmt::Result {
    let count = 3 + dice.roll(13);
    let kinds: Vec<usize> = (0..count).map(|i| if i == 0 { 0 } else { dice.roll(8) }).collect();
    writeln!(out, "patterns:")?;
    for (i, _) in kinds.iter().enumerate().filter(|(_, k)| **k < 6) {
        let size =
            dice.one(&["120 x 80 x 40", "180 x 150 x 50", "230 x 180 x 60", "340 x 290 x 80"]);
        let cavities = dice.one(&[1, 1, 1, 2, 3]);
        let sand = dice.one(&["", "", "", "", ", sand: oil-sand", ", sand: green-sand"]);
        writeln!(
            out,
            "  pattern-{i}: {{made-of: wood, size: {size} mm, in-cope: 20 mm, cavities: {cavities}{sand}}}"
        )?;
    }
    out.push_str(more);
    writeln!(out, "parts:")?;
    for (i, kind) in kinds.iter().enumerate() {
        writeln!(out, "  part-{i}:\n    quantity: {}", dice.one(&[1, 1, 1, 2, 4]))?;
        match kind {
            0..6 => {
                let alloy = dice.one(&["A356", "A356", "C905"]);
                let mass = dice.one(&["300 g", "700 g", "1.2 kg", "2 kg"]);
                let difficulty = dice.one(&["easy", "fair", "hard"]);
                let cores = dice.one(&["", "", ", cores: {volume: 30 cm3}"]);
                let cut = dice.one(&["", ", machined: 150 cm2"]);
                // A pattern of another part may be used again.
                let users: Vec<usize> = (0..=i).filter(|p| kinds[*p] < 6).collect();
                let pattern = if dice.roll(5) == 0 { dice.one(&users) } else { i };
                writeln!(
                    out,
                    "    casting: {{pattern: pattern-{pattern}, alloy: {alloy}, mass: {mass}, difficulty: {difficulty}{cores}{cut}}}"
                )?;
                let steps = dice.one(&[
                    "",
                    "",
                    "    steps: {machine: 9 h, scrape: 2.5 h}\n",
                    "    steps: {relieve: 50 h, pattern: 4 h}\n",
                    "    steps: {machine: {hours: 4 h, on: lathe}, fit: {on: bench}}\n",
                    "    steps: {machine: {hours: 5 h, on: lathe}, scrape: {hours: 2 h, on: bench}}\n",
                    "    steps: {fit: none, inspect: none, ram: 75 min}\n",
                ]);
                out.push_str(steps);
            }
            6 => writeln!(out, "    bought: {{delivery: {} d}}", 2 + dice.roll(40))?,
            _ => {
                writeln!(out, "    made: {{hours: {} h}}", 1 + dice.roll(9))?;
                // On the lathe, and now and then on a part that is finished before.
                let tool = dice.roll(2 * i);
                let on = if tool < i { format!("part-{tool}") } else { "bench".into() };
                writeln!(
                    out,
                    "    steps: {{make: {{on: lathe}}, scrape: {{hours: 1 h, on: {on}}}}}"
                )?;
            }
        }
        let mut needs = Vec::new();
        for (other, cast) in kinds[..i].iter().map(|k| *k < 6).enumerate() {
            if dice.roll(5) > 0 {
                continue;
            }
            needs.push(match (cast, *kind < 6) {
                (true, true) => dice
                    .one(&[
                        "P",
                        "{part: P, step: fettle, before: ram}",
                        "{part: P, before: pour}",
                        "{part: P, step: shake-out, before: shake-out}",
                        "P.pour",
                        "{part: P, step: pattern, before: fettle}",
                    ])
                    .replace('P', &format!("part-{other}")),
                _ => format!("part-{other}"),
            });
        }
        if !needs.is_empty() {
            writeln!(out, "    needs: [{}]", needs.join(", "))?;
        }
    }
    Ok(())
}

/// The builds that come with pourwright.
pub const SHIPPED: [&str; 4] =
    ["demo", "projects/bench-shaper", "projects/filing-machine", "projects/surface-grinder"];

/// One of them as its files are.
pub fn files(folder: &str) -> [String; 2] {
    let text = |name: &str| std::fs::read_to_string(format!("{folder}/{name}"));
    [text("build.yaml").expect("a manifest"), text("journal.yaml").unwrap_or_default()]
}

/// One of them, journal included.
pub fn shipped(folder: &str) -> Build {
    let [manifest, journal] = files(folder);
    read(&manifest, &journal)
}
