//! The work in order.

use super::text::{Look, Side, finished};
use super::{FigureView, Head};
use crate::build::Build;
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
    /// Parts that no flask or crucible takes, or whose time cannot be told.
    pub untimed: usize,
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
        }
    }

    /// As text: what can be done now, then all that is left (the next `most`), then the chain.
    pub fn text(&self, look: &Look, most: usize) -> String {
        let mut out = self.head.text();
        out += &look.heading("Now");
        out += &self.table(look, self.now.iter().copied().take(12));
        if self.now.len() > 12 {
            out += &format!("and {} more that nothing holds back\n", self.now.len() - 12);
        }
        let left: Vec<usize> = (0..self.work.len()).filter(|i| !self.work[*i].done).collect();
        let done = self.work.len() - left.len();
        let later: Vec<usize> = left.iter().copied().filter(|i| !self.now.contains(i)).collect();
        out += &look.heading("After that, in order");
        out += &self.table(look, later.iter().copied().take(most));
        if later.len() > most {
            out += &format!("and {} more steps; `plan --all` shows them\n", later.len() - most);
        }
        out += &look.heading("Longest chain left");
        let chain: Vec<String> = self
            .longest_chain
            .iter()
            .map(|i| format!("{} {}", self.work[*i].on, self.work[*i].step))
            .collect();
        out += &look.wrapped(&chain.join(", "), 0);
        out.push('\n');
        let text = |f: &FigureView| match &f.span {
            Some(span) => format!("{} ({span})", f.shown),
            None => f.shown.clone(),
        };
        out += "\n";
        if let Some(length) = &self.chain_length {
            out +=
                &format!("longest chain    {}, waits as the shop hours that go by\n", text(length));
        }
        if let Some(left) = &self.hours_left {
            out += &format!("bench time left  {}\n", text(left));
        }
        if let Some(day) = &self.worked_off {
            let says = format!(
                "worked off       {day} at the shop's hours, if nothing is cast again and nothing waits"
            );
            out += &look.wrapped(&says, 17);
            out.push('\n');
        }
        out += &format!("steps            {done} done, {} left\n", left.len());
        if self.untimed > 0 {
            out += &look.wrapped(&format!(
                "no time known    {} steps; give them hours under `steps:`, or the pattern a `size`",
                self.untimed
            ), 17);
            out.push('\n');
        }
        out
    }

    fn table(&self, look: &Look, rows: impl Iterator<Item = usize>) -> String {
        let mut table = look.table(&[
            ("step", Side::Left),
            ("of", Side::Left),
            ("bench", Side::Right),
            ("wait", Side::Right),
        ]);
        for i in rows {
            let row = &self.work[i];
            let shown =
                |f: &Option<FigureView>| f.as_ref().map_or(String::new(), |f| f.shown.clone());
            table.add_row(vec![
                row.step.to_owned(),
                row.on.clone(),
                shown(&row.hands_on),
                shown(&row.wait),
            ]);
        }
        finished(&table)
    }
}
