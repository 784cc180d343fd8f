//! A copy of the tree in which every site of the sample can be turned by its number.

use crate::sites::{Site, sites};
use crate::{Asked, KEPT};
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// Of a hundred sites so many are of a kind; where there are fewer the others take their place.
const SHARES: [(&str, usize); 11] = [
    ("arithmetic", 17),
    ("boundary", 5),
    ("comparison", 15),
    ("condition", 13),
    ("constant", 4),
    ("end", 14),
    ("literal", 14),
    ("logic", 6),
    ("method", 5),
    ("statement", 5),
    ("truth", 2),
];

const MUTANT: &str = "//! Which fault is planted.

use std::fs::File;
use std::io::Write;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicBool, Ordering};

static REACHED: [AtomicBool; SITES] = [const { AtomicBool::new(false) }; SITES];
static ASKED: OnceLock<(usize, Option<File>)> = OnceLock::new();

fn asked() -> (usize, Option<File>) {
    let number = std::env::var(\"MUTANT\").ok().and_then(|n| n.parse().ok());
    let reached = std::env::var_os(\"MUTANT_REACHED\");
    let file = reached.and_then(|path| File::options().append(true).create(true).open(path).ok());
    (number.unwrap_or(usize::MAX), file)
}

/// Whether this one is; notes that it was asked for.
pub fn is(number: usize) -> bool {
    let (asked, file) = ASKED.get_or_init(asked);
    if let Some(mut file) = file.as_ref() && !REACHED[number].swap(true, Ordering::Relaxed) {
        let _ = file.write_all(format!(\"{number}\\n\").as_bytes());
    }
    number == *asked
}
";

/// A site with its file and a name that stays while its line does.
struct Chosen {
    file: PathBuf,
    site: Site,
    key: String,
    rank: u64,
}

pub fn plant(asked: &Asked) {
    let tree = Path::new(KEPT).join("tree");
    fs::create_dir_all(&tree).expect("a folder");
    copy(&tree);
    let mut files = Vec::new();
    for of in &asked.of {
        rust(&Path::new("src").join(of), &mut files);
    }
    let tests: BTreeSet<PathBuf> = files.iter().flat_map(|file| of_tests(file)).collect();
    files.retain(|file| !tests.contains(file));
    files.sort();
    let mut chosen = choose(asked, &files);
    let mut round = 0;
    loop {
        round += 1;
        let places = write(&tree, &files, &chosen);
        let bad = failing(&tree, &places);
        println!("round {round}: {} sites, {} do not compile", chosen.len(), bad.len());
        if bad.is_empty() {
            break;
        }
        let mut at = 0;
        chosen.retain(|_| {
            at += 1;
            !bad.contains(&(at - 1))
        });
    }
    let told: Vec<Value> = chosen
        .iter()
        .enumerate()
        .map(|(number, c)| {
            let text = fs::read_to_string(&c.file).expect("a file");
            let source = text.lines().nth(c.site.line - 1).unwrap_or_default().trim();
            json!({"number": number, "key": c.key, "kind": c.site.kind, "file": c.file, "line": c.site.line, "says": c.site.says, "source": source})
        })
        .collect();
    fs::write(
        Path::new(KEPT).join("sites.json"),
        serde_json::to_string_pretty(&told).expect("JSON"),
    )
    .expect("written");
    let _ = fs::remove_file(Path::new(KEPT).join("reach.json"));
}

fn copy(tree: &Path) {
    for name in ["src", "tests", "demo", "projects", "templates"] {
        let _ = fs::remove_dir_all(tree.join(name));
    }
    let list = "src tests demo projects templates Cargo.toml Cargo.lock README.md DEVELOPERS.md CHANGELOG.md rustfmt.toml .ci";
    let status = Command::new("cp")
        .arg("-a")
        .args(list.split(' ').filter(|p| Path::new(p).exists()))
        .arg(tree)
        .status();
    assert!(status.expect("cp").success());
    let _ = fs::remove_dir_all(tree.join("tests/mutants"));
    // What was remembered of bodies would hide who reckons them.
    let _ = fs::remove_file(tree.join("demo/.bodies.bin"));
    // What was built of the dependencies serves here too.
    let to = Path::new(KEPT).join("target");
    if !to.exists() && Path::new("target/debug").exists() {
        fs::create_dir_all(&to).expect("a folder");
        let _ = Command::new("cp").args(["-a", "target/debug"]).arg(&to).status();
    }
}

/// Brings the tests of the copy up to what they are now.
pub fn tests() {
    let tree = Path::new(KEPT).join("tree");
    fs::remove_dir_all(tree.join("tests")).expect("planted");
    let status = Command::new("cp").args(["-a", "tests"]).arg(&tree).status();
    assert!(status.expect("cp").success());
    let _ = fs::remove_dir_all(tree.join("tests/mutants"));
}

fn rust(at: &Path, out: &mut Vec<PathBuf>) {
    if at.is_dir() {
        for entry in fs::read_dir(at).expect("a folder") {
            rust(&entry.expect("an entry").path(), out);
        }
    } else if at.extension().is_some_and(|e| e == "rs") {
        out.push(at.into());
    }
}

/// Modules of a file that hold nothing but tests.
fn of_tests(file: &Path) -> Vec<PathBuf> {
    let text = fs::read_to_string(file).expect("a file");
    let named = text.split("#[cfg(test)]\nmod ").skip(1).filter_map(|rest| {
        let (name, _) = rest.split_once(';')?;
        name.chars().all(|c| c.is_alphanumeric() || c == '_').then_some(name)
    });
    named.map(|name| file.with_file_name(name).with_extension("rs")).collect()
}

/// FNV-1a with a last stir.
fn hash(seed: u64, text: &str) -> u64 {
    let mut all = 0xcbf2_9ce4_8422_2325_u64 ^ seed.wrapping_mul(0x9e37_79b9_7f4a_7c15);
    for byte in text.bytes() {
        all = (all ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
    }
    all = (all ^ (all >> 31)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    all ^ (all >> 29)
}

fn choose(asked: &Asked, files: &[PathBuf]) -> Vec<Chosen> {
    let mut by_kind: BTreeMap<&str, Vec<Chosen>> = BTreeMap::new();
    for file in files {
        let text = fs::read_to_string(file).expect("a file");
        let mut seen: BTreeMap<String, usize> = BTreeMap::new();
        for site in sites(&text).unwrap_or_else(|e| panic!("{}: {e}", file.display())) {
            let line = text.lines().nth(site.line - 1).unwrap_or_default().trim();
            let base = format!("{}|{}|{}|{line}", file.display(), site.kind, site.says);
            let count = seen.entry(base.clone()).or_default();
            *count += 1;
            let key = format!("{base}|{count}");
            let rank = hash(asked.seed, &key);
            by_kind.entry(site.kind).or_default().push(Chosen {
                file: file.clone(),
                site,
                key,
                rank,
            });
        }
    }
    let mut chosen = Vec::new();
    for (kind, share) in SHARES {
        let mut all = by_kind.remove(kind).unwrap_or_default();
        all.sort_by_key(|c| c.rank);
        println!("{kind}: {} sites", all.len());
        // A third does not compile, as a rule.
        all.truncate(asked.sites * share / 100);
        chosen.extend(all);
    }
    chosen.sort_by_key(|c| c.rank);
    chosen
}

/// File, first and last byte of what was written for each site, by number.
type Places = Vec<(PathBuf, usize, usize)>;

fn write(tree: &Path, files: &[PathBuf], chosen: &[Chosen]) -> Places {
    let mut places = vec![(PathBuf::new(), 0, 0); chosen.len()];
    for file in files {
        let text = fs::read_to_string(file).expect("a file");
        // Place, whether it opens, order at one place, number.
        let mut marks = Vec::new();
        for (number, c) in chosen.iter().enumerate().filter(|(_, c)| c.file == *file) {
            let long = c.site.to - c.site.from;
            // What is longer opens first and closes last; a statement of the same text is outside.
            marks.push((c.site.from, 1, usize::MAX - long, number));
            marks.push((c.site.to, 0, long, usize::MAX - number));
        }
        marks.sort();
        let (mut out, mut at) = (String::new(), 0);
        for (place, opens, _, number) in marks {
            out.push_str(&text[at..place]);
            at = place;
            let number = if opens == 1 { number } else { usize::MAX - number };
            let (before, behind) = chosen[number].site.around(number);
            if opens == 1 {
                places[number] = (file.clone(), out.len(), 0);
                out.push_str(&before);
            } else {
                out.push_str(&behind);
                places[number].2 = out.len();
            }
        }
        out.push_str(&text[at..]);
        keep(&tree.join(file), &out);
    }
    keep(&tree.join("src/mutant.rs"), &MUTANT.replace("SITES", &chosen.len().to_string()));
    let lib = fs::read_to_string("src/lib.rs").expect("a file");
    keep(&tree.join("src/lib.rs"), &format!("{lib}\npub mod mutant;\n"));
    places
}

/// Writes what is new, so that cargo sees what is not.
fn keep(path: &Path, text: &str) {
    if fs::read_to_string(path).ok().as_deref() != Some(text) {
        fs::write(path, text).expect("written");
    }
}

pub fn cargo(tree: &Path, args: &[&str]) -> Command {
    let mut command = Command::new("cargo");
    let target = fs::canonicalize(KEPT).expect("a folder").join("target");
    command.args(args).current_dir(tree).env("CARGO_TARGET_DIR", target);
    command.stderr(Stdio::null()).stdin(Stdio::null());
    command
}

/// Sites in which the compiler found a fault: the innermost around it.
fn failing(tree: &Path, places: &Places) -> BTreeSet<usize> {
    let out = cargo(tree, &["check", "--lib", "--message-format=json"]).output().expect("cargo");
    let mut bad = BTreeSet::new();
    let mut stray = Vec::new();
    for line in String::from_utf8_lossy(&out.stdout).lines() {
        let Ok(message) = serde_json::from_str::<Value>(line) else { continue };
        let message = &message["message"];
        if message["level"] != "error" {
            continue;
        }
        let mut spans: Vec<Value> = message["spans"].as_array().cloned().unwrap_or_default();
        for child in message["children"].as_array().into_iter().flatten() {
            spans.extend(child["spans"].as_array().cloned().unwrap_or_default());
        }
        spans.sort_by_key(|span| span["is_primary"] != true);
        let around = |span: &Value| {
            let file = span["file_name"].as_str()?;
            let (from, to) =
                (span["byte_start"].as_u64()? as usize, span["byte_end"].as_u64()? as usize);
            let all = places.iter().enumerate();
            let all = all.filter(|(_, (f, a, b))| Path::new(file) == f && *a <= from && to <= *b);
            all.min_by_key(|(_, (_, a, b))| b - a).map(|(number, _)| number)
        };
        let near = |span: &Value| {
            let file = span["file_name"].as_str()?;
            let from = span["byte_start"].as_u64()? as usize;
            let all = places.iter().enumerate().filter(|(_, (f, ..))| Path::new(file) == f);
            all.min_by_key(|(_, (_, a, b))| a.abs_diff(from).min(b.abs_diff(from)))
                .map(|(number, _)| number)
        };
        let found = spans.iter().find_map(around).or_else(|| spans.iter().find_map(near));
        match found {
            Some(number) => drop(bad.insert(number)),
            None if !spans.is_empty() => stray.push(message["rendered"].to_string()),
            None => {}
        }
    }
    if bad.is_empty() && !out.status.success() {
        panic!("it does not compile, and no site is near: {}", stray.join("\n"));
    }
    bad
}
