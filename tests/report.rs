//! The HTML report: it renders for every build of ours, is inert whatever the names are, shows no
//! figure that cannot be asked for, and stands before a browser and a validator.

#[path = "common/browser.rs"]
mod browser;
#[path = "common/pictures.rs"]
mod pictures;

use chrono::NaiveDate;
use pourwright::estimate::Estimates;
use pourwright::manifest::Step;
use pourwright::model::Build;
use pourwright::plan::{
    Block, Does, Job, Plan, PlannedHeat, PlannedMould, Schedule, Session, Subject, Waited,
};
use pourwright::plan::{Budget, SearchOptions};
use pourwright::supply::Bill;
use pourwright::view::report::{Extras, ReportView, report, report_with};
use pourwright::view::why::Askable;
use std::collections::BTreeSet;
use std::path::Path;
use std::process::Command;
use std::sync::OnceLock;
use std::time::Instant;

#[derive(Clone)]
struct Made {
    build: Build,
    estimates: Estimates,
    plan: Plan,
    bill: Bill,
    html: String,
}

fn make(manifest: Vec<u8>, journal: Vec<u8>) -> Made {
    let clock = NaiveDate::from_ymd_opt(2026, 11, 2).expect("a day");
    let today = pourwright::Today { asked: None, clock };
    let build = pourwright::read(manifest, journal, today)
        .unwrap_or_else(|faults| panic!("faults: {faults:#?}"));
    let estimates = pourwright::estimate::estimate(&build);
    let plan = pourwright::plan::plan(&build, &estimates);
    let bill = pourwright::supply::bill(&build, &estimates, &plan.schedule);
    let html = report(&build, &estimates, &plan, &bill).expect("the template takes the view");
    Made { build, estimates, plan, bill, html }
}

/// A build of ours, made once for all tests.
fn folder(name: &str) -> Made {
    static MADE: [OnceLock<Made>; OURS.len()] = [const { OnceLock::new() }; OURS.len()];
    let at = OURS.iter().position(|o| *o == name).expect("a build of ours");
    let made = MADE[at].get_or_init(|| {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(name);
        let manifest = std::fs::read(folder.join(pourwright::MANIFEST)).expect("a manifest");
        let journal = std::fs::read(folder.join(pourwright::JOURNAL)).unwrap_or_default();
        make(manifest, journal)
    });
    made.clone()
}

/// What the first screen answers, in its order.
const QUESTIONS: [&str; 8] = [
    "What next",
    "Next heat",
    "When finished",
    "What to order",
    "What to cast again",
    "What cannot be made yet",
    "Last fault",
    "How far",
];

const OURS: [&str; 4] =
    ["demo", "projects/bench-shaper", "projects/filing-machine", "projects/surface-grinder"];

/// A schedule as a planner would give it: every step that is left, one after the other, in
/// sessions of four hours on two days a week.
fn scheduled(mut made: Made) -> Made {
    let mut day = made.build.today;
    let at = |day: NaiveDate, minutes: i64| {
        day.and_hms_opt(9, 0, 0).expect("an hour") + chrono::TimeDelta::minutes(minutes)
    };
    let (mut schedule, mut used, mut blocks) = (Schedule::default(), 0, Vec::new());
    let left: Vec<usize> =
        made.plan.order.iter().copied().filter(|n| !made.plan.tasks[*n].done).collect();
    for n in left {
        let task = &made.plan.tasks[n];
        let mut minutes = (task.time.hands_on_si() / 60.0).ceil() as i64;
        let start = at(day, used);
        while minutes > 0 {
            let piece = minutes.min(240 - used);
            let (from, to) = (at(day, used), at(day, used + piece));
            blocks.push(Block {
                job: schedule.jobs.len(),
                person: "edda".into(),
                does: Does::Work,
                from,
                to,
            });
            (minutes, used) = (minutes - piece, used + piece);
            if used == 240 {
                let (opens, closes) = (at(day, 0), at(day, 240));
                let blocks = std::mem::take(&mut blocks);
                schedule.sessions.push(Session { day, opens, closes, blocks });
                let gap = if schedule.sessions.len() % 2 == 0 { 4 } else { 3 };
                (day, used) = (day + chrono::TimeDelta::days(gap), 0);
            }
        }
        let (subject, step, end) = (task.subject, task.step, at(day, used));
        let mould = match (subject, step) {
            (Subject::Part(part), Step::Pour) => {
                let estimate = made.estimates.castings[part].as_ref().expect("a casting");
                let casting = made.build.parts[part].casting.as_ref().expect("a casting");
                let name = format!("H{}", 12 + schedule.heats.len());
                schedule.heats.push(PlannedHeat {
                    hands: 1,
                    hot: false,
                    lifts: Vec::new(),
                    people: None,
                    name: name.into(),
                    alloy: casting.alloy.id.clone(),
                    crucibles: vec!["zinc-pot".into()],
                    furnace: "drum-furnace".into(),
                    lit: start,
                    pour: start,
                    over: end,
                    moulds: vec![schedule.moulds.len()],
                    charge: estimate.mould.charge.clone(),
                    heels: Vec::new(),
                });
                schedule.moulds.push(PlannedMould {
                    part,
                    nth: 1,
                    castings: estimate.mould.cavities,
                    flask: None,
                    poured: estimate.mould.poured.clone(),
                    charge: estimate.mould.charge.clone(),
                    sand: estimate.mould.sand.clone(),
                    rammed: start,
                    shaken_out: end,
                    heat: schedule.heats.len() - 1,
                    others: Vec::new(),
                    standing: None,
                    again: false,
                });
                Some(schedule.moulds.len() - 1)
            }
            _ => None,
        };
        schedule.jobs.push(Job {
            name: String::new(),
            awaits: None,
            subject,
            step,
            mould,
            start,
            end,
            ready: end,
            minutes: 0,
            after: Vec::new(),
            machine: None,
            waited: Waited::Nothing,
            slack: 0,
            critical: made.plan.chain.contains(&n),
        });
        schedule.finish = Some(end);
    }
    if !blocks.is_empty() {
        let (opens, closes) = (at(day, 0), at(day, used));
        schedule.sessions.push(Session { day, opens, closes, blocks });
    }
    made.plan.schedule = schedule;
    let extras = Extras::default();
    made.html = report_with(&made.build, &made.estimates, &made.plan, &made.bill, &extras)
        .expect("the template takes the view");
    made
}

#[test]
fn a_schedule_is_shown() {
    let made = scheduled(folder("demo"));
    let schedule = &made.plan.schedule;
    let view = ReportView::new(&made.build, &made.estimates, &made.plan, &made.bill);
    let shown = view.calendar.next.len() + view.calendar.later.len() + view.calendar.left_off;
    assert_eq!(shown, schedule.sessions.len());
    let finish = schedule.finish.expect("an end").date().to_string();
    assert_eq!(view.calendar.finish.as_deref(), Some(&*finish));
    // In words, with the weekday.
    let day: NaiveDate = finish.parse().expect("a day");
    let words = day.format("%a %-d\u{a0}%b\u{a0}%Y").to_string();
    assert!(made.html.contains(&format!("<strong>{words}</strong>, if nothing is cast again")));
    // All hours of the chart are all hours of the schedule.
    let chart = view.calendar.chart.as_ref().expect("a chart");
    let minutes: i64 = schedule
        .sessions
        .iter()
        .flat_map(|s| &s.blocks)
        .map(|b| (b.to - b.from).num_minutes())
        .sum();
    assert!(
        chart.says.contains(&format!("{:.0} h of work", minutes as f64 / 60.0)),
        "{}",
        chart.says
    );
    let chained = view.calendar.next.iter().flat_map(|s| &s.blocks).filter(|b| b.chain).count();
    assert!(chained > 0, "work that sets the finish starts now");
    // Planned progress ends with every part finished.
    let parts = &view.progress[0];
    assert!(
        parts.says.contains(&format!("planned: {} parts", made.build.parts.len())),
        "{}",
        parts.says
    );
    assert!(made.html.len() < 1_000_000, "{} bytes", made.html.len());
}

/// The plan of the rules of thumb.
fn looking(stop: &mut dyn FnMut(usize, usize) -> bool) -> SearchOptions<'_> {
    let budget = Budget { tries: 0, seed: 1, stop };
    SearchOptions::new(budget)
}

#[test]
fn chances_stock_lessons_and_changes_are_shown() {
    let mut made = folder("demo");
    made.plan.schedule =
        pourwright::plan::schedule(&made.build, &made.estimates, looking(&mut |_, _| true)).0;
    let mut bill = pourwright::supply::bill(&made.build, &made.estimates, &made.plan.schedule);
    let replays = (600, 1);
    let schedule = &made.plan.schedule;
    let risk = pourwright::risk::risk(&made.build, &made.estimates, schedule, replays, &|_| ())
        .expect("a plan");
    pourwright::supply::sure(&made.build, &risk, &mut bill);
    let learned = pourwright::learn::learn(&made.build, &made.estimates);
    let lessons = learned.lessons.len();
    let extras = Extras { risk: Some(risk.clone()), learned, ..Extras::default() };
    let view = ReportView::with(&made.build, &made.estimates, &made.plan, &bill, &extras);
    let chances = view.chances.as_ref().expect("chances");

    // The percentiles against the weeks, counted here: by the end of the week of P50 half of the
    // replays or more are over, before it begins less than half.
    let half: NaiveDate = chances.half.parse().expect("a day");
    let nine: NaiveDate = chances.nine.parse().expect("a day");
    for (day, share) in [(half, 0.5), (nine, 0.9)] {
        let count = |until: &dyn Fn(NaiveDate) -> bool| -> u32 {
            risk.weeks.iter().filter(|(week, _)| until(*week)).map(|(_, n)| *n).sum()
        };
        let by = count(&|week| week <= day);
        let before = count(&|week| week + chrono::TimeDelta::days(7) <= day);
        assert!(f64::from(by) >= share * 600.0, "{by} of 600 by the week of {day}");
        assert!(f64::from(before) <= share * 600.0, "{before} of 600 before the week of {day}");
    }
    let chart = chances.chart.as_ref().expect("a chart");
    assert!(chart.says.starts_with("of 600 replays"), "{}", chart.says);
    assert_eq!(chart.marks.iter().filter(|m| m.of == "bar").count(), risk.weeks.len());
    let table = made.build.part("table").expect("a part");
    let row = chances.moulds.iter().find(|m| m.part == table).expect("a mould of the table");
    assert!(row.least == 1 && row.eight >= 1 && row.nine >= row.eight);

    // ZA-12: what the journal left in the shop, and the plan takes more.
    let line = bill.metal.iter().find(|l| &*l.id == "ZA-12").expect("a line");
    let stock = line.stock.as_ref().expect("counted").si();
    let za = view.stock.iter().find(|c| c.title.contains("ZA-12")).expect("a curve");
    assert!(za.says.contains("short from"), "{}", za.says);
    let start: f64 = za.rows[0][1].split(' ').next().and_then(|n| n.parse().ok()).expect("kg");
    assert!((start - stock).abs() < 0.06, "{start} is not {stock} kg");
    let short = line.by.expect("it runs short").to_string();
    assert!(za.says.contains(&format!("short from {short} on")), "{}", za.says);

    // To be sure is never less than likely, for what the replays told of.
    let (likely, sure) =
        (line.buy.as_ref().expect("buy").si(), line.sure.as_ref().expect("sure").si());
    assert!(sure >= likely, "{sure} kg is less than {likely} kg");

    assert_eq!(view.lessons.len(), lessons);
    assert!(lessons > 0);
    let html =
        report_with(&made.build, &made.estimates, &made.plan, &bill, &extras).expect("a page");
    for says in [
        "What was learned",
        "Moulds to allow for",
        "To be nine in ten sure",
        &format!("by <strong>{}</strong>, nine in ten by", chances.half_words),
        "Next time",
        &short,
    ] {
        assert!(html.contains(says), "{says} is not on the page");
    }
    // Small, and most of its text folded.
    assert!(html.len() < 400_000, "{} bytes", html.len());
    let open = words_outside_folds(&html);
    assert!(open < 2_200, "{open} words outside folds");
    // The next heat is told as its pour sheet tells it, who lifts and the safe weights with it.
    let heat = &made.plan.schedule.heats[0];
    let told = view.next_heat.as_ref().expect("a heat");
    assert_eq!(told.heat.as_deref(), Some(&*heat.name));
    let lift = match told.by_device {
        true => "Not by hand: a lifting device".to_owned(),
        false => format!("{} people lift", heat.people.expect("people")),
    };
    assert!(html.contains(&lift), "{lift}");
    for mould in &told.moulds {
        let weight = mould.weights.as_ref().and_then(|w| w.shown.as_ref()).expect("weights");
        let opened = mould.not_before.as_ref().expect("a time");
        let row = html.split(&format!("<bdi>{}</bdi></th>", mould.name)).nth(1).expect("its row");
        let row = row.split("</tr>").next().expect("a row");
        assert!(row.contains(weight) && row.contains(opened), "{}: {row}", mould.name);
    }

    // What `redo` would have done otherwise stands at its casting.
    let plate = made.build.part("motor-plate").expect("a part");
    let changes = pourwright::redo::changes_for(&made.build, &made.estimates, plate);
    let shown = view.castings.iter().find(|c| c.part == plate).expect("a casting");
    assert_eq!(shown.changes.len(), changes.len());
    assert!(!changes.is_empty() && shown.changes[0].says == changes[0].says);
}

/// Words that are read without opening anything: what is in `details` but its summary is folded.
fn words_outside_folds(html: &str) -> usize {
    let body = html.split("<main>").nth(1).and_then(|b| b.split("<script>").next());
    let (mut words, mut folded, mut summary) = (0, 0_usize, 0_usize);
    for piece in body.expect("a page").split('<').skip(1) {
        let (tag, text) = piece.split_once('>').unwrap_or((piece, ""));
        match tag.split([' ', '>']).next().unwrap_or_default() {
            "details" => folded += 1,
            "/details" => folded -= 1,
            "summary" => summary = folded,
            "/summary" => summary = 0,
            _ => {}
        }
        if folded == 0 || (folded == 1 && summary == 1) {
            words += text.split_whitespace().count();
        }
    }
    words
}

#[test]
fn an_order_of_this_week_stands_out() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo");
    let read = |name: &str| std::fs::read_to_string(root.join(name)).expect("the demo");
    let journal = read(pourwright::JOURNAL);
    let slow = |days: i64| {
        let manifest = read(pourwright::MANIFEST);
        let manifest = manifest.replace("delivery: 5 d", &format!("delivery: {days} d"));
        let manifest = manifest.replace("delivery: 2..3 d", &format!("delivery: {days} d"));
        let mut made = make(manifest.into_bytes(), journal.clone().into_bytes());
        made.plan.schedule =
            pourwright::plan::schedule(&made.build, &made.estimates, looking(&mut |_, _| true)).0;
        let bill = pourwright::supply::bill(&made.build, &made.estimates, &made.plan.schedule);
        let wish = pourwright::supply::Wish::default();
        let purchases = pourwright::supply::purchases(&made.build, &bill, wish);
        let extras = Extras { purchases, ..Extras::default() };
        ReportView::with(&made.build, &made.estimates, &made.plan, &bill, &extras)
    };
    let view = slow(2);
    let week = NaiveDate::from_ymd_opt(2026, 7, 15).expect("a day");
    for order in &view.bill.orders {
        let by: Option<NaiveDate> = order.order_by.as_deref().map(|d| d.parse().expect("a day"));
        assert_eq!(order.soon, by.is_some_and(|day| day <= week), "{by:?}");
    }
    assert!(view.bill.orders.iter().any(|o| !o.soon && o.order_by.is_some()));
    let later = slow(82);
    let days: Vec<_> = later.bill.orders.iter().map(|o| (o.order_by.clone(), o.soon)).collect();
    assert!(days.iter().any(|d| d.1), "an order within the week: {days:?}");
}

#[test]
fn photos_are_embedded_small_or_refused_aloud() {
    let dir = tempfile::tempdir().expect("a folder");
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("projects/filing-machine/build.yaml");
    std::fs::copy(root, dir.path().join("build.yaml")).expect("a copy");
    std::fs::create_dir(dir.path().join("photos")).expect("a folder");
    let photo =
        pictures::png(3000, 2000, |x, y| [(x * y % 251) as u8, (x % 256) as u8, (y % 256) as u8]);
    std::fs::write(dir.path().join("photos/base.png"), photo).expect("a photo");
    std::fs::write(dir.path().join("photos/no.heic"), b"ftypheic").expect("a file");
    let file = std::fs::File::create(dir.path().join("photos/huge.jpg")).expect("a file");
    file.set_len(50 << 20).expect("room");
    // A picture of 60,000 x 60,000 pixels, by its head alone: it must not be unpacked.
    let mut bomb = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\xea\x60\0\0\xea\x60\x08\x02\0\0\0".to_vec();
    bomb.extend([0; 4]);
    std::fs::write(dir.path().join("photos/bomb.png"), bomb).expect("a file");
    let note = |id: &str, photo: &str| {
        format!(
            "---\nid: {id}\nat: 2026-10-01 10:00\nnote: {{part: base, says: \"seen {id}\", photo: photos/{photo}}}\n"
        )
    };
    let list = [
        ("a", "base.png"),
        ("b", "no.heic"),
        ("c", "huge.jpg"),
        ("d", "bomb.png"),
        ("e", "gone.jpg"),
    ];
    let journal: String = list.iter().map(|(id, photo)| note(id, photo)).collect();
    std::fs::write(dir.path().join("journal.yaml"), journal).expect("a journal");
    let out = Command::new(env!("CARGO_BIN_EXE_pourwright"))
        .args(["report", "--today", "2026-11-02", "--build"])
        .arg(dir.path())
        .output()
        .expect("pourwright runs");
    let told = String::from_utf8_lossy(&out.stderr);
    assert!(out.status.success(), "{told}");
    for (_, photo) in &list[1..] {
        assert!(told.contains(&format!("note: photo photos/{photo}: ")), "{photo}: {told}");
    }
    assert!(!told.contains("base.png"), "{told}");
    let html = std::fs::read_to_string(dir.path().join("report.html")).expect("a page");
    let found: Vec<&str> = html.split("src=\"data:image/jpeg;base64,").skip(1).collect();
    assert_eq!(found.len(), 2, "at its casting and in the notebook");
    let data = found[0].split('"').next().unwrap_or_default();
    assert!(data.len() < 200_000, "{} letters", data.len());
    use base64::Engine;
    let jpeg = base64::engine::general_purpose::STANDARD.decode(data).expect("base64");
    let mut small =
        zune_jpeg::JpegDecoder::new(zune_jpeg::zune_core::bytestream::ZCursor::new(&jpeg));
    small.decode().expect("a JPEG");
    assert_eq!(small.dimensions(), Some((560, 373)));
    assert!(html.contains("alt=\"seen a\""));
}

const TAGS: &str = "<script>alert(1)</script><img src=x onerror=alert(2)>";
const QUOTES: &str = "\"'`--><style>*{display:none}</style>&amp;{{ 7*7 }}";
const RTL: &str =
    "\u{202e}evil\u{202c} \u{5d2}\u{5dc}\u{5d2}\u{5dc} \u{645}\u{631}\u{62d}\u{628}\u{627}";
const EMOJI: &str = "\u{1f525}\u{1f468}\u{200d}\u{1f3ed} crank";

fn quoted(text: &str) -> String {
    serde_json::to_string(text).expect("JSON text is YAML text")
}

fn hostile() -> Made {
    let long = "W".repeat(300);
    let mut parts = String::new();
    for (id, name) in
        [("tags", TAGS), ("quotes", QUOTES), ("rtl", RTL), ("long", &long), ("emoji", EMOJI)]
    {
        parts.push_str(&format!(
            "  {id}:\n    name: {}\n    notes: {}\n    casting: {{pattern: p-{id}, alloy: C932, mass: 1.2 kg, machined: 40 cm2}}\n",
            quoted(name),
            quoted(name)
        ));
    }
    let patterns: String = ["tags", "quotes", "rtl", "long", "emoji"]
        .iter()
        .map(|id| format!("  p-{id}: {{size: 120 x 90 x 30 mm, made-of: wood}}\n"))
        .collect();
    let manifest = format!(
        "build: {{title: {}, notes: {}, begun: 2026-01-01, currency: {}}}\nshop:\n  flasks:\n    box: {{inside: 300 x 250 mm, cope: 75 mm, drag: 75 mm}}\npatterns:\n{patterns}parts:\n{parts}  bolts: {{name: {}, bought: {{price: 4.20}}, needs: [tags, quotes, long]}}\n",
        quoted(TAGS),
        quoted(QUOTES),
        quoted("<b>"),
        quoted(TAGS)
    );
    let journal = format!(
        "---\nid: a\nat: 2026-02-01 10:00\nrammed: {{mould: {m}, pattern: p-tags, castings: {{tags: 1}}}}\n---\nid: b\nat: 2026-02-01 12:00\npoured: {{heat: {h}, alloy: C932, charge: {{ingot: 3 kg}}, moulds: [{m}], weather: {w}}}\n---\nid: c\nat: 2026-02-01 14:00\nshaken-out: {{mould: {m}}}\n---\nid: d\nat: 2026-02-01 15:00\ninspected: {{mould: {m}, part: tags, pieces: 1, disposition: scrap, blemishes: [{{class: B100, where: {w}}}], says: {q}}}\n",
        m = quoted("<M1>"),
        h = quoted("\"H1'"),
        w = quoted(TAGS),
        q = quoted(QUOTES)
    );
    make(manifest.into_bytes(), journal.into_bytes())
}

fn large(parts: usize) -> Made {
    let mut manifest = String::from(
        "build: {title: Many parts, begun: 2026-01-01}\nshop:\n  flasks:\n    box: {inside: 300 x 250 mm, cope: 75 mm, drag: 75 mm}\n  sand: {kind: green-sand}\npatterns:\n",
    );
    for i in 0..parts {
        manifest.push_str(&format!("  pat-{i}: {{size: 120 x 90 x 30 mm}}\n"));
    }
    manifest.push_str("parts:\n");
    for i in 0..parts {
        manifest.push_str(&format!(
            "  part-{i}:\n    casting: {{pattern: pat-{i}, alloy: A356, mass: 1.{} kg, machined: 60 cm2}}\n",
            i % 9 + 1
        ));
        if i > 0 {
            manifest.push_str(&format!("    needs: [part-{}]\n", (i - 1) / 3));
        }
    }
    make(manifest.into_bytes(), Vec::new())
}

#[test]
fn every_build_of_ours_has_its_report() {
    for name in OURS {
        let made = folder(name);
        assert!(made.html.len() < 1_000_000, "{name}: {} bytes", made.html.len());
        for part in &made.build.parts {
            let drawn =
                made.html.matches(&format!("id=\"part-{}\"", index(&made, part.id()))).count();
            assert_eq!(drawn, 1, "{name}: {}", part.id());
        }
        for word in QUESTIONS.iter().chain(&["come first"]) {
            assert!(made.html.contains(word), "{name}: {word}");
        }
        let scripts = made.html.matches("<script").count();
        assert_eq!(scripts, 1, "{name}: the one that sorts, sifts and zooms");
        assert!(!made.html.contains("http:") && !made.html.contains("https:"), "{name}");
    }
    let demo = folder("demo");
    assert!(demo.html.contains("pinned for this example") && demo.html.contains("2026-07-08"));
    assert!(demo.html.contains("shallow fold on the lower face"), "the concession is told");
    assert!(demo.html.contains("blowholes all through the upper half"), "the scrap is told");
}

fn index(made: &Made, id: &str) -> usize {
    made.build.part(id).expect("a part of the build")
}

#[test]
fn a_hostile_build_is_inert() {
    let made = hostile();
    for raw in ["<script>alert", "<img", "<M1>", "<b>", "\u{202e}", "<style>*", ">&amp;{{"] {
        assert!(!made.html.contains(raw), "{raw} stands raw in the page");
    }
    assert_eq!(made.html.matches("<style>").count(), 1);
    assert_eq!(made.html.matches("<script").count(), 1);
    assert!(made.html.contains("&lt;script&gt;"), "the name is shown all the same");
    assert!(made.html.contains("{{ 7*7 }}"), "what looks like a template is text");
    assert!(made.html.contains("cast again"), "a scrapped casting is to be cast again");
    for (open, close) in [("<svg", "</svg>"), ("<a ", "</a>"), ("<details", "</details>")] {
        let (opened, closed) = (made.html.matches(open).count(), made.html.matches(close).count());
        assert_eq!(opened, closed, "{open}");
    }
}

#[test]
fn only_the_script_of_ours_may_run() {
    use base64::Engine;
    use sha2::Digest;
    let html = folder("demo").html;
    let script = html.split("<script>").nth(1).and_then(|rest| rest.split("</script>").next());
    let digest = sha2::Sha256::digest(script.expect("a script"));
    let hash = base64::engine::general_purpose::STANDARD.encode(digest);
    assert!(html.contains(&format!("script-src 'sha256-{hash}'")), "put sha256-{hash} there");
    assert!(html.contains("default-src 'none'"));
}

#[test]
fn every_figure_can_be_asked_for() {
    for name in OURS {
        let made = folder(name);
        let askable = Askable::new(&made.build, &made.estimates, &made.plan, &made.bill);
        let known: BTreeSet<String> =
            askable.all().map(|(subject, figure, _)| format!("{subject} {figure}")).collect();
        let shown = made.html.matches("class=\"fig\"").count();
        let asked: Vec<&str> = made
            .html
            .split("fig\" data-why=\"")
            .skip(1)
            .filter_map(|rest| rest.split('"').next())
            .collect();
        assert_eq!(shown, asked.len(), "{name}: a figure without its reason");
        // The others stand in groups; the list of figures says what to type for each.
        let view = ReportView::new(&made.build, &made.estimates, &made.plan, &made.bill);
        let mut rows: Vec<String> = Vec::new();
        for casting in &view.castings {
            for figure in casting.groups.iter().flat_map(|g| &g.figures) {
                rows.push(format!("{} {}", casting.id, figure.ask));
                let entry = view.figures.iter().find(|e| e.ask == figure.ask);
                let entry = entry.unwrap_or_else(|| panic!("{} is not listed", figure.ask));
                assert!(
                    made.html.contains(&format!("<code>{}</code>", entry.ask)),
                    "{}",
                    entry.ask
                );
                assert!(entry.sources.iter().all(|n| (1..=view.sources.len()).contains(n)));
            }
            let estimate = made.estimates.castings[casting.part].as_ref().expect("an estimate");
            let grouped: usize = casting.groups.iter().map(|g| g.figures.len()).sum();
            assert_eq!(casting.figures.len() + grouped, estimate.figures().len(), "{}", casting.id);
        }
        let sourced = view.figures.iter().filter(|f| !f.sources.is_empty()).count();
        assert!(sourced * 2 > view.figures.len(), "{name}: {sourced} figures name their source");
        let asked: Vec<&str> = asked.into_iter().chain(rows.iter().map(String::as_str)).collect();
        assert!(rows.len() > 100, "{name}: only {} figures", rows.len());
        for why in asked {
            assert!(known.contains(why), "{name}: nothing answers to `why {why}`");
        }
    }
}

#[test]
fn the_view_counts_what_the_build_holds() {
    let made = folder("demo");
    let view = ReportView::new(&made.build, &made.estimates, &made.plan, &made.bill);
    let finished = made.plan.standings.iter().filter(|s| s.word() == "finished").count();
    assert_eq!(view.far.finished, finished);
    assert_eq!(view.far.heats, 11);
    assert_eq!(view.far.moulds, 15);
    let of = |word| view.faults.iter().filter(|f| f.disposition == word).count();
    assert_eq!((of("concession"), of("accept")), (1, 0));
    let days: Vec<&String> = view.faults.iter().map(|f| &f.day).collect();
    assert!(days.len() > 2 && days.is_sorted_by(|a, b| a >= b), "the latest first: {days:?}");
    assert_eq!(view.work.left + view.work.done_count, made.plan.tasks.len());
    let listed = view.work.next.len() + view.work.later.len() + view.work.left_off;
    assert_eq!(listed, view.work.left);
    assert!(!view.sources.is_empty());
    let cautions: Vec<&str> = view.cautions.iter().map(|c| &*c.title).collect();
    assert!(cautions.iter().any(|c| c.contains("Zinc")), "ZA-12 and C905 are poured: {cautions:?}");
    let leaded = made.build.parts.iter().filter_map(|p| p.casting.as_ref());
    let leaded = leaded.filter(|c| ["C932", "C857", "C905"].contains(&&*c.alloy.id)).count();
    assert_eq!(cautions.iter().any(|c| c.contains("Lead")), leaded > 0);
}

#[test]
fn the_order_of_work_is_that_of_the_plan() {
    let made = scheduled(folder("demo"));
    let view = ReportView::new(&made.build, &made.estimates, &made.plan, &made.bill);
    let work = &view.work;
    assert!(work.planned);
    let listed: Vec<_> = work.next.iter().chain(&work.later).collect();
    for (n, task) in listed.iter().enumerate() {
        assert_eq!(task.place, Some(n + 1), "{} {}", task.step, task.id);
    }
    assert!(work.done.iter().all(|t| t.place.is_none()));
    // No step stands before one that it waits for, by the network itself.
    let places: std::collections::HashMap<(&str, &str), usize> =
        listed.iter().enumerate().map(|(n, t)| ((&*t.id, t.step), n)).collect();
    let place = |n: usize| {
        let task = &made.plan.tasks[n];
        let id = match task.subject {
            pourwright::plan::Subject::Pattern(i) => &*made.build.patterns[i].id,
            pourwright::plan::Subject::Part(i) => &**made.build.parts[i].id(),
        };
        places.get(&(id, task.step.word())).copied()
    };
    for n in 0..made.plan.tasks.len() {
        for before in made.plan.network.before(n) {
            if let (Some(before), Some(after)) = (place(before), place(n)) {
                assert!(before < after, "{before} {after}");
            }
        }
    }
    // The first thing to do at the bench is the same in the list and in the first screen.
    let bench = listed.iter().find(|t| t.step != "receive").expect("work");
    assert_eq!((&*bench.id, bench.step), (&*work.now[0].id, work.now[0].step));
}

/// A jig and a rig that want the bed made are tied to it by broken lines, a lid that wants it finished by
/// a whole one.
#[test]
fn what_is_wanted_before_it_is_finished_is_drawn_otherwise() {
    let text = "build: {title: Ties, begun: 2026-01-01}
parts:
  bed: {made: {hours: 1 h}}
  jig: {made: {hours: 1 h}, needs: [{part: bed, step: make, before: make}]}
  rig: {made: {hours: 1 h}, needs: [{part: bed, step: make, before: make}]}
  lid: {made: {hours: 1 h}, needs: [bed]}
";
    let made = make(text.into(), Vec::new());
    let view = ReportView::new(&made.build, &made.estimates, &made.plan, &made.bill);
    let drawing = view.drawing.as_ref().expect("a small build");
    let mut partly: Vec<bool> = drawing.lines.iter().map(|line| line.partly).collect();
    partly.sort_unstable();
    assert_eq!(partly, [false, true, true]);
}

#[test]
fn many_castings_list_what_the_mould_wants() {
    let made = large(120);
    let view = ReportView::new(&made.build, &made.estimates, &made.plan, &made.bill);
    for casting in &view.castings {
        let names: Vec<&str> = casting.figures.iter().map(|f| &*f.ask).collect();
        assert!(names.contains(&"rough-mass") && names.contains(&"pouring-time"), "{names:?}");
        // Without a shape the usual wait alone tells when a mould may be opened.
        assert_eq!(names.len(), 8, "{names:?}");
        assert!(casting.groups.is_empty());
        assert!(names.contains(&"opened-not-before"), "{names:?}");
        let estimate = made.estimates.castings[casting.part].as_ref().expect("an estimate");
        assert_eq!(names.len() + casting.figures_more, estimate.figures().len());
    }
    assert!(made.html.contains("more: <code>pourwright estimate"));
    assert!(made.html.len() < 600_000, "{} bytes", made.html.len());
    // Every part needs an earlier one, so all rest on the first.
    let holds = view.work.holds_up.expect("one that holds up the others");
    assert_eq!((holds.part, holds.others), (0, 119));
}

#[test]
fn a_large_build_stays_small_and_quick() {
    let made = large(1_500);
    let start = Instant::now();
    let html = report(&made.build, &made.estimates, &made.plan, &made.bill).expect("a report");
    let took = start.elapsed();
    assert!(html.len() < 3_000_000, "{} bytes", html.len());
    assert!(html.contains("too large to draw"));
    // Three parts need each, so of 1500 there are 1, 3, 9, 27, 81, 243, 729 and 407 a level.
    for (level, parts) in [(1, 1), (4, 27), (8, 407)] {
        let row = format!("<th scope=\"row\">{level}</th><td class=\"num\">{parts}</td>");
        assert!(html.contains(&row), "{row}");
    }
    // Unoptimized builds are some ten times slower than what is shipped.
    let most = if cfg!(debug_assertions) { 8.0 } else { 0.6 };
    assert!(took.as_secs_f64() < most, "took {took:?}");
}

#[test]
fn a_browser_and_a_validator_find_nothing() {
    let named = |name: &str| std::env::var_os(name);
    let (Some(page), Some(_)) = (named("POURWRIGHT_PAGE"), named("POURWRIGHT_CHROMIUM")) else {
        eprintln!(
            "left out: report in a browser: POURWRIGHT_PAGE and POURWRIGHT_CHROMIUM are not set"
        );
        return;
    };
    let kept = named("POURWRIGHT_SHOTS");
    let temporary = tempfile::tempdir().expect("a folder");
    let folder_of = |name: &str| match &kept {
        Some(shots) => Path::new(shots).join(name),
        None => temporary.path().join(name),
    };
    std::fs::create_dir_all(folder_of("")).expect("a folder");
    // Browsers are slow on a busy machine: the pages that differ most.
    let pages = [
        ("demo", scheduled(folder("demo"))),
        ("grinder", folder("projects/surface-grinder")),
        ("hostile", hostile()),
        ("large", large(410)),
    ];
    let mut command = Command::new("node");
    command.arg(Path::new(&page).join("check.mjs"));
    if kept.is_some() {
        command.arg("--shot").arg(folder_of(""));
    }
    for (name, made) in &pages {
        let file = folder_of(&format!("{name}.html"));
        std::fs::write(&file, &made.html).expect("a page");
        command.arg(file);
    }
    browser::finds_nothing(command, pages.len() * 6);
}

/// A photo of a mould of two patterns shows what was cast in it: it stands at both castings.
#[test]
fn a_photo_of_a_shared_mould_stands_at_each_of_its_castings() {
    let dir = tempfile::tempdir().expect("a folder");
    let build = "
build: {title: Pair, begun: 2026-01-10}
shop:
  people: {me: {hours: {sat: 7 h}}}
  furnaces: {drum: {fuel: propane, efficiency: 10 %}}
  crucibles: {grey: {holds: 3 L, family: aluminium}}
  flasks: {box: {inside: 450 x 400 mm, cope: 110 mm, drag: 110 mm}}
  sand: {kind: green-sand}
patterns:
  gib: {size: 180 x 60 x 30 mm, in-cope: 10 mm, beside: [clapper]}
  clapper: {size: 90 x 80 x 40 mm, in-cope: 20 mm}
parts:
  gib: {quantity: 2, casting: {pattern: gib, alloy: A356, volume: 0.2 L}}
  clapper: {quantity: 2, casting: {pattern: clapper, alloy: A356, volume: 0.1 L}}
";
    let journal = "---
id: a
at: 2026-01-10 10:00
rammed: {mould: M1, pattern: gib, flask: box, castings: {gib: 1, clapper: 1}, says: both in one, photo: mould.png}
";
    std::fs::write(dir.path().join("build.yaml"), build).expect("a manifest");
    std::fs::write(dir.path().join("journal.yaml"), journal).expect("a journal");
    let photo = pictures::png(60, 40, |_, _| [0; 3]);
    std::fs::write(dir.path().join("mould.png"), photo).expect("a photo");
    let out = Command::new(env!("CARGO_BIN_EXE_pourwright"))
        .args(["report", "--today", "2026-01-11", "--build"])
        .arg(dir.path())
        .output()
        .expect("pourwright runs");
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let html = std::fs::read_to_string(dir.path().join("report.html")).expect("a page");
    assert_eq!(html.matches("src=\"data:image/jpeg;base64,").count(), 2);
}
