//! Whole outputs of three small builds, word for word: every figure, end of a range, warning and
//! caution that they show.
//!
//! `tests/golden/BUILD/` holds a build and what each command says of it. `POURWRIGHT_BLESS=1`
//! rewrites the texts; each changed line is then to be read, and reckoned by hand where it is a
//! figure.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// What is asked of every build.
const ASKED: [&str; 12] = [
    "check",
    "parts",
    "estimate --all",
    "plan --all",
    "heats",
    "bill",
    "bill --sure",
    "stock",
    "buy",
    "risk --all",
    "history",
    "learned",
];

/// What is asked of one build besides.
const ASKED_OF: [(&str, &[&str]); 3] = [
    (
        "plate",
        &[
            "why plate rough-mass",
            "why plate charge",
            "why plate feeder-diameter",
            "why plate weights-on-cope",
            "why plate opened-not-before",
            "sheet build",
            "sheet heat H1",
            "sheet mould plate",
            "sheet order",
            "sheet pattern plate",
        ],
    ),
    (
        "bushes",
        &[
            "redo bush",
            "why bush charge",
            "charge C932 2kg",
            "sheet heat",
            "sheet mould bush",
            "sheet mould knob",
        ],
    ),
    ("iron", &["why base crucible-index", "sheet mould base"]),
];

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden")
}

/// A copy of a build, so that nothing is kept beside the original.
fn copy(build: &str) -> tempfile::TempDir {
    let dir = tempfile::tempdir().expect("a folder");
    for file in ["build.yaml", "journal.yaml"] {
        let from = folder().join(build).join(file);
        if from.exists() {
            fs::copy(from, dir.path().join(file)).expect("a copy");
        }
    }
    dir
}

/// What a command says of the build in a folder; of a page its words.
fn said(dir: &Path, asked: &str) -> String {
    let mut command = Command::new(env!("CARGO_BIN_EXE_pourwright"));
    command.args(asked.split(' ')).arg("--build").arg(dir).env("LC_ALL", "C.UTF-8");
    let page = asked.starts_with("sheet").then(|| dir.join("page.html"));
    if let Some(page) = &page {
        command.arg("--out").arg(page);
    }
    let out = command.output().expect("pourwright runs");
    let text = String::from_utf8([out.stderr, out.stdout].concat()).expect("UTF-8");
    let text = match page.filter(|page| page.exists()) {
        Some(page) => {
            let html = fs::read_to_string(&page).expect("a page");
            fs::remove_file(&page).expect("removed");
            words(&html)
        }
        None => text.replace(&*dir.to_string_lossy(), "FOLDER"),
    };
    format!("{}\n", text.trim_end())
}

/// The words of a page, a line for each piece of text between two tags; no styles and no scripts.
fn words(html: &str) -> String {
    let mut out = String::new();
    let mut rest = html;
    while let Some(from) = rest.find('<') {
        piece(&rest[..from], &mut out);
        let tag = &rest[from..];
        let skipped = ["style", "script"].into_iter().find(|name| tag[1..].starts_with(name));
        let end = match skipped {
            Some(name) => tag.find(&format!("</{name}>")),
            None => Some(0),
        };
        let tag = &tag[end.expect("a closed tag")..];
        rest = &tag[tag.find('>').expect("a closed tag") + 1..];
    }
    piece(rest, &mut out);
    out
}

fn piece(text: &str, out: &mut String) {
    let line = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if !line.is_empty() {
        *out += &(line + "\n");
    }
}

#[test]
fn every_output_reads_as_it_did() {
    let bless = std::env::var_os("POURWRIGHT_BLESS").is_some();
    let mut wrong = String::new();
    for (build, more) in ASKED_OF {
        let dir = copy(build);
        for asked in ASKED.iter().chain(more) {
            let got = said(dir.path(), asked);
            let golden = folder().join(build).join(asked.replace([' '], "-") + ".txt");
            if bless {
                fs::write(&golden, &got).expect("written");
            }
            let want = fs::read_to_string(&golden).unwrap_or_default();
            let pairs = want.lines().zip(got.lines()).enumerate();
            if want != got {
                wrong += &format!("{build}: {asked}\n");
                let differ = pairs.filter(|(_, (a, b))| a != b).take(12);
                for (line, (a, b)) in differ {
                    wrong += &format!("  {}: wanted {a}\n  {}: got    {b}\n", line + 1, line + 1);
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}
