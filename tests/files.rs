//! Files beside the build: nothing is written through a link or over what pourwright did not
//! write (CWE-59), nothing is read that is no plain file or lies outside the folder, and what would
//! steer a terminal is shown (CWE-117, CWE-150).
#![cfg(unix)]

use std::fs;
use std::os::unix::fs::symlink;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

const SMALL: &str = "\
build: {title: Small, begun: 2026-01-10, looked-at: 2026-02-03}
shop:
  people:
    me: {hours: {sat: 6 h}}
  furnaces:
    gas: {fuel: propane, power: 12 kW}
  crucibles:
    pot: {holds: 1 L}
  flasks:
    box: {inside: 300 x 250 mm, cope: 75 mm, drag: 75 mm}
patterns:
  bed-pattern: {made-of: wood, size: 120 x 80 x 40 mm, in-cope: 0 mm}
parts:
  bed:
    casting: {pattern: bed-pattern, alloy: A356, mass: 0.8 kg}
";

fn folder() -> tempfile::TempDir {
    let dir = tempfile::tempdir().expect("temporary folder");
    fs::write(dir.path().join("build.yaml"), SMALL).expect("manifest");
    dir
}

fn command(dir: &Path, args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_pourwright"));
    command.args(args).arg("--build").arg(dir).stdin(Stdio::null());
    command
}

fn run(dir: &Path, args: &[&str]) -> Output {
    command(dir, args).output().expect("pourwright runs")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// Every command that writes a file where it is told to.
fn writers(to: &str) -> [Vec<&str>; 5] {
    [
        vec!["report", "--out", to],
        vec!["sheet", "build", "--out", to],
        vec!["sheet", "mould", "bed", "--out", to],
        vec!["plan", "--csv", to],
        vec!["plan", "--calendar", to],
    ]
}

#[test]
fn cwe_59_outputs_never_follow_a_link_nor_reach_manifest_or_journal() {
    let dir = folder();
    let at = |name: &str| dir.path().join(name);
    fs::write(at("journal.yaml"), "").expect("journal");
    fs::write(at("mine.txt"), "mine\n").expect("a file");
    symlink("build.yaml", at("to-manifest")).expect("link");
    symlink("mine.txt", at("to-mine")).expect("link");
    symlink("nowhere", at("to-nowhere")).expect("link");
    fs::hard_link(at("build.yaml"), at("same-manifest")).expect("link");
    fs::hard_link(at("journal.yaml"), at("same-journal")).expect("link");
    let names = [
        "build.yaml",
        "journal.yaml",
        "BUILD.yaml",
        "Journal.Yaml",
        "to-manifest",
        "to-mine",
        "to-nowhere",
        "same-manifest",
        "same-journal",
        "sub/../build.yaml",
    ];
    fs::create_dir(at("sub")).expect("folder");
    for name in names {
        let to = at(name);
        for force in [false, true] {
            for mut args in writers(&to.to_string_lossy()) {
                if force {
                    args.push("--force");
                }
                let out = run(dir.path(), &args);
                assert_eq!(out.status.code(), Some(1), "{args:?}: {}", text(&out.stderr));
            }
        }
    }
    assert_eq!(fs::read_to_string(at("build.yaml")).expect("manifest"), SMALL);
    assert_eq!(fs::read_to_string(at("journal.yaml")).expect("journal"), "");
    assert_eq!(fs::read_to_string(at("mine.txt")).expect("mine"), "mine\n");
    assert!(at("to-mine").is_symlink() && !at("nowhere").exists());
}

#[test]
fn what_pourwright_did_not_write_is_replaced_only_by_force() {
    let dir = folder();
    let to = dir.path().join("out");
    let name = to.to_string_lossy().into_owned();
    for args in writers(&name) {
        fs::write(&to, "years of notes\n").expect("a file");
        let out = run(dir.path(), &args);
        assert_eq!(out.status.code(), Some(1));
        assert!(text(&out.stderr).contains("--force"), "{}", text(&out.stderr));
        assert_eq!(fs::read_to_string(&to).expect("file"), "years of notes\n");
        assert!(run(dir.path(), &[&args[..], &["--force"]].concat()).status.success(), "{args:?}");
        // Its own it knows again.
        assert!(run(dir.path(), &args).status.success(), "{args:?}");
        assert_ne!(fs::read_to_string(&to).expect("file"), "years of notes\n");
    }
    let names: Vec<String> = fs::read_dir(dir.path())
        .expect("folder")
        .map(|f| f.expect("file").file_name().to_string_lossy().into_owned())
        .filter(|name| name.ends_with(".part"))
        .collect();
    assert!(names.is_empty(), "left behind: {names:?}");
}

#[test]
fn bodies_are_kept_beside_the_build_and_change_no_answer() {
    let dir = tempfile::tempdir().expect("a folder");
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo");
    for file in ["build.yaml", "journal.yaml"] {
        fs::copy(demo.join(file), dir.path().join(file)).expect("a copy");
    }
    let kept = dir.path().join(".bodies.bin");
    let asked = || {
        let out = run(dir.path(), &["estimate", "--json"]);
        assert!(out.status.success(), "{}", text(&out.stderr));
        text(&out.stdout)
    };
    let first = asked();
    let bytes = fs::read(&kept).expect("bodies");
    assert_eq!(asked(), first, "found again");
    assert_eq!(fs::read(&kept).expect("bodies"), bytes);
    // What is damaged, of another program or a link counts for nothing.
    let mut damaged = bytes.clone();
    damaged[bytes.len() / 2] ^= 1;
    fs::write(&kept, &damaged).expect("written");
    assert_eq!(asked(), first, "damaged");
    assert_eq!(fs::read(&kept).expect("bodies"), bytes, "written anew");
    fs::write(&kept, "years of notes\n").expect("written");
    assert_eq!(asked(), first, "of another program");
    assert_eq!(fs::read(&kept).expect("notes"), b"years of notes\n");
    fs::remove_file(&kept).expect("removed");
    symlink("build.yaml", &kept).expect("link");
    let manifest = fs::read(dir.path().join("build.yaml")).expect("manifest");
    assert_eq!(asked(), first, "a link");
    assert_eq!(fs::read(dir.path().join("build.yaml")).expect("manifest"), manifest);
    // A body that has changed is another body.
    fs::remove_file(&kept).expect("removed");
    fs::write(&kept, &bytes).expect("written");
    let manifest = String::from_utf8(manifest).expect("text");
    let thinner = manifest.replacen("thickness: 12 mm", "thickness: 11 mm", 1);
    assert_ne!(thinner, manifest);
    fs::write(dir.path().join("build.yaml"), thinner).expect("written");
    let changed = asked();
    assert_ne!(changed, first);
    fs::remove_file(&kept).expect("removed");
    assert_eq!(asked(), changed);
}

#[test]
fn cwe_59_a_kept_plan_that_is_a_link_or_none_of_ours_stays() {
    let dir = folder();
    let kept = dir.path().join(".plan.json");
    symlink("build.yaml", &kept).expect("link");
    for args in [&["bill"][..], &["plan"], &["report"]] {
        let out = run(dir.path(), args);
        assert!(out.status.success(), "{}", text(&out.stderr));
        assert!(text(&out.stderr).contains("the plan is not kept"), "{}", text(&out.stderr));
        assert_eq!(fs::read_to_string(dir.path().join("build.yaml")).expect("manifest"), SMALL);
    }
    fs::remove_file(&kept).expect("removed");
    fs::write(&kept, "{\"of\": \"another program\"}").expect("a file");
    assert!(run(dir.path(), &["bill"]).status.success());
    assert!(fs::read_to_string(&kept).expect("file").contains("another program"));
    // A plan whose hash is right and whose content is not is not taken as it stands.
    fs::remove_file(&kept).expect("removed");
    let heats = || {
        let out = run(dir.path(), &["plan", "--all"]);
        assert!(out.status.success(), "{}", self::text(&out.stderr));
        let heats = self::text(&out.stdout);
        heats.lines().find(|l| l.starts_with("heats to come")).map(str::to_owned)
    };
    let first = heats();
    let text = fs::read_to_string(&kept).expect("a plan");
    let mut plan: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    let poured = plan["heats"].as_array().expect("heats").clone();
    assert!(!poured.is_empty());
    plan["heats"] = [poured.clone(), poured].concat().into();
    fs::write(&kept, serde_json::to_string_pretty(&plan).expect("JSON")).expect("written");
    assert_eq!(heats(), first);
}

#[test]
fn devices_pipes_and_sockets_are_refused_at_once() {
    let dir = folder();
    let refused = |args: &[&str], says: &str| {
        let started = Instant::now();
        let out = command(dir.path(), args).output().expect("runs");
        assert_eq!(out.status.code(), Some(1), "{args:?}");
        assert!(text(&out.stderr).contains(says), "{args:?}: {}", text(&out.stderr));
        assert!(started.elapsed() < Duration::from_secs(20), "{args:?}");
    };
    let says = "a device, a pipe or a socket";
    let pipe = dir.path().join("pipe");
    assert!(Command::new("mkfifo").arg(&pipe).status().expect("mkfifo").success());
    for to in ["/dev/null", "/dev/full", &pipe.to_string_lossy()] {
        refused(&["plan", "--csv", to], says);
        refused(&["report", "--force", "--out", to], says);
    }
    fs::remove_file(dir.path().join("build.yaml")).expect("removed");
    symlink("/dev/zero", dir.path().join("build.yaml")).expect("link");
    refused(&["check"], says);
    fs::remove_file(dir.path().join("build.yaml")).expect("removed");
    fs::rename(&pipe, dir.path().join("build.yaml")).expect("renamed");
    refused(&["check"], says);
    fs::rename(dir.path().join("build.yaml"), dir.path().join("journal.yaml")).expect("renamed");
    fs::write(dir.path().join("build.yaml"), SMALL).expect("manifest");
    refused(&["check"], says);
    refused(&["log", "note", "x"], "pipe");
}

#[test]
fn cwe_59_links_out_of_the_folder_are_outside_it() {
    let dir = folder();
    let outside = tempfile::tempdir().expect("another folder");
    fs::write(outside.path().join("bed.stl"), "solid x\nendsolid x\n").expect("mesh");
    let mesh = SMALL.replace("mass: 0.8 kg", "mesh: {file: bed.stl, unit: mm}");
    fs::write(dir.path().join("build.yaml"), mesh).expect("manifest");
    symlink(outside.path().join("bed.stl"), dir.path().join("bed.stl")).expect("link");
    let out = run(dir.path(), &["check"]);
    assert_eq!(out.status.code(), Some(1));
    assert!(text(&out.stderr).contains("leads out of the build's folder"), "{}", text(&out.stderr));
}

#[test]
fn cwe_117_what_steers_a_terminal_is_shown() {
    let dir = folder();
    let hostile = "\\e[2J\\e]0;owned\\a \\u202egnp.exe \\x9b31m \\u2066x\\u2069";
    let manifest = SMALL.replace("title: Small", &format!("title: \"Small {hostile}\""));
    let manifest = manifest.replace("  bed:\n", &format!("  bed:\n    name: \"Bed {hostile}\"\n"));
    fs::write(dir.path().join("build.yaml"), &manifest).expect("manifest");
    let journal = format!(
        "---\nid: a\nat: 2026-02-01\nnote: {{says: \"{hostile}\", photo: \"p{hostile}\"}}\n"
    );
    fs::write(dir.path().join("journal.yaml"), journal).expect("journal");
    let calendar = dir.path().join("shop.ics");
    let ics = calendar.to_string_lossy().into_owned();
    let steers = |c: char| {
        c != '\n' && c != '\r' && c.is_control() || "\u{202e}\u{2066}\u{2069}".contains(c)
    };
    for args in [
        &["check"][..],
        &["parts"],
        &["estimate"],
        &["estimate", "bed"],
        &["plan", "--all"],
        &["history"],
        &["bill"],
        &["buy"],
        &["heats"],
        &["report"],
        &["parts", "--json"],
        &["history", "--json"],
        &["check", "--json"],
        &["plan", "--calendar", &ics],
        &["why", "bed", "\u{1b}[31mmass"],
        &["redo", "\u{202e}deb"],
        &["log", "note", "--try-out", "\u{1b}[2J\u{202e}"],
    ] {
        let out = run(dir.path(), args);
        for stream in [text(&out.stdout), text(&out.stderr)] {
            let found = stream.chars().find(|c| steers(*c));
            assert_eq!(found, None, "{args:?}: {stream:?}");
        }
        if args[0] == "history" && args.len() == 1 {
            assert!(text(&out.stdout).contains("<U+202E>gnp.exe"), "{}", text(&out.stdout));
        }
    }
    let calendar = fs::read_to_string(calendar).expect("calendar").replace("\r\n ", "");
    assert!(!calendar.chars().any(steers), "{calendar:?}");
    assert!(calendar.contains("<U+202E>gnp"), "{calendar}");
    // A fault shows the line it is in.
    fs::write(dir.path().join("build.yaml"), manifest.replace("begun", "begn")).expect("manifest");
    let out = run(dir.path(), &["check"]);
    assert!(!text(&out.stderr).chars().any(steers), "{:?}", text(&out.stderr));
}

/// RFC 5545, section 3.8.4.7: an identifier is unique, and the same for the same event.
#[test]
fn calendar_events_are_unique_to_a_build_and_stable() {
    let uids = |title: &str| {
        let dir = folder();
        let manifest = SMALL.replace("title: Small", &format!("title: {title}"));
        fs::write(dir.path().join("build.yaml"), manifest).expect("manifest");
        let to = dir.path().join("shop.ics");
        assert!(run(dir.path(), &["plan", "--calendar", &to.to_string_lossy()]).status.success());
        let text = fs::read_to_string(&to).expect("calendar").replace("\r\n ", "");
        text.lines().filter(|l| l.starts_with("UID:")).map(str::to_owned).collect::<Vec<_>>()
    };
    let (one, again, other) = (uids("Small"), uids("Small"), uids("Other"));
    assert!(!one.is_empty());
    assert_eq!(one, again);
    assert!(one.iter().all(|uid| !other.contains(uid)), "{one:?} {other:?}");
}
