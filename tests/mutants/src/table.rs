//! What was found: by kind, by folder, and each survivor.

use crate::tried::read;
use std::collections::BTreeMap;

/// Caught, survived.
type Counts = BTreeMap<String, (usize, usize)>;

pub fn table() {
    let (sites, results) = (read("sites.json"), read("results.json"));
    let (mut kinds, mut folders) = (Counts::new(), Counts::new());
    let mut survivors = Vec::new();
    for site in sites.as_array().expect("planted") {
        let text = |name: &str| site[name].as_str().unwrap_or_default().to_owned();
        let Some(by) = results[text("key")]["by"].as_str() else { continue };
        let lives = by.is_empty() || by == "unreached";
        let folder = text("file").split('/').nth(1).unwrap_or_default().to_owned();
        for (counts, name) in [(&mut kinds, text("kind")), (&mut folders, folder)] {
            let (caught, lived) = counts.entry(name).or_default();
            if lives { *lived += 1 } else { *caught += 1 }
        }
        if lives {
            let by = if by.is_empty() { "survived" } else { "reached by no test" };
            survivors.push(format!(
                "{}:{} {}: {}, {by}\n    {}",
                text("file"),
                site["line"],
                text("kind"),
                text("says"),
                text("source")
            ));
        }
    }
    survivors.sort();
    println!("{}\n", survivors.join("\n"));
    for counts in [&kinds, &folders] {
        for (name, (caught, lived)) in counts {
            println!("{name:12} {caught:4} caught {lived:4} not");
        }
        println!();
    }
    let (caught, lived) = kinds.values().fold((0, 0), |a, b| (a.0 + b.0, a.1 + b.1));
    println!(
        "{caught} of {} caught, {:.1} %",
        caught + lived,
        100.0 * caught as f64 / (caught + lived).max(1) as f64
    );
}
