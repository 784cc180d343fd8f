//! `log` at a terminal: a pseudo-terminal answers its questions (tests/reference/terminal.py).
#![cfg(unix)]

mod common;

use serde_json::{Value, json};
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

const SMALL: &str = "\
build: {title: Small, begun: 2026-01-10}
shop:
  crucibles:
    bronze-pot: {holds: 1 L, family: copper}
    small-pot: {holds: 1 L, family: aluminium}
  flasks:
    small-box: {inside: 300 x 250 mm, cope: 75 mm, drag: 75 mm}
patterns:
  base-pattern: {made-of: wood, size: 120 x 80 x 40 mm, in-cope: 0 mm}
parts:
  base:
    casting: {pattern: base-pattern, alloy: A356, mass: 0.8 kg, machined: 40 cm2}
";

fn folder() -> tempfile::TempDir {
    let dir = tempfile::tempdir().expect("temporary folder");
    fs::write(dir.path().join("build.yaml"), SMALL).expect("manifest");
    dir
}

fn answered(dir: &Path, answers: &[(&str, &str)]) -> Option<(i64, String)> {
    let program = env!("CARGO_BIN_EXE_pourwright");
    let folder = dir.to_str().expect("a path");
    let command = [program, "log", "--today", "2026-02-03", "--build", folder];
    let said: Value =
        common::ask("interactive", "terminal", &json!({"command": command, "answers": answers}))?;
    assert_eq!(said["left"], json!([]), "not asked: {} in {}", said["left"], said["screen"]);
    Some((said["exit"].as_i64().expect("exit"), said["screen"].as_str().expect("text").to_owned()))
}

#[test]
fn without_a_terminal_it_says_how_to_call_it() {
    let dir = folder();
    let out = Command::new(env!("CARGO_BIN_EXE_pourwright"))
        .args(["log", "--build"])
        .arg(dir.path())
        .stdin(Stdio::null())
        .output()
        .expect("it runs");
    assert_eq!(out.status.code(), Some(2));
    let error = String::from_utf8_lossy(&out.stderr);
    assert!(error.contains("log --help") && error.contains("terminal"), "{error}");
    assert!(!dir.path().join("journal.yaml").exists());
}

#[test]
fn it_asks_proposes_shows_and_writes() {
    let dir = folder();
    let enter = "\r";
    let rammed = [
        ("What happened?", enter),
        ("When?", "2026-02-01 10:00\r"),
        ("(M1)", enter),
        ("Which pattern", enter),
        ("which flask", enter),
        ("How many of base", enter),
        ("How long did it take?", "1.2 h\r"),
        ("Water in the sand", enter),
        ("Write this down?", enter),
    ];
    let Some((exit, screen)) = answered(dir.path(), &rammed) else { return };
    assert_eq!(exit, 0, "{screen}");
    let line = "rammed: {mould: M1, pattern: base-pattern, flask: small-box, castings: {base: 1}, hours: 1.2 h}";
    assert!(screen.contains(line), "shown before it is written: {screen}");
    let journal = || fs::read_to_string(dir.path().join("journal.yaml")).expect("journal");
    assert!(journal().contains(line));

    // The mould that stands is proposed for the next heat, with its alloy and a pot for it.
    let poured = [
        ("What happened?", enter),
        ("When?", "2026-02-01 12:00\r"),
        ("(H1)", enter),
        ("(A356)", enter),
        ("Which crucible", enter),
        ("What went in?", "ingot=2 kg\r"),
        ("What went in?", enter),
        ("Pouring temperature?", "715 C\r"),
        ("Which moulds", enter),
        ("left in the crucible?", "0.1 kg\r"),
        ("Fuel burnt?", enter),
        ("to melt?", enter),
        ("Weather", "dry, 9 C\r"),
        ("Write this down?", enter),
    ];
    let (exit, screen) = answered(dir.path(), &poured).expect("asked before");
    assert_eq!(exit, 0, "{screen}");
    let line = "poured: {heat: H1, alloy: A356, crucible: small-pot, charge: {ingot: 2 kg}, temperature: 715 C, moulds: [M1], heel: 0.1 kg, weather: \"dry, 9 C\"}";
    assert!(journal().contains(line), "{}", journal());

    // A wrong unit is told at once; a broken-off entry writes nothing.
    let before = journal();
    let broken_off = [
        ("What happened?", enter),
        ("When?", enter),
        ("Which mould?", enter),
        ("How long after", "3 kg\r"),
        ("this is a mass", "\x1b"),
    ];
    let (exit, screen) = answered(dir.path(), &broken_off).expect("asked before");
    assert_eq!(exit, 1, "{screen}");
    assert!(screen.contains("nothing was written"), "{screen}");
    // Nor does a no at the end, after what is odd was shown.
    let refused = [
        ("What happened?", enter),
        ("When?", enter),
        ("Which mould?", enter),
        ("How long after", "2 h\r"),
        ("frozen", enter),
        ("All the metal", "20 kg\r"),
        ("Write this down?", "n\r"),
    ];
    let (exit, screen) = answered(dir.path(), &refused).expect("asked before");
    assert_eq!(exit, 0, "{screen}");
    assert!(screen.contains("note: 20 kg came out of the moulds of heat `H1`"), "{screen}");
    assert_eq!(journal(), before);
}
