//! Whole outputs of small builds, word for word: every figure, end of a range, warning and
//! caution that they show, and every line that is drawn.
//!
//! `tests/golden/BUILD/` holds a build and what each command says of it. `POURWRIGHT_BLESS=1`
//! rewrites the texts; each changed line is then to be read, and reckoned by hand where it is a
//! figure.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// What is asked of every build that can be planned.
const ASKED: [&str; 18] = [
    "check",
    "parts",
    "estimate",
    "estimate --all",
    "plan",
    "plan --all",
    "heats",
    "bill",
    "bill --sure",
    "stock",
    "buy",
    "risk",
    "risk --all",
    "history",
    "learned",
    "sheet build",
    "sheet order",
    "report",
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

/// What a command says of the build in a folder; of a page its words, and what is drawn on it.
fn said(dir: &Path, asked: &str) -> (String, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_pourwright"));
    command.args(asked.split(' ')).arg("--build").arg(dir).env("LC_ALL", "C.UTF-8");
    let page = (asked.starts_with("sheet") || asked == "report").then(|| dir.join("page.html"));
    if let Some(page) = &page {
        command.arg("--out").arg(page);
    }
    let out = command.output().expect("pourwright runs");
    let text = String::from_utf8([out.stderr, out.stdout].concat()).expect("UTF-8");
    let mut lines = String::new();
    let text = match page.filter(|page| page.exists()) {
        Some(page) => {
            let html = fs::read_to_string(&page).expect("a page");
            fs::remove_file(&page).expect("removed");
            lines = drawn(&html);
            words(&html)
        }
        None => text.replace(&*dir.to_string_lossy(), "FOLDER"),
    };
    (format!("{}\n", steady(text.trim_end())), lines)
}

/// The lines and areas of a page's drawings, a line for each; without signs that stand for a word.
fn drawn(html: &str) -> String {
    let mut out = String::new();
    for svg in html.split("<svg ").skip(1) {
        let (svg, _) = svg.split_once("</svg>").expect("a closed drawing");
        if svg.starts_with("class=\"defs\"") || svg.contains("<use ") {
            continue;
        }
        for tag in svg.split('<').map(|tag| tag.split('>').next().unwrap_or_default()) {
            if !tag.starts_with('/') && tag.contains(|c: char| c.is_ascii_digit()) {
                out += &tag.split_whitespace().map(short).collect::<Vec<_>>().join(" ");
                out.push('\n');
            }
        }
    }
    out
}

/// A word with no number longer than two decimals.
fn short(word: &str) -> String {
    let is_number = |c: char| c.is_ascii_digit() || c == '.';
    let mut out = String::new();
    let mut rest = word;
    while let Some(at) = rest.find(is_number) {
        let (before, number) = rest.split_at(at);
        let end = number.find(|c| !is_number(c)).unwrap_or(number.len());
        let (number, behind) = number.split_at(end);
        out += before;
        match (number.split_once('.'), number.parse::<f64>()) {
            (Some((_, decimals)), Ok(value)) if decimals.len() > 2 => out += &format!("{value:.2}"),
            _ => out += number,
        }
        rest = behind;
    }
    out + rest
}

/// Without what is noise of the last digits, which each machine has of its own.
fn steady(text: &str) -> String {
    let Some((before, rest)) = text.split_once("unaccounted for ") else { return text.to_owned() };
    let (_, rest) = rest.split_once('\n').unwrap_or((rest, ""));
    format!("{before}unaccounted for ...\n{}", steady(rest))
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

/// Holds what is said of a build to what was said before.
fn reads_as_it_did<'a>(build: &str, asked: impl IntoIterator<Item = &'a &'a str>) {
    let bless = std::env::var_os("POURWRIGHT_BLESS").is_some();
    let mut wrong = String::new();
    let dir = copy(build);
    let mut held = Vec::new();
    for asked in asked {
        let (words, drawn) = said(dir.path(), asked);
        held.push((asked.replace(' ', "-"), words));
        if !drawn.is_empty() {
            held.push((asked.replace(' ', "-") + ".drawn", drawn));
        }
    }
    for (asked, got) in held {
        let golden = folder().join(build).join(format!("{asked}.txt"));
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
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn plate_reads_as_it_did() {
    let more = [
        "why plate rough-mass",
        "why plate charge",
        "why plate feeder-diameter",
        "why plate weights-on-cope",
        "why plate opened-not-before",
        "sheet heat H1",
        "sheet mould plate",
        "sheet pattern plate",
        "plan --why plate.pour",
        "plan --why screws.receive",
        "suppose --person --hours sat=2h",
        "suppose --alloy plate=319 --crucible pot --flask box --machine mill",
        "suppose --away 2026-03-07..2026-03-20",
        "charge A356 2kg",
        "handbook A356",
        "handbook green-sand",
        "reckon pattern-size",
    ];
    reads_as_it_did("plate", ASKED.iter().chain(&more));
}

#[test]
fn bushes_read_as_they_did() {
    let more = [
        "redo bush",
        "why bush charge",
        "charge C932 2kg",
        "sheet heat",
        "sheet mould bush",
        "sheet mould knob",
        "sheet pattern bush",
        "sheet pattern knob",
        "plan --why bush.machine",
        "plan --why knob.fit",
        "why bush shake-out-after",
        "why C932 stock",
        "stock C932",
        "history bush",
        "history --mould M1",
        "history --heat H1",
        "charge C932 2kg --count sold --use bronze-returns=500g",
    ];
    reads_as_it_did("bushes", ASKED.iter().chain(&more));
}

#[test]
fn iron_reads_as_it_did() {
    let more = [
        "why base crucible-index",
        "why base feeder-diameter",
        "sheet mould base",
        "sheet mould block",
        "sheet pattern base",
        "sheet heat",
        "handbook grey-iron-30",
    ];
    reads_as_it_did("iron", ASKED.iter().chain(&more));
}

#[test]
fn stove_reads_as_it_did() {
    let more = [
        "estimate door --all",
        "heats H2",
        "sheet heat",
        "sheet mould door",
        "buy --stages",
        "suppose --lost hob",
        "history hob",
    ];
    reads_as_it_did("stove", ASKED.iter().chain(&more));
}

/// Heat flow: reckoned, listed, told on the card, and beside what it would be otherwise.
#[test]
fn freezing_reads_as_it_did() {
    let asked = [
        "freezing lug",
        "freezing lug --with gate=other-side --with chill=iron",
        "freezing lug --with feeder=30mm --with pours=740C",
        "freezing lug --with gate=north",
        "estimate lug",
        "sheet mould lug",
        "freezing",
    ];
    reads_as_it_did("lug", &asked);
}

/// All formulas with their inputs, and alloys, sands, chills and consumables, each figure with its range,
/// source and how far it is known.
#[test]
fn the_handbook_reads_as_it_did() {
    let dir = tempfile::tempdir().expect("a folder");
    let (got, _) = said(dir.path(), "handbook --all");
    let golden = folder().join("handbook.md");
    if std::env::var_os("POURWRIGHT_BLESS").is_some() {
        fs::write(&golden, &got).expect("written");
    }
    let want = fs::read_to_string(&golden).unwrap_or_default();
    let differ = want.lines().zip(got.lines()).find(|(a, b)| a != b);
    assert!(want == got, "wanted and got: {differ:?}");
}
