//! Mutated inputs for every reader: no panic, no input that takes over a second, no more than
//! 300 MB, no number that is none.
//!
//! `cargo test --test fuzzing` tries a fixed number of each, the same in every run;
//! `tests/fuzz --minutes N` goes on for N minutes a target from another seed. What fails is written
//! to `target/fuzz`; once mended, it goes into `corpus/` (a folder a target), which is tried first.

mod mutate;
mod targets;

use mutate::{Drawn, mutated};
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};
use targets::{TARGETS, Target};

/// Longest that an input may take.
const LONGEST: Duration = Duration::from_secs(1);
/// Most that the process may hold, MB, besides what it held before.
const MOST_MB: u64 = 300;
/// Inputs of a target in a usual run of the tests.
const USUAL: u64 = 2_000;

/// A figure of this process, MB; none where the system does not tell it.
fn told_mb(what: &str) -> Option<u64> {
    let status = fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with(what))?;
    Some(line.split_whitespace().nth(1)?.parse::<u64>().ok()? / 1024)
}

/// Forgets the most that the process ever held.
fn forget_peak() {
    let _ = fs::write("/proc/self/clear_refs", "5");
}

fn kept(name: &str) -> Vec<Vec<u8>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzzing/corpus").join(name);
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let mut files: Vec<PathBuf> = entries.map(|e| e.expect("an entry").path()).collect();
    files.sort();
    files.iter().map(|file| fs::read(file).expect("an input")).collect()
}

fn write_down(name: &str, input: &[u8]) -> PathBuf {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/fuzz").join(name);
    fs::create_dir_all(&folder).expect("a folder");
    let file = folder.join(format!(
        "{:x}",
        input.iter().fold(7_u64, |h, b| { (h ^ u64::from(*b)).wrapping_mul(0x0100_0000_01b3) })
    ));
    fs::write(&file, input).expect("written");
    file
}

/// Time that this thread was at work, where the system tells it: what others do on the machine is
/// not the reader's.
fn at_work() -> Option<Duration> {
    let told = fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    Some(Duration::from_nanos(told.split(' ').next()?.parse().ok()?))
}

/// Tries one input.
fn tried(target: &Target, input: &[u8]) -> Duration {
    let (started, before) = (Instant::now(), at_work());
    let result = catch_unwind(AssertUnwindSafe(|| (target.run)(input)));
    let took = match before.zip(at_work()) {
        Some((before, after)) => after - before,
        None => started.elapsed(),
    };
    if result.is_err() {
        panic!("{}: {} makes it panic", target.name, write_down(target.name, input).display());
    }
    if took > LONGEST {
        let file = write_down(target.name, input);
        panic!("{}: {} takes {:.1} s", target.name, file.display(), took.as_secs_f64());
    }
    took
}

fn fuzz(target: &Target) {
    let minutes = std::env::var("POURWRIGHT_FUZZ_MINUTES").ok().and_then(|m| m.parse().ok());
    let most = std::env::var("POURWRIGHT_FUZZ_INPUTS").ok().and_then(|m| m.parse::<u64>().ok());
    let until = minutes.map(|m: f64| Instant::now() + Duration::from_secs_f64(60.0 * m));
    let most = most.unwrap_or(if until.is_some() { u64::MAX } else { USUAL });
    let seed = std::env::var("POURWRIGHT_FUZZ_SEED").ok().and_then(|s| s.parse().ok());
    let mut drawn = Drawn::new(seed.unwrap_or(1));
    let mut pool = (target.seeds)();
    pool.extend(kept(target.name));
    let first = pool.len();
    let before = told_mb("VmRSS").unwrap_or(0);
    forget_peak();
    let (mut count, mut longest) = (0_u64, Duration::ZERO);
    while count < most && until.is_none_or(|until| Instant::now() < until) {
        let input = match pool.get(count as usize) {
            Some(whole) if (count as usize) < first => whole.clone(),
            _ => {
                let base = &pool[drawn.below(pool.len())];
                let other = &pool[drawn.below(pool.len())];
                mutated(base, other, target.words, &mut drawn)
            }
        };
        longest = longest.max(tried(target, &input));
        count += 1;
        // Now and then a mutant is mutated further.
        if input.len() < 8_000 && drawn.below(50) == 0 {
            if pool.len() < first + 200 {
                pool.push(input);
            } else {
                let at = first + drawn.below(200);
                pool[at] = input;
            }
        }
        if count.is_multiple_of(256) || count == most {
            let peak = told_mb("VmHWM").unwrap_or(0).saturating_sub(before);
            assert!(peak <= MOST_MB, "{}: {peak} MB within the last 256 inputs", target.name);
            forget_peak();
        }
    }
    println!("{}: {count} inputs, no panic; the longest took {longest:.1?}", target.name);
}

macro_rules! fuzzed {
    ($($name:ident)*) => {
        $(#[test]
        fn $name() {
            let target = TARGETS.iter().find(|t| t.name == stringify!($name));
            fuzz(target.expect("a target of this name"));
        })*

        #[test]
        fn every_target_is_run() {
            assert_eq!(TARGETS.map(|t| t.name), [$(stringify!($name)),*]);
        }
    };
}

/// What was found once is tried in every run, first of all.
#[test]
fn every_target_has_a_corpus() {
    for target in &TARGETS {
        assert!(kept(target.name).len() >= 3, "{} has no corpus", target.name);
    }
}

fuzzed!(manifest journal quantity stl obj threemf plan arguments);
