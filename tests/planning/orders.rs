//! Whichever command is asked first makes the plan in force. In whatever order the others follow,
//! and whatever else the machine does meanwhile, all tell the same finish, the same heats, the same
//! days to order and the same amounts to buy.

use super::builds::{Dice, SHIPPED, drying, files, random, read};
use super::lives::Life;
use super::shared::{ALL, Asked, Book};
use super::supplies::supplied;
use chrono::TimeDelta;
use pourwright::job::{self, Estimated, Planned, Search};
use pourwright::model::Build;
use pourwright::plan::{Kept, Pour, Supposition};
use pourwright::supply::{AtLighting, Wish};
use pourwright::view::bill::BillView;
use pourwright::view::buy::BuyView;
use pourwright::view::heat::HeatDetail;
use pourwright::view::plan::PlanView;
use pourwright::view::report::{Extras, ReportView};
use pourwright::view::risk::RiskView;
use pourwright::view::schedule::ScheduleView;
use pourwright::view::sheet::{HeatSheet, OrderSheet, Paper};
use pourwright::view::suppose::{Case, SupposeView};
use serde::Serialize;
use serde_json::{Value, json};
use std::path::Path;
use std::process::Command;
use std::sync::atomic::{AtomicBool, Ordering};

/// Plans tried where one is looked for: a search looks up several times in them whether to stop, so one
/// that went by the clock would be seen.
const TRIES: usize = 90;
/// How often the plan is replayed.
const REPLAYS: (u64, u64) = (64, 1);

/// All of it in some order.
fn shuffled(dice: &mut Dice) -> Vec<Asked> {
    let mut left = ALL.to_vec();
    let mut out = Vec::new();
    while !left.is_empty() {
        out.push(left.swap_remove(dice.roll(left.len())));
    }
    out
}

/// What a command prints, with what it is about.
fn printed(view: impl Serialize) -> Value {
    serde_json::to_value(view).expect("JSON")
}

/// A folder with a build on a day, and the plan in force as it is kept beside it.
struct Folder<'a> {
    build: &'a Estimated,
    kept: Option<String>,
}

impl Folder<'_> {
    /// The plan in force, as `cli/load.rs` finds it for every command, and keeps it where it is another.
    fn planned(&mut self, by: Asked) -> Planned {
        let in_force: Option<Kept> =
            self.kept.as_deref().map(|text| serde_json::from_str(text).expect("a plan"));
        let search = Search { tries: Some(TRIES), ..Search::default() };
        let planned =
            job::plan(self.build.clone(), in_force.as_ref(), Some(search), &mut |_, _| false);
        let keep = planned.kept.as_ref().expect("a plan to keep");
        let stands = in_force.is_some_and(|k| {
            k == *keep || (by != Asked::Plan && k.of == keep.of && k.awaited == keep.awaited)
        });
        if !stands {
            self.kept = Some(serde_json::to_string_pretty(keep).expect("JSON"));
        }
        planned
    }

    /// What a command tells: what it prints, or several pieces of it.
    fn asked(&mut self, asked: Asked) -> Vec<Value> {
        let all = self.planned(asked);
        let (build, schedule) = (&all.build, &all.plan.schedule);
        let bill = job::supply(&all);
        let risk = || job::risk(&all, REPLAYS, &|_| {}).ok();
        let pour = |name: &str| Pour::planned(build, schedule, name).expect("a heat of the plan");
        let one = match asked {
            Asked::Plan => printed(PlanView::new(build, &all.plan)),
            Asked::Heats => {
                let heats = schedule.heats.iter();
                let detail =
                    heats.map(|h| printed(HeatDetail::new(build, &all.estimates, &pour(&h.name))));
                let heats = ScheduleView::new(build, schedule).heats;
                return detail.chain([json!({"heats": heats})]).collect();
            }
            Asked::HeatSheet => {
                let sheet = |name: &str| {
                    let pour = pour(name);
                    let sheet = HeatSheet::new(build, &all.estimates, &pour, Paper::A4);
                    let there = bill.flow.as_ref();
                    let there = there.and_then(|flow| AtLighting::of(build, flow, schedule, &pour));
                    printed(match there {
                        Some(there) => sheet.with_shelf(build, there),
                        None => sheet,
                    })
                };
                return schedule.heats.iter().map(|heat| sheet(&heat.name)).collect();
            }
            Asked::Bill => printed(BillView::new(build, &bill)),
            Asked::Buy => {
                let purchases = job::purchases(&all, &bill, Wish::default());
                printed(BuyView::new(build, &bill, &purchases))
            }
            Asked::OrderSheet => {
                let purchases = job::purchases(&all, &bill, Wish::default());
                printed(OrderSheet::new(build, &bill, &purchases, Paper::A4))
            }
            Asked::Risk => match risk() {
                Some(risk) => {
                    let view = RiskView::new(build, &bill, &risk, schedule.finish);
                    printed(view.missing(build, schedule))
                }
                None => return Vec::new(),
            },
            Asked::Report => {
                let risk = risk();
                let bill = match &risk {
                    Some(risk) => job::supply_surely(&all, risk),
                    None => bill,
                };
                let purchases = job::purchases(&all, &bill, Wish::default());
                let learned = all.learned.clone();
                let extras = Extras { risk, learned, purchases, ..Extras::default() };
                let (estimates, plan) = (&all.estimates, &all.plan);
                printed(ReportView::with(build, estimates, plan, &bill, &extras))
            }
            Asked::Suppose => {
                let mut other = self.build.build.clone();
                Supposition::Person.apply(&mut other).expect("a shop with somebody in it");
                let search = Search { tries: Some(10), gain: 0, ..Search::default() };
                let other = self.build.otherwise(other);
                let then = job::plan(other, all.kept.as_ref(), Some(search), &mut |_, _| false);
                let now = Case { build, schedule };
                let then = Case { build: &then.build, schedule: &then.plan.schedule };
                printed(SupposeView::new(now, then, Vec::new()))
            }
        };
        vec![one]
    }
}

/// Who asks, and in which order.
fn who(asked: Asked, n: usize, said: &str) -> String {
    format!("{asked:?}, asked as number {} of {said}", n + 1)
}

/// Asks all of it in an order, and notes what is told and what plan is kept.
fn ask_all(book: &mut Book, said: &str, folder: &mut Folder<'_>, order: &[Asked]) {
    for (n, asked) in order.iter().enumerate() {
        let who = who(*asked, n, said);
        for told in folder.asked(*asked) {
            book.read(&who, &folder.build.build, *asked, &told);
        }
        book.tell(&who, "plan in force".into(), folder.kept.clone().into());
    }
}

/// Tells the thread beside it to end.
struct Over<'a>(&'a AtomicBool);

impl Drop for Over<'_> {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

/// Runs while another thread takes all the time it can get.
fn under_load(run: impl FnOnce()) {
    let over = AtomicBool::new(false);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            while !over.load(Ordering::Relaxed) {
                std::hint::spin_loop();
            }
        });
        let _over = Over(&over);
        run();
    });
}

/// Asks in three orders, in two where a plan was in force before, each from that plan; the last one
/// under load.
fn in_any_order(name: &str, build: &Build, kept: Option<&str>, dice: &mut Dice) -> Book {
    let build = job::estimate(build.clone());
    let mut book = Book::default();
    let runs = ["the first order", "the second order", "the order under load"];
    for run in runs.into_iter().skip(usize::from(kept.is_some())) {
        let said = format!("{run} of {name}");
        let mut folder = Folder { build: &build, kept: kept.map(str::to_owned) };
        let order = shuffled(dice);
        let mut ask = || ask_all(&mut book, &said, &mut folder, &order);
        if run.ends_with("load") { under_load(ask) } else { ask() }
    }
    book
}

/// A build that goes on, by the name of what it is.
fn builds() -> Vec<(String, Life)> {
    let life = |name: String, files| (name, Life::new(files));
    let mut all: Vec<_> = SHIPPED.iter().map(|of| life(of.to_string(), files(of))).collect();
    for seed in 0..16 {
        let (manifest, journal) = supplied(seed);
        all.push(life(format!("random {seed}"), [random(seed), String::new()]));
        all.push(life(format!("supplied {seed}"), [manifest, journal]));
    }
    let drying = (0..14).map(|n| life(format!("drying {n}"), [drying(n), String::new()]));
    all.extend(drying);
    all
}

#[test]
fn in_any_order_all_tell_the_same() {
    let mut faults = Vec::new();
    let (mut again, mut went_on, mut waited) = (0, 0, 0);
    for (n, (name, mut life)) in builds().into_iter().enumerate() {
        let mut dice = Dice::new(n as u64);
        let build = life.build();
        let first = in_any_order(&name, &build, None, &mut dice);
        let kept = first.known("plan in force").as_str().expect("a plan").to_owned();
        waited += usize::from(!first.known("what is waited for").is_null());
        again += first.again;
        faults.extend(first.faults);
        // Of half of them the journal goes on for a fortnight, with mishaps and without, and the plan
        // in force with it.
        if n / 2 % 2 == 0 {
            let plan: Kept = serde_json::from_str(&kept).expect("a plan");
            let of = job::plan(job::estimate(build.clone()), Some(&plan), None, &mut |_, _| true);
            let until = life.today + TimeDelta::days(14);
            let mishaps = (n / 4 % 2 == 0).then_some(&mut dice);
            life.work(&build, &of.plan.schedule, until, mishaps);
            life.today = until;
            let name = format!("{name} a fortnight later");
            let then = in_any_order(&name, &life.build(), Some(&kept), &mut dice);
            (again, went_on) = (again + then.again, went_on + 1);
            faults.extend(then.faults);
        }
    }
    println!("{again} figures told again; {went_on} builds went on, {waited} wait for materials");
    assert!(faults.is_empty(), "{} differ\n{}", faults.len(), faults.join("\n"));
    assert!(again > 50_000 && went_on >= 20 && waited >= 5, "{again} {went_on} {waited}");
}

/// What the program itself prints of a build in a folder.
fn prints(dir: &Path, asked: Asked) -> Value {
    let page = dir.join("page.html");
    let words = match asked {
        Asked::Plan => "plan --json",
        Asked::Heats => "heats --json",
        Asked::HeatSheet => "sheet heat --json",
        Asked::Bill => "bill --json",
        Asked::Buy => "buy --json",
        Asked::OrderSheet => "sheet order --json",
        Asked::Risk => "risk --json",
        Asked::Report => "report --out",
        Asked::Suppose => "suppose --person --json",
    };
    let mut command = Command::new(env!("CARGO_BIN_EXE_pourwright"));
    command.args(words.split(' '));
    if asked == Asked::Report {
        command.arg(&page);
    }
    let out = command.arg("--build").arg(dir).output().expect("pourwright runs");
    assert!(out.status.success(), "{words}: {}", String::from_utf8_lossy(&out.stderr));
    match asked {
        Asked::Report => {
            let html = std::fs::read_to_string(&page).expect("a page");
            std::fs::remove_file(&page).expect("removed");
            html.into()
        }
        _ => serde_json::from_slice(&out.stdout).expect("JSON"),
    }
}

#[test]
fn the_program_tells_the_same_in_any_order() {
    let mut dice = Dice::new(77);
    let mut faults = Vec::new();
    let builds = ["demo", "tests/golden/bushes", "tests/golden/iron", "tests/golden/stove"];
    for name in builds {
        let mut book = Book::default();
        let [manifest, journal] = files(name);
        let build = read(&manifest, &journal);
        for run in ["the first order", "the order under load"] {
            let dir = tempfile::tempdir().expect("a folder");
            for (file, text) in [("build.yaml", &manifest), ("journal.yaml", &journal)] {
                std::fs::write(dir.path().join(file), text).expect("a copy");
            }
            let order = shuffled(&mut dice);
            let mut ask = || {
                for (n, asked) in order.iter().enumerate() {
                    let who = who(*asked, n, &format!("{run} of {name}"));
                    book.read(&who, &build, *asked, &prints(dir.path(), *asked));
                    let kept = std::fs::read_to_string(dir.path().join(".plan.json"));
                    book.tell(&who, "plan in force".into(), kept.expect("a plan").into());
                }
            };
            if run.ends_with("load") { under_load(ask) } else { ask() }
        }
        assert!(book.again > 100, "{name}: {} figures are worth a test", book.again);
        faults.extend(book.faults);
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}
