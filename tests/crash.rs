//! What was acknowledged is kept: the real process killed at random moments and at every write
//! boundary, writes that fail at every byte, many writers at once, copies that are merged.
//!
//! Figures are printed; `cargo test --test crash -- --nocapture` shows them.

#[path = "common/told.rs"]
mod told;

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
            let told = told::in_one_line(&error);
            assert!(told.contains("this mark of a conflict is left"), "{error}");
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

/// Puts a copy of the journal in its place as a careful program does: while it holds the lock, so
/// that nothing is written between its reading and its renaming.
fn replace(path: &Path, nth: usize) {
    let held = fs::File::open(path).expect("journal");
    held.lock().expect("locked");
    let copy = path.with_file_name(format!("copy-{nth}"));
    fs::write(&copy, fs::read(path).expect("journal")).expect("copied");
    fs::rename(&copy, path).expect("renamed");
}

#[test]
fn nothing_acknowledged_is_lost_beside_renames() {
    const LANES: usize = 4;
    const EACH: usize = 250;
    const RENAMES: usize = 300;
    let dir = folder();
    let path = dir.path().join("journal.yaml");
    append(&path, "---\nid: first\nat: 2026-03-07 10:00\nnote: {says: first}\n").expect("written");
    let going = std::sync::atomic::AtomicUsize::new(LANES);
    let lane = |lane: usize| {
        for i in 0..EACH {
            let entry =
                format!("---\nid: l{lane}-{i}\nat: 2026-03-07 14:20\nnote: {{says: {lane} {i}}}\n");
            append(&path, &entry).expect("acknowledged");
        }
        going.fetch_sub(1, std::sync::atomic::Ordering::SeqCst);
    };
    let mut renames = 0;
    std::thread::scope(|s| {
        for i in 0..LANES {
            s.spawn({
                let lane = &lane;
                move || lane(i)
            });
        }
        while renames < RENAMES || going.load(std::sync::atomic::Ordering::SeqCst) > 0 {
            replace(&path, renames);
            renames += 1;
        }
    });
    let (journal, _) = journal(dir.path());
    assert_eq!(journal.entries.len(), LANES * EACH + 1, "lost beside {renames} renames");
    println!("{} entries acknowledged beside {renames} renames: 0 lost", LANES * EACH);
}

#[cfg(unix)]
#[test]
fn log_writes_to_the_file_that_took_the_journals_place_while_it_waited() {
    let dir = folder();
    let path = dir.path().join("journal.yaml");
    append(&path, "---\nid: first\nat: 2026-03-07 10:00\nnote: {says: first}\n").expect("written");
    for round in 0..5 {
        let held = fs::File::open(&path).expect("journal");
        held.lock().expect("locked");
        let says = format!("round {round}");
        let child = pourwright(&log_note(dir.path(), &says)).stdout(Stdio::null()).spawn();
        let mut child = child.expect("log runs");
        std::thread::sleep(Duration::from_millis(400));
        let copy = dir.path().join("copy");
        fs::copy(&path, &copy).expect("copied");
        fs::rename(&copy, &path).expect("renamed");
        drop(held);
        assert!(child.wait().expect("ended").success());
        assert!(words(&journal(dir.path()).0).contains(&says), "lost: {says}");
    }
}

#[test]
fn a_journal_replaced_between_lock_and_write_is_told() {
    use pourwright::journal::{Appended, hold};
    let dir = folder();
    let path = dir.path().join("journal.yaml");
    let first = "---\nid: first\nat: 2026-03-07 10:00\nnote: {says: first}\n";
    append(&path, first).expect("written");
    let mut held = hold(&path).expect("held");
    let aside = dir.path().join("aside");
    fs::rename(&path, &aside).expect("renamed");
    fs::write(&path, first).expect("another");
    let entry = "---\nid: b\nat: 2026-03-07 11:00\nnote: {says: b}\n";
    assert_eq!(held.append(entry).expect("no fault"), Appended::Moved);
    for file in [&path, &aside] {
        assert_eq!(fs::read_to_string(file).expect("journal"), first);
    }
}

/// A library that makes every call to put a file on the disk fail.
#[cfg(target_os = "linux")]
#[test]
fn an_entry_that_cannot_be_put_on_the_disk_is_not_acknowledged() {
    const TEST: &str = "an_entry_that_cannot_be_put_on_the_disk_is_not_acknowledged";
    if lacking(TEST, "cc") {
        return;
    }
    let dir = folder();
    let source = dir.path().join("fail.c");
    let library = dir.path().join("fail.so");
    let text = "#include <errno.h>\nint fsync(int f) { errno = EIO; return -1; }\n\
                int fdatasync(int f) { errno = EIO; return -1; }\n";
    fs::write(&source, text).expect("source");
    let mut cc = Command::new("cc");
    cc.args(["-shared", "-fPIC", "-o"]).arg(&library).arg(&source);
    assert!(cc.status().expect("cc runs").success());
    let path = dir.path().join("journal.yaml");
    append(&path, "---\nid: first\nat: 2026-03-07 10:00\nnote: {says: first}\n").expect("written");
    let before = fs::read(&path).expect("journal");
    let out = pourwright(&log_note(dir.path(), "not kept"))
        .env("LD_PRELOAD", &library)
        .output()
        .expect("log runs");
    assert_eq!(out.status.code(), Some(1));
    assert!(
        self::text(&out.stderr).contains("journal is as it was"),
        "{}",
        self::text(&out.stderr)
    );
    assert_eq!(fs::read(&path).expect("journal"), before);
}

#[cfg(target_os = "linux")]
#[test]
fn an_output_that_is_full_does_not_hide_that_the_entry_is_written() {
    let dir = folder();
    let full = || fs::OpenOptions::new().write(true).open("/dev/full").expect("/dev/full");
    let out = pourwright(&log_note(dir.path(), "kept")).stdout(full()).output().expect("runs");
    assert_eq!(out.status.code(), Some(1));
    assert!(text(&out.stderr).contains("the entry is written"), "{}", text(&out.stderr));
    assert!(words(&journal(dir.path()).0).contains("kept"));
}

/// A closed pipe and a full disk, on either output: an exit code, never a panic.
#[cfg(target_os = "linux")]
#[test]
fn no_command_panics_where_nothing_can_be_printed() {
    let dir = folder();
    append(
        &dir.path().join("journal.yaml"),
        "---\nid: first\nat: 2026-03-07 10:00\nnote: {says: first, photo: none.jpg}\n",
    )
    .expect("written");
    let at = |name: &str| dir.path().join(name).to_string_lossy().into_owned();
    let (manual, new) = (at("manual"), at("new"));
    let commands: [&[&str]; 35] = [
        &["help"],
        &["--version"],
        &["freezing", "bed"],
        &["pattern", "bed"],
        &["reckon"],
        &["reckon", "cope-lift", "area=1 cm2", "head=1 cm", "density=2 g/cm3"],
        &["heats"],
        &["suppose", "--person"],
        &["stock"],
        &["buy"],
        &["charge", "H1"],
        &["learned"],
        &["redo", "bed"],
        &["sheet", "build"],
        &["sheet", "mould", "bed"],
        &["schema", "build"],
        &["completions", "bash"],
        &["manual", &manual],
        &["new", &new],
        &["report", "--out", "/dev/full"],
        &["log"],
        &["check"],
        &["check", "--json"],
        &["parts"],
        &["estimate"],
        &["why", "bed"],
        &["why", "nothing"],
        &["handbook"],
        &["plan"],
        &["risk"],
        &["bill"],
        &["history"],
        &["report"],
        &["log", "note", "said"],
        &["nonsense"],
    ];
    let help = Command::new(program()).arg("--help").output().expect("runs");
    let help = text(&help.stdout);
    let listed = help.split("Commands:").nth(1).and_then(|t| t.split("Options:").next());
    for line in listed.expect("the commands").lines().filter(|l| l.starts_with("  ")) {
        let Some(name) = line[2..].split(' ').next().filter(|n| !n.is_empty()) else { continue };
        assert!(commands.iter().any(|c| c[0] == name), "{name} is not tried");
    }
    let full = || Stdio::from(fs::OpenOptions::new().write(true).open("/dev/full").expect("full"));
    let closed = || {
        let (reader, writer) = std::io::pipe().expect("pipe");
        drop(reader);
        Stdio::from(writer)
    };
    for command in commands {
        for (out, err) in [
            (full(), full()),
            (closed(), closed()),
            (full(), Stdio::piped()),
            (closed(), Stdio::piped()),
        ] {
            let mut run = Command::new(program());
            run.args(command).stdin(Stdio::null());
            if !["help", "--version"].contains(&command[0]) {
                run.arg("--build").arg(dir.path());
            }
            let out = run.stdout(out).stderr(err).output().expect("runs");
            let code = out.status.code();
            assert!(matches!(code, Some(0..=2)), "{command:?}: {code:?} {}", text(&out.stderr));
            assert!(!text(&out.stderr).contains("panicked"), "{command:?}");
        }
    }
}
