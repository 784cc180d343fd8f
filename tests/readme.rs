//! What the README shows is what the tool prints; its first two blocks are the two commands.

use std::path::Path;
use std::process::Command;

/// Fenced blocks of a Markdown text with their language.
fn blocks(text: &str) -> Vec<(&str, &str)> {
    let mut out = Vec::new();
    let mut rest = text;
    while let Some(start) = rest.find("\n```") {
        rest = &rest[start + 4..];
        let (language, after) = rest.split_once('\n').expect("a line");
        let end = after.find("```").expect("an end");
        out.push((language, &after[..end]));
        rest = &after[end + 3..];
    }
    out
}

/// The demo as it is handed out, with no plan of earlier days beside it.
fn fresh_demo() -> tempfile::TempDir {
    let dir = tempfile::tempdir().expect("a folder");
    let demo = dir.path().join("demo");
    std::fs::create_dir(&demo).expect("a folder");
    for file in ["build.yaml", "journal.yaml"] {
        std::fs::copy(format!("demo/{file}"), demo.join(file)).expect("a copy");
    }
    dir
}

/// Runs `pourwright ...` as a shell would see it, in a folder that holds the demo.
fn shown(command: &str, at: &Path) -> String {
    let words: Vec<&str> = command.split_whitespace().skip(1).collect();
    let out = Command::new(env!("CARGO_BIN_EXE_pourwright"))
        .args(&words)
        .current_dir(at)
        .env("LANG", "C.UTF-8")
        .env_remove("LC_ALL")
        .output()
        .expect("it runs");
    assert!(out.status.success(), "{command}: {}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8(out.stdout).expect("text")
}

fn check_samples(file: &str) -> usize {
    let text = std::fs::read_to_string(file).expect(file);
    let demo = fresh_demo();
    let mut checked = 0;
    for (language, block) in blocks(&text) {
        if language != "console" {
            continue;
        }
        for piece in block.split("$ ").skip(1) {
            let (command, output) = piece.split_once('\n').unwrap_or((piece, ""));
            if output.trim().is_empty() || !command.starts_with("pourwright") {
                continue;
            }
            let real = shown(command, demo.path());
            // A sample may leave lines out where it says `...`.
            let mut from = 0;
            for part in output.trim_end().split("\n...") {
                let part = part.trim_matches('\n');
                let at = real[from..].find(part);
                assert!(at.is_some(), "{file}: `{command}` does not print:\n{part}\nbut:\n{real}");
                from += at.unwrap_or(0) + part.len();
            }
            checked += 1;
        }
    }
    checked
}

#[test]
fn samples_are_what_the_tool_prints() {
    assert!(check_samples("README.md") >= 3);
    check_samples("demo/README.md");
}

#[test]
fn the_first_two_blocks_are_the_two_commands() {
    let text = std::fs::read_to_string("README.md").expect("README");
    let blocks = blocks(&text);
    assert_eq!(blocks[0].1.lines().count(), 1);
    assert!(blocks[0].1.contains("report --build demo"));
    assert_eq!(blocks[1].1.trim(), "tests/all");
}
