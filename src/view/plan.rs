//! The work in order.

use super::schedule::ScheduleView;
use super::text::Look;
use super::{FigureView, Head};
use crate::model::Build;
use crate::plan::{Plan, Subject};
use serde::Serialize;

/// The work of a build.
#[derive(Debug, Clone, Serialize)]
pub struct PlanView {
    /// Which build.
    #[serde(flatten)]
    pub head: Head,
    /// Every piece of work in the order to do it.
    pub work: Vec<WorkRow>,
    /// Positions in `work` of what can be done now, the most urgent first.
    pub now: Vec<usize>,
    /// Positions in `work` of the longest chain that is left.
    pub longest_chain: Vec<usize>,
    /// Its length, bench time and waits.
    pub chain_length: Option<FigureView>,
    /// Bench time that is left.
    pub hours_left: Option<FigureView>,
    /// The day that bench time would be worked off, if nothing waited and nothing were redone.
    pub worked_off: Option<String>,
    /// Steps whose time cannot be told.
    pub untimed: usize,
    /// The work that is left, in time.
    pub schedule: ScheduleView,
}

/// A piece of work.
#[derive(Debug, Clone, Serialize)]
pub struct WorkRow {
    /// Id of the part or pattern.
    pub on: String,
    /// The step.
    pub step: &'static str,
    /// Bench time.
    pub hands_on: Option<FigureView>,
    /// Time by the clock with nobody at it.
    pub wait: Option<FigureView>,
    /// Whether it is finished.
    pub done: bool,
    /// Steps of waiting before it.
    pub level: usize,
    /// Positions of what it waits for.
    pub after: Vec<usize>,
}

impl PlanView {
    /// Of a build.
    pub fn new(build: &Build, plan: &Plan) -> Self {
        let units = build.header.units;
        let mut position = vec![0; plan.tasks.len()];
        for (place, task) in plan.order.iter().enumerate() {
            position[*task] = place;
        }
        let places = |list: &[usize]| list.iter().map(|n| position[*n]).collect::<Vec<_>>();
        let work = plan.order.iter().map(|n| {
            let task = &plan.tasks[*n];
            let on = match task.subject {
                Subject::Pattern(i) => &build.patterns[i].id,
                Subject::Part(i) => build.parts[i].id(),
            };
            let view = |f: &Option<crate::figure::Figure<crate::figure::Time>>| {
                f.as_ref().map(|f| FigureView::new(f.node(), units))
            };
            WorkRow {
                on: on.to_string(),
                step: task.step.word(),
                hands_on: view(&task.time.hands_on),
                wait: view(&task.time.wait),
                done: task.done,
                level: task.level,
                after: places(&plan.network.before(*n)),
            }
        });
        let figure = |f: &Option<crate::figure::Figure<crate::figure::Time>>| {
            f.as_ref().map(|f| FigureView::new(f.node(), units))
        };
        let untimed = plan
            .tasks
            .iter()
            .filter(|t| !t.done && t.time.hands_on.is_none() && t.time.wait.is_none());
        Self {
            head: Head::new(build),
            work: work.collect(),
            now: places(&plan.ready),
            longest_chain: places(&plan.chain),
            chain_length: figure(&plan.chain_length),
            hours_left: figure(&plan.hours_left),
            worked_off: plan.worked_off.map(|d| d.to_string()),
            untimed: untimed.count(),
            schedule: ScheduleView::new(build, &plan.schedule),
        }
    }

    /// As text: the next `most` sessions, then when all is finished and what sets it.
    pub fn text(&self, look: &Look, most: usize) -> String {
        let mut out = self.head.text(look);
        let sessions = self.schedule.sessions.len();
        out += &self.schedule.sessions_text(look, most);
        if sessions > most {
            out += &format!("\nand {} more sessions; `plan --all` shows them\n", sessions - most);
        }
        let done = self.work.iter().filter(|w| w.done).count();
        out += "\n";
        out += &self.schedule.summary_text(look);
        let text = |f: &FigureView| match &f.span {
            Some(span) => format!("{} ({span})", f.shown),
            None => f.shown.clone(),
        };
        if let Some(length) = &self.chain_length {
            let says = format!(
                "longest chain    {}, with waits as the shop hours in them: work that waits for \
                 other work, whoever is free; the finish waits for free hours, flasks and the furnace \
                 too",
                text(length)
            );
            out += &look.wrapped(&says, 17);
            out.push('\n');
        }
        if let Some(left) = &self.hours_left {
            out += &format!("bench time left  {}\n", text(left));
        }
        out += &format!("steps            {done} done, {} left\n", self.work.len() - done);
        if self.untimed > 0 {
            out += &look.wrapped(&format!(
                "no time known    {} steps; give them hours under `steps:`, or the pattern a `size`",
                self.untimed
            ), 17);
            out.push('\n');
        }
        out
    }
}
