//! Each mutant before the tests that reach it.

use crate::record::{End, one};
use crate::{Asked, KEPT};
use serde_json::{Map, Value, json};
use std::fs;
use std::path::Path;

pub fn read(name: &str) -> Value {
    let text = fs::read_to_string(Path::new(KEPT).join(name)).unwrap_or("null".into());
    serde_json::from_str(&text).expect("JSON")
}

/// A mutant that lived through tests of so much work is taken to live, s of a processor.
const PATIENCE: f64 = 40.0;

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
    let mut tests: Vec<Test> = read("reach.json")
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
    let mut results: Map<String, Value> =
        read("results.json").as_object().cloned().unwrap_or_default();
    for (number, site) in sites.as_array().expect("planted").iter().enumerate().take(asked.run) {
        let key = site["key"].as_str().expect("a key");
        let known = results.get(key).and_then(|r| r["by"].as_str());
        if known.is_some_and(|by| !again || !["", "unreached"].contains(&by)) {
            continue;
        }
        let mut reach: Vec<usize> =
            (0..tests.len()).filter(|t| tests[*t].reached.binary_search(&number).is_ok()).collect();
        let mut by = if reach.is_empty() { "unreached".to_owned() } else { String::new() };
        // What catches much in little time goes first.
        let worth = |t: &Test| t.caught / t.asked / (t.seconds + 0.02);
        reach.sort_by(|a, b| worth(&tests[*b]).total_cmp(&worth(&tests[*a])));
        let (mut spent, mut ran) = (0.0, 0);
        for at in reach {
            if spent > PATIENCE {
                break;
            }
            let test = &mut tests[at];
            let most = 5.0 * test.seconds + 2.0;
            let name = test.name.split_once("::").expect("a suite").1;
            let (end, took) = one(&test.exe, name, most, ("MUTANT", &number.to_string()));
            spent += took;
            ran += 1;
            test.asked += 1.0;
            if end != End::Passed {
                test.caught += 1.0;
                by = test.name.clone() + if end == End::Late { " (late)" } else { "" };
                break;
            }
        }
        println!(
            "{number} {}:{} {} {}: {} after {ran} tests, {spent:.1} s",
            site["file"].as_str().unwrap_or_default(),
            site["line"],
            site["kind"].as_str().unwrap_or_default(),
            site["says"].as_str().unwrap_or_default(),
            if by.is_empty() { "SURVIVED" } else { &by },
        );
        results.insert(key.into(), json!({"by": by}));
        fs::write(
            Path::new(KEPT).join("results.json"),
            serde_json::to_string_pretty(&results).expect("JSON"),
        )
        .expect("written");
    }
}
