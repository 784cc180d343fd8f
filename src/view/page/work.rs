//! The order of work as the page shows it.

use super::{Shown, by_the_clock, plain, shown};
use crate::manifest::Step;
use crate::model::Build;
use crate::plan::{Plan, PlannedMould, Subject, Task};
use serde::Serialize;
use std::collections::HashMap;

/// A piece of work.
#[derive(Debug, Clone, Serialize)]
pub struct TaskView {
    /// Its place in the order of what is left; none where it is done.
    pub place: Option<usize>,
    /// What to do, such as `ram up`.
    pub verb: &'static str,
    /// Word of the step.
    pub step: &'static str,
    /// Name of the part or pattern.
    pub name: String,
    /// Its id.
    pub id: String,
    /// Index of the part to look at; none for a pattern that no part shows.
    pub part: Option<usize>,
    /// Time at the bench.
    pub bench: Option<Shown>,
    /// Wait by the clock.
    pub wait: Option<Shown>,
    /// Whether it can be done now.
    pub now: bool,
    /// Whether it is of the work that sets the finish.
    pub chain: bool,
}

/// The work of the build.
#[derive(Debug, Clone, Serialize)]
pub struct WorkView {
    /// What can be done now, the most urgent first.
    pub now: Vec<TaskView>,
    /// How many more could be done now.
    pub now_more: usize,
    /// The unfinished part that most other parts rest on.
    pub holds_up: Option<HoldsUp>,
    /// Whether the order is that of the plan; else what unlocks the longest chain comes first.
    pub planned: bool,
    /// The next steps.
    pub next: Vec<TaskView>,
    /// The steps after those.
    pub later: Vec<TaskView>,
    /// How many more there are than the page lists.
    pub left_off: usize,
    /// Finished steps.
    pub done: Vec<TaskView>,
    /// How many steps are finished.
    pub done_count: usize,
    /// How many steps there are.
    pub count: usize,
    /// How many are left.
    pub left: usize,
    /// What sets the finish, in order.
    pub chain: Vec<TaskView>,
    /// How many more steps that has.
    pub chain_more: usize,
    /// Bench time that is left.
    pub hours_left: Option<Shown>,
    /// Bench time of the whole build.
    pub hours_in_all: Option<Shown>,
}

/// A part that others wait for.
#[derive(Debug, Clone, Serialize)]
pub struct HoldsUp {
    /// Index of the part.
    pub part: usize,
    /// Its name.
    pub name: String,
    /// How many unfinished parts cannot be finished before it is.
    pub others: usize,
}

/// The part whose unfinished work the most other unfinished parts wait for, by one way or another.
/// Each part is walked from, so a caller with a great many leaves it out.
fn holds_up(build: &Build, plan: &Plan) -> Option<HoldsUp> {
    let mut last = vec![None; build.parts.len()];
    for n in &plan.order {
        if let (Subject::Part(i), false) = (plan.tasks[*n].subject, plan.tasks[*n].done) {
            last[i] = Some(*n);
        }
    }
    let others = |part: usize, from: usize| {
        let (mut seen, mut stack) = (vec![false; plan.tasks.len()], vec![from]);
        let mut waits = vec![false; build.parts.len()];
        while let Some(n) = stack.pop() {
            for next in plan.network.after(n).into_iter().filter(|n| !plan.tasks[*n].done) {
                if !std::mem::replace(&mut seen[next], true) {
                    stack.push(next);
                    if let Subject::Part(i) = plan.tasks[next].subject {
                        waits[i] = i != part;
                    }
                }
            }
        }
        waits.into_iter().filter(|w| *w).count()
    };
    let each = last.iter().enumerate().filter_map(|(part, n)| Some((others(part, (*n)?), part)));
    let (others, part) = each.max_by_key(|(others, part)| (*others, std::cmp::Reverse(*part)))?;
    (others > 1).then(|| HoldsUp { part, name: plain(&build.parts[part].given.name), others })
}

/// What is left in the order of the plan: a step that takes nobody's hours, such as one that is
/// bought, stands before the first that waits for it.
fn in_time(plan: &Plan, left: &mut [usize]) {
    let mut starts = vec![None; plan.tasks.len()];
    let jobs = &plan.schedule.jobs;
    let begins: HashMap<_, _> = jobs.iter().rev().map(|j| ((j.subject, j.step), j.start)).collect();
    for n in plan.order.iter().rev() {
        let task = &plan.tasks[*n];
        let later = || {
            let first = plan.network.after(*n).into_iter().filter_map(|a| starts[a]).min()?;
            let wait = task.time.wait.as_ref().map_or(0.0, |w| w.si());
            chrono::Duration::try_seconds(wait as i64)
                .and_then(|w| chrono::NaiveDateTime::checked_sub_signed(first, w))
        };
        starts[*n] = begins.get(&(task.subject, task.step)).copied().or_else(later);
    }
    left.sort_by_key(|n| (starts[*n].is_none(), starts[*n]));
}

/// The work that sets the finish, in order: by the plan, where free hours, flasks and the furnace
/// count too; without one, the longest chain of what waits for what.
fn sets_the_finish(plan: &Plan) -> Vec<usize> {
    let jobs = &plan.schedule.jobs;
    if jobs.is_empty() {
        return plan.chain.clone();
    }
    let critical = jobs.iter().filter(|j| j.critical);
    let starts: HashMap<_, _> = critical.map(|j| ((j.subject, j.step), j.start)).collect();
    let start = |n: &usize| starts.get(&(plan.tasks[*n].subject, plan.tasks[*n].step));
    let left = plan.order.iter().copied().filter(|n| !plan.tasks[*n].done && start(n).is_some());
    let mut left: Vec<usize> = left.collect();
    left.sort_by_key(|n| start(n));
    left
}

pub(in crate::view) fn verb(step: Step) -> &'static str {
    match step {
        Step::Pattern => "make",
        Step::Core => "make cores for",
        Step::Ram => "ram up",
        Step::Pour => "pour",
        Step::ShakeOut => "shake out",
        Step::Fettle => "fettle",
        Step::Inspect => "inspect",
        Step::Relieve => "stress-relieve",
        Step::Receive => "get in",
        Step::Make => "make",
        Step::Machine => "machine",
        Step::Scrape => "scrape in",
        Step::Fit => "fit",
    }
}

const NOW: usize = 5;
const NEXT: usize = 30;
/// Most parts that are walked from to see which holds up the others.
const MOST_WALKED: usize = 400;

/// The most urgent work at the bench that can be done now; what is only bought is told apart.
pub(in crate::view) fn first_ready(plan: &Plan) -> impl Iterator<Item = usize> {
    at_the_bench(plan).take(NOW)
}

fn at_the_bench(plan: &Plan) -> impl Iterator<Item = usize> {
    plan.ready.iter().copied().filter(|n| plan.tasks[*n].step != Step::Receive)
}

/// Shows the work; no more than `most` steps are listed under each heading.
pub(in crate::view) fn work(build: &Build, plan: &Plan, most: usize) -> WorkView {
    let units = build.header.units;
    let mut chained = vec![false; plan.tasks.len()];
    let mut ready = vec![false; plan.tasks.len()];
    let mut place = vec![None; plan.tasks.len()];
    let chain = sets_the_finish(plan);
    chain.iter().for_each(|n| chained[*n] = true);
    plan.ready.iter().for_each(|n| ready[*n] = true);
    let (done, mut left): (Vec<usize>, Vec<usize>) =
        plan.order.iter().partition(|n| plan.tasks[**n].done);
    let planned = !plan.schedule.jobs.is_empty();
    if planned {
        in_time(plan, &mut left);
    }
    left.iter().enumerate().for_each(|(i, n)| place[*n] = Some(i + 1));
    let mut shows = vec![None; build.patterns.len()];
    for (i, part) in build.parts.iter().enumerate() {
        if let Some(casting) = &part.casting {
            shows[casting.pattern].get_or_insert(i);
        }
    }
    let view = |n: &usize| {
        let task: &Task = &plan.tasks[*n];
        let (id, name, part) = match task.subject {
            Subject::Pattern(i) => {
                let id = plain(&build.patterns[i].id);
                (id.clone(), id, shows[i])
            }
            Subject::Part(i) => {
                let given = &build.parts[i].given;
                (plain(&given.id), plain(&given.name), Some(i))
            }
        };
        let time = |f: &Option<crate::figure::Figure<crate::figure::Time>>, name: &str| {
            f.as_ref().map(|f| shown(f.node(), units, &id, name))
        };
        let word = task.step.word();
        TaskView {
            place: place[*n],
            verb: verb(task.step),
            step: word,
            bench: time(&task.time.hands_on, &format!("hours-{word}")),
            wait: task
                .time
                .wait
                .as_ref()
                .map(|f| by_the_clock(f.node(), units, &id, &format!("wait-{word}"))),
            name,
            id,
            part,
            now: ready[*n],
            chain: chained[*n],
        }
    };
    let total = |f: &Option<crate::figure::Figure<crate::figure::Time>>, name: &str| {
        f.as_ref().map(|f| shown(f.node(), units, "build", name))
    };
    WorkView {
        now: first_ready(plan).map(|n| view(&n)).collect(),
        now_more: at_the_bench(plan).count().saturating_sub(NOW),
        holds_up: if build.parts.len() <= MOST_WALKED { holds_up(build, plan) } else { None },
        planned,
        next: left.iter().take(NEXT).map(view).collect(),
        later: left.iter().skip(NEXT).take(most).map(view).collect(),
        left_off: left.len().saturating_sub(NEXT + most),
        done: done.iter().rev().take(most).map(view).collect(),
        done_count: done.len(),
        count: plan.tasks.len(),
        left: left.len(),
        chain: chain.iter().take(most).map(view).collect(),
        chain_more: chain.len().saturating_sub(most),
        hours_left: total(&plan.hours_left, "hours-left"),
        hours_in_all: total(&plan.hours_in_all, "hours-in-all"),
    }
}

/// What is cast in a mould, by name.
pub(in crate::view) fn cast_in(build: &Build, mould: &PlannedMould) -> String {
    let names = mould.lots().into_iter().map(|(i, _)| plain(&build.parts[i].given.name));
    names.collect::<Vec<_>>().join(" + ")
}
