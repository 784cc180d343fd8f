//! The scheduling engine against published critical-path examples, against CP-SAT of OR-tools, and
//! against a checker that shares no code with it.

mod common;

use pourwright::engine::{Activity, Budget, Fault, Precedence, Problem, Solution, first, solve};
use proptest::prelude::*;
use serde_json::json;

/// Everything that is wrong with a schedule, by the words of the problem alone: unit by unit of
/// time, not by events.
fn wrongs(problem: &Problem, found: &Solution) -> Vec<String> {
    let mut wrongs = Vec::new();
    let end = |i: usize| found.starts[i] + problem.activities[i].duration;
    if found.starts.len() != problem.activities.len() {
        return vec!["not one start for each activity".into()];
    }
    if found.starts.iter().any(|s| *s < 0) {
        wrongs.push("a start before 0".into());
    }
    for p in &problem.precedences {
        if found.starts[p.after] < end(p.before) + p.lag {
            wrongs.push(format!("{} does not wait for {}", p.after, p.before));
        }
    }
    let last = (0..found.starts.len()).map(end).max().unwrap_or(0);
    if last != found.makespan {
        wrongs.push(format!("makespan {} told as {}", last, found.makespan));
    }
    if found.bound > found.makespan {
        wrongs.push("a bound above the makespan".into());
    }
    for time in 0..last {
        for (r, capacity) in problem.capacities.iter().enumerate() {
            let running =
                (0..found.starts.len()).filter(|i| found.starts[*i] <= time && time < end(*i));
            let used: i32 = running.map(|i| problem.activities[i].demands[r]).sum();
            if used > *capacity {
                wrongs.push(format!("{used} of resource {r} at {time}, there are {capacity}"));
            }
        }
    }
    wrongs
}

fn quick(problem: &Problem, steps: u64, seed: u64) -> Solution {
    solve(problem, &Budget::steps(steps, seed), &mut |_| ()).expect("no faults")
}

/// A small generator of our own for test inputs: repeatable, no quality claimed.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: i32) -> i32 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) % sides as u64) as i32
    }
}

/// 15 to 24 activities; every third problem has lags, every fourth a machine of its own, every
/// fifth long times.
fn random_problem(number: i32) -> Problem {
    let mut dice = Dice(number as u64);
    let count = 15 + dice.roll(10) as usize;
    let unit = if number % 5 == 0 { 97 } else { 1 };
    let mut capacities: Vec<i32> = (0..1 + dice.roll(3)).map(|_| 6 + dice.roll(10)).collect();
    if number % 4 == 0 {
        capacities.push(1);
    }
    let mut problem = Problem { capacities, ..Problem::default() };
    for after in 0..count {
        let demand = |capacity: &i32| match capacity {
            1 => i32::from(dice.roll(3) == 0),
            _ => dice.roll(7),
        };
        let demands = problem.capacities.iter().map(demand).collect();
        problem.activities.push(Activity { duration: unit * dice.roll(11), demands });
        for _ in 0..dice.roll(3) {
            if after > 0 {
                let before = dice.roll(after as i32) as usize;
                let longest = problem.activities[before].duration;
                let lag = match number % 3 {
                    0 => dice.roll(longest + 6) - longest.min(5),
                    _ => 0,
                };
                problem.precedences.push(Precedence { before, after, lag });
            }
        }
    }
    problem
}

#[test]
fn published_critical_paths() {
    // Duration, and the wait for those named before, by index. Sources: "proto7",
    // studylib.net/doc/8378728 example 1; "taylor8_1", problem solutions to ch. 8 of B. W. Taylor,
    // scribd.com/doc/47113515, first table (activities 1-2 1-3 2-4 3-4 3-5 4-5 5-6).
    let proto7: &[(i32, &[usize])] =
        &[(6, &[]), (2, &[0]), (2, &[0]), (3, &[1]), (4, &[3, 5]), (2, &[2]), (1, &[4])];
    let taylor: &[(i32, &[usize])] =
        &[(7, &[]), (10, &[]), (6, &[0]), (5, &[1]), (4, &[1]), (3, &[2, 3]), (2, &[4, 5])];
    for (name, network, length, critical) in
        [("proto7", proto7, 16, &[0, 1, 3, 4, 6][..]), ("taylor8_1", taylor, 20, &[1, 3, 5, 6])]
    {
        let mut problem = Problem::default();
        for (after, (duration, befores)) in network.iter().enumerate() {
            problem.activities.push(Activity { duration: *duration, demands: vec![] });
            for &before in *befores {
                problem.precedences.push(Precedence { before, after, lag: 0 });
            }
        }
        let found = quick(&problem, 0, 0);
        assert_eq!(found.makespan, length, "{name}");
        assert!(found.proven(), "{name}");
        assert_eq!(wrongs(&problem, &found), [""; 0], "{name}");
        // The critical ones run one after the other from 0 to the end.
        let mut at = 0;
        for &i in critical {
            assert_eq!(found.starts[i], at, "{name}, activity {i}");
            at += problem.activities[i].duration;
        }
        assert_eq!(at, length, "{name}");
        // One person alone needs the sum.
        problem.capacities = vec![1];
        problem.activities.iter_mut().for_each(|a| a.demands = vec![1]);
        let alone = quick(&problem, 0, 0);
        assert_eq!(alone.makespan, problem.activities.iter().map(|a| a.duration).sum::<i32>());
        assert!(alone.proven(), "{name}");
    }
}

#[test]
fn equals_cp_sat_on_random_problems() {
    let problems: Vec<Problem> = (1..=72).map(random_problem).collect();
    let found: Vec<Solution> = problems.iter().map(|p| quick(p, 15_000, 1)).collect();
    for (number, (problem, found)) in problems.iter().zip(&found).enumerate() {
        assert_eq!(wrongs(problem, found), [""; 0], "problem {number}");
    }
    let told: Vec<_> = problems
        .iter()
        .map(|p| {
            json!({
                "capacities": p.capacities,
                "activities": p.activities.iter().map(|a| json!([a.duration, a.demands]))
                    .collect::<Vec<_>>(),
                "precedences": p.precedences.iter().map(|p| json!([p.before, p.after, p.lag]))
                    .collect::<Vec<_>>(),
            })
        })
        .collect();
    let question = json!({ "problems": told, "seconds": 8 });
    let Some(answer) = common::ask("makespans against CP-SAT", "cpsat", &question) else { return };
    let mut compared = 0;
    for (number, found) in found.iter().enumerate() {
        let theirs = &answer["problems"][number];
        if theirs["proven"] == true {
            let optimum = theirs["makespan"].as_i64().expect("a number");
            let (bound, makespan) = (i64::from(found.bound), i64::from(found.makespan));
            assert!(bound <= optimum && optimum <= makespan, "problem {number}: {found:?}");
            compared += i32::from(found.proven());
        }
    }
    assert!(compared >= 60, "{compared} proven by both only");
}

#[test]
fn same_steps_same_seed_same_schedule() {
    for number in [3, 14, 15] {
        let problem = random_problem(number);
        assert_eq!(quick(&problem, 3_000, 7), quick(&problem, 3_000, 7));
    }
}

#[test]
fn progress_only_gets_better_and_stops_when_told() {
    let problem = random_problem(21);
    let mut told: Vec<Solution> = Vec::new();
    let found = solve(&problem, &Budget::steps(5_000, 1), &mut |s| told.push(s.clone()));
    let found = found.expect("no faults");
    assert!(told.windows(2).all(|w| w[1].makespan <= w[0].makespan && w[1].bound >= w[0].bound));
    assert_eq!(told.last().map(|s| s.makespan), Some(found.makespan));
    let at_once = Budget { steps: u64::MAX, seed: 1, stop: &|| true };
    let stopped = solve(&problem, &at_once, &mut |_| ()).expect("no faults");
    assert_eq!(wrongs(&problem, &stopped), [""; 0]);
}

#[test]
fn nothing_and_milestones() {
    assert_eq!(quick(&Problem::default(), 10, 0).makespan, 0);
    let milestone = Activity { duration: 0, demands: vec![5] };
    let problem = Problem {
        capacities: vec![1],
        activities: vec![milestone; 3],
        precedences: vec![Precedence { before: 0, after: 2, lag: 9 }],
    };
    let found = quick(&problem, 10, 0);
    assert_eq!((found.makespan, found.proven()), (9, true));
}

#[test]
fn every_fault_is_told() {
    let one = |demands: &[i32]| Activity { duration: 3, demands: demands.to_vec() };
    let problem = Problem {
        capacities: vec![2, -1],
        activities: vec![one(&[3, 0]), one(&[1]), Activity { duration: -1, demands: vec![0, 0] }],
        precedences: vec![
            Precedence { before: 0, after: 9, lag: 0 },
            Precedence { before: 0, after: 1, lag: -4 },
        ],
    };
    let faults = problem.faults();
    for fault in [
        Fault::NegativeCapacity { resource: 1 },
        Fault::TooMuch { activity: 0, resource: 0 },
        Fault::Demands { activity: 1 },
        Fault::NegativeDuration { activity: 2 },
        Fault::NoSuchActivity { precedence: 0 },
        Fault::Lag { precedence: 1 },
    ] {
        assert!(faults.contains(&fault), "{fault} is not among {faults:?}");
    }
    assert_eq!(first(&problem), Err(faults));

    let wait = |before, after| Precedence { before, after, lag: 0 };
    let ring = Problem {
        capacities: vec![],
        activities: vec![one(&[]); 5],
        precedences: vec![wait(0, 1), wait(1, 2), wait(2, 3), wait(3, 1), wait(3, 4)],
    };
    let faults = ring.faults();
    let [Fault::Ring { activities }] = &faults[..] else { panic!("{faults:?}") };
    let mut members = activities.clone();
    members.sort_unstable();
    assert_eq!(members, [1, 2, 3]);
    for (at, &i) in activities.iter().enumerate() {
        let next = activities[(at + 1) % activities.len()];
        assert!(ring.precedences.contains(&wait(i, next)), "{next} does not wait for {i}");
    }

    let long = Problem {
        activities: vec![Activity { duration: i32::MAX, demands: vec![] }],
        ..Problem::default()
    };
    assert_eq!(long.faults(), [Fault::TooLong]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// Whatever the budget, a schedule keeps every rule and is no worse than the first one.
    #[test]
    fn never_worse_than_the_first(number in 100..10_000i32, steps in 0..400u64, seed in 0..9u64) {
        let problem = random_problem(number);
        let start = first(&problem).expect("no faults");
        let found = quick(&problem, steps, seed);
        prop_assert_eq!(wrongs(&problem, &start), [""; 0]);
        prop_assert_eq!(wrongs(&problem, &found), [""; 0]);
        prop_assert!(found.makespan <= start.makespan);
        prop_assert!(found.bound >= start.bound);
    }
}
