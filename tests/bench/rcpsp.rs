//! Project scheduling against the best known makespans of a folder of instances.
//!
//! `cargo bench --bench rcpsp -- FOLDER [--seconds S] [--every K] [--seed N] [--each]` solves every
//! K-th instance of the folder for S seconds at most, one after the other, on one thread. Instances
//! are JSON: `{name, resources: [{name, capacity}], activities: [{id, duration, demand,
//! successors}], best_known: {lower, upper, proven}}`. Without a folder only the made-up row of one
//! pair of hands is measured.

use pourwright::engine::{Activity, Budget, Precedence, Problem, first, solve};
use serde_json::Value;
use std::time::Instant;

/// One instance: percent over the best known makespan, seconds.
struct Row {
    proven: bool,
    first: f64,
    found: f64,
    took: f64,
    at_first: f64,
}

/// Seconds that this thread has been on a core, where Linux tells; a busy machine does not count.
/// Elsewhere, seconds on the clock since `start`.
fn seconds_on_core(start: Instant) -> f64 {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let on_core = told.and_then(|t| t.split(' ').next()?.parse::<f64>().ok());
    on_core.map_or(start.elapsed().as_secs_f64(), |ns| 1e-9 * ns)
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut folder = None;
    let (mut seconds, mut every, mut seed, mut each) = (1.0, 1, 1, false);
    let mut words = std::env::args().skip(1).filter(|word| word != "--bench");
    while let Some(word) = words.next() {
        let mut value = || words.next().ok_or(format!("{word} what?"));
        match word.as_str() {
            "--seconds" => seconds = value()?.parse()?,
            "--every" => every = value()?.parse()?,
            "--seed" => seed = value()?.parse()?,
            "--each" => each = true,
            _ => folder = Some(word),
        }
    }
    one_pair_of_hands(seed)?;
    let Some(folder) = folder else { return Ok(()) };
    let mut files: Vec<_> = std::fs::read_dir(&folder)?
        .map(|entry| entry.map(|e| e.path()))
        .collect::<Result<_, _>>()?;
    files.retain(|path| path.extension().is_some_and(|e| e == "json"));
    files.sort();
    let mut rows = Vec::new();
    let clock = Instant::now();
    for path in files.iter().step_by(every) {
        let instance: Value = serde_json::from_slice(&std::fs::read(path)?)?;
        let problem = read(&instance).ok_or("not an instance")?;
        let known = instance["best_known"]["upper"].as_i64().ok_or("no best known")? as f64;
        let now = || seconds_on_core(clock);
        let start = now();
        let rules = first(&problem).map_err(|f| format!("{f:?}"))?;
        let at_first = now() - start;
        let start = now();
        let stop = || now() - start >= seconds;
        let budget = Budget { steps: u64::MAX, seed, stop: &stop };
        let found = solve(&problem, &budget, &mut |_| ()).map_err(|f| format!("{f:?}"))?;
        let took = now() - start;
        let over = |makespan: i32| 100.0 * (f64::from(makespan) - known) / known;
        if each {
            println!(
                "{:<12} first {:>5} found {:>5} bound {:>5} known {known:>5} {:>8.1} ms",
                instance["name"].as_str().unwrap_or_default(),
                rules.makespan,
                found.makespan,
                found.bound,
                1000.0 * took
            );
        }
        if instance["best_known"]["proven"] == true && f64::from(found.bound) > known {
            return Err(format!("{}: bound above a proven optimum", instance["name"]).into());
        }
        rows.push(Row {
            proven: found.proven(),
            first: over(rules.makespan),
            found: over(found.makespan),
            took,
            at_first,
        });
    }
    let count = rows.len() as f64;
    let mean = |of: &dyn Fn(&Row) -> f64| rows.iter().map(of).sum::<f64>() / count;
    let mut times: Vec<f64> = rows.iter().map(|r| 1000.0 * r.took).collect();
    times.sort_by(f64::total_cmp);
    println!("instances                     {count}, {seconds} s each at most");
    println!(
        "proven                        {:.1} %",
        100.0 * mean(&|r| f64::from(u8::from(r.proven)))
    );
    println!("mean over best known          {:.3} %", mean(&|r| r.found));
    println!("of the first schedule         {:.3} %", mean(&|r| r.first));
    println!(
        "time on a core, median and 90 %         {:.2} ms, {:.1} ms",
        times[times.len() / 2],
        times[times.len() * 9 / 10]
    );
    println!("time of the first, mean       {:.2} ms", 1000.0 * mean(&|r| r.at_first));
    Ok(())
}

fn read(instance: &Value) -> Option<Problem> {
    let int = |v: &Value| v.as_i64().and_then(|v| i32::try_from(v).ok());
    let capacities = instance["resources"]
        .as_array()?
        .iter()
        .map(|r| int(&r["capacity"]))
        .collect::<Option<_>>()?;
    let list = instance["activities"].as_array()?;
    let at = |id: &Value| list.iter().position(|a| a["id"] == *id);
    let (mut activities, mut precedences) = (Vec::new(), Vec::new());
    for (before, a) in list.iter().enumerate() {
        let demands = a["demand"].as_array()?.iter().map(int).collect::<Option<_>>()?;
        activities.push(Activity { duration: int(&a["duration"])?, demands });
        for id in a["successors"].as_array()? {
            precedences.push(Precedence { before, after: at(id)?, lag: 0 });
        }
    }
    Some(Problem { capacities, activities, precedences })
}

/// 250 activities of one person, in 50 chains with waits that hold one of six frames, in minutes:
/// the work of the one person is nearly the makespan, and the bound must see that at once.
fn one_pair_of_hands(seed: u64) -> Result<(), Box<dyn std::error::Error>> {
    let mut state = seed;
    let mut random = move |below: u64| {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((state >> 33) % below) as i32
    };
    let mut problem = Problem { capacities: vec![1, 6, 1], ..Problem::default() };
    for chain in 0..50 {
        for step in 0..5 {
            let here = problem.activities.len();
            let frame = i32::from(step == 2 || step == 3);
            let oven = i32::from(step == 3);
            problem
                .activities
                .push(Activity { duration: 15 + 15 * random(20), demands: vec![1, frame, oven] });
            if step > 0 {
                let lag = if step == 4 { 60 * random(24) } else { 0 };
                problem.precedences.push(Precedence { before: here - 1, after: here, lag });
            }
            if step == 4 && chain >= 10 && random(3) == 0 {
                let before = 5 * random(chain as u64 - 5) as usize + 4;
                problem.precedences.push(Precedence { before, after: here, lag: 0 });
            }
        }
    }
    let work: i32 = problem.activities.iter().map(|a| a.duration).sum();
    let clock = Instant::now();
    let start = seconds_on_core(clock);
    let stop = || seconds_on_core(clock) - start >= 2.0;
    let found = solve(&problem, &Budget { steps: u64::MAX, seed, stop: &stop }, &mut |_| ())
        .map_err(|f| format!("{f:?}"))?;
    println!(
        "one pair of hands             250 activities, {work} min of work: makespan {}, bound {}, {:.1} ms",
        found.makespan,
        found.bound,
        1000.0 * (seconds_on_core(clock) - start)
    );
    Ok(())
}
