//! The steps of the build as a network.

use super::Network;
use super::left::{dry_at, left};
use super::subject::{Subject, is_done, standing};
use crate::estimate::{Estimates, StepTime, pattern_times};
use crate::figure::{Because, Figure, Node, Time};
use crate::manifest::Step;
use crate::model::{Build, Standing};
use chrono::NaiveDate;
use std::collections::{BTreeSet, HashMap};

/// A piece of work.
#[derive(Debug, Clone)]
pub struct Task {
    /// On what.
    pub subject: Subject,
    /// Which step.
    pub step: Step,
    /// How long it takes still, if it was begun; else how long.
    pub time: StepTime,
    /// Bench time of all of it.
    pub whole: Option<Figure<Time>>,
    /// Whether the journal says it is finished.
    pub done: bool,
    /// How many steps of waiting lie before it.
    pub level: usize,
    /// Seconds of the longest chain from its start to the end of the build, waits taken as the
    /// hours of the shop that go by.
    pub tail: f64,
}

/// The work of a build in order.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct Plan {
    /// Every piece of work.
    pub tasks: Vec<Task>,
    /// What waits for what.
    pub network: Network,
    /// Numbers of the tasks, in the order to do them.
    pub order: Vec<usize>,
    /// The longest chain of work that is left.
    pub chain: Vec<usize>,
    /// Its length: bench time, and waits as the hours of the shop that go by.
    pub chain_length: Option<Figure<Time>>,
    /// What can be done now, the most urgent first.
    pub ready: Vec<usize>,
    /// Bench time that is left.
    pub hours_left: Option<Figure<Time>>,
    /// Bench time of the whole build.
    pub hours_in_all: Option<Figure<Time>>,
    /// The day the bench time that is left would be worked off at the hours of the shop, if
    /// nothing waited for anything and nothing were cast again.
    pub worked_off: Option<NaiveDate>,
    /// Where each part stands.
    pub standings: Vec<Standing>,
    /// The work that is left, in time.
    pub schedule: super::Schedule,
}

impl Plan {
    /// Takes a schedule: what can be done now is then told in its order.
    pub fn take(&mut self, schedule: super::Schedule) {
        let starts: HashMap<(Subject, Step), chrono::NaiveDateTime> =
            schedule.jobs.iter().rev().map(|job| ((job.subject, job.step), job.start)).collect();
        let start = |n: &usize| {
            let task = &self.tasks[*n];
            let start = starts.get(&(task.subject, task.step));
            (start.is_none(), start.copied())
        };
        self.ready.sort_by_key(start);
        self.schedule = schedule;
    }

    /// The figures of the build as a whole, by the name that `why build` answers to.
    pub fn figures(&self) -> Vec<(&'static str, Node)> {
        [
            ("hours-left", &self.hours_left),
            ("hours-in-all", &self.hours_in_all),
            ("chain-length", &self.chain_length),
        ]
        .into_iter()
        .filter_map(|(name, f)| Some((name, f.as_ref()?.node().clone())))
        .collect()
    }
}

/// Orders the work of a build.
pub fn plan(build: &Build, estimates: &Estimates) -> Plan {
    let week = week(build);
    let steps = Steps::of(build, estimates);
    let network = steps.network(build, &week);
    let mut tasks = steps.tasks;
    for ((task, level), tail) in tasks.iter_mut().zip(network.levels()).zip(network.tails()) {
        (task.level, task.tail) = (level, tail);
    }
    let (mut chain, _) = network.longest();
    chain.retain(|n| !tasks[*n].done);
    let hours_left = bench_time("bench time left", build, tasks.iter().filter(|t| !t.done), |t| {
        t.time.hands_on.as_ref()
    });
    Plan {
        order: network.order(),
        chain_length: chain_length(build, chain.iter().map(|n| &tasks[*n]), &week),
        chain,
        ready: ready(build, &tasks, &network),
        worked_off: hours_left.as_ref().and_then(|h| worked_off(build, h.si())),
        hours_left,
        hours_in_all: bench_time("bench time in all", build, tasks.iter(), |t| t.whole.as_ref()),
        standings: (0..build.parts.len()).map(|i| standing(build, i)).collect(),
        schedule: super::Schedule::default(),
        tasks,
        network,
    }
}

/// Every step of a build, and its number by what it is done to.
#[derive(Default)]
struct Steps {
    tasks: Vec<Task>,
    numbers: HashMap<(Subject, Step), usize>,
}

impl Steps {
    /// The patterns that something is cast from, then the steps of each part.
    fn of(build: &Build, estimates: &Estimates) -> Self {
        let mut steps = Self::default();
        let used: BTreeSet<usize> =
            build.parts.iter().filter_map(|p| p.casting.as_ref()).map(|c| c.pattern).collect();
        let times = pattern_times(build);
        for &i in &used {
            let done = build.history.patterns.contains(&i);
            steps.add(build, Subject::Pattern(i), Step::Pattern, times[i].clone(), done);
        }
        for (i, part) in build.parts.iter().enumerate() {
            for step in part.steps() {
                let time = estimates.step_time(build, i, step);
                steps.add(build, Subject::Part(i), step, time, is_done(build, i, part, step));
            }
        }
        steps
    }

    fn add(&mut self, build: &Build, subject: Subject, step: Step, time: StepTime, done: bool) {
        self.numbers.insert((subject, step), self.tasks.len());
        let whole = time.hands_on.clone();
        let time = if done { time } else { left(build, subject.bench(step), time) };
        self.tasks.push(Task { subject, step, time, whole, done, level: 0, tail: 0.0 });
    }

    /// A step of a part; its pattern's is told by the part that is cast from it.
    fn number(&self, build: &Build, part: usize, step: Step) -> Option<usize> {
        let subject = match step {
            Step::Pattern => Subject::Pattern(build.parts[part].casting.as_ref()?.pattern),
            _ => Subject::Part(part),
        };
        self.numbers.get(&(subject, step)).copied()
    }

    /// What waits for what: each step for the one before it, and for what its part needs.
    fn network(&self, build: &Build, week: &Figure<Time>) -> Network {
        let mut network = Network::default();
        for task in &self.tasks {
            let wait = task.time.wait.as_ref().map(|w| meanwhile(w, week));
            let length = task.time.hands_on_si() + wait.map_or(0.0, |w| w.si());
            network.add(if task.done { 0.0 } else { length });
        }
        for (i, part) in build.parts.iter().enumerate() {
            let mut last = self.number(build, i, Step::Pattern);
            for step in part.steps() {
                let number = self.numbers[&(Subject::Part(i), step)];
                if let Some(last) = last {
                    network.wait(last, number);
                }
                last = Some(number);
            }
            for need in &part.needs {
                let from = self.number(build, need.part, need.step);
                if let Some((from, to)) = from.zip(self.number(build, i, need.before)) {
                    network.wait(from, to);
                }
            }
        }
        network
    }
}

/// What can be done now: all before it is done and dry. The most urgent first.
fn ready(build: &Build, tasks: &[Task], network: &Network) -> Vec<usize> {
    let over = |n: &usize| {
        let task = &tasks[*n];
        let dries = || dry_at(build, task.subject.bench(task.step), &task.time);
        task.done && dries().is_none_or(|at| at.date() <= build.today)
    };
    let free = |n: &usize| !tasks[*n].done && network.before(*n).iter().all(over);
    let mut ready: Vec<usize> = (0..tasks.len()).filter(free).collect();
    ready.sort_by(|a, b| tasks[*b].tail.total_cmp(&tasks[*a].tail).then(a.cmp(b)));
    ready
}

/// Bench time of these tasks together.
fn bench_time<'a>(
    name: &'static str,
    build: &Build,
    tasks: impl Iterator<Item = &'a Task>,
    time: impl Fn(&Task) -> Option<&Figure<Time>>,
) -> Option<Figure<Time>> {
    let named = |task: &Task| Some(time(task)?.named(label(build, task)));
    Figure::sum(name, &tasks.filter_map(named).collect::<Vec<_>>())
}

/// Bench time along a chain, and its waits as the hours of the shop that go by.
fn chain_length<'a>(
    build: &Build,
    chain: impl Iterator<Item = &'a Task>,
    week: &Figure<Time>,
) -> Option<Figure<Time>> {
    let mut along: Vec<Figure<Time>> = Vec::new();
    for task in chain {
        let of = label(build, task);
        let wait = task.time.wait.as_ref().map(|w| meanwhile(w, week));
        along.extend(task.time.hands_on.as_ref().map(|f| f.named(of.clone())));
        along.extend(wait.map(|f| f.named(format!("{of}, waiting"))));
    }
    let sum = Figure::sum("longest chain left", &along)?;
    Some(sum.noting(
        "work that waits for other work, whoever is free; the finish waits for free hours too",
    ))
}

/// Hours of the shop in a week, all people together.
fn week(build: &Build) -> Figure<Time> {
    let hours: f64 = build.shop.people.values().flat_map(|p| p.hours).sum();
    Figure::counted("hours of the shop in a week", hours, "the people's hours in the manifest")
}

/// Hours of the shop that go by while something waits: what makes waits and bench time one sum.
fn meanwhile(wait: &Figure<Time>, week: &Figure<Time>) -> Figure<Time> {
    const WEEK: f64 = 7.0 * 86_400.0;
    let range = wait.node().range().map(|w| w * week.si() / WEEK);
    let nodes = vec![wait.node().clone(), week.node().clone()];
    Figure::new(
        "waiting",
        range,
        Because::Closed("wait x hours of the shop in a week / a week", nodes),
    )
}

/// The day on which so many seconds of bench time are worked off; none within 50 years.
fn worked_off(build: &Build, mut seconds: f64) -> Option<NaiveDate> {
    const MOST_DAYS: usize = 50 * 366;
    build.today.iter_days().take(MOST_DAYS).find(|day| {
        seconds -= build.shop.hours_on(*day);
        seconds <= 0.0
    })
}

fn label(build: &Build, task: &Task) -> String {
    let id = match task.subject {
        Subject::Pattern(i) => &build.patterns[i].id,
        Subject::Part(i) => build.parts[i].id(),
    };
    format!("{id}: {}", task.step.word())
}
