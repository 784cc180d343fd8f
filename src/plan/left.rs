//! What is left of work that was begun, and what today's hours went to already.

use super::calendar::{Gone, Minute};
use super::subject::is_done;
use super::work::{Firing, melts};
use crate::estimate::{Estimates, Lots, StepTime, set_up, step_time};
use crate::figure::{Because, Figure, Number, Time};
use crate::journal::{Done, Event, Poured, Rammed};
use crate::manifest::{Furnace, Step};
use crate::model::{Bench, Build};
use chrono::{NaiveDateTime, TimeDelta, Timelike};

/// Work that was begun and of which nobody says what is left takes so long still, at least, in
/// seconds. Common practice, no source.
const AT_LEAST: f64 = 900.0;

/// What is left of a step. Of the work, by the hours that were worked on it: what the builder said
/// last, else the estimate less those hours. Of a wait, what of it has not gone by since it began.
pub(super) fn left(build: &Build, bench: Bench, time: StepTime) -> StepTime {
    let time = waited(build, bench, on_its_way(build, bench, cores_left(build, bench, time)));
    let time = again(build, bench, time);
    let worked = build.history.worked_on(bench);
    let said = worked.iter().rposition(|w| w.left.is_some());
    let from = said.and_then(|at| worked[at].left.as_ref());
    let Some(whole) = from.or(time.hands_on.as_ref()) else { return time };
    let since = &worked[said.map_or(0, |at| at + 1)..];
    let hands_on = if since.is_empty() { whole.clone() } else { less(whole, since) };
    StepTime { hands_on: Some(hands_on), ..time }
}

/// Work that was finished on castings of which some were scrapped since.
fn again(build: &Build, bench: Bench, time: StepTime) -> StepTime {
    let Bench::Part(part, step) = bench else { return time };
    let Some(again) = build.history.again.get(&(part, step)) else { return time };
    let (again, all) = (f64::from(*again), f64::from(build.parts[part].given.quantity));
    let hands_on = time.hands_on.map(|whole| {
        let count = |name, n| Figure::<Number>::counted(name, n, "castings of the part");
        let [left, of] = [count("castings made again", again), count("castings", all)];
        let nodes = vec![whole.node().clone(), left.node().clone(), of.node().clone()];
        let because = Because::Closed("time for all x castings made again / castings", nodes);
        Figure::new(
            "time for those made again",
            whole.node().range().map(|t| t * again / all),
            because,
        )
    });
    StepTime { hands_on, ..time }
}

/// Cores of the castings that have none yet.
fn cores_left(build: &Build, bench: Bench, time: StepTime) -> StepTime {
    let Bench::Part(part, Step::Core) = bench else { return time };
    let (left, all) = (build.to_core(part), build.parts[part].given.quantity);
    if left >= all {
        return time;
    }
    let share = f64::from(left) / f64::from(all);
    let hands_on = time.hands_on.map(|whole| {
        let count = |name, n| Figure::<Number>::counted(name, f64::from(n), "castings of the part");
        let [left, all] = [count("castings without cores", left), count("castings", all)];
        let nodes = vec![whole.node().clone(), left.node().clone(), all.node().clone()];
        let because = Because::Closed("cores of all x castings without cores / castings", nodes);
        Figure::new("cores left to make", whole.node().range().map(|t| t * share), because)
    });
    StepTime { hands_on, ..time }
}

/// A delivery runs from the day it was ordered, or to the day it is expected.
fn on_its_way(build: &Build, bench: Bench, time: StepTime) -> StepTime {
    let Bench::Part(part, Step::Receive) = bench else { return time };
    let id = build.parts[part].id();
    let Some(order) = build.history.on_order.iter().find(|o| o.of == *id) else { return time };
    let seconds = |days: i64| days as f64 * 86_400.0;
    let gone = seconds((build.today - order.ordered).num_days().max(0));
    let wait = match order.expected {
        Some(day) => {
            let left = seconds((day - build.today).num_days().max(0));
            Some(Figure::counted("delivery left", left, "to the day it is expected"))
        }
        None => time.wait.map(|wait| {
            let range = wait.node().range().map(|t| (t - gone).max(0.0));
            let nodes = vec![wait.node().clone()];
            let because = Because::Closed("delivery - time since it was ordered", nodes);
            Figure::new("delivery left", range, because)
        }),
    };
    StepTime { wait, ..time }
}

/// Castings relieve from the moment that what comes before is over.
fn waited(build: &Build, bench: Bench, time: StepTime) -> StepTime {
    let Bench::Part(part, step @ Step::Relieve) = bench else { return time };
    let steps = build.parts[part].steps();
    let mut before = steps.iter().take_while(|s| **s != step);
    if !before.all(|s| is_done(build, part, &build.parts[part], *s)) {
        return time;
    }
    let id = build.parts[part].id();
    let about = |event: &Event| match event {
        Event::Done(e) => e.part.as_ref().is_some_and(|w| w.value == *id),
        Event::Inspected(e) => e.part.value == *id,
        _ => false,
    };
    let Some(began) = build.history.log.iter().rev().find(|e| about(&e.event)) else { return time };
    let gone = build.today.and_time(chrono::NaiveTime::MIN) - began.at;
    let gone = gone.num_seconds().max(0) as f64;
    let wait = time.wait.map(|wait| {
        let range = wait.node().range().map(|t| (t - gone).max(0.0));
        let nodes = vec![wait.node().clone()];
        Figure::new(
            "time left to wait",
            range,
            Because::Closed("wait - time since it began", nodes),
        )
    });
    StepTime { wait, ..time }
}

/// When what was finished is dry or cured, so that the next step may begin; none where it has no
/// wait, or where nobody says when it was finished. Relieving is a wait of its own.
pub(super) fn dry_at(build: &Build, bench: Bench, time: &StepTime) -> Option<NaiveDateTime> {
    if matches!(bench, Bench::Part(_, Step::Relieve | Step::Receive | Step::ShakeOut)) {
        return None;
    }
    let wait = time.wait.as_ref()?;
    let about = |event: &Event| match (event, bench) {
        (Event::Done(e), Bench::Pattern(i)) => {
            e.pattern.as_ref().is_some_and(|w| w.value == build.patterns[i].id)
        }
        (Event::Done(e), Bench::Part(i, step)) => {
            let of = e.part.as_ref().is_some_and(|w| w.value == *build.parts[i].id());
            of && e.step == step
        }
        _ => false,
    };
    let done = build.history.log.iter().rev().find(|e| about(&e.event))?;
    Some(done.at + TimeDelta::seconds(wait.si().ceil() as i64))
}

fn less(whole: &Figure<Time>, since: &[crate::model::Worked]) -> Figure<Time> {
    let hours: f64 = since.iter().map(|w| w.hours.si()).sum();
    let range = whole.node().range().map(|t| (t - hours).max(AT_LEAST.min(t)));
    let hours = since.iter().map(|w| w.hours.node().clone());
    let nodes = std::iter::once(whole.node().clone()).chain(hours).collect();
    const SAYS: &str = "time in all - time worked, a quarter of an hour at least";
    Figure::new("time left", range, Because::Closed(SAYS, nodes))
}

/// The time of a step of one mould that holds these castings, and how many moulds share it.
pub(super) fn of_mould(
    build: &Build,
    estimates: &Estimates,
    lots: &[(usize, u32)],
    step: Step,
) -> (StepTime, u32) {
    let Some((lead, _)) = lots.first() else { return (StepTime::default(), 1) };
    match estimates.shared(build, lots.iter().map(|(part, _)| *part)) {
        Some(shared) => (shared.time(step), 1),
        None => {
            let estimate = estimates.castings[*lead].as_ref();
            let time = step_time(build, &build.parts[*lead], estimate, step);
            (time, estimate.map_or(1, |e| e.moulds))
        }
    }
}

/// What is gone of today by the journal: the minutes at the bench that it tells, else as they are
/// estimated; and all that lies before the last of that work.
pub(super) fn gone_today(build: &Build, estimates: &Estimates) -> Gone {
    let day = Day { build, estimates };
    let today = build.history.log.iter().filter(|e| e.at.date() == build.today);
    let work = today.map(|entry| (entry.at.time(), day.of(&entry.event)));
    let work: Vec<_> = work.filter(|(_, seconds)| *seconds > 0.0).collect();
    let poured = build.history.log.iter().filter(|e| e.at.date() == build.today);
    let cleared = poured.filter_map(|entry| match &entry.event {
        Event::Poured(e) => Some(60.0 * Firing::of(build, day.furnace(e)?).clear_up[1]),
        _ => None,
    });
    let clear_up = cleared.fold(0.0, f64::max);
    // The session ends with clearing up.
    let seconds = work.iter().map(|(_, seconds)| seconds).sum::<f64>() + clear_up;
    let last = work.iter().map(|(at, _)| at.num_seconds_from_midnight()).max();
    Gone {
        minutes: (seconds / 60.0 - 1e-6).ceil() as Minute,
        clear_up: (clear_up / 60.0 - 1e-6).ceil() as Minute,
        lit: None,
        until: Minute::from(last.unwrap_or(0)).div_euclid(60),
    }
}

struct Day<'a> {
    build: &'a Build,
    estimates: &'a Estimates,
}

impl Day<'_> {
    /// Seconds that an entry stands for.
    fn of(&self, event: &Event) -> f64 {
        match event {
            Event::Rammed(e) => self.ramming(e),
            Event::Poured(e) => self.pouring(e),
            Event::ShakenOut(e) => self.mould(&e.mould.value, Step::ShakeOut),
            Event::Worked(e) => e.hours.si(),
            Event::Done(e) => self.finished(e),
            _ => 0.0,
        }
    }

    fn ramming(&self, e: &Rammed) -> f64 {
        e.hours.as_ref().map_or_else(|| self.mould(&e.mould.value, Step::Ram), Figure::si)
    }

    /// Melting as it was logged, with setting up where the furnace was cold, else what the furnace takes
    /// for its moulds; and the pours.
    fn pouring(&self, e: &Poured) -> f64 {
        let furnace = self.furnace(e);
        let hot = self.build.history.heats.get(&e.heat.value).is_some_and(|heat| heat.hot);
        let melt = || {
            let Some(furnace) = furnace else { return 0.0 };
            let attempts =
                e.moulds.iter().filter_map(|m| self.build.history.attempts.get(&m.value));
            let moulds = attempts.filter_map(|a| self.estimates.mould(self.build, &a.castings));
            let melts = moulds.map(|mould| melts(self.build, furnace, mould));
            60.0 * Firing::of(self.build, furnace).before_pour(melts, hot)[1]
        };
        let set_up = furnace.filter(|_| !hot).and_then(|furnace| set_up(self.build, furnace));
        let logged = e.melt_time.as_ref().map(|time| time.si() + set_up.map_or(0.0, Figure::si));
        let melt = logged.unwrap_or_else(melt);
        melt + e.moulds.iter().map(|m| self.mould(&m.value, Step::Pour)).sum::<f64>()
    }

    /// The furnace of a heat.
    fn furnace(&self, e: &Poured) -> Option<&Furnace> {
        let heat = self.build.history.heats.get(&e.heat.value)?;
        self.build.shop.furnaces.get(heat.furnace.as_ref()?)
    }

    fn mould(&self, mould: &str, step: Step) -> f64 {
        let Some(attempt) = self.build.history.attempts.get(mould) else { return 0.0 };
        let lots: &Lots = &attempt.castings;
        let (time, shares) = of_mould(self.build, self.estimates, lots, step);
        time.hands_on_si() / f64::from(shares.max(1))
    }

    /// The hours of a step that is finished, less those that were told before.
    fn finished(&self, e: &Done) -> f64 {
        let build = self.build;
        let part = e.part.as_ref().and_then(|w| build.part(&w.value));
        let pattern = e.pattern.as_ref();
        let pattern = pattern.and_then(|w| build.patterns.iter().position(|p| p.id == w.value));
        let (bench, usual) = match (part, pattern) {
            (Some(part), _) => {
                let time = self.estimates.step_time(build, part, e.step);
                (Bench::Part(part, e.step), time.hands_on_si())
            }
            (None, Some(pattern)) => {
                let times = crate::estimate::pattern_times(build);
                (Bench::Pattern(pattern), times[pattern].hands_on_si())
            }
            (None, None) => return 0.0,
        };
        let before: f64 = build.history.worked_on(bench).iter().map(|w| w.hours.si()).sum();
        (e.hours.as_ref().map_or(usual, Figure::si) - before).max(0.0)
    }
}
