//! Each mutant before the tests that reach it.

use crate::record::{AT_ONCE, End, one};
use crate::{Asked, KEPT};
use serde_json::{Map, Value, json};
use std::fs;
use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering::Relaxed};

pub fn read(name: &str) -> Value {
    let text = fs::read_to_string(Path::new(KEPT).join(name)).unwrap_or("null".into());
    serde_json::from_str(&text).expect("JSON")
}

/// A mutant that lived through tests of so much work is taken to live, s of a processor; five
/// times as much where it is run again.
const PATIENCE: f64 = 12.0;

/// So many quick tests are asked before those that hold whole outputs.
const QUICK: usize = 6;

/// A test, and what is known of how well it catches.
struct Test {
    exe: String,
    name: String,
    seconds: f64,
    reached: Vec<usize>,
    caught: f64,
    asked: f64,
}

pub fn run(asked: &Asked, again: bool) {
    let sites = read("sites.json");
    let tests: Vec<Test> = read("reach.json")
        .as_array()
        .expect("recorded")
        .iter()
        .map(|t| Test {
            exe: t["exe"].as_str().expect("a path").into(),
            name: format!(
                "{}::{}",
                t["suite"].as_str().expect("a name"),
                t["test"].as_str().expect("a name")
            ),
            seconds: t["seconds"].as_f64().expect("a time"),
            reached: t["reached"]
                .as_array()
                .expect("a list")
                .iter()
                .filter_map(|n| n.as_u64())
                .map(|n| n as usize)
                .collect(),
            caught: 1.0,
            asked: 3.0,
        })
        .collect();
    let results: Map<String, Value> = read("results.json").as_object().cloned().unwrap_or_default();
    let patience = if again { 5.0 * PATIENCE } else { PATIENCE };
    let sites = sites.as_array().expect("planted");
    let left: Vec<(usize, &Value)> = sites
        .iter()
        .map(|site| (site["number"].as_u64().expect("a number") as usize, site))
        .take(asked.run)
        .filter(|(_, site)| {
            let known = results.get(site["key"].as_str().expect("a key"));
            let known = known.and_then(|r| r["by"].as_str());
            !known.is_some_and(|by| !again || !["", "unreached"].contains(&by))
        })
        .collect();
    let (next, results, tests) = (AtomicUsize::new(0), Mutex::new(results), Mutex::new(tests));
    let best = |tests: &Mutex<Vec<Test>>, number: usize, asked: &[usize]| {
        let tests = tests.lock().expect("a lock");
        // What catches much in little time goes first: a few quick ones, then whole outputs.
        let worth = |t: &Test| {
            let whole = t.name.starts_with("golden") && asked.len() >= QUICK;
            t.caught / t.asked / (t.seconds + 0.02) + if whole { 1e3 } else { 0.0 }
        };
        (0..tests.len())
            .filter(|t| !asked.contains(t) && tests[*t].reached.binary_search(&number).is_ok())
            .max_by(|a, b| worth(&tests[*a]).total_cmp(&worth(&tests[*b])))
            .map(|at| (at, tests[at].exe.clone(), tests[at].name.clone(), tests[at].seconds))
    };
    std::thread::scope(|scope| {
        for _ in 0..AT_ONCE {
            scope.spawn(|| {
                while let Some((number, site)) = left.get(next.fetch_add(1, Relaxed)) {
                    let (mut spent, mut ran, mut by) = (0.0, Vec::new(), String::new());
                    while spent < patience
                        && let Some((at, exe, name, seconds)) = best(&tests, *number, &ran)
                    {
                        let test = name.split_once("::").expect("a suite").1;
                        let most = 5.0 * seconds + 2.0;
                        let (end, took) = one(&exe, test, most, ("MUTANT", &number.to_string()));
                        spent += took;
                        ran.push(at);
                        let known = &mut tests.lock().expect("a lock")[at];
                        known.asked += 1.0;
                        if end != End::Passed {
                            known.caught += 1.0;
                            by = name + if end == End::Late { " (late)" } else { "" };
                            break;
                        }
                    }
                    if ran.is_empty() {
                        by = "unreached".into();
                    }
                    println!(
                        "{number} {}:{} {} {}: {} after {} tests, {spent:.1} s",
                        site["file"].as_str().unwrap_or_default(),
                        site["line"],
                        site["kind"].as_str().unwrap_or_default(),
                        site["says"].as_str().unwrap_or_default(),
                        if by.is_empty() { "SURVIVED" } else { &by },
                        ran.len(),
                    );
                    let mut results = results.lock().expect("a lock");
                    results.insert(site["key"].as_str().expect("a key").into(), json!({"by": by}));
                    let text = serde_json::to_string_pretty(&*results).expect("JSON");
                    fs::write(Path::new(KEPT).join("results.json"), text).expect("written");
                }
            });
        }
    });
}
