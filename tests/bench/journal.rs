//! How long a journal takes to read, and an entry to append: 50,000 entries against 500.
//!
//! `cargo bench --bench journal` prints the medians. Appending is measured alone (lock, write,
//! and the disk told to keep it), on a disk and in memory: it must not depend on the length. The
//! whole command checks the entry against all that went before and takes as long as reading.

use pourwright::Today;
use pourwright::handbook::Handbook;
use pourwright::journal::{append, read};
use std::path::Path;
use std::time::Instant;

// As the command has it.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

const MANIFEST: &str = "\
build: {title: Long, begun: 2020-01-01}
shop:
  crucibles: {pot: {holds: 3 L, family: aluminium}}
  flasks: {box: {inside: 300 x 250 mm, cope: 75 mm, drag: 75 mm}}
patterns:
  p: {made-of: wood, size: 120 x 80 x 40 mm}
parts:
  base: {casting: {pattern: p, alloy: A356, mass: 0.8 kg}}
";

/// A journal of about this many entries: moulds rammed, poured, shaken out, inspected.
fn journal(entries: usize) -> String {
    let mut text = String::new();
    let start: chrono::NaiveDateTime = "2020-02-01T08:00:00".parse().expect("time");
    for i in 0..entries / 5 {
        let at = |m: i64| {
            (start + chrono::Duration::minutes(i as i64 * 30 + m)).format("%Y-%m-%d %H:%M")
        };
        let events = [
            format!(
                "rammed: {{mould: M{i}, pattern: p, flask: box, castings: {{base: 1}}, hours: 1.2 h}}"
            ),
            format!(
                "poured: {{heat: H{i}, alloy: A356, crucible: pot, charge: {{ingot: 1.1 kg, returns: 0.4 kg}}, temperature: 715 C, moulds: [M{i}], heel: 0.1 kg, fuel: 0.6 kg, melt-time: 31 min, weather: \"dry, 12 C\"}}"
            ),
            format!("shaken-out: {{mould: M{i}, after: 2 h}}"),
            format!(
                "inspected: {{mould: M{i}, part: base, pieces: 1, disposition: scrap, mass: 0.8 kg, blemishes: [{{class: B200, where: \"under the feeder\"}}]}}"
            ),
            "done: {part: base, step: fettle, hours: 0.4 h}".to_owned(),
        ];
        for (e, event) in events.iter().enumerate() {
            text += &format!("---\nid: e{i}-{e}\nat: {}\n{event}\n", at(e as i64));
        }
    }
    text
}

fn median(runs: usize, mut each: impl FnMut() -> f64) -> f64 {
    each();
    let mut times: Vec<f64> = (0..runs).map(|_| each()).collect();
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

fn timed<T>(work: impl FnOnce() -> T) -> f64 {
    let start = Instant::now();
    std::hint::black_box(work());
    start.elapsed().as_secs_f64() * 1e3
}

fn appending(folder: &Path, text: &str) -> f64 {
    let path = folder.join("pourwright-bench-journal.yaml");
    std::fs::write(&path, text).expect("journal");
    let mut i = 0;
    let time = median(60, || {
        i += 1;
        let entry = format!("---\nid: a{i}\nat: 2026-03-07 14:20\nnote: {{says: appended}}\n");
        timed(|| append(&path, &entry).expect("appended"))
    });
    std::fs::remove_file(&path).expect("journal");
    time
}

fn main() {
    let book = Handbook::embedded();
    let today = Today { asked: None, clock: "2026-06-01".parse().expect("day") };
    println!(
        "{:>8}  {:>8}  {:>9}  {:>10}  {:>11}  {:>11}",
        "entries", "size", "read", "checked", "append, ssd", "append, ram"
    );
    let disk = std::env::current_dir().expect("folder").join("target");
    std::fs::create_dir_all(&disk).expect("folder");
    for entries in [500, 5_000, 50_000] {
        let text = journal(entries);
        let reading =
            median(7, || timed(|| read("j", text.clone().into_bytes(), &book).expect("sound")));
        let checked = median(7, || {
            timed(|| {
                pourwright::read(MANIFEST.into(), text.clone().into_bytes(), today).expect("sound")
            })
        });
        let ram = Path::new("/dev/shm");
        let in_ram =
            if ram.exists() { format!("{:.3} ms", appending(ram, &text)) } else { "-".into() };
        println!(
            "{entries:>8}  {:>5} kB  {reading:>6.1} ms  {checked:>7.1} ms  {:>8.3} ms  {in_ram:>11}",
            text.len() / 1024,
            appending(&disk, &text)
        );
    }
}
