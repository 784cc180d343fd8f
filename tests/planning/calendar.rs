//! The calendar file as a general iCalendar library reads it (RFC 5545).

use super::builds::{read, schedule};
use super::common;
use pourwright::model::Build;
use pourwright::plan::{Aim, Schedule};
use pourwright::view::calendar::calendar;
use pourwright::view::schedule::ScheduleView;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::process::Command;

/// Titles that would break a file that does not escape them, or slip something into it.
const HOSTILE: &[&str] = &[
    "Lathe; bed, saddle: \\\"best\\\" \\\\n of three",
    "Lathe\\nEND:VEVENT\\nBEGIN:VALARM\\nACTION:AUDIO\\nEND:VALARM\\nBEGIN:VEVENT",
    "Lathe\\r\\nATTACH:http://example.org/x\\r\\nSUMMARY:other",
    "Drehbank f\u{fc}r gro\u{df}e St\u{fc}cke \u{1f525} \u{65cb}\u{76e4} \u{65cb}\u{76e4} \u{65cb}\u{76e4} \u{65cb}\u{76e4} \u{65cb}\u{76e4} \u{65cb}\u{76e4} \u{65cb}\u{76e4} \u{65cb}\u{76e4}",
    "Lathe\\u2028END:VEVENT\\v\\fEND:VCALENDAR\\NATTACH:x",
    "=1+1;DTSTART=19700101T000000Z",
];

fn titled(title: &str) -> Build {
    let text = std::fs::read_to_string("demo/build.yaml").expect("the demo");
    let line = text.lines().find(|l| l.starts_with("  title:")).expect("a title");
    read(&text.replace(line, &format!("  title: \"{title}\"")), "")
}

/// Checks what the library found against the schedule.
fn agrees(build: &Build, schedule: &Schedule, told: &Value) {
    assert_eq!(told["faults"], json!([]));
    assert_eq!(
        (&told["other_line_ends"], told["longest_line"].as_u64() <= Some(75)),
        (&json!(0), true)
    );
    // Lines are joined by a space; other signs that would end a line stand as their number.
    let lines = build.header.title.split(['\n', '\r']);
    let line = lines.filter(|l| !l.is_empty()).collect::<Vec<_>>().join(" ");
    let shown = |c: char| match c {
        '\t' => " ".into(),
        c if c.is_control() || c == '\u{2028}' => format!("<U+{:04X}>", u32::from(c)),
        c => c.to_string(),
    };
    let title: String = line.chars().map(shown).collect();
    assert_eq!(told["name"], json!(title));
    let view = ScheduleView::new(build, schedule);
    let events = told["events"].as_array().expect("events");
    assert_eq!(events.len(), view.sessions.len());
    assert!(!events.is_empty());
    let expected: Vec<&str> =
        std::iter::once("VCALENDAR").chain(view.sessions.iter().map(|_| "VEVENT")).collect();
    assert_eq!(told["components"], json!(expected), "nothing was slipped in");
    let mut uids = BTreeSet::new();
    for (event, session) in events.iter().zip(&view.sessions) {
        assert!(uids.insert(event["uid"].as_str().expect("an id")), "{}", event["uid"]);
        let lit = view.heats.iter().map(|h| &h.lit).filter(|l| l.starts_with(&session.day));
        let start = session.blocks.iter().map(|b| &b.from).chain(lit).min().expect("work");
        let end = session.blocks.iter().map(|b| &b.to).max().expect("work");
        assert_eq!(event["start"], json!(format!("{start}:00")), "local, without a zone");
        assert_eq!(event["end"], json!(format!("{end}:00")));
        let heats: Vec<&str> = view
            .heats
            .iter()
            .filter(|h| h.lit.starts_with(&session.day))
            .map(|h| &*h.heat)
            .collect();
        let summary = event["summary"].as_str().expect("text");
        let rest = summary.strip_prefix(&format!("{title}: "));
        let rest = rest.unwrap_or_else(|| panic!("`{summary}` begins with the title"));
        assert_eq!(rest == "bench", heats.is_empty(), "{rest}");
        assert!(heats.iter().all(|h| rest.contains(&format!("{h} "))), "{rest}: {heats:?}");
        let lines = event["description"].as_str().expect("text").lines().count();
        assert_eq!(lines, session.blocks.len(), "a line for each piece of work");
        let properties = json!(["DESCRIPTION", "DTEND", "DTSTAMP", "DTSTART", "SUMMARY", "UID"]);
        assert_eq!(event["properties"], properties);
    }
    let starts: Vec<&str> = events.iter().filter_map(|e| e["start"].as_str()).collect();
    assert!(starts.is_sorted(), "in order");
}

#[test]
fn an_icalendar_library_reads_the_sessions() {
    for title in std::iter::once(&"My lathe").chain(HOSTILE) {
        let build = titled(title);
        let schedule = schedule(&build, Aim::Finish, 1);
        let question = json!({"text": calendar(&build, &schedule)});
        let test = "an_icalendar_library_reads_the_sessions";
        let Some(told) = common::ask(test, "calendar_file", &question) else { return };
        agrees(&build, &schedule, &told);
    }
}

#[test]
fn the_command_writes_the_same_file_again() {
    let folder = tempfile::tempdir().expect("a folder");
    for file in ["build.yaml", "journal.yaml"] {
        std::fs::copy(format!("demo/{file}"), folder.path().join(file)).expect("the demo");
    }
    let write = || {
        let file = folder.path().join("shop.ics");
        let mut run = Command::new(env!("CARGO_BIN_EXE_pourwright"));
        run.args(["plan", "--tries", "20", "--seconds", "600", "--build"]).arg(folder.path());
        let out = run.arg("--calendar").arg(&file).output().expect("it runs");
        assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
        std::fs::read_to_string(file).expect("the file")
    };
    let first = write();
    assert!(first.starts_with("BEGIN:VCALENDAR\r\n") && first.ends_with("END:VCALENDAR\r\n"));
    assert_eq!(first, write(), "the plan is kept, and the file holds no clock");
}
