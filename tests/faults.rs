//! Golden texts of `check`: every sort of fault, where it points, and what it advises.
//!
//! `tests/faults/NAME.yaml` is a manifest, `tests/faults/NAME.journal.yaml` a journal of the
//! small build below; `NAME.txt` is the exact text of `check`. `POURWRIGHT_BLESS=1` rewrites
//! the texts.

use pourwright::yaml::Code;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The build that the journals are about.
const SMALL: &str = "\
build: {title: Small, begun: 2026-01-10}
shop:
  crucibles:
    small-pot: {holds: 1 L, family: aluminium}
    any-pot: {holds: 2 L}
  furnaces:
    drum: {fuel: propane, efficiency: 8..13 %}
  stock: {A356: 5 kg}
  flasks:
    small-box: {inside: 300 x 250 mm, cope: 75 mm, drag: 75 mm}
patterns:
  base-pattern: {made-of: wood, size: 120 x 80 x 40 mm, in-cope: 0 mm}
  wheel-pattern: {made-of: wood, size: 90 x 90 x 20 mm}
parts:
  base:
    casting: {pattern: base-pattern, alloy: A356, mass: 0.8 kg, machined: 40 cm2}
  wheel:
    casting: {pattern: wheel-pattern, alloy: C905, mass: 0.5 kg}
  bolts:
    bought: {price: 3.00}
";

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/faults")
}

/// Exit code and text of `check` for a case; a terminal's own line ends are not part of it.
fn check(case: &Path, json: bool) -> (i32, String) {
    let dir = tempfile::tempdir().expect("temporary folder");
    let bytes = fs::read(case).expect("case");
    if name(case).ends_with(".journal") {
        fs::write(dir.path().join("build.yaml"), SMALL).expect("manifest");
        fs::write(dir.path().join("journal.yaml"), bytes).expect("journal");
    } else {
        fs::write(dir.path().join("build.yaml"), bytes).expect("manifest");
    }
    let mut command = Command::new(env!("CARGO_BIN_EXE_pourwright"));
    command.args(["check", "--today", "2026-06-01", "--build"]).arg(dir.path());
    if json {
        command.arg("--json");
    }
    let out = command.output().expect("pourwright runs");
    let text = if json { out.stdout } else { [out.stdout, out.stderr].concat() };
    (out.status.code().unwrap_or(-1), String::from_utf8(text).expect("UTF-8"))
}

fn name(case: &Path) -> String {
    case.file_stem().expect("name").to_string_lossy().into_owned()
}

fn cases() -> Vec<PathBuf> {
    let entries = fs::read_dir(folder()).expect("tests/faults");
    let mut cases: Vec<PathBuf> = entries
        .map(|e| e.expect("entry").path())
        .filter(|p| p.extension().is_some_and(|e| e == "yaml"))
        .collect();
    cases.sort();
    cases
}

#[test]
fn every_case_reads_as_it_did() {
    let bless = std::env::var_os("POURWRIGHT_BLESS").is_some();
    let mut wrong = String::new();
    let mut codes = BTreeSet::new();
    for case in cases() {
        let (exit, text) = check(&case, false);
        let golden = folder().join(name(&case) + ".txt");
        if bless {
            fs::write(&golden, &text).expect("golden");
        }
        let want = fs::read_to_string(&golden).unwrap_or_default();
        if want != text {
            wrong += &format!("{}: wanted\n{want}\ngot\n{text}\n", golden.display());
        }
        assert_eq!(
            exit,
            i32::from(text.contains(" in build.yaml") || text.contains(" in journal.yaml"))
        );
        for line in
            text.lines().filter(|l| l.starts_with("build.yaml:") || l.starts_with("journal.yaml:"))
        {
            let code = line.rsplit_once('[').map_or("", |(_, c)| c.trim_end_matches(']'));
            codes.insert(code.to_owned());
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
    let missing: Vec<&str> = Code::ALL
        .iter()
        .map(|c| c.id())
        .filter(|id| *id != "file-size" && !codes.contains(*id))
        .collect();
    assert!(missing.is_empty(), "no case raises {missing:?}");
}

/// Lines of the twelve faults planted in `twelve.yaml`, with their codes.
const TWELVE: [(usize, &str); 12] = [
    (5, "word"),
    (14, "unit"),
    (23, "size"),
    (27, "unknown-flask"),
    (33, "unknown-alloy"),
    (39, "unknown-pattern"),
    (45, "geometry"),
    (48, "unknown-key"),
    (53, "unknown-part"),
    (57, "unit"),
    (60, "missing-key"),
    (71, "form"),
];

/// A line of a file is shown as it is; what is said of it is no wider than a terminal.
#[test]
fn no_sentence_is_wider_than_a_terminal() {
    for case in cases() {
        let (_, text) = check(&case, false);
        let shows_file = |line: &str| {
            let number = line.split(" | ").next().unwrap_or_default().trim();
            !number.is_empty() && number.bytes().all(|b| b.is_ascii_digit())
        };
        let marks = |line: &str| line.contains("^^^") && !line.trim_end_matches('^').contains("^ ");
        for line in text.lines().filter(|line| !shows_file(line) && !marks(line)) {
            assert!(line.chars().count() <= 80, "{}: {line}", case.display());
        }
    }
}

#[test]
fn twelve_faults_are_told_at_once() {
    let (exit, text) = check(&folder().join("twelve.yaml"), true);
    assert_eq!(exit, 1);
    let rows: Vec<serde_json::Value> = serde_json::from_str(&text).expect("JSON");
    let found: Vec<(usize, &str)> = rows
        .iter()
        .map(|r| {
            assert!(!r["hint"].as_str().expect("hint").trim().is_empty(), "{r}");
            assert!(!r["says"].as_str().expect("says").trim().is_empty(), "{r}");
            assert_eq!(r["file"], "build.yaml");
            (r["line"].as_u64().expect("line") as usize, r["code"].as_str().expect("code"))
        })
        .collect();
    assert_eq!(found, TWELVE);
}

#[test]
fn the_json_of_check_tells_what_the_text_tells() {
    for case in cases() {
        let ((exit, text), (_, json)) = (check(&case, false), check(&case, true));
        let rows: Vec<serde_json::Value> = serde_json::from_str(&json).expect("JSON");
        let faults = rows.iter().filter(|r| r["code"] != "note").count();
        assert_eq!(faults == 0, exit == 0, "{}", case.display());
        for r in rows {
            let keys: Vec<&String> = r.as_object().expect("object").keys().collect();
            assert_eq!(keys, ["file", "line", "column", "code", "title", "says", "hint"]);
            let place =
                format!("{}:{}:{}  ", r["file"].as_str().expect("file"), r["line"], r["column"]);
            let says = r["says"].as_str().expect("says");
            if r["code"] == "note" {
                let note = format!("note: journal.yaml:{}: {says}", r["line"]);
                let words = |t: &str| t.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
                let whole = note.replace("journal.yaml:1: ", "journal.yaml: ");
                let told = words(&text).join(" ");
                assert!(told.contains(&note) || told.contains(&whole), "{note} in {text}");
                continue;
            }
            assert!(text.contains(&place), "{place} in {}", case.display());
            // The text has it in lines as wide as a terminal.
            let words = |t: &str| {
                let words = t.split_whitespace().filter(|word| *word != "|");
                words.map(str::to_owned).collect::<Vec<_>>().join(" ")
            };
            let says = words(&says.replace('\u{200b}', "<U+200B>"));
            assert!(words(&text).contains(&says), "{says} in {text}");
        }
    }
}
