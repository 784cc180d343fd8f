//! What was acknowledged is kept: the real process killed at random moments and at every write
//! boundary, writes that fail at every byte, many writers at once, copies that are merged.
//!
//! Figures are printed; `cargo test --test crash -- --nocapture` shows them.

use pourwright::handbook::Handbook;
use pourwright::journal::{Journal, append, read};
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::sync::LazyLock;
use std::time::{Duration, Instant};

const SMALL: &str = "\
build: {title: Small, begun: 2026-01-10}
patterns:
  bed-pattern: {made-of: wood, size: 120 x 80 x 40 mm}
parts:
  bed:
    casting: {pattern: bed-pattern, alloy: A356, mass: 0.8 kg}
";

fn folder() -> tempfile::TempDir {
    let dir = tempfile::tempdir().expect("temporary folder");
    fs::write(dir.path().join("build.yaml"), SMALL).expect("manifest");
    dir
}

fn program() -> &'static str {
    env!("CARGO_BIN_EXE_pourwright")
}

fn log_note(dir: &Path, says: &str) -> Vec<String> {
    let dir = dir.to_str().expect("a path");
    ["log", "note", "--at", "2026-03-07 14:20", says, "--build", dir].map(str::to_owned).to_vec()
}

fn pourwright(args: &[String]) -> Command {
    let mut command = Command::new(program());
    command.args(args).stdin(Stdio::null());
    command
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// The journal, which must be readable whatever happened to its writers.
fn journal(dir: &Path) -> (Journal, String) {
    static BOOK: LazyLock<Handbook> = LazyLock::new(Handbook::embedded);
    let bytes = fs::read(dir.join("journal.yaml")).unwrap_or_default();
    let shown = text(&bytes);
    let journal = read("journal.yaml", bytes, &BOOK).unwrap_or_else(|f| panic!("{f} in {shown}"));
    (journal, shown)
}

fn words(journal: &Journal) -> BTreeSet<String> {
    journal.entries.iter().filter_map(|e| Some(e.says.as_ref()?.to_string())).collect()
}

/// Numbers that look drawn and are the same in every run.
struct Drawn(u64);

impl Drawn {
    fn below(&mut self, most: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % most
    }
}

#[test]
fn a_process_killed_at_any_moment_loses_nothing_that_was_acknowledged() {
    const EACH: u64 = 250;
    let lane = |lane: u64| {
        let dir = folder();
        let usual = {
            let started = Instant::now();
            assert!(
                pourwright(&log_note(dir.path(), "measure"))
                    .output()
                    .expect("runs")
                    .status
                    .success()
            );
            started.elapsed().as_micros() as u64
        };
        let mut drawn = Drawn(0x9E37_79B9_7F4A_7C15 ^ lane);
        let (mut kept, mut killed) = (vec!["measure".to_owned()], 0);
        for i in 0..EACH {
            let says = format!("entry {i} of lane {lane}");
            let mut child = pourwright(&log_note(dir.path(), &says))
                .stdout(Stdio::null())
                .stderr(Stdio::null())
                .spawn()
                .expect("pourwright runs");
            // Anywhere in the usual run time and a little beyond, half of them near its end,
            // where the writing is.
            let from = if i % 2 == 0 { 0 } else { usual / 2 };
            let moment = from + drawn.below(usual * 9 / 8 - from);
            std::thread::sleep(Duration::from_micros(moment));
            let _ = child.kill();
            match child.wait().expect("ended").code() {
                Some(0) => kept.push(says),
                Some(code) => panic!("exit {code} without a kill"),
                None => killed += 1,
            }
        }
        let (journal, all) = journal(dir.path());
        let found = words(&journal);
        for says in &kept {
            assert!(found.contains(says), "lost: {says} of {all}");
        }
        let out = Command::new(program()).arg("check").arg("--build").arg(dir.path()).output();
        let out = out.expect("check runs");
        assert!(out.status.success(), "{}", text(&out.stderr));
        (kept.len(), killed, found.len() - kept.len(), journal.torn.len())
    };
    let started = Instant::now();
    let (a, b) = std::thread::scope(|s| {
        let other = s.spawn(|| lane(1));
        (lane(2), other.join().expect("lane"))
    });
    let killed = a.1 + b.1;
    println!(
        "{} processes killed at random moments, {killed} of them before they ended: {} entries acknowledged, 0 lost, {} written before the word came, {} torn; {:.1} s",
        2 * EACH,
        a.0 + b.0,
        a.2 + b.2,
        a.3 + b.3,
        started.elapsed().as_secs_f64()
    );
    assert!(killed > 50, "too few processes were killed in time: {killed}");
}

/// Runs the command with a limit on the size of its files. Beyond it the kernel writes what still
/// fits, then kills the process, or fails the write where the signal is ignored.
fn limited(args: &[String], bytes: usize, ignore: bool) -> Option<Output> {
    let trap = if ignore { "trap '' XFSZ; " } else { "" };
    let script = format!("{trap}exec prlimit --fsize={bytes} -- \"$@\"");
    let mut command = Command::new("sh");
    command.args(["-c", &script, "sh", program()]).args(args).stdin(Stdio::null());
    command.output().ok()
}

fn lacking(test: &str, what: &str) -> bool {
    let there = Command::new(what).arg("--version").output().is_ok_and(|o| o.status.success());
    if !there {
        eprintln!("left out: {test}: there is no {what}");
    }
    !there
}

#[cfg(unix)]
#[test]
fn a_write_cut_at_any_byte_harms_no_entry() {
    if lacking("a_write_cut_at_any_byte_harms_no_entry", "prlimit") {
        return;
    }
    let dir = folder();
    let path = dir.path().join("journal.yaml");
    append(&path, "---\nid: first\nat: 2026-03-07 10:00\nnote: {says: first}\n").expect("written");
    let before = fs::read(&path).expect("journal");
    let args = log_note(dir.path(), "cut");
    assert!(pourwright(&args).output().expect("runs").status.success());
    let whole = fs::metadata(&path).expect("journal").len() as usize;
    let (mut torn, mut refused) = (0, 0);
    for limit in before.len()..=whole {
        // Killed at this byte.
        fs::write(&path, &before).expect("journal");
        let out = limited(&args, limit, false).expect("prlimit runs");
        let after = fs::read(&path).expect("journal");
        assert!(after.starts_with(&before), "cut at {limit}");
        assert_eq!(after.len(), limit, "cut at {limit}: {}", text(&out.stderr));
        assert_eq!(out.status.success(), limit == whole, "cut at {limit}");
        let (found, _) = journal(dir.path());
        assert!(words(&found).contains("first"), "cut at {limit}");
        torn += usize::from(limit < whole);
        // The next entry counts, and the torn one does not come alive in it.
        append(&path, "---\nid: next\nat: 2026-03-08 10:00\nnote: {says: next}\n").expect("room");
        let found = words(&journal(dir.path()).0);
        assert!(found.contains("first") && found.contains("next"), "cut at {limit}");
        // Failed at this byte: the file is as it was.
        if limit < whole {
            fs::write(&path, &before).expect("journal");
            let out = limited(&args, limit, true).expect("prlimit runs");
            assert_eq!(out.status.code(), Some(1), "{}", text(&out.stderr));
            assert!(
                text(&out.stderr).contains("the journal is as it was"),
                "{}",
                text(&out.stderr)
            );
            assert_eq!(fs::read(&path).expect("journal"), before, "failed at {limit}");
            refused += 1;
        }
    }
    println!("{torn} writes killed and {refused} writes failed, one at each byte: 0 entries lost");
}

#[cfg(target_os = "linux")]
#[test]
fn a_kill_at_any_call_on_the_journal_harms_no_entry() {
    const TEST: &str = "a_kill_at_any_call_on_the_journal_harms_no_entry";
    if lacking(TEST, "strace") {
        return;
    }
    let dir = folder();
    let path = dir.path().join("journal.yaml");
    // Calls on a file that is not there yet cannot be told by its name.
    append(&path, "---\nid: first\nat: 2026-03-07 10:00\nnote: {says: first}\n").expect("written");
    let (mut kept, mut killed) = (vec!["first".to_owned()], 0);
    for call in ["statx", "openat", "flock", "lseek", "read", "write", "fdatasync", "close"] {
        // strace counts each sort of call by itself.
        for nth in 1..9 {
            let says = format!("{call} {nth}");
            let out = Command::new("strace")
                .args(["-f", "-qq", "-o", "/dev/null", "-P"])
                .arg(&path)
                .args(["-e", "trace=all", "-e"])
                .arg(format!("inject={call}:signal=KILL:when={nth}"))
                .arg(program())
                .args(log_note(dir.path(), &says))
                .output()
                .expect("strace runs");
            if text(&out.stderr).contains("ptrace") {
                eprintln!("left out: {TEST}: no process may be traced here");
                return;
            }
            let (found, all) = journal(dir.path());
            let found = words(&found);
            if out.status.success() {
                kept.push(says);
            }
            for says in &kept {
                assert!(found.contains(says), "lost: {says} of {all}");
            }
            if out.status.success() {
                break;
            }
            killed += 1;
        }
    }
    assert!(killed >= 10, "only {killed} calls were reached");
    assert_eq!(kept.len(), 9, "more calls than were foreseen: {kept:?}");
    println!("killed at each of {killed} calls on the journal: 0 entries lost");
}

const WRITERS: usize = 8;
const ENTRIES: usize = 200;

/// Not a test of its own: one of the writers below, in a process of its own.
#[test]
fn one_of_many_writers() {
    let Some(given) = std::env::var_os("POURWRIGHT_TEST_WRITER") else { return };
    let given = given.into_string().expect("words");
    let (writer, path) = given.split_once(' ').expect("two words");
    for i in 0..ENTRIES {
        let entry = format!(
            "---\nid: w{writer}-{i}\nat: 2026-03-07 14:20\nnote: {{says: \"writer {writer}, entry {i}\"}}\n"
        );
        append(Path::new(path), &entry).expect("appended");
    }
}

#[test]
fn eight_writers_at_once_all_land() {
    let dir = folder();
    let path = dir.path().join("journal.yaml");
    let started = Instant::now();
    let writer = |i: usize| {
        Command::new(std::env::current_exe().expect("this test"))
            .args(["one_of_many_writers", "--exact"])
            .env("POURWRIGHT_TEST_WRITER", format!("{i} {}", path.display()))
            .stdout(Stdio::null())
            .spawn()
            .expect("a writer")
    };
    let writers: Vec<_> = (0..WRITERS).map(writer).collect();
    for mut writer in writers {
        assert!(writer.wait().expect("ended").success());
    }
    let (journal, _) = journal(dir.path());
    assert_eq!(journal.entries.len(), WRITERS * ENTRIES);
    assert!(journal.torn.is_empty() && journal.remarks.is_empty());
    // Each writer's own entries stand in the order it wrote them.
    for i in 0..WRITERS {
        let own: Vec<_> =
            journal.entries.iter().filter(|e| e.id.starts_with(&format!("w{i}-"))).collect();
        assert!(own.windows(2).all(|p| p[0].line < p[1].line));
    }
    println!(
        "{WRITERS} processes at once, {ENTRIES} entries each: {} landed, 0 lost; {:.1} s",
        journal.entries.len(),
        started.elapsed().as_secs_f64()
    );
}

#[test]
fn of_two_entries_that_exclude_each_other_one_gets_in() {
    const ROUNDS: usize = 12;
    let dir = folder();
    for round in 0..ROUNDS {
        let mould = format!("M{round}");
        let ram = || {
            Command::new(program())
                .args(["log", "rammed", "--mould", &mould, "--pattern", "bed-pattern"])
                .args(["--casting", "bed=1", "--at", "2026-03-07 14:20", "--build"])
                .arg(dir.path())
                .stdout(Stdio::null())
                .stderr(Stdio::piped())
                .spawn()
                .expect("pourwright runs")
        };
        let both: Vec<Output> =
            [ram(), ram(), ram()].map(|c| c.wait_with_output().expect("ended")).into();
        let accepted = both.iter().filter(|o| o.status.success()).count();
        assert_eq!(accepted, 1, "{}", both.iter().map(|o| text(&o.stderr)).collect::<String>());
    }
    let (journal, _) = journal(dir.path());
    assert_eq!(journal.entries.len(), ROUNDS);
    println!("{ROUNDS} moulds, each rammed by three processes at once: {ROUNDS} entries");
}

#[test]
fn a_refused_first_entry_leaves_no_journal() {
    let dir = folder();
    let out = Command::new(program())
        .args(["log", "shaken-out", "--mould", "M1", "--build"])
        .arg(dir.path())
        .output()
        .expect("runs");
    assert_eq!(out.status.code(), Some(1));
    assert!(!dir.path().join("journal.yaml").exists());
}

/// Runs git in a folder, quietly, as nobody in particular.
fn git(dir: &Path, args: &[&str]) -> Output {
    Command::new("git")
        .args([
            "-c",
            "user.name=x",
            "-c",
            "user.email=x@example.org",
            "-c",
            "init.defaultBranch=main",
        ])
        .args(args)
        .current_dir(dir)
        .output()
        .expect("git runs")
}

#[test]
fn two_copies_of_a_journal_merge() {
    if lacking("two_copies_of_a_journal_merge", "git") {
        return;
    }
    let dir = folder();
    let path = dir.path().join("journal.yaml");
    let log = |says: &str, at: &str| {
        let mut args = log_note(dir.path(), says);
        args[3] = at.to_owned();
        assert!(pourwright(&args).output().expect("runs").status.success());
    };
    for union in [false, true] {
        let _ = fs::remove_file(&path);
        let _ = fs::remove_dir_all(dir.path().join(".git"));
        git(dir.path(), &["init"]);
        if union {
            fs::write(dir.path().join(".gitattributes"), "journal.yaml merge=union\n").expect("it");
        }
        log("both have this", "2026-03-01 10:00");
        git(dir.path(), &["add", "."]);
        git(dir.path(), &["commit", "-m", "one"]);
        git(dir.path(), &["checkout", "-b", "shed"]);
        log("logged in the shed", "2026-03-02 10:00");
        log("and again", "2026-03-02 10:00");
        git(dir.path(), &["commit", "-am", "two"]);
        git(dir.path(), &["checkout", "main"]);
        log("logged in the house", "2026-03-02 10:00");
        git(dir.path(), &["commit", "-am", "three"]);
        git(dir.path(), &["merge", "shed"]);
        if !union {
            // Marks are told with their lines; without them every entry counts.
            let out = Command::new(program()).arg("check").arg("--build").arg(dir.path()).output();
            let error = text(&out.expect("runs").stderr);
            assert!(error.contains("a merge of two copies left this mark"), "{error}");
            let merged = fs::read_to_string(&path).expect("journal");
            let kept: String = merged
                .lines()
                .filter(|l| !["<<<<<<<", "=======", ">>>>>>>"].iter().any(|m| l.starts_with(m)))
                .map(|l| l.to_owned() + "\n")
                .collect();
            fs::write(&path, kept).expect("journal");
        }
        let (journal, all) = journal(dir.path());
        assert_eq!(journal.entries.len(), 4, "{all}");
    }
    // A copy put behind the other by hand: every entry is seen once, and that is told.
    let all = fs::read_to_string(&path).expect("journal");
    fs::write(&path, all.clone() + &all).expect("journal");
    let (journal, _) = journal(dir.path());
    assert_eq!(journal.entries.len(), 4);
    let remarks = journal.remarks.iter().map(|r| r.to_string() + "\n").collect::<String>();
    assert!(remarks.contains("4 entries stand in it twice"), "{remarks}");
}
