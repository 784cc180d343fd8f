//! A journal stays readable: cut files, files that cannot be written. `crash.rs` kills processes.

#[path = "common/told.rs"]
mod told;

use pourwright::handbook::Handbook;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::LazyLock;

const SMALL: &str = "\
build: {title: Small, begun: 2026-01-10}
parts:
  bed:
    made: {from: bar, hours: 3 h}
";

fn folder() -> tempfile::TempDir {
    let dir = tempfile::tempdir().expect("temporary folder");
    fs::write(dir.path().join("build.yaml"), SMALL).expect("manifest");
    dir
}

fn pourwright(dir: &Path, args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_pourwright"));
    command.args(args).arg("--build").arg(dir);
    command
}

fn run(dir: &Path, args: &[&str]) -> Output {
    pourwright(dir, args).output().expect("pourwright runs")
}

fn note(dir: &Path, says: &str) -> Output {
    run(dir, &["log", "note", "--at", "2026-03-07 14:20", says])
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// `check` must pass; its text.
fn sound(dir: &Path) -> String {
    let out = run(dir, &["check"]);
    assert_eq!(out.status.code(), Some(0), "{}", text(&out.stderr));
    text(&out.stdout)
}

/// Entries that count; the journal must be readable.
fn entries(journal: &[u8]) -> usize {
    static BOOK: LazyLock<Handbook> = LazyLock::new(Handbook::embedded);
    pourwright::journal::read("journal.yaml", journal.to_vec(), &BOOK)
        .unwrap_or_else(|f| panic!("{f} in {:?}", text(journal)))
        .entries
        .len()
}

/// A journal as the tool writes it, of more than 2 KiB, with letters of several bytes.
fn written() -> Vec<u8> {
    let dir = folder();
    for says in [
        "first",
        "Größe: 12 mm, \"gut\"",
        "µm – ok",
        "third: {a}",
        "雨の日",
        "line\nbreak",
        "a long one that goes on about the weather and the damp sand of that day, 9 °C",
    ] {
        for _ in 0..4 {
            assert!(note(dir.path(), says).status.success());
        }
    }
    fs::read(dir.path().join("journal.yaml")).expect("journal")
}

/// Entries that end at or before each cut.
fn whole_before(journal: &[u8], cut: usize) -> usize {
    let text = text(journal);
    let mut ends: Vec<usize> = text.match_indices("\n---\n").map(|(i, _)| i + 1).collect();
    ends.push(journal.len());
    ends.iter().filter(|end| **end <= cut).count()
}

#[test]
fn a_journal_cut_at_any_byte_stays_readable() {
    let journal = written();
    let dir = folder();
    let path = dir.path().join("journal.yaml");
    let from = journal.len().saturating_sub(2048);
    assert!(from > 0, "{} bytes", journal.len());
    for cut in from..=journal.len() {
        let torn = &journal[..cut];
        let whole = whole_before(&journal, cut);
        let found = entries(torn);
        // An entry that lacks only its line end is whole.
        let lacking_end = usize::from(journal.get(cut) == Some(&b'\n') && torn.ends_with(b"}"));
        assert_eq!(found, whole + lacking_end, "cut at {cut}");
        // What comes after a torn tail is counted, and nothing before it is lost.
        fs::write(&path, torn).expect("journal");
        let entry = "---\nid: after\nat: 2026-03-08 10:00\nnote: {says: after}\n";
        pourwright::journal::append(&path, entry).expect("appended");
        let after = fs::read(&path).expect("journal");
        assert!(after.starts_with(torn) && after.ends_with(entry.as_bytes()));
        let found = entries(&after);
        assert_eq!(found, whole + lacking_end + 1, "cut at {cut}");
    }
}

#[test]
fn the_commands_read_and_log_after_a_torn_tail() {
    let journal = written();
    for cut in (journal.len() - 2048..=journal.len()).step_by(41) {
        let dir = folder();
        let path = dir.path().join("journal.yaml");
        fs::write(&path, &journal[..cut]).expect("journal");
        let whole = whole_before(&journal, cut);
        let said = sound(dir.path());
        let tail = text(&journal[..cut]);
        let tail = tail.rsplit("---\n").next().unwrap_or_default();
        let torn = !tail.is_empty()
            && tail != "--"
            && tail != "-"
            && !tail.ends_with('}')
            && !tail.ends_with("}\n");
        assert_eq!(said.contains("was not written to its end"), torn, "{said} of {tail:?}");
        let out = note(dir.path(), "after the torn tail");
        assert_eq!(out.status.code(), Some(0), "cut at {cut}: {}", text(&out.stderr));
        let after = fs::read(&path).expect("journal");
        assert!(after.starts_with(&journal[..cut]));
        assert!(entries(&after) > whole);
        let out = note(dir.path(), "and another");
        assert_eq!(out.status.code(), Some(0), "{}", text(&out.stderr));
        sound(dir.path());
    }
}

#[test]
fn zeros_after_a_power_cut_harm_no_entry() {
    let mut journal = written();
    let whole = entries(&journal);
    journal.extend([0; 100]);
    assert_eq!(entries(&journal), whole);
    let dir = folder();
    let path = dir.path().join("journal.yaml");
    fs::write(&path, &journal).expect("journal");
    let entry = "---\nid: after\nat: 2026-03-08 10:00\nnote: {says: after}\n";
    pourwright::journal::append(&path, entry).expect("appended");
    assert_eq!(entries(&fs::read(&path).expect("journal")), whole + 1);
}

fn refused(dir: &Path, says: &str) {
    let out = note(dir, "does not fit");
    let error = text(&out.stderr);
    assert_eq!(out.status.code(), Some(1), "{error}");
    assert!(error.contains("journal.yaml") && error.contains(says), "{error}");
    assert!(!error.contains("panicked"), "{error}");
}

#[test]
fn a_read_only_journal_stays_as_it_was() {
    let dir = folder();
    let path = dir.path().join("journal.yaml");
    assert!(note(dir.path(), "first").status.success());
    let before = fs::read(&path).expect("journal");
    let mut rights = fs::metadata(&path).expect("rights").permissions();
    rights.set_readonly(true);
    fs::set_permissions(&path, rights).expect("rights");
    if fs::OpenOptions::new().append(true).open(&path).is_ok() {
        eprintln!("left out: a_read_only_journal_stays_as_it_was: this user may write any file");
        return;
    }
    refused(dir.path(), "cannot be opened for writing");
    assert_eq!(fs::read(&path).expect("journal"), before);
}

/// A file system of its own with room for little, unmounted when dropped.
struct Tiny(PathBuf);

impl Drop for Tiny {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(&self.0).stderr(Stdio::null()).status();
    }
}

#[test]
fn a_full_disk_leaves_the_journal_as_it_was() {
    let outer = tempfile::tempdir().expect("temporary folder");
    let dir = outer.path().join("tiny");
    fs::create_dir(&dir).expect("folder");
    let mounted = Command::new("mount")
        .args(["-t", "tmpfs", "-o", "size=16k", "tmpfs"])
        .arg(&dir)
        .stderr(Stdio::null())
        .status();
    if !mounted.is_ok_and(|s| s.success()) {
        eprintln!(
            "left out: a_full_disk_leaves_the_journal_as_it_was: no file system can be mounted here"
        );
        return;
    }
    let tiny = Tiny(dir);
    fs::write(tiny.0.join("build.yaml"), SMALL).expect("manifest");
    assert!(note(&tiny.0, "first").status.success());
    let path = tiny.0.join("journal.yaml");
    let long = "so many words ".repeat(100);
    let mut before = fs::read(&path).expect("journal");
    let mut refused_once = false;
    for _ in 0..20 {
        let out = note(&tiny.0, &long);
        let now = fs::read(&path).expect("journal");
        if out.status.success() {
            assert!(now.len() > before.len() && now.starts_with(&before));
            before = now;
        } else {
            assert_eq!(out.status.code(), Some(1));
            assert!(text(&out.stderr).contains("journal is as it was"), "{}", text(&out.stderr));
            assert_eq!(now, before);
            refused_once = true;
        }
    }
    assert!(refused_once);
    sound(&tiny.0);
}

#[cfg(unix)]
#[test]
fn a_device_that_is_always_full_is_told() {
    if !Path::new("/dev/full").exists() {
        eprintln!("left out: a_device_that_is_always_full_is_told: there is no /dev/full");
        return;
    }
    let error =
        pourwright::journal::append(Path::new("/dev/full"), "---\nid: a\n").expect_err("no room");
    assert!(error.to_string().contains("journal"), "{error}");
}

const THREE: &str = "---\nid: a\nat: 2026-03-07 14:20\nnote: {says: one}\n---\nid: b\nat: 2026-03-08\nnote: {says: two}\n---\nid: c\nat: 2026-03-09\nvoid: {entry: a, why: slip}\n";

fn book() -> &'static Handbook {
    static BOOK: LazyLock<Handbook> = LazyLock::new(Handbook::embedded);
    &BOOK
}

fn counted(text: &str) -> Vec<String> {
    let read = pourwright::journal::read("journal.yaml", text.as_bytes().to_vec(), book());
    let journal = read.unwrap_or_else(|f| panic!("{f}"));
    journal.entries.iter().map(|e| e.id.to_string()).collect()
}

fn faults(text: &str) -> String {
    let read = pourwright::journal::read("journal.yaml", text.as_bytes().to_vec(), book());
    told::in_one_line(&read.expect_err("faults").to_string())
}

#[test]
fn a_void_that_is_void_itself_takes_nothing_back() {
    let void = |id: &str, of: &str| {
        format!("---\nid: {id}\nat: 2026-03-10\nvoid: {{entry: {of}, why: slip}}\n")
    };
    assert_eq!(counted(THREE), ["b"]);
    let again = format!("{THREE}{}", void("d", "c"));
    assert_eq!(counted(&again), ["a", "b"], "the void of the void brings it back");
    assert_eq!(counted(&format!("{again}{}", void("e", "d"))), ["b"], "and a third takes it again");
    let unknown = faults(&format!("{THREE}{}", void("d", "bb")));
    assert!(unknown.contains("no entry has the id `bb`"), "{unknown}");
    let itself = faults(&format!("{THREE}{}", void("d", "d")));
    assert!(itself.contains("is not above this one"), "{itself}");
    let later = faults(&format!("{}{THREE}", void("d", "b")));
    assert!(later.contains("is not above this one"), "{later}");
}

#[test]
fn a_last_line_without_an_end_is_judged_like_any_other() {
    let last = |line: &str| format!("{THREE}---\nid: d\nat: 2026-03-10\n{line}");
    // A whole line with a typo is a typo.
    for (line, says) in [
        ("notes: {says: x}", "`notes` means nothing here"),
        ("note: {say: x}", "`say` means nothing here"),
        ("counted: {stock: A356, mass: 3 kh}", "no unit is called `kh`"),
        ("note: {says: \"x\" y}", "[yaml]"),
        ("shaken-out: {mould: M1, after: 2 kg}", "this is a mass"),
    ] {
        let told = faults(&last(line));
        assert!(told.contains(says), "{line}: {told}");
    }
    // One that ends within its brackets, its quotes or its word was cut off.
    for line in ["n", "note:", "note: ", "note: {", "note: {says: \"x", "rammed: {castings: {a: 1}"]
    {
        assert_eq!(counted(&last(line)), ["b"], "{line}");
    }
    assert_eq!(counted(&last("note: {says: whole}")), ["b", "d"]);
}

#[test]
fn every_line_end_is_read_and_copies_that_differ_in_them_are_one() {
    let (windows, old) = (THREE.replace('\n', "\r\n"), THREE.replace('\n', "\r"));
    for text in [&windows, &old, &format!("{windows}{old}"), &format!("{THREE}{windows}{old}")] {
        assert_eq!(counted(text), ["b"]);
    }
    let wrong = faults(&old.replace("says: two", "say: two"));
    assert!(wrong.contains("journal.yaml:8:"), "the line is counted: {wrong}");
    // An entry that ends in a carriage return is whole: the next goes below it as it is.
    let dir = folder();
    let path = dir.path().join("journal.yaml");
    fs::write(&path, &old).expect("journal");
    pourwright::journal::append(&path, "---\nid: z\nat: 2026-03-11\nnote: {says: z}\n")
        .expect("appended");
    let text = fs::read_to_string(&path).expect("journal");
    assert!(!text.contains("cut off"), "{text:?}");
    assert_eq!(counted(&text), ["b", "z"]);
}

#[test]
fn marks_of_a_merge_in_every_style_are_told_for_what_they_are() {
    let (one, other) = (
        "---\nid: d\nat: 2026-03-10\nnote: {says: mine}\n",
        "---\nid: e\nat: 2026-03-10\nnote: {says: theirs}\n",
    );
    for (style, marks) in [
        ("two ways", ["<<<<<<< HEAD\n", "", "=======\n", ">>>>>>> other\n"]),
        ("three ways", ["<<<<<<< mine\n", "||||||| 5b1c2d3\n", "=======\n", ">>>>>>> other\n"]),
        ("bare", ["<<<<<<<\n", "|||||||\n", "=======\n", ">>>>>>>\n"]),
        ("longer", ["<<<<<<<<<< a\n", "", "==========\n", ">>>>>>>>>> b\n"]),
        (
            "as changes",
            [
                "<<<<<<< conflict 1 of 1\n",
                "%%%%%%% from base\n",
                "+++++++ side 2\n",
                ">>>>>>> end\n",
            ],
        ),
    ] {
        let [begin, base, middle, end] = marks;
        let text = format!("{THREE}{begin}{one}{base}{middle}{other}{end}");
        for text in [text.clone(), text.replace('\n', "\r\n")] {
            let told = faults(&text);
            let expected = marks.iter().filter(|m| !m.is_empty()).count();
            assert_eq!(told.matches("mark of a conflict").count(), expected, "{style}: {told}");
        }
    }
    assert_eq!(counted(&format!("{THREE}# =======\n")), ["b"]);
}
