//! Pages before a browser, an accessibility checker and an HTML validator.

use serde_json::Value;
use std::process::Command;

/// Holds that the checks, run on so many looks at pages, find nothing wrong.
pub fn finds_nothing(mut command: Command, pages: usize) {
    let out = command.output().expect("node runs");
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let told: Value = serde_json::from_slice(&out.stdout).expect("JSON");
    let list = |value: &Value| value.as_array().cloned().unwrap_or_default();
    let seen = list(&told["pages"]);
    assert_eq!(seen.len(), pages, "each page at three widths in two themes");
    let mut bad: Vec<String> = Vec::new();
    for page in &seen {
        let at = format!("{} {} {}", page["file"], page["width"], page["theme"]);
        for fault in list(&page["axe"]) {
            if ["serious", "critical"].contains(&fault["impact"].as_str().unwrap_or_default()) {
                bad.push(format!("{at}: {fault}"));
            }
        }
        if page["overflow"] != false {
            bad.push(format!("{at}: {} px wide", page["scroll_width"]));
        }
        for key in ["requests", "errors"] {
            bad.extend(list(&page[key]).iter().map(|found| format!("{at}: {key}: {found}")));
        }
    }
    for file in list(&told["html"]) {
        for message in list(&file["messages"]) {
            if message["severity"] == "error" {
                bad.push(format!("{}: {message}", file["file"]));
            }
        }
    }
    bad.dedup();
    assert!(bad.is_empty(), "{} findings:\n{}", bad.len(), bad.join("\n"));
}
