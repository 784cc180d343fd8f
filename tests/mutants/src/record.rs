//! Which test reaches which site, and how long it takes.

use crate::KEPT;
use crate::plant::cargo;
use crate::tried::read;
use serde_json::{Value, json};
use std::fs;
use std::io::{BufRead, BufReader, Read};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering::Relaxed};
use std::time::{Duration, Instant, SystemTime};

/// Suites that try processes, browsers, broken files and meshes rather than figures.
const ELSEWHERE: [&str; 19] = [
    "agree",
    "bodies",
    "meshes",
    "readme",
    "schema",
    "solids",
    "thick",
    "crash",
    "files",
    "fuzzing",
    "hostile",
    "interactive",
    "phone",
    "shells",
    "watch",
    "inert",
    "paper",
    "journal",
    "printed",
];

/// Suites that catch much in little time, the first of them first: runs may begin with these.
const FIRST: [&str; 16] = [
    "golden",
    "limits",
    "formulas",
    "pourwright",
    "charge",
    "learn",
    "redo",
    "packs",
    "suppose",
    "chain",
    "layout",
    "engineering",
    "together",
    "planning",
    "sheet",
    "report",
];

/// A test that works longer is not asked, s of a processor.
const LONGEST: f64 = 10.0;

/// How a run of one test ended.
#[derive(PartialEq)]
pub enum End {
    Passed,
    Failed,
    Late,
}

/// Runs one test of an executable, which may work so long, s; with what it worked, s of a
/// processor: a crowded machine changes that little.
pub fn one(exe: &str, test: &str, most: f64, set: (&str, &str)) -> (End, f64) {
    let begun = Instant::now();
    let mut command = Command::new("sh");
    let script = "ulimit -t $0; \"$@\" >/dev/null 2>&1; code=$?; times; exit $code";
    command.args(["-c", script, &format!("{}", most.ceil())]);
    command.args([exe, test, "--exact", "--test-threads", "1"]);
    command.current_dir(Path::new(KEPT).join("tree"));
    command.env(set.0, set.1).stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::null());
    // A group of its own, so that what it started ends with it.
    std::os::unix::process::CommandExt::process_group(&mut command, 0);
    let mut child = command.spawn().expect("a test starts");
    let end = loop {
        if let Some(status) = child.try_wait().expect("a child") {
            break match status.code() {
                Some(0) => End::Passed,
                // Ended by a signal, as at the limit of its work.
                Some(128..) | None => End::Late,
                Some(_) => End::Failed,
            };
        }
        // What waits for ever works nothing.
        if begun.elapsed() > Duration::from_secs_f64(300.0 + 20.0 * most) {
            let _ = Command::new("kill").args(["-9", "--", &format!("-{}", child.id())]).status();
            let _ = child.wait();
            return (End::Late, most);
        }
        std::thread::sleep(Duration::from_millis(5));
    };
    let mut told = String::new();
    let _ = child.stdout.take().expect("a pipe").read_to_string(&mut told);
    (end, worked(&told))
}

/// What the children worked, from the second line of `times`, such as `0m1.25s 0m0.10s`.
fn worked(told: &str) -> f64 {
    let line = told.lines().nth(1).unwrap_or_default();
    line.split_whitespace()
        .filter_map(|time| {
            let (minutes, seconds) = time.trim_end_matches('s').split_once('m')?;
            Some(60.0 * minutes.parse::<f64>().ok()? + seconds.parse::<f64>().ok()?)
        })
        .sum()
}

/// Builds all suites: name and executable.
pub fn build() -> Vec<(String, String)> {
    let tree = PathBuf::from(KEPT).join("tree");
    println!("building the suites");
    let mut command = cargo(&tree, &["test", "--no-run", "--message-format=json", "--lib"]);
    for entry in fs::read_dir(tree.join("tests")).expect("tests") {
        let path = entry.expect("an entry").path();
        let name = path.file_stem().and_then(|n| n.to_str()).unwrap_or_default();
        let suite = path.extension().is_some_and(|e| e == "rs") || path.join("main.rs").exists();
        if suite && !ELSEWHERE.contains(&name) {
            command.args(["--test", name]);
        }
    }
    let mut child = command.stdout(Stdio::piped()).spawn().expect("cargo");
    let mut found = Vec::new();
    for line in BufReader::new(child.stdout.take().expect("a pipe")).lines() {
        let Ok(message) = serde_json::from_str::<Value>(&line.expect("a line")) else { continue };
        if message["message"]["level"] == "error" {
            println!("{}", message["message"]["rendered"].as_str().unwrap_or_default());
        }
        let name = message["target"]["name"].as_str().unwrap_or_default();
        let kind = message["target"]["kind"][0].as_str().unwrap_or_default();
        if let Some(exe) = message["executable"].as_str()
            && message["profile"]["test"] == true
            && kind != "bin"
        {
            found.push((name.to_owned(), exe.to_owned()));
        }
    }
    assert!(child.wait().expect("cargo").success(), "the suites build");
    found.sort_by_key(|(name, _)| FIRST.iter().position(|f| f == name).unwrap_or(FIRST.len()));
    found
}

fn keep(told: &[Value]) {
    let text = serde_json::to_string(told).expect("JSON");
    fs::write(Path::new(KEPT).join("reach.json"), text).expect("written");
}

fn changed(path: &Path) -> Option<SystemTime> {
    fs::metadata(path).and_then(|m| m.modified()).ok()
}

/// So many tests run at once.
pub const AT_ONCE: usize = 2;

pub fn record() {
    let tree = Path::new(KEPT).join("tree");
    let mut tests = Vec::new();
    let (mut told, since) = (Vec::new(), changed(&Path::new(KEPT).join("reach.json")));
    let known = read("reach.json").as_array().cloned().unwrap_or_default();
    for (suite, exe) in build() {
        // What was built before the last record was recorded then.
        if since.is_some() && changed(Path::new(&exe)) < since {
            told.extend(known.iter().filter(|test| test["exe"] == *exe).cloned());
            continue;
        }
        let list =
            Command::new(&exe).args(["--list", "--format", "terse"]).current_dir(&tree).output();
        let list = String::from_utf8(list.expect("a list").stdout).expect("words");
        let names = list.lines().filter_map(|l| l.strip_suffix(": test"));
        tests.extend(names.map(|test| (suite.clone(), exe.clone(), test.to_owned())));
    }
    let kept = fs::canonicalize(KEPT).expect("a folder");
    let (next, told) = (AtomicUsize::new(0), Mutex::new((told, Vec::new())));
    std::thread::scope(|scope| {
        for worker in 0..AT_ONCE {
            let path = kept.join(format!("reached-{worker}"));
            let (next, told, tests) = (&next, &told, &tests);
            scope.spawn(move || {
                while let Some((suite, exe, test)) = tests.get(next.fetch_add(1, Relaxed)) {
                    let _ = fs::remove_file(&path);
                    let set = ("MUTANT_REACHED", path.to_str().expect("a path"));
                    let (end, took) = one(exe, test, LONGEST, set);
                    let mut told = told.lock().expect("a lock");
                    if end != End::Passed {
                        let why = if end == End::Late { "is slow" } else { "fails" };
                        told.1.push(format!("{suite}::{test} {why}"));
                        continue;
                    }
                    let reached = fs::read_to_string(&path).unwrap_or_default();
                    let mut reached: Vec<usize> =
                        reached.lines().filter_map(|n| n.parse().ok()).collect();
                    reached.sort();
                    reached.dedup();
                    println!("{suite}::{test}: {} sites in {took:.2} s", reached.len());
                    told.0.push(json!({"suite": suite, "exe": exe, "test": test, "seconds": took, "reached": reached}));
                }
            });
        }
    });
    let (told, left_out) = told.into_inner().expect("a lock");
    println!("left out: {}", left_out.join(", "));
    keep(&told);
}
