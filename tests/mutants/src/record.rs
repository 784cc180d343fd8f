//! Which test reaches which site, and how long it takes.

use crate::KEPT;
use crate::plant::cargo;
use serde_json::{Value, json};
use std::fs;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Suites that try processes, browsers and broken files rather than figures.
const ELSEWHERE: [&str; 12] = [
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

/// What the children that are over have worked, s of a processor: a crowded machine changes it little.
fn worked() -> f64 {
    let stat = fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let fields: Vec<&str> =
        stat.rsplit(')').next().unwrap_or_default().split_whitespace().collect();
    let ticks = |at: usize| fields.get(at).and_then(|t| t.parse::<f64>().ok()).unwrap_or(0.0);
    (ticks(13) + ticks(14)) / 100.0
}

/// Runs one test of an executable, which may work so long, s; with what it worked.
pub fn one(exe: &str, test: &str, most: f64, set: (&str, &str)) -> (End, f64) {
    let (begun, before) = (Instant::now(), worked());
    let mut command = Command::new("sh");
    command.args(["-c", "ulimit -t $0; exec \"$@\"", &format!("{}", most.ceil())]);
    command.args([exe, test, "--exact", "--test-threads", "1"]);
    command.current_dir(Path::new(KEPT).join("tree"));
    command.env(set.0, set.1).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    // A group of its own, so that what it started ends with it.
    std::os::unix::process::CommandExt::process_group(&mut command, 0);
    let mut child = command.spawn().expect("a test starts");
    loop {
        if let Some(status) = child.try_wait().expect("a child") {
            let end = match (status.success(), status.code()) {
                (true, _) => End::Passed,
                (_, Some(_)) => End::Failed,
                (_, None) => End::Late,
            };
            return (end, worked() - before);
        }
        // What waits for ever works nothing.
        if begun.elapsed() > Duration::from_secs_f64(120.0 + 40.0 * most) {
            let _ = Command::new("kill").args(["-9", "--", &format!("-{}", child.id())]).status();
            let _ = child.wait();
            return (End::Late, worked() - before);
        }
        std::thread::sleep(Duration::from_millis(5));
    }
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

pub fn record() {
    let mut told = Vec::new();
    let path = fs::canonicalize(KEPT).expect("a folder").join("reached");
    let mut left_out = Vec::new();
    for (suite, exe) in build() {
        let tree = Path::new(KEPT).join("tree");
        let list =
            Command::new(&exe).args(["--list", "--format", "terse"]).current_dir(tree).output();
        let list = String::from_utf8(list.expect("a list").stdout).expect("words");
        for test in list.lines().filter_map(|l| l.strip_suffix(": test")) {
            let _ = fs::remove_file(&path);
            let set = ("MUTANT_REACHED", path.to_str().expect("a path"));
            let (end, took) = one(&exe, test, LONGEST, set);
            if end != End::Passed {
                left_out.push(format!(
                    "{suite}::{test} {}",
                    if end == End::Late { "is slow" } else { "fails" }
                ));
                continue;
            }
            let reached = fs::read_to_string(&path).unwrap_or_default();
            let mut reached: Vec<usize> = reached.lines().filter_map(|n| n.parse().ok()).collect();
            reached.sort();
            reached.dedup();
            println!("{suite}::{test}: {} sites in {:.2} s", reached.len(), took);
            told.push(json!({"suite": suite, "exe": exe, "test": test, "seconds": took, "reached": reached}));
        }
        keep(&told);
    }
    println!("left out: {}", left_out.join(", "));
    keep(&told);
}
