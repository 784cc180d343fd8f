//! Files that no builder would write: each ends in exit code 1 and a clear word, never a panic.

#[path = "common/pictures.rs"]
mod pictures;
#[path = "common/told.rs"]
mod told;

use pourwright::Today;
use proptest::prelude::*;
use std::fs;
use std::io::{Read, Seek, SeekFrom};
use std::path::Path;
use std::process::{Command, Output, Stdio};

const DEMO: &str = include_str!("../demo/build.yaml");
const DEMO_JOURNAL: &str = include_str!("../demo/journal.yaml");

fn run(dir: &Path, command: &str) -> Output {
    let run =
        Command::new(env!("CARGO_BIN_EXE_pourwright")).args([command, "--build"]).arg(dir).output();
    run.expect("pourwright runs")
}

/// The manifest must be refused by every command with exit code 1; the text names all of `says`.
fn refused(manifest: &[u8], says: &[&str]) {
    let dir = tempfile::tempdir().expect("temporary folder");
    fs::write(dir.path().join("build.yaml"), manifest).expect("manifest");
    for command in ["check", "plan"] {
        refused_in(dir.path(), command, says);
    }
}

fn refused_in(dir: &Path, command: &str, says: &[&str]) {
    let out = run(dir, command);
    let text = String::from_utf8_lossy(&out.stderr);
    assert!(!text.contains("panicked"), "{text}");
    assert_eq!(out.status.code(), Some(1), "{text}");
    assert!(out.stdout.is_empty());
    for word in says {
        assert!(told::in_one_line(&text).contains(word), "`{word}` is not in: {text}");
    }
    assert!(text.len() < 200_000, "{} bytes of faults", text.len());
}

/// The manifest must be taken as it is.
fn accepted(manifest: &[u8]) {
    let dir = tempfile::tempdir().expect("temporary folder");
    fs::write(dir.path().join("build.yaml"), manifest).expect("manifest");
    let out = run(dir.path(), "check");
    assert_eq!(out.status.code(), Some(0), "{}", String::from_utf8_lossy(&out.stderr));
}

const PLAIN: &str = "\
build: {title: Small, begun: 2026-01-10}
parts:
  bed:
    made: {from: bar, hours: 3 h}
";

#[test]
fn deep_nesting_is_refused() {
    refused("[".repeat(100_000).as_bytes(), &["[yaml]", "no part of a build nests that deep"]);
    refused("{a: ".repeat(50_000).as_bytes(), &["[yaml]"]);
    let mut indented = String::new();
    for depth in 0..2_000 {
        indented += &format!("{}a:\n", " ".repeat(depth));
    }
    refused(indented.as_bytes(), &["[yaml]"]);
}

#[test]
fn an_alias_bomb_is_refused() {
    let mut bomb = String::from("a0: &a0 [x, x, x, x, x, x, x, x, x, x]\n");
    for i in 1..40 {
        let refs = vec![format!("*a{}", i - 1); 10].join(", ");
        bomb += &format!("a{i}: &a{i} [{refs}]\n");
    }
    refused(bomb.as_bytes(), &["[yaml]", "write the values out"]);
}

#[test]
fn a_hundred_megabytes_are_refused_unread() {
    let dir = tempfile::tempdir().expect("temporary folder");
    let file = fs::File::create(dir.path().join("build.yaml")).expect("manifest");
    file.set_len(100 << 20).expect("room");
    refused_in(dir.path(), "check", &["[file-size]", "is this the right file?"]);
    fs::write(dir.path().join("build.yaml"), PLAIN).expect("manifest");
    let file = fs::File::create(dir.path().join("journal.yaml")).expect("journal");
    file.set_len(100 << 20).expect("room");
    refused_in(dir.path(), "check", &["[file-size]", "journal.yaml"]);
}

#[test]
fn what_is_not_text_is_refused() {
    refused(b"build:\n  title: a\0b\n", &["build.yaml:2:11", "[not-text]", "NUL"]);
    refused(b"build:\n  title: caf\xe9\n", &["build.yaml:2:13", "[not-text]", "UTF-8"]);
    let mut state = 0x2545_f491_4f6c_dd1d_u64;
    let garbage: Vec<u8> = (0..200_000)
        .map(|_| {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            state as u8
        })
        .collect();
    refused(&garbage, &["[not-text]"]);
    let utf16: Vec<u8> = PLAIN.encode_utf16().flat_map(u16::to_le_bytes).collect();
    refused(&utf16, &["[not-text]"]);
}

#[test]
fn nothing_and_no_file_are_refused() {
    refused(b"", &["nothing is written in this file"]);
    refused(b"\n\n# nothing\n", &["nothing is written in this file"]);
    refused(b"---\n", &["nothing is written in this file"]);
    refused(b"just words\n", &["[form]"]);
    refused(b"- a\n- list\n", &["[form]"]);
    let dir = tempfile::tempdir().expect("temporary folder");
    refused_in(dir.path(), "check", &["no build.yaml in", "pourwright new"]);
    refused_in(&dir.path().join("nowhere"), "check", &["no build.yaml in"]);
    fs::create_dir(dir.path().join("build.yaml")).expect("folder");
    refused_in(dir.path(), "check", &["build.yaml", "irectory"]);
    fs::remove_dir(dir.path().join("build.yaml")).expect("folder");
    fs::write(dir.path().join("build.yaml"), PLAIN).expect("manifest");
    fs::create_dir(dir.path().join("journal.yaml")).expect("folder");
    refused_in(dir.path(), "check", &["journal.yaml", "irectory"]);
}

#[test]
fn ten_thousand_keys_twice_are_counted_not_listed() {
    let mut text = String::from("build: {title: Many, begun: 2026-01-10}\nparts:\n");
    for _ in 0..2 {
        for i in 0..5_000 {
            text += &format!("  p{i}: {{made: {{hours: 1 h}}}}\n");
        }
    }
    refused(text.as_bytes(), &["[repeated-id]", "and 4800 more faults", "5000 faults in"]);
    let mut text = String::from("build:\n  title: Many\n  begun: 2026-01-10\nparts: {}\n");
    for i in 0..10_000 {
        text += &format!("k{}: 1\n", i % 5_000);
    }
    refused(text.as_bytes(), &["[unknown-key]", "more faults"]);
}

#[test]
fn long_lines_tabs_line_ends_and_marks() {
    let long = format!("{PLAIN}    notes: {}\n", "x".repeat(2_000_000));
    accepted(long.as_bytes());
    let long = format!("{PLAIN}    note: {}\n", "x".repeat(2_000_000));
    refused(long.as_bytes(), &["build.yaml:5:5", "did you mean `notes`?"]);
    let long = format!("{PLAIN}    notes: [{}]\n", "x, ".repeat(200_000));
    refused(long.as_bytes(), &["[form]"]);
    refused(PLAIN.replace("    made", "\tmade").as_bytes(), &["build.yaml:4", "tab"]);
    accepted(PLAIN.replace('\n', "\r\n").as_bytes());
    accepted(format!("\u{feff}{PLAIN}").as_bytes());
    let wrong = PLAIN.replace("3 h", "3 kg");
    refused(wrong.replace('\n', "\r\n").as_bytes(), &["build.yaml:4:30", "this is a mass"]);
    refused(format!("\u{feff}{wrong}").as_bytes(), &["build.yaml:4:30", "this is a mass"]);
}

#[test]
fn tags_anchors_and_merge_keys() {
    // A tag on a word is passed over: it is still that word.
    accepted(PLAIN.replace("title: Small", "title: !!python/object Small").as_bytes());
    let tagged = PLAIN.replace("made: {", "made: !made {");
    refused(tagged.as_bytes(), &["build.yaml:4:11", "tag"]);
    accepted(
        b"build: {title: &t Small, begun: 2026-01-10, notes: *t}\nparts:\n  bed: {made: &m {hours: 3 h}}\n  leg: {made: *m}\n",
    );
    let merged = b"build: {title: S, begun: 2026-01-10}\nparts:\n  bed: &b {made: {hours: 3 h}}\n  leg: {<<: *b}\n";
    refused(merged, &["build.yaml:4", "`<<` means nothing here"]);
    refused(b"a: *nowhere\n", &["[yaml]"]);
    refused(b"a: &a [*a]\n", &["[yaml]"]);
    refused(b"? [complex, key]\n: value\n", &["[yaml]"]);
    refused(format!("{PLAIN}---\n{PLAIN}").as_bytes(), &["build.yaml:5:1", "second document"]);
    refused(b"%YAML 9.9\n---\na: b\n", &[]);
}

#[test]
fn hostile_journals() {
    for (journal, says) in [
        (&b"---\nid: 1\nat: 2026-02-01\nnote: {says: \"\xff\"}\n"[..], "[not-text]"),
        (b"---\n[[[[\n---\n", "[yaml]"),
        (b"just words\n", "[form]"),
        (b"---\nid: 1\nat: 2026-02-31\nnote: {says: x}\n", "2026-02 has 28 days"),
        (b"---\nid: 1\nat: 2026-02-01\ncounted: {stock: A356, mass: -3 kg}\n", "[size]"),
    ] {
        let dir = tempfile::tempdir().expect("temporary folder");
        fs::write(dir.path().join("build.yaml"), PLAIN).expect("manifest");
        fs::write(dir.path().join("journal.yaml"), journal).expect("journal");
        refused_in(dir.path(), "check", &["journal.yaml", says]);
    }
    // One id for many entries that differ; copies that are alike count once.
    let entry = |n: u32| format!("---\nid: 1\nat: 2026-02-01\nnote: {{says: x{n}}}\n");
    let many: String = (0..20_000).map(entry).collect();
    let dir = tempfile::tempdir().expect("temporary folder");
    fs::write(dir.path().join("build.yaml"), PLAIN).expect("manifest");
    fs::write(dir.path().join("journal.yaml"), many).expect("journal");
    refused_in(dir.path(), "check", &["[repeated-id]", "more faults"]);
}

fn day() -> Today {
    Today { asked: None, clock: "2026-07-08".parse().expect("day") }
}

/// Reads, reckons and shows: whatever the bytes are, it ends, and what is accepted can be shown.
fn survives(manifest: Vec<u8>, journal: Vec<u8>) {
    match pourwright::read(manifest, journal, day()) {
        Ok(build) => {
            let estimates = pourwright::estimate::estimate(&build);
            let plan = pourwright::plan::plan(&build, &estimates);
            let bill = pourwright::supply::bill(&build, &estimates, &plan.schedule);
            assert!(bill.lines().count() > 0 || plan.tasks.is_empty() || !plan.order.is_empty());
        }
        Err(all) => {
            assert!(!all.is_empty());
            for faults in all {
                assert!(!faults.list.is_empty());
                let shown = faults.to_string();
                assert!(shown.ends_with(&faults.file));
                let lines = faults.text.lines().count().max(1);
                for (place, fault) in faults.placed() {
                    assert!(place.line <= lines + 1, "{place:?} of {lines}: {fault:?}");
                    assert!(!fault.says.is_empty() && !fault.hint.is_empty());
                }
            }
        }
    }
}

#[derive(Debug, Clone)]
enum Change {
    Delete(usize, usize),
    Repeat(usize, usize),
    Replace(usize, Vec<u8>),
    Swap(usize, usize, usize),
}

fn changed(text: &str, changes: &[Change]) -> Vec<u8> {
    let mut bytes = text.as_bytes().to_vec();
    for change in changes {
        let len = bytes.len();
        if len < 2 {
            break;
        }
        let span = |at: usize, n: usize| (at % len, (at % len + n).min(len));
        match change {
            Change::Delete(at, n) => {
                let (from, to) = span(*at, *n);
                bytes.drain(from..to);
            }
            Change::Repeat(at, n) => {
                let (from, to) = span(*at, *n);
                let copy = bytes[from..to].to_vec();
                bytes.splice(to..to, copy);
            }
            Change::Replace(at, new) => {
                let (from, to) = span(*at, new.len());
                bytes.splice(from..to, new.iter().copied());
            }
            Change::Swap(a, b, n) => {
                let ((a, _), (b, _)) = (span(*a, *n), span(*b, *n));
                for i in 0..(*n).min(len - a.max(b)) {
                    bytes.swap(a + i, b + i);
                }
            }
        }
    }
    bytes
}

fn change() -> impl Strategy<Value = Change> {
    let word = prop_oneof![
        proptest::collection::vec(any::<u8>(), 1..12),
        "[0-9a-z:{}, \\n.*&%-]{1,12}".prop_map(String::into_bytes),
        proptest::sample::select(vec!["1e308", "-0", "0", "NaN", "inf", "1e-320 mm", "..", "~"])
            .prop_map(|s| s.as_bytes().to_vec()),
    ];
    prop_oneof![
        (0..20_000_usize, 1..60_usize).prop_map(|(a, n)| Change::Delete(a, n)),
        (0..20_000_usize, 1..300_usize).prop_map(|(a, n)| Change::Repeat(a, n)),
        (0..20_000_usize, word).prop_map(|(a, w)| Change::Replace(a, w)),
        (0..20_000_usize, 0..20_000_usize, 1..40_usize).prop_map(|(a, b, n)| Change::Swap(a, b, n)),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 256, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_damaged_manifest_never_panics(changes in proptest::collection::vec(change(), 1..4)) {
        survives(changed(DEMO, &changes), DEMO_JOURNAL.as_bytes().to_vec());
    }

    #[test]
    fn a_damaged_journal_never_panics(changes in proptest::collection::vec(change(), 1..4)) {
        survives(DEMO.as_bytes().to_vec(), changed(DEMO_JOURNAL, &changes));
    }

    /// Only the digits change, so that most builds stay sound and are reckoned to the end.
    #[test]
    fn other_numbers_never_panic(at in 0..20_000_usize, digit in 0..10_u8, again in 0..20_000_usize) {
        let mut bytes = DEMO.as_bytes().to_vec();
        for start in [at, again] {
            let len = bytes.len();
            let found = (0..len).map(|i| (start + i) % len).find(|i| bytes[*i].is_ascii_digit());
            if let Some(i) = found {
                bytes[i] = b'0' + digit;
            }
        }
        survives(bytes, Vec::new());
    }
}

/// What a refusal may take: a second of work and 300 MB. Code that is not optimised, as in the usual
/// run of the tests, is some ten times slower.
const MOST_SECONDS: f64 = if cfg!(debug_assertions) { 12.0 } else { 1.0 };
const MOST_MB: u64 = 300;

/// What a child has taken so far: seconds of work and the most that it held, MB. Nothing where the
/// system does not tell it.
fn taken(id: u32) -> Option<(f64, u64)> {
    let status = fs::read_to_string(format!("/proc/{id}/status")).unwrap_or_default();
    let peak = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    let peak = peak.and_then(|kb| kb.split_whitespace().next()?.parse::<u64>().ok());
    let stat = fs::read_to_string(format!("/proc/{id}/stat")).ok()?;
    // After the name in brackets: state, then eleven numbers, then the ticks at work.
    let after: Vec<&str> = stat.rsplit_once(") ")?.1.split(' ').collect();
    let ticks: f64 = after.get(11..13)?.iter().filter_map(|t| t.parse::<f64>().ok()).sum();
    Some((ticks / 100.0, peak.unwrap_or(0) / 1024))
}

/// A bound is told at once and in little room (CWE-400): a second of work, 300 MB, and the words.
fn bounded(dir: &Path, command: &[&str], says: &str) {
    let text = within(dir, command, 1);
    assert!(told::in_one_line(&text).contains(says), "`{says}` is not in: {text}");
}

/// Runs a command to its end within the bounds; gives what it says.
fn within(dir: &Path, command: &[&str], code: i32) -> String {
    let mut program = Command::new(env!("CARGO_BIN_EXE_pourwright"));
    program.args(command).arg("--build").arg(dir).stdin(Stdio::null());
    let (out, err) = (tempfile::tempfile().expect("a file"), tempfile::tempfile().expect("a file"));
    let copy = |file: &fs::File| file.try_clone().expect("a handle");
    let mut child = program.stdout(copy(&out)).stderr(copy(&err)).spawn().expect("pourwright runs");
    let (mut seconds, mut mb) = (0.0_f64, 0);
    let status = loop {
        // Asked before the child is waited for: after that nothing is known of it.
        let ended = fs::read_to_string(format!("/proc/{}/stat", child.id()))
            .map_or(true, |stat| stat.contains(") Z "));
        if let Some((s, peak)) = taken(child.id()) {
            (seconds, mb) = (seconds.max(s), mb.max(peak));
        }
        match ended {
            true => break child.wait().expect("it ends"),
            false => std::thread::sleep(std::time::Duration::from_millis(2)),
        }
    };
    let read = |mut file: fs::File| {
        let mut text = String::new();
        file.seek(SeekFrom::Start(0)).expect("a start");
        file.read_to_string(&mut text).expect("text");
        text
    };
    let text = read(out) + &read(err);
    println!("{command:?}: {seconds:.2} s of work, {mb} MB");
    assert_eq!(status.code(), Some(code), "{command:?}: {text}");
    assert!(seconds <= MOST_SECONDS, "{command:?} takes {seconds} s: {text}");
    assert!(mb <= MOST_MB, "{command:?} holds {mb} MB: {text}");
    text
}

fn with_mesh(name: &str, bytes: &[u8]) -> tempfile::TempDir {
    let dir = tempfile::tempdir().expect("temporary folder");
    let manifest = format!(
        "build: {{title: Mesh, begun: 2026-01-10}}\npatterns:\n  p: {{made-of: wood}}\nparts:\n  bed:\n    casting: {{pattern: p, alloy: A356, mesh: {{file: {name}, unit: 1 mm}}}}\n"
    );
    fs::write(dir.path().join("build.yaml"), manifest).expect("manifest");
    fs::write(dir.path().join(name), bytes).expect("mesh");
    dir
}

fn archive(model: impl FnOnce(&mut dyn std::io::Write)) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    zip.start_file("3D/3dmodel.model", zip::write::SimpleFileOptions::default()).expect("a file");
    model(&mut zip);
    zip.finish().expect("an archive").into_inner()
}

#[test]
fn cwe_409_a_3mf_that_unpacks_without_end_is_refused() {
    let spaces = vec![b' '; 1 << 20];
    let bomb = archive(|out| {
        out.write_all(b"<model>").expect("written");
        for _ in 0..400 {
            out.write_all(&spaces).expect("written");
        }
    });
    assert!(bomb.len() < 1 << 20);
    bounded(with_mesh("bomb.3mf", &bomb).path(), &["check"], "unpacks to more than 96 MB");
    // Entities are not spread out.
    let mut laughs = String::from("<!DOCTYPE m [<!ENTITY a0 \"ha\">");
    for i in 1..30 {
        let inner = format!("&a{};", i - 1).repeat(10);
        laughs += &format!("<!ENTITY a{i} \"{inner}\">");
    }
    laughs += "]><model><resources><object id=\"&a29;\"></object></resources></model>";
    let laughs = archive(|out| out.write_all(laughs.as_bytes()).expect("written"));
    bounded(with_mesh("laughs.3mf", &laughs).path(), &["check"], "[file]");
    // One small object placed a hundred thousand times in itself.
    let mut deep = String::from(
        "<model unit=\"millimeter\"><resources><object id=\"0\"><mesh><vertices><vertex x=\"0\" y=\"0\" z=\"0\"/><vertex x=\"1\" y=\"0\" z=\"0\"/><vertex x=\"0\" y=\"1\" z=\"0\"/></vertices><triangles><triangle v1=\"0\" v2=\"1\" v3=\"2\"/></triangles></mesh></object>",
    );
    for i in 1..30 {
        let inner = format!("<component objectid=\"{}\"/>", i - 1).repeat(10);
        deep += &format!("<object id=\"{i}\"><components>{inner}</components></object>");
    }
    deep += "</resources><build><item objectid=\"29\"/></build></model>";
    let deep = archive(|out| out.write_all(deep.as_bytes()).expect("written"));
    bounded(with_mesh("deep.3mf", &deep).path(), &["check"], "triangles");
}

#[test]
fn cwe_400_meshes_have_bounds_and_flat_or_empty_ones_are_refused() {
    let corners: String = (0..20_000).map(|i| format!(" {}", i + 1)).collect();
    let face = format!("v 0 0 0\nv 1 0 0\nv 0 1 0\nf{corners}\n");
    bounded(with_mesh("face.obj", face.as_bytes()).path(), &["check"], "more than 2000 corners");
    let many = format!("v 0 0 0\nv 1 0 0\nv 0 1 0\n{}", "f 1 2 3\n".repeat(2_000_001));
    bounded(
        with_mesh("many.obj", many.as_bytes()).path(),
        &["check"],
        "more than 2000000 triangles",
    );
    let square = "v 0 0 0\nv 50 0 0\nv 50 50 0\nv 0 50 0\nf 1 2 3\nf 1 3 4\nf 1 3 2\nf 1 4 3\n";
    bounded(with_mesh("flat.obj", square.as_bytes()).path(), &["check"], "fault");
    bounded(with_mesh("none.stl", b"solid x\nendsolid x\n").path(), &["check"], "no triangle");
    let nan = "solid x\nfacet normal 0 0 0\nouter loop\nvertex nan 0 0\nvertex 1 inf 0\nvertex 0 1 0\nendloop\nendfacet\nendsolid x\n";
    bounded(with_mesh("nan.stl", nan.as_bytes()).path(), &["check"], "fault");
    let dir = with_mesh("huge.stl", b"");
    let file = fs::File::create(dir.path().join("huge.stl")).expect("mesh");
    file.set_len(3 << 30).expect("room");
    bounded(dir.path(), &["check"], "more than 100 MB");
}

/// Depth, keys, aliases, pieces, cells: each has a bound, told at once.
#[test]
fn cwe_400_a_manifest_has_bounds_in_work() {
    let manifest = |text: &str| {
        let dir = tempfile::tempdir().expect("temporary folder");
        fs::write(dir.path().join("build.yaml"), text).expect("manifest");
        dir
    };
    let refused = |text: &str, says: &str| bounded(manifest(text).path(), &["check"], says);
    // Just below the bound in signs, and far beyond it: brackets, lists in lists, keys.
    let most = if cfg!(debug_assertions) { 40_000 } else { 700_000 };
    refused(&"[".repeat(most), "nests that deep");
    for many in ["[", "- ", "? ", "{a: ", "k: 1\n", "- 1\n", "a,"] {
        refused(&many.repeat((15 << 20) / many.len()), "more than 700000 keys");
    }
    let mut bomb = String::from("a0: &a0 [x, x, x, x, x, x, x, x, x, x]\n");
    for i in 1..40 {
        bomb += &format!("a{i}: &a{i} [{}]\n", vec![format!("*a{}", i - 1); 10].join(", "));
    }
    refused(&bomb, "write the values out");
    // Pieces: of one part, and of all of them together.
    let many = "the machine has more than 20000 pieces";
    let head = "build: {title: Many, begun: 2026-01-10}\nparts:\n";
    refused(&format!("{head}  bed: {{quantity: 100000, made: {{hours: 1 h}}}}\n"), many);
    let parts: String =
        (0..9).map(|i| format!("  p{i}: {{quantity: 3000, made: {{hours: 1 h}}}}\n")).collect();
    refused(&(head.to_owned() + &parts), many);
    // Suppliers: all are compared, or none is passed over in silence.
    let sellers: String = (0..129).map(|i| format!("  s{i}: {{packs: []}}\n")).collect();
    let made = "  bed: {made: {hours: 1 h}}\nsuppliers:\n";
    refused(&(head.to_owned() + made + &sellers), "at most 128 are compared");
    // Cells: a sheet of 1 mm and 18 m wants more than any machine holds.
    let thin = "build: {title: Thin, begun: 2026-01-10}\nshop:\n  sand: {kind: green-sand}\n  crucibles: {pot: {holds: 900 L}}\n  flasks: {box: {inside: 19 x 19 m, cope: 200 mm, drag: 200 mm}}\npatterns:\n  p: {made-of: wood}\nparts:\n  bed:\n    casting: {pattern: p, alloy: A356, shape: {add: [{plate: {length: 18 m, width: 18 m, thickness: 1 mm}}]}}\n";
    let dir = manifest(thin);
    within(dir.path(), &["estimate"], 0);
    bounded(dir.path(), &["freezing", "bed"], "more than 4 million cells");
}

/// A shop with no crucible pours nothing: plan, risk and check say so, and none of them fails.
#[test]
fn a_build_without_crucibles_is_told_so() {
    let text = "build: {title: Small, begun: 2026-01-10, looked-at: 2026-01-10}\nshop:\n  people: {me: {hours: {sat: 6 h}}}\n  furnaces: {gas: {fuel: propane, power: 12 kW}}\n  flasks: {box: {inside: 300 x 250 mm, cope: 75 mm, drag: 75 mm}}\npatterns:\n  p: {made-of: wood, size: 120 x 80 x 40 mm, in-cope: 0 mm}\nparts:\n  bed: {casting: {pattern: p, alloy: A356, mass: 0.8 kg}}\n";
    let dir = tempfile::tempdir().expect("temporary folder");
    fs::write(dir.path().join("build.yaml"), text).expect("manifest");
    for command in ["check", "plan", "risk", "report"] {
        let out = run(dir.path(), command);
        let text = String::from_utf8_lossy(&out.stdout) + String::from_utf8_lossy(&out.stderr);
        assert!(out.status.success(), "{command}: {text}");
        let text = if command == "report" {
            fs::read_to_string(dir.path().join("report.html")).unwrap_or(text.into_owned()).into()
        } else {
            text
        };
        assert!(text.contains("no crucible"), "{command}: {text}");
    }
}

/// The error cases of the YAML test suite (github.com/yaml/yaml-test-suite, MIT): each is refused at
/// a place that lies in the text and not before what the suite says is sound.
#[test]
fn error_cases_of_the_yaml_test_suite_are_told_at_their_place() {
    #[derive(serde::Deserialize)]
    struct Case {
        id: String,
        name: String,
        /// The line of the last value before the error, as the suite reads it.
        sound: usize,
        yaml: String,
    }
    let cases: Vec<Case> =
        serde_json::from_str(include_str!("yaml/errors.json")).expect("the cases");
    assert_eq!(cases.len(), 94);
    let (mut taken, mut far) = (Vec::new(), Vec::new());
    for case in &cases {
        let place = match pourwright::yaml::parse(&case.yaml) {
            Ok(_) => {
                taken.push(&*case.id);
                continue;
            }
            Err(fault) => fault.place(&case.yaml),
        };
        let lines = case.yaml.lines().count().max(1);
        if !(case.sound..=lines + 1).contains(&place.line) || place.column < 1 {
            far.push(format!("{} ({}): {place:?} of {:?}", case.id, case.name, case.yaml));
        }
    }
    assert!(far.is_empty(), "{}", far.join("\n"));
    assert_eq!(taken, TAKEN, "read although the suite refuses them");
}

/// Error cases that the reader takes: it is laxer than the standard about comments, tabs and
/// indents, and what it reads there is what was meant.
const TAKEN: [&str; 12] = [
    "9C9N", "9JBA", "CVW2", "DK95:2", "G5U8", "MUS6:1", "QB6E", "S98Z", "SU5Z", "X4QW", "Y79Y:4",
    "YJV2",
];

/// A PNG whose header promises 20,000 x 20,000 pixels: 1.2 GB of them, in 60 bytes.
#[test]
fn cwe_400_a_picture_of_too_many_pixels_is_left_out_with_a_word() {
    let dir = tempfile::tempdir().expect("temporary folder");
    fs::write(dir.path().join("build.yaml"), PLAIN).expect("manifest");
    let mut picture = pictures::png(1, 1, |_, _| [0; 3]);
    let side = 20_000_u32.to_be_bytes();
    picture[16..20].copy_from_slice(&side);
    picture[20..24].copy_from_slice(&side);
    let sum = crc(&picture[12..29]);
    picture[29..33].copy_from_slice(&sum.to_be_bytes());
    fs::write(dir.path().join("big.png"), picture).expect("picture");
    let journal = "---\nid: a\nat: 2026-02-01\nnote: {says: x, photo: big.png}\n";
    fs::write(dir.path().join("journal.yaml"), journal).expect("journal");
    let text = within(dir.path(), &["report"], 0);
    assert!(text.contains("64 million"), "{text}");
}

/// The check sum of a part of a PNG (ISO/IEC 15948, annex D).
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |sum, byte| {
        (0..8).fold(sum ^ u32::from(*byte), |s, _| {
            (s >> 1) ^ if s & 1 == 1 { 0xEDB8_8320 } else { 0 }
        })
    })
}

/// No output of any faulty file holds a number that is none.
#[test]
fn no_number_that_is_none_is_ever_printed() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/faults");
    for case in fs::read_dir(folder).expect("tests/faults") {
        let case = case.expect("entry").path();
        let name = case.file_name().expect("name").to_string_lossy().into_owned();
        if !name.ends_with(".yaml") || name.ends_with(".journal.yaml") {
            continue;
        }
        let dir = tempfile::tempdir().expect("temporary folder");
        fs::copy(&case, dir.path().join("build.yaml")).expect("manifest");
        for command in ["check", "estimate", "bill"] {
            let out = run(dir.path(), command);
            for stream in [out.stdout, out.stderr] {
                let text = String::from_utf8_lossy(&stream).into_owned();
                let mut words = text.split(|c: char| !c.is_ascii_alphanumeric());
                assert!(words.all(|w| !["NaN", "inf", "Infinity"].contains(&w)), "{name}: {text}");
            }
        }
    }
}

#[test]
fn reckon_refuses_what_no_input_and_no_answer_can_be() {
    for (args, says) in [
        (&["melt-heat", "mass=NaN kg"][..], "mass"),
        (&["melt-heat", "mass=1e999 kg"], "too large"),
        (
            &["fuel-mass", "energy=-3 MJ", "efficiency=10 %", "heating-value=46 MJ/kg"],
            "less than zero",
        ),
        (&["fuel-mass", "energy=NaN", "efficiency=10 %", "heating-value=46 MJ/kg"], "energy"),
        (
            &[
                "melt-heat",
                "mass=1 kg",
                "solid-heat=900 J/kgK",
                "latent-heat=-390 kJ/kg",
                "liquid-heat=1000 J/kgK",
                "melting-point=610 C",
                "start=20 C",
                "pour=700 C",
            ],
            "less than zero",
        ),
        (
            &[
                "melt-heat",
                "mass=1 kg",
                "solid-heat=900 J/kgK",
                "latent-heat=390 kJ/kg",
                "liquid-heat=1000 J/kgK",
                "melting-point=610 C",
                "start=800 C",
                "pour=700 C",
            ],
            "less than zero",
        ),
        (&["melt-heat", "mass=-1 kg"], "less than zero"),
        (&["charge", "poured=2 kg", "melt-loss=150 %"], "100 % at most"),
        (&["cope-lift", "area=-1 cm2", "head=15 cm", "density=2.4 g/cm3"], "less than zero"),
    ] {
        let out = Command::new(env!("CARGO_BIN_EXE_pourwright"))
            .arg("reckon")
            .args(args)
            .output()
            .expect("pourwright runs");
        let text = String::from_utf8_lossy(&out.stderr);
        assert!(!out.status.success(), "{args:?}: {}", String::from_utf8_lossy(&out.stdout));
        assert!(text.contains(says), "{args:?}: {text}");
    }
}
