//! Plants faults, all in one build, and asks which of them the tests notice. `run` beside this tells
//! how it is called.

mod plant;
mod record;
mod sites;
mod table;
mod tried;

use std::path::PathBuf;

/// What is kept between the steps.
pub const KEPT: &str = "target/mutants";

/// What was asked for.
pub struct Asked {
    pub seed: u64,
    pub sites: usize,
    /// So many mutants are run, counted from the first.
    pub run: usize,
    pub of: Vec<PathBuf>,
}

/// Folders where a fault is a wrong figure, or a word that a builder goes by.
const USUAL: [&str; 13] = [
    "chance", "estimate", "figure", "freezing", "handbook", "learn", "manifest", "model", "plan",
    "redo", "risk", "supply", "view",
];

fn main() {
    let mut asked = Asked { seed: 1, sites: 900, run: usize::MAX, of: Vec::new() };
    let mut step = None;
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        let mut number = || words.next().and_then(|n| n.parse().ok()).expect("a number follows");
        match &*word {
            "--seed" => asked.seed = number(),
            "--sites" => asked.sites = number() as usize,
            "--run" => asked.run = number() as usize,
            "plant" | "record" | "run" | "table" | "again" => step = Some(word),
            of => asked.of.push(of.into()),
        }
    }
    if asked.of.is_empty() {
        asked.of = USUAL.iter().map(PathBuf::from).collect();
    }
    match step.as_deref() {
        Some("plant") => plant::plant(&asked),
        Some("record") => record::record(),
        Some("run") => tried::run(&asked, false),
        // Survivors once more, with the tests as they are now.
        Some("again") => {
            plant::tests();
            record::record();
            tried::run(&asked, true);
            table::table();
        }
        Some("table") => table::table(),
        _ => {
            if !PathBuf::from(KEPT).join("sites.json").exists() {
                plant::plant(&asked);
            }
            if !PathBuf::from(KEPT).join("reach.json").exists() {
                record::record();
            }
            tried::run(&asked, false);
            table::table();
        }
    }
}
