//! Writing down from a phone: the page in a real browser of a phone's size, the line cut and back,
//! several at once, and who is not let in.

#[path = "common/live.rs"]
mod live;

use live::Live;
use serde_json::{Value, json};
use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// A free port each, so that no two tests wait for each other.
const LOG: [&str; 3] = ["--log", "--port", "0"];

/// The script that drives the browser, beside the packages that it needs.
fn script(test: &str) -> Option<PathBuf> {
    let named = |name: &str| std::env::var_os(name);
    let (Some(checks), Some(_)) = (named("POURWRIGHT_PAGE"), named("POURWRIGHT_CHROMIUM")) else {
        eprintln!("left out: {test}: POURWRIGHT_PAGE and POURWRIGHT_CHROMIUM are not set");
        return None;
    };
    let own = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/page/log.mjs");
    let script = Path::new(&checks).join(format!("log-{test}.mjs"));
    fs::copy(own, &script).expect("a copy");
    Some(script)
}

/// Plays a scene of the script; what it saw.
fn play(live: &Live, scene: &str, words: &[&str]) -> Option<Value> {
    let script = script(scene)?;
    let out = Command::new("node")
        .arg(&script)
        .arg(format!("http://{}", live.address))
        .arg(scene)
        .args(words)
        .output()
        .expect("node runs");
    let _ = fs::remove_file(&script);
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let seen: Value = serde_json::from_slice(&out.stdout).expect("JSON");
    assert_eq!(seen["errors"], json!([]), "{seen}");
    Some(seen)
}

/// How often each of these notes stands in a journal that can be read.
fn notes(live: &Live, of: impl Iterator<Item = String>) -> Vec<usize> {
    let journal = live.journal();
    let of: Vec<String> = of.map(|words| format!("note: {{says: {words}}}\n")).collect();
    assert_eq!(journal.matches("---\n").count(), of.len(), "{journal}");
    of.iter().map(|line| journal.matches(line).count()).collect()
}

#[test]
fn ten_entries_with_the_line_cut_are_ten_in_the_journal() {
    let live = Live::start(&LOG, "");
    let Some(seen) = play(&live, "ten", &[]) else { return };
    // Three were made away; of one the answer was lost after it was written.
    assert_eq!((&seen["kept"], &seen["lost"]), (&json!(3), &json!(1)));
    assert_eq!(notes(&live, (1..=10).map(|n| format!("entry {n}"))), [1; 10]);
}

#[test]
fn two_phones_write_at_once() {
    let live = Live::start(&LOG, "");
    let Some(_) = play(&live, "two", &[]) else { return };
    let all = (1..=2).flat_map(|phone| (1..=5).map(move |n| format!("phone {phone} entry {n}")));
    assert_eq!(notes(&live, all), [1; 10]);
}

/// A mould poured an hour ago.
fn poured() -> String {
    let at = |minutes| {
        let at = chrono::Local::now().naive_local() - chrono::Duration::minutes(minutes);
        at.format("%Y-%m-%d %H:%M").to_string()
    };
    format!(
        "---\nid: a1\nat: {}\nrammed: {{mould: M1, pattern: base-pattern, castings: {{base: 1}}}}\n\
         ---\nid: a2\nat: {}\npoured: {{heat: H1, alloy: A356, moulds: [M1], charge: {{ingot: 12 kg}}}}\n",
        at(180),
        at(5)
    )
}

/// WCAG 2.5.5: 44 CSS pixels a side; the doubts are those of `log`; the time before which a mould is
/// not opened stands on its button.
#[test]
fn a_mould_is_opened_with_a_gloved_hand() {
    let live = Live::start(&LOG, &poured());
    let picture = live.dir.path().join("camera.jpg");
    let rust = [200, 90, 30].repeat(1200 * 2400);
    let encoder = jpeg_encoder::Encoder::new_file(&picture, 75).expect("a file");
    encoder.encode(&rust, 1200, 2400, jpeg_encoder::ColorType::Rgb).expect("one");
    let Some(seen) = play(&live, "opened", &[&picture.display().to_string()]) else { return };
    assert!(seen["says"].as_str().is_some_and(|s| s.starts_with("Not before ")), "{seen}");
    let entry = seen["entry"].as_str().expect("an entry");
    assert!(entry.contains("shaken-out: {mould: M1, after: 1 min, mass: 12.5"), "{entry}");
    let doubts = seen["doubts"].to_string();
    assert!(doubts.contains("was opened 60 s after it was poured"), "{doubts}");
    let sizes = seen["sizes"].as_array().expect("sizes");
    assert!(sizes.len() > 40, "{}", sizes.len());
    for size in sizes {
        let side = |name: &str| size[name].as_f64().expect("px");
        assert!(side("wide") >= 44.0 && side("high") >= 44.0, "{size}");
    }
    assert_eq!(seen["axe"], json!([]), "findings of the accessibility checker");
    let journal = live.journal();
    assert_eq!(journal.matches(entry).count(), 1, "{journal}");
    let photo = entry.split("photo: ").nth(1).and_then(|p| p.split('}').next()).expect("a photo");
    let taken = fs::read(live.dir.path().join(photo)).expect("a picture");
    let mut taken =
        zune_jpeg::JpegDecoder::new(zune_jpeg::zune_core::bytestream::ZCursor::new(&taken));
    taken.decode().expect("a JPEG");
    assert_eq!(taken.dimensions(), Some((800, 1600)));
}

/// What is refused is told and stays on the phone.
#[test]
fn an_entry_that_cannot_be_is_not_lost() {
    let live = Live::start(&LOG, &poured());
    let Some(seen) = play(&live, "refused", &[]) else { return };
    let why = seen["why"].as_str().unwrap_or_default();
    assert!(why.contains("nothing was written"), "{seen}");
    assert_eq!(live.journal().matches("shaken-out:").count(), 1, "{}", live.journal());
}

/// An address of this machine in a network.
fn network() -> Option<String> {
    let out = Command::new("hostname").arg("-I").output().ok()?;
    let list = String::from_utf8_lossy(&out.stdout).into_owned();
    list.split_whitespace().find(|a| !a.contains(':') && !a.starts_with("127.")).map(str::to_owned)
}

/// The square code at the terminal, read by another library: a sign holds two squares.
fn read_square(said: &str) -> String {
    let rows: Vec<Vec<char>> = said
        .lines()
        .filter(|l| l.chars().any(|c| "█▀▄".contains(c)))
        .map(|l| l.chars().collect())
        .collect();
    let wide = rows[0].len();
    const EACH: usize = 4;
    // A block is light, as on a dark terminal.
    let light = |x: usize, y: usize| match rows[y / 2].get(x).unwrap_or(&' ') {
        '█' => true,
        '▀' => y.is_multiple_of(2),
        '▄' => y % 2 == 1,
        _ => false,
    };
    let grey = |x: usize, y: usize| if light(x / EACH, y / EACH) { 255 } else { 0 };
    let mut seen =
        rqrr::PreparedImage::prepare_from_greyscale(wide * EACH, rows.len() * 2 * EACH, grey);
    let grids = seen.detect_grids();
    grids.first().expect("a square code").decode().expect("it is read").1
}

#[test]
fn from_a_network_only_who_is_paired_reads_and_writes() {
    let Some(address) = network() else {
        eprintln!("left out: pairing: this machine has no address in a network");
        return;
    };
    let live = Live::start(&[&LOG[..], &["--address", &address]].concat(), "");
    let said = live.said("own network only");
    let code = said.split("valid once: ").nth(1).and_then(|c| c.lines().next()).expect("a code");
    assert_eq!(code.len(), 9, "{code}");
    let square = read_square(&said);
    assert_eq!(square, format!("http://{}/log#{}", live.address, code.replace('-', "")));
    for path in ["/", "/report", "/version", "/log/forms"] {
        let answer = live.get(path);
        assert!(answer.starts_with("HTTP/1.1 401"), "{path}: {answer}");
        assert!(!answer.contains("How far") && !answer.contains("base-pattern"), "{path}");
    }
    assert!(write(&live, "", NOTE).starts_with("HTTP/1.1 401"));
    let forged = format!("Cookie: pourwright-{}=0000\r\n", live.address.port());
    assert!(write(&live, &forged, NOTE).starts_with("HTTP/1.1 401"));
    assert_eq!(live.journal(), "");
    let Some(seen) = play(&live, "pair", &[code]) else { return };
    assert!(seen["wrong"].as_str().is_some_and(|w| w.contains("not the code")), "{seen}");
    assert!(!seen["report"].as_str().unwrap_or_default().is_empty(), "{seen}");
    assert_eq!(notes(&live, std::iter::once("from a paired phone".to_owned())), [1]);
    // It was valid once; another stands at the terminal. After ten wrong ones nobody is paired.
    let pair = |code: &str| post(&live, "/pair", "", "text/plain", code);
    assert!(pair(code).starts_with("HTTP/1.1 403"));
    let next = live.said("own network only").split("valid once: ").nth(2).map(str::to_owned);
    let next = next.and_then(|c| c.lines().next().map(str::to_owned)).expect("another code");
    assert_ne!(next, code);
    for _ in 0..9 {
        assert!(pair("AAAAAAAA").starts_with("HTTP/1.1 403"));
    }
    assert!(pair(&next).starts_with("HTTP/1.1 429"));
}

const NOTE: &str = r#"{"id":"n-1","at":"2026-10-02 10:00","event":"note","said":{"words":["x"]}}"#;

/// A request from the own page, with more headers.
fn post(live: &Live, path: &str, more: &str, kind: &str, body: &str) -> String {
    let own = live.address;
    live.raw(&format!(
        "POST {path} HTTP/1.1\r\nHost: {own}\r\nOrigin: http://{own}\r\nContent-Type: {kind}\r\n{more}Content-Length: {}\r\n\r\n{body}",
        body.len()
    ))
}

fn write(live: &Live, more: &str, body: &str) -> String {
    post(live, "/log/write", more, "application/json", body)
}

/// CWE-352, CWE-346, CWE-400: other origins and hosts, bodies without bounds.
#[test]
fn nobody_else_writes() {
    let live = Live::start(&LOG, "");
    let own = live.address;
    let sent = |host: &str, origin: &str, more: &str| {
        live.raw(&format!(
            "POST /log/write HTTP/1.1\r\nHost: {host}\r\n{origin}Content-Type: application/json\r\n{more}Content-Length: {}\r\n\r\n{NOTE}",
            NOTE.len()
        ))
    };
    let own_host = own.to_string();
    let from = |of: &str| format!("Origin: {of}\r\n");
    let ours = from(&format!("http://{own}"));
    for (host, origin, more, status) in [
        ("evil.example", ours.clone(), "", 421),
        (&own_host, from("http://evil.example"), "", 403),
        (&own_host, from("null"), "", 403),
        (&own_host, from(&format!("https://{own}")), "", 403),
        (&own_host, from(&format!("http://localhost:{}", own.port())), "", 403),
        (&own_host, from(&format!("http://{own}.evil.example")), "", 403),
        (&own_host, String::new(), "", 403),
        (&own_host, format!("{ours}{ours}"), "", 403),
        (&own_host, ours.clone(), "Sec-Fetch-Site: cross-site\r\n", 403),
        (&own_host, ours.clone(), "Transfer-Encoding: chunked\r\n", 411),
        (&own_host, ours.clone(), "Content-Length: 5\r\n", 411),
    ] {
        let answer = sent(host, &origin, more);
        assert!(
            answer.starts_with(&format!("HTTP/1.1 {status}")),
            "{host} {origin} {more}: {answer}"
        );
    }
    let kind = |kind: &str| post(&live, "/log/write", "", kind, NOTE);
    for of in ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data"] {
        assert!(kind(of).starts_with("HTTP/1.1 415"), "{of}");
    }
    let huge = "x".repeat((8 << 20) + 1);
    assert!(write(&live, "", &huge).starts_with("HTTP/1.1 413"));
    for (body, says) in [
        ("{}", "missing field"),
        ("[", "not an entry"),
        (&NOTE.replace("n-1", "../n"), "an id is of"),
        (&NOTE.replace("n-1", ""), "an id is of"),
        (&NOTE.replace("\"note\"", "\"help\""), "is not an event"),
        (&NOTE.replace("words", "build"), "has no `build`"),
        (&NOTE.replace("words", "help"), "has no `help`"),
        (&NOTE.replace("2026-10-02 10:00", "yesterday"), "a date and time are expected"),
        (&NOTE.replace("\"said\"", "\"photo\":\"AAAA\",\"said\""), "not a JPEG"),
        (&NOTE.replace("\"said\"", "\"files\":1,\"said\""), "unknown field"),
    ] {
        let answer = write(&live, "", body);
        assert!(answer.starts_with("HTTP/1.1 422") && answer.contains(says), "{body}: {answer}");
    }
    assert_eq!(live.journal(), "");
    // What is sent twice is written once; what has the same id and is another is refused.
    for _ in 0..2 {
        assert!(write(&live, "", NOTE).starts_with("HTTP/1.1 200"));
    }
    let entry = "---\nid: n-1\nat: 2026-10-02 10:00\nnote: {says: x}\n";
    assert_eq!(live.journal(), entry);
    let other = write(&live, "", &NOTE.replace("\"x\"", "\"y\""));
    assert!(other.starts_with("HTTP/1.1 422"), "{other}");
    assert_eq!(live.journal(), entry);
    let checked = post(&live, "/log/check", "", "application/json", &NOTE.replace("n-1", "n-2"));
    assert!(checked.starts_with("HTTP/1.1 200") && checked.contains("id: n-2"), "{checked}");
    assert_eq!(live.journal(), entry, "a check writes nothing");
}

/// A page that changes keeps what was open, filtered, sorted and scrolled; faults stand as a banner
/// over the last sound page.
#[test]
fn a_changed_report_stays_as_it_was_left() {
    let live = Live::start(&["--port", "0"], "");
    let Some(script) = script("report") else { return };
    let mut child = Command::new("node")
        .arg(&script)
        .arg(format!("http://{}", live.address))
        .arg("report")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("node runs");
    let manifest = live.dir.path().join("build.yaml");
    let text = fs::read_to_string(&manifest).expect("a manifest");
    let mut to = child.stdin.take().expect("a pipe");
    let mut told = BufReader::new(child.stderr.take().expect("a pipe"));
    let journal = "---\nid: a\nat: 2026-10-01 10:00\nnote: {says: \"one more\"}\n";
    for (word, change) in [
        ("ready", (live.dir.path().join("journal.yaml"), journal.to_owned())),
        ("seen", (manifest.clone(), text.replace("units: us", "units: cubits"))),
        ("told", (manifest.clone(), text.clone())),
    ] {
        let mut line = String::new();
        told.read_line(&mut line).expect("a line");
        if line.trim() != word {
            let _ = told.read_to_string(&mut line);
            panic!("{line}");
        }
        fs::write(change.0, change.1).expect("written");
        to.write_all(b"go\n").expect("it listens");
    }
    let out = child.wait_with_output().expect("it ends");
    let _ = fs::remove_file(&script);
    let seen: Value = serde_json::from_slice(&out.stdout).expect("JSON");
    assert_eq!(seen["errors"], json!([]), "{seen}");
    let before = &seen["before"];
    assert_eq!(before["open"], json!(true), "{seen}");
    assert_eq!(before["sorted"], json!("descending"), "{seen}");
    for later in ["after", "kept"] {
        for key in ["open", "words", "seen", "sorted"] {
            assert_eq!(seen[later][key], before[key], "{later} {key}: {seen}");
        }
        let top = |of: &Value| of["top"].as_f64().expect("px");
        assert!((top(&seen[later]) - top(before)).abs() < 4.0, "{later}: {seen}");
    }
    assert!(seen["banner"].as_str().is_some_and(|b| b.contains("cubits")), "{seen}");
}
