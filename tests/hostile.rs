//! Files that no builder would write: each ends in exit code 1 and a clear word, never a panic.

use pourwright::Today;
use proptest::prelude::*;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

const DEMO: &str = include_str!("../demo/build.yaml");
const DEMO_JOURNAL: &str = include_str!("../demo/journal.yaml");

fn run(dir: &Path, command: &str) -> Output {
    let run =
        Command::new(env!("CARGO_BIN_EXE_pourwright")).args([command, "--build"]).arg(dir).output();
    run.expect("pourwright runs")
}

/// The manifest must be refused by every command with exit code 1; the text names all of `says`.
fn refused(manifest: &[u8], says: &[&str]) {
    let dir = tempfile::tempdir().expect("temporary folder");
    fs::write(dir.path().join("build.yaml"), manifest).expect("manifest");
    for command in ["check", "plan"] {
        refused_in(dir.path(), command, says);
    }
}

fn refused_in(dir: &Path, command: &str, says: &[&str]) {
    let out = run(dir, command);
    let text = String::from_utf8_lossy(&out.stderr);
    assert!(!text.contains("panicked"), "{text}");
    assert_eq!(out.status.code(), Some(1), "{text}");
    assert!(out.stdout.is_empty());
    for word in says {
        assert!(text.contains(word), "`{word}` is not in: {text}");
    }
    assert!(text.len() < 200_000, "{} bytes of faults", text.len());
}

/// The manifest must be taken as it is.
fn accepted(manifest: &[u8]) {
    let dir = tempfile::tempdir().expect("temporary folder");
    fs::write(dir.path().join("build.yaml"), manifest).expect("manifest");
    let out = run(dir.path(), "check");
    assert_eq!(out.status.code(), Some(0), "{}", String::from_utf8_lossy(&out.stderr));
}

const PLAIN: &str = "\
build: {title: Small, begun: 2026-01-10}
parts:
  bed:
    made: {from: bar, hours: 3 h}
";

#[test]
fn deep_nesting_is_refused() {
    refused("[".repeat(100_000).as_bytes(), &["[yaml]", "no part of a build nests that deep"]);
    refused("{a: ".repeat(50_000).as_bytes(), &["[yaml]"]);
    let mut indented = String::new();
    for depth in 0..2_000 {
        indented += &format!("{}a:\n", " ".repeat(depth));
    }
    refused(indented.as_bytes(), &["[yaml]"]);
}

#[test]
fn an_alias_bomb_is_refused() {
    let mut bomb = String::from("a0: &a0 [x, x, x, x, x, x, x, x, x, x]\n");
    for i in 1..40 {
        let refs = vec![format!("*a{}", i - 1); 10].join(", ");
        bomb += &format!("a{i}: &a{i} [{refs}]\n");
    }
    refused(bomb.as_bytes(), &["[yaml]", "write the values out"]);
}

#[test]
fn a_hundred_megabytes_are_refused_unread() {
    let dir = tempfile::tempdir().expect("temporary folder");
    let file = fs::File::create(dir.path().join("build.yaml")).expect("manifest");
    file.set_len(100 << 20).expect("room");
    refused_in(dir.path(), "check", &["[file-size]", "is this the right file?"]);
    fs::write(dir.path().join("build.yaml"), PLAIN).expect("manifest");
    let file = fs::File::create(dir.path().join("journal.yaml")).expect("journal");
    file.set_len(100 << 20).expect("room");
    refused_in(dir.path(), "check", &["[file-size]", "journal.yaml"]);
}

#[test]
fn what_is_not_text_is_refused() {
    refused(b"build:\n  title: a\0b\n", &["build.yaml:2:11", "[not-text]", "NUL"]);
    refused(b"build:\n  title: caf\xe9\n", &["build.yaml:2:13", "[not-text]", "UTF-8"]);
    let mut state = 0x2545_f491_4f6c_dd1d_u64;
    let garbage: Vec<u8> = (0..200_000)
        .map(|_| {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            state as u8
        })
        .collect();
    refused(&garbage, &["[not-text]"]);
    let utf16: Vec<u8> = PLAIN.encode_utf16().flat_map(u16::to_le_bytes).collect();
    refused(&utf16, &["[not-text]"]);
}

#[test]
fn nothing_and_no_file_are_refused() {
    refused(b"", &["nothing is written in this file"]);
    refused(b"\n\n# nothing\n", &["nothing is written in this file"]);
    refused(b"---\n", &["nothing is written in this file"]);
    refused(b"just words\n", &["[form]"]);
    refused(b"- a\n- list\n", &["[form]"]);
    let dir = tempfile::tempdir().expect("temporary folder");
    refused_in(dir.path(), "check", &["no build.yaml in", "pourwright new"]);
    refused_in(&dir.path().join("nowhere"), "check", &["no build.yaml in"]);
    fs::create_dir(dir.path().join("build.yaml")).expect("folder");
    refused_in(dir.path(), "check", &["build.yaml", "irectory"]);
    fs::remove_dir(dir.path().join("build.yaml")).expect("folder");
    fs::write(dir.path().join("build.yaml"), PLAIN).expect("manifest");
    fs::create_dir(dir.path().join("journal.yaml")).expect("folder");
    refused_in(dir.path(), "check", &["journal.yaml", "irectory"]);
}

#[test]
fn ten_thousand_keys_twice_are_counted_not_listed() {
    let mut text = String::from("build: {title: Many, begun: 2026-01-10}\nparts:\n");
    for _ in 0..2 {
        for i in 0..5_000 {
            text += &format!("  p{i}: {{made: {{hours: 1 h}}}}\n");
        }
    }
    refused(text.as_bytes(), &["[repeated-id]", "and 4800 more faults", "5000 faults in"]);
    let mut text = String::from("build:\n  title: Many\n  begun: 2026-01-10\nparts: {}\n");
    for i in 0..10_000 {
        text += &format!("k{}: 1\n", i % 5_000);
    }
    refused(text.as_bytes(), &["[unknown-key]", "more faults"]);
}

#[test]
fn long_lines_tabs_line_ends_and_marks() {
    let long = format!("{PLAIN}    notes: {}\n", "x".repeat(2_000_000));
    accepted(long.as_bytes());
    let long = format!("{PLAIN}    note: {}\n", "x".repeat(2_000_000));
    refused(long.as_bytes(), &["build.yaml:5:5", "did you mean `notes`?"]);
    let long = format!("{PLAIN}    notes: [{}]\n", "x, ".repeat(200_000));
    refused(long.as_bytes(), &["[form]"]);
    refused(PLAIN.replace("    made", "\tmade").as_bytes(), &["build.yaml:4", "tab"]);
    accepted(PLAIN.replace('\n', "\r\n").as_bytes());
    accepted(format!("\u{feff}{PLAIN}").as_bytes());
    let wrong = PLAIN.replace("3 h", "3 kg");
    refused(wrong.replace('\n', "\r\n").as_bytes(), &["build.yaml:4:30", "this is a mass"]);
    refused(format!("\u{feff}{wrong}").as_bytes(), &["build.yaml:4:30", "this is a mass"]);
}

#[test]
fn tags_anchors_and_merge_keys() {
    // A tag on a word is passed over: it is still that word.
    accepted(PLAIN.replace("title: Small", "title: !!python/object Small").as_bytes());
    let tagged = PLAIN.replace("made: {", "made: !made {");
    refused(tagged.as_bytes(), &["build.yaml:4:11", "tag"]);
    accepted(
        b"build: {title: &t Small, begun: 2026-01-10, notes: *t}\nparts:\n  bed: {made: &m {hours: 3 h}}\n  leg: {made: *m}\n",
    );
    let merged = b"build: {title: S, begun: 2026-01-10}\nparts:\n  bed: &b {made: {hours: 3 h}}\n  leg: {<<: *b}\n";
    refused(merged, &["build.yaml:4", "`<<` means nothing here"]);
    refused(b"a: *nowhere\n", &["[yaml]"]);
    refused(b"a: &a [*a]\n", &["[yaml]"]);
    refused(b"? [complex, key]\n: value\n", &["[yaml]"]);
    refused(format!("{PLAIN}---\n{PLAIN}").as_bytes(), &["build.yaml:5:1", "second document"]);
    refused(b"%YAML 9.9\n---\na: b\n", &[]);
}

#[test]
fn hostile_journals() {
    for (journal, says) in [
        (&b"---\nid: 1\nat: 2026-02-01\nnote: {says: \"\xff\"}\n"[..], "[not-text]"),
        (b"---\n[[[[\n---\n", "[yaml]"),
        (b"just words\n", "[form]"),
        (b"---\nid: 1\nat: 2026-02-31\nnote: {says: x}\n", "a date and time"),
        (b"---\nid: 1\nat: 2026-02-01\ncounted: {stock: A356, mass: -3 kg}\n", "[size]"),
    ] {
        let dir = tempfile::tempdir().expect("temporary folder");
        fs::write(dir.path().join("build.yaml"), PLAIN).expect("manifest");
        fs::write(dir.path().join("journal.yaml"), journal).expect("journal");
        refused_in(dir.path(), "check", &["journal.yaml", says]);
    }
    // One id for many entries that differ; copies that are alike count once.
    let entry = |n: u32| format!("---\nid: 1\nat: 2026-02-01\nnote: {{says: x{n}}}\n");
    let many: String = (0..20_000).map(entry).collect();
    let dir = tempfile::tempdir().expect("temporary folder");
    fs::write(dir.path().join("build.yaml"), PLAIN).expect("manifest");
    fs::write(dir.path().join("journal.yaml"), many).expect("journal");
    refused_in(dir.path(), "check", &["[repeated-id]", "more faults"]);
}

fn day() -> Today {
    Today { asked: None, clock: "2026-07-08".parse().expect("day") }
}

/// Reads, reckons and shows: whatever the bytes are, it ends, and what is accepted can be shown.
fn survives(manifest: Vec<u8>, journal: Vec<u8>) {
    match pourwright::read(manifest, journal, day()) {
        Ok(build) => {
            let estimates = pourwright::estimate::estimate(&build);
            let plan = pourwright::plan::plan(&build, &estimates);
            let bill = pourwright::supply::bill(&build, &estimates, &plan.schedule);
            assert!(bill.lines().count() > 0 || plan.tasks.is_empty() || !plan.order.is_empty());
        }
        Err(all) => {
            assert!(!all.is_empty());
            for faults in all {
                assert!(!faults.list.is_empty());
                let shown = faults.to_string();
                assert!(shown.ends_with(&faults.file));
                let lines = faults.text.lines().count().max(1);
                for (place, fault) in faults.placed() {
                    assert!(place.line <= lines + 1, "{place:?} of {lines}: {fault:?}");
                    assert!(!fault.says.is_empty() && !fault.hint.is_empty());
                }
            }
        }
    }
}

#[derive(Debug, Clone)]
enum Change {
    Delete(usize, usize),
    Repeat(usize, usize),
    Replace(usize, Vec<u8>),
    Swap(usize, usize, usize),
}

fn changed(text: &str, changes: &[Change]) -> Vec<u8> {
    let mut bytes = text.as_bytes().to_vec();
    for change in changes {
        let len = bytes.len();
        if len < 2 {
            break;
        }
        let span = |at: usize, n: usize| (at % len, (at % len + n).min(len));
        match change {
            Change::Delete(at, n) => {
                let (from, to) = span(*at, *n);
                bytes.drain(from..to);
            }
            Change::Repeat(at, n) => {
                let (from, to) = span(*at, *n);
                let copy = bytes[from..to].to_vec();
                bytes.splice(to..to, copy);
            }
            Change::Replace(at, new) => {
                let (from, to) = span(*at, new.len());
                bytes.splice(from..to, new.iter().copied());
            }
            Change::Swap(a, b, n) => {
                let ((a, _), (b, _)) = (span(*a, *n), span(*b, *n));
                for i in 0..(*n).min(len - a.max(b)) {
                    bytes.swap(a + i, b + i);
                }
            }
        }
    }
    bytes
}

fn change() -> impl Strategy<Value = Change> {
    let word = prop_oneof![
        proptest::collection::vec(any::<u8>(), 1..12),
        "[0-9a-z:{}, \\n.*&%-]{1,12}".prop_map(String::into_bytes),
        proptest::sample::select(vec!["1e308", "-0", "0", "NaN", "inf", "1e-320 mm", "..", "~"])
            .prop_map(|s| s.as_bytes().to_vec()),
    ];
    prop_oneof![
        (0..20_000_usize, 1..60_usize).prop_map(|(a, n)| Change::Delete(a, n)),
        (0..20_000_usize, 1..300_usize).prop_map(|(a, n)| Change::Repeat(a, n)),
        (0..20_000_usize, word).prop_map(|(a, w)| Change::Replace(a, w)),
        (0..20_000_usize, 0..20_000_usize, 1..40_usize).prop_map(|(a, b, n)| Change::Swap(a, b, n)),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 256, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_damaged_manifest_never_panics(changes in proptest::collection::vec(change(), 1..4)) {
        survives(changed(DEMO, &changes), DEMO_JOURNAL.as_bytes().to_vec());
    }

    #[test]
    fn a_damaged_journal_never_panics(changes in proptest::collection::vec(change(), 1..4)) {
        survives(DEMO.as_bytes().to_vec(), changed(DEMO_JOURNAL, &changes));
    }

    /// Only the digits change, so that most builds stay sound and are reckoned to the end.
    #[test]
    fn other_numbers_never_panic(at in 0..20_000_usize, digit in 0..10_u8, again in 0..20_000_usize) {
        let mut bytes = DEMO.as_bytes().to_vec();
        for start in [at, again] {
            let len = bytes.len();
            let found = (0..len).map(|i| (start + i) % len).find(|i| bytes[*i].is_ascii_digit());
            if let Some(i) = found {
                bytes[i] = b'0' + digit;
            }
        }
        survives(bytes, Vec::new());
    }
}
