//! Whether a schedule keeps the rules of the shop: written from the rules, sharing nothing with the
//! planner. It takes the build as read and the JSON that `plan --all` and `estimate` print, and
//! tells every rule that is broken.

use super::told::{Job, Told, day};
use chrono::{Datelike, NaiveTime};
use pourwright::figure::{Figure, Quantity};
use pourwright::journal::Event;
use pourwright::manifest::{Step, StepGiven};
use pourwright::model::{Build, Part};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// A mould of sand that stands less than this is poured in the session in which it is rammed.
pub const A_DAY: i64 = 24 * 60;

/// Every rule that this schedule breaks, in words.
pub fn broken(build: &Build, plan: &Value, estimate: &Value) -> Vec<String> {
    let told = match Told::read(build, plan, estimate) {
        Ok(told) => told,
        Err(says) => return vec![says],
    };
    let mut check = Check { build, told, faults: Vec::new() };
    check.all_is_done_once();
    check.in_order();
    check.dried();
    check.people();
    check.unbroken();
    check.moulds();
    check.furnaces();
    check.cleared();
    check.crucibles();
    check.lifting();
    check.firsts();
    check.flasks_and_sand();
    check.machines();
    check.side_by_side();
    check.supply();
    check.figures(&plan["schedule"]);
    check.faults
}

pub struct Check<'a> {
    pub build: &'a Build,
    pub told: Told,
    pub faults: Vec<String>,
}

/// Steps that are done mould by mould.
fn by_mould(step: &str) -> bool {
    ["ram", "pour", "shake-out"].contains(&step)
}

/// Seconds as minutes, a begun minute whole.
pub fn minutes(seconds: f64) -> i64 {
    (seconds / 60.0 - 1e-6).ceil() as i64
}

/// The least that a figure may be: a pot is filled by no more than it surely takes.
pub fn least<Q: Quantity>(figure: &Figure<Q>) -> f64 {
    figure.node().range().low
}

/// Names of a part's steps, in order.
fn steps(part: &Part) -> Vec<&'static str> {
    part.steps().into_iter().map(Step::word).collect()
}

impl Check<'_> {
    pub fn must(&mut self, holds: bool, says: impl FnOnce() -> String) {
        if !holds {
            self.faults.push(says());
        }
    }

    /// Work that cannot be planned, as the schedule says, and all that waits for it.
    fn left_out(&self) -> BTreeSet<(usize, &'static str)> {
        let mut out = BTreeSet::new();
        let parts = &self.build.parts;
        for (i, part) in parts.iter().enumerate() {
            let named = |m: &String| {
                m.starts_with(&format!("{}:", part.id()))
                    || (part.casting.is_some() && m.contains("no furnace"))
            };
            if self.told.missing.iter().any(named) {
                out.extend(["ram", "pour", "shake-out"].map(|s| (i, s)));
            }
        }
        loop {
            let before = out.len();
            for (i, part) in parts.iter().enumerate() {
                for need in &part.needs {
                    if out.contains(&(need.part, need.step.word())) {
                        out.insert((i, need.before.word()));
                    }
                }
                let steps = steps(part);
                if let Some(first) = steps.iter().position(|s| out.contains(&(i, *s))) {
                    out.extend(steps[first..].iter().map(|s| (i, *s)));
                    if by_mould(steps[first]) {
                        out.extend(["ram", "pour", "shake-out"].map(|s| (i, s)));
                    }
                }
            }
            if out.len() == before {
                return out;
            }
        }
    }

    /// Moulds for so many castings of each part, sorted. Patterns that the manifest puts beside each
    /// other lie in one, lot by lot, where the shop has a flask and a crucible for it.
    pub fn lots(&self, wanted: impl Fn(usize) -> u32) -> Vec<Vec<(usize, u32)>> {
        let mut queues: Vec<Vec<(usize, u32)>> = Vec::new();
        for pattern in &self.build.patterns {
            let mut queue = Vec::new();
            for (i, part) in self.build.parts.iter().enumerate() {
                if part.casting.as_ref().is_none_or(|c| *c.given.pattern.value != *pattern.id) {
                    continue;
                }
                let cavities = pattern.given.cavities;
                let whole = wanted(i) / cavities;
                queue.extend((0..whole).map(|_| (i, cavities)));
                queue.extend(Some((i, wanted(i) % cavities)).filter(|l| l.1 > 0));
            }
            queue.reverse();
            queues.push(queue);
        }
        let mut out = Vec::new();
        for (lead, pattern) in self.build.patterns.iter().enumerate() {
            let beside = pattern.given.beside.iter();
            let at = |id: &str| self.build.patterns.iter().position(|p| *p.id == *id);
            let others = beside.map(|b| at(&b.value).expect("a pattern"));
            let inside: Vec<usize> = std::iter::once(lead).chain(others).collect();
            while inside.len() > 1 && inside.iter().any(|p| !queues[*p].is_empty()) {
                let lots: Vec<_> = inside.iter().filter_map(|p| queues[*p].pop()).collect();
                let shared = self.told.shared(&lots);
                if shared.is_some_and(|s| s.flask.is_some() && s.crucible.is_some()) {
                    out.push(lots);
                } else {
                    out.extend(lots.into_iter().map(|lot| vec![lot]));
                }
            }
        }
        out.extend(queues.into_iter().flatten().map(|lot| vec![lot]));
        out.sort();
        out
    }

    /// Every piece of work that is left is there once and in full; none that is done.
    fn all_is_done_once(&mut self) {
        let left_out = self.left_out();
        let mut wanted: BTreeMap<(String, String), (usize, i64)> = BTreeMap::new();
        for row in &self.told.work {
            let part = self.build.part(&row.on);
            let out = part.is_some_and(|p| {
                left_out.contains(&(p, Step::from_word(&row.step).map_or("", Step::word)))
            });
            if by_mould(&row.step) {
                continue;
            }
            let count = usize::from(!row.done && !out);
            wanted.insert((row.on.clone(), row.step.clone()), (count, minutes(row.hands_on)));
        }
        let pieces = |i: usize| {
            let pieces = self.build.history.pieces(i);
            self.build.parts[i].given.quantity.saturating_sub(pieces.good() + pieces.under_way())
        };
        let in_all = self.lots(|i| self.build.parts[i].given.quantity);
        let to_come = self.lots(|i| if left_out.contains(&(i, "ram")) { 0 } else { pieces(i) });
        let new = self.told.moulds.iter().filter(|m| m.standing.is_none());
        let mut planned: Vec<Vec<(usize, u32)>> = new.map(|m| m.lots()).collect();
        planned.sort();
        let same = planned == to_come;
        self.must(same, || format!("once: moulds {planned:?} are planned, not {to_come:?}"));
        for (i, part) in self.build.parts.iter().enumerate() {
            if part.casting.is_none() {
                continue;
            }
            let history = &self.build.history;
            let lead =
                |a: &&pourwright::model::Attempt| a.castings.first().is_some_and(|c| c.0 == i);
            let mine = || history.attempts.values().filter(lead);
            let standing = mine().filter(|a| a.poured.is_none()).count();
            let cooling = mine().filter(|a| a.poured.is_some() && a.shaken_out.is_none()).count();
            let out = left_out.contains(&(i, "ram"));
            let new = to_come.iter().filter(|lots| lots[0].0 == i).count();
            let standing = if out { 0 } else { standing };
            let again = self.told.moulds.iter().filter(|m| m.part == i && m.again).count();
            let mine = || in_all.iter().filter(|lots| lots.iter().any(|l| l.0 == i));
            let alone = mine().filter(|lots| lots.len() == 1).count();
            for (at, (step, count)) in [
                ("ram", new + again),
                ("pour", new + standing),
                ("shake-out", new + standing + cooling),
            ]
            .into_iter()
            .enumerate()
            {
                let row = self.told.work.iter().find(|r| r.on == **part.id() && r.step == step);
                // Each part bears its share of the moulds that hold several patterns.
                let shares = mine().filter(|lots| lots.len() > 1).map(|lots| {
                    self.told.shared(lots).map_or(0.0, |s| s.times[at]) / lots.len() as f64
                });
                let own = row.map_or(0.0, |r| r.hands_on) - shares.sum::<f64>();
                let each = minutes(own / alone.max(1) as f64);
                wanted.insert((part.id().to_string(), step.into()), (count, each));
            }
            let count = |all: &[Vec<(usize, u32)>]| -> u32 {
                all.iter().flatten().filter(|l| l.0 == i).map(|l| l.1).sum()
            };
            let (cast, expected) = (count(&planned), count(&to_come));
            self.must(cast == expected, || {
                format!("castings: {cast} of {} are to be cast, not {expected}", part.id())
            });
        }
        let mut found: BTreeMap<(String, String), usize> = BTreeMap::new();
        for job in self.told.jobs.clone() {
            let key = (job.on.clone(), job.step.clone());
            *found.entry(key.clone()).or_default() += 1;
            let first = self.told.moulds.iter().find(|m| job.heat == Some(m.heat));
            let melts = job.step == "pour" && first.is_some_and(|m| m.pour == Some(job.n));
            let step = ["ram", "pour", "shake-out"].iter().position(|s| *s == job.step);
            let holds = |m: &&super::told::Mould| [m.ram, m.pour, m.shake].contains(&Some(job.n));
            let lots = self.told.moulds.iter().find(holds).map(|m| m.lots());
            let shared = lots.and_then(|lots| Some(self.told.shared(&lots)?.times[step?]));
            let alone = wanted.get(&key).map_or(0, |w| w.1);
            let melt = job.heat.filter(|_| melts).map_or(0, |heat| self.melt(heat));
            let each = shared.map_or(alone, minutes) + melt;
            let at_it: i64 = job.blocks.iter().map(|b| b.to - b.from).sum();
            self.must(at_it == each && job.minutes == each, || {
                format!("in full: {} {} gets {at_it} min, not {each}", job.on, job.step)
            });
        }
        let all: BTreeSet<_> = wanted.keys().chain(found.keys()).cloned().collect();
        for key in all {
            let (want, have) =
                (wanted.get(&key).map_or(0, |w| w.0), found.get(&key).copied().unwrap_or(0));
            self.must(want == have, || {
                format!("once: {} {} is planned {have} times, not {want}", key.0, key.1)
            });
        }
    }

    /// Seconds of waiting of a step, from the table of work.
    pub fn wait(&self, on: &str, step: &str) -> i64 {
        let row = self.told.work.iter().find(|r| r.on == on && r.step == step);
        minutes(row.map_or(0.0, |r| r.wait))
    }

    /// When what waits for a job may begin.
    fn over(&self, job: &Job) -> i64 {
        let parts = |m: &super::told::Mould| m.lots().into_iter().map(|l| l.0).collect::<Vec<_>>();
        let wait = match job.step.as_str() {
            "shake-out" => 0,
            // What dries longest in a mould is waited for.
            "ram" => {
                let mould = self.told.moulds.iter().find(|m| m.ram == Some(job.n));
                let parts = mould.map_or(Vec::new(), parts).into_iter();
                parts.map(|p| self.wait(self.build.parts[p].id(), "ram")).max().unwrap_or(0)
            }
            step => self.wait(&job.on, step),
        };
        job.end + wait
    }

    /// Jobs of a step of a part. A mould that stands or cools may hold castings of several parts.
    fn jobs_of(&self, part: usize, step: &str) -> Vec<Job> {
        let attempts = &self.build.history.attempts;
        let holds = |name: &str| {
            attempts.get(name).is_some_and(|a| a.castings.iter().any(|(p, _)| *p == part))
        };
        let of = |m: &super::told::Mould| match step {
            "ram" => m.ram,
            "pour" => m.pour,
            _ => m.shake,
        };
        let held = |m: &&super::told::Mould| m.others.iter().any(|(p, _)| *p == part);
        let beside = self.told.moulds.iter().filter(held).filter_map(of).filter(|_| by_mould(step));
        let shared: Vec<usize> = self
            .told
            .moulds
            .iter()
            .filter(|m| step == "shake-out" && m.standing.as_deref().is_some_and(holds))
            .filter_map(|m| m.shake)
            .chain(beside)
            .chain(self.told.cooling.iter().filter(|(_, name)| holds(name)).map(|(n, _)| *n))
            .collect();
        let id = &**self.build.parts[part].id();
        let jobs = self.told.jobs.iter();
        let mine = jobs.filter(|j| j.step == step && (j.on == id || shared.contains(&j.n)));
        mine.cloned().collect()
    }

    fn pattern_of(&self, part: usize) -> Option<Job> {
        let casting = self.build.parts[part].casting.as_ref()?;
        let id = &*self.build.patterns[casting.pattern].id;
        self.told.jobs.iter().find(|j| j.on == id && j.step == "pattern").cloned()
    }

    pub fn after(&mut self, earlier: &Job, later: &Job) {
        let (over, start) = (self.over(earlier), later.start);
        self.must(start >= over, || {
            format!(
                "order: {} {} begins before {} {} is over",
                later.on, later.step, earlier.on, earlier.step
            )
        });
    }

    /// Steps of a part follow each other; what a part needs comes before; waits go by the clock.
    fn in_order(&mut self) {
        for i in 0..self.build.parts.len() {
            let steps = steps(&self.build.parts[i]);
            for (later, step) in steps.iter().enumerate() {
                for job in self.jobs_of(i, step) {
                    // Pouring and shaking out follow their own mould, below.
                    let earlier = steps[..later]
                        .iter()
                        .filter(|s| !by_mould(step) || (*step == "ram" && !by_mould(s)));
                    let mut before: Vec<Job> = earlier.flat_map(|s| self.jobs_of(i, s)).collect();
                    let made_here = !by_mould(step) || *step == "ram";
                    before.extend(self.pattern_of(i).filter(|_| made_here));
                    before.iter().for_each(|b| self.after(b, &job));
                }
            }
            for need in self.build.parts[i].needs.clone() {
                let from = match need.step {
                    Step::Pattern => self.pattern_of(need.part).into_iter().collect(),
                    step => self.jobs_of(need.part, step.word()),
                };
                let to = match need.before {
                    Step::Pattern => self.pattern_of(i).into_iter().collect(),
                    step => self.jobs_of(i, step.word()),
                };
                for earlier in &from {
                    to.iter().for_each(|later| self.after(earlier, later));
                }
            }
        }
        let midnight = self.build.today.and_time(NaiveTime::MIN);
        for (job, name) in self.told.cooling.clone() {
            let job = self.told.jobs[job].clone();
            let Some((_, at)) =
                self.build.history.attempts.get(&*name).and_then(|a| a.poured.clone())
            else {
                continue;
            };
            let cold =
                self.told.today + (at - midnight).num_minutes() + self.wait(&job.on, "shake-out");
            self.must(job.start >= cold, || format!("cooling: {name} is shaken out hot"));
        }
        for job in self.told.jobs.clone() {
            let (over, today) = (self.over(&job), self.told.today);
            self.must(job.ready == over && job.start >= today, || {
                format!("waits: {} {} is ready at another time than told", job.on, job.step)
            });
        }
    }

    /// What the journal says is finished has dried before the next step of its part.
    fn dried(&mut self) {
        let mut done: BTreeMap<(String, String), i64> = BTreeMap::new();
        let midnight = self.build.today.and_time(NaiveTime::MIN);
        for entry in &self.build.history.log {
            let Event::Done(e) = &entry.event else { continue };
            let Some(on) = e.part.as_ref().or(e.pattern.as_ref()) else { continue };
            let at = self.told.today + (entry.at - midnight).num_minutes();
            done.insert((on.value.to_string(), e.step.word().into()), at);
        }
        for i in 0..self.build.parts.len() {
            let part = &self.build.parts[i];
            let pattern = part.casting.as_ref().map(|c| c.given.pattern.value.to_string());
            let mut dry = 0;
            let steps = steps(part);
            let id = part.id().to_string();
            for (on, step) in pattern
                .map(|p| (p, "pattern"))
                .into_iter()
                .chain(steps.into_iter().map(|step| (id.clone(), step)))
            {
                let row = self.told.work.iter().find(|r| r.on == on && r.step == step);
                let waits = row.filter(|r| r.done && !["relieve", "receive"].contains(&step));
                let at = waits.and_then(|_| done.get(&(on.clone(), step.into()))).copied();
                if let Some(at) = at.filter(|_| !by_mould(step)) {
                    dry = dry.max(at + self.wait(&on, step));
                }
                for job in
                    self.jobs_of(i, step).iter().filter(|_| !["pour", "shake-out"].contains(&step))
                {
                    self.must(job.start >= dry, || format!("drying: {id} {step} begins too early"));
                }
            }
        }
    }

    /// The hours of a person on a day, in minutes.
    pub fn hours(&self, person: &str, midnight: i64) -> Option<(i64, i64)> {
        let date = self.build.today + chrono::TimeDelta::minutes(midnight - self.told.today);
        let away = self.build.shop.away.iter().any(|(a, b)| *a <= date && date <= *b);
        self.hours_ever(person, midnight).filter(|_| !away)
    }

    /// The same on such a weekday, whether they are away or not.
    pub fn hours_ever(&self, person: &str, midnight: i64) -> Option<(i64, i64)> {
        let date = self.build.today + chrono::TimeDelta::minutes(midnight - self.told.today);
        let given = self.build.shop.people.get(person)?;
        let weekday = date.weekday().num_days_from_monday() as usize;
        let length = (given.hours[weekday] / 60.0).round() as i64;
        // Without a clock a weekday begins at 18:00 and the weekend at 9:00, as far as the day goes.
        let usual = if weekday < 5 { 18 * 60 } else { 9 * 60 };
        let from =
            given.from[weekday].map_or(usual.min(A_DAY - length), |s| (s / 60.0).round() as i64);
        (length > 0).then_some((midnight + from, midnight + from + length))
    }

    /// A person does one thing at a time, inside their hours, and breaks off only when they leave.
    fn people(&mut self) {
        let mut busy: BTreeMap<String, Vec<(i64, i64)>> = BTreeMap::new();
        let clear: Vec<_> = self.told.jobs.iter().flat_map(|j| j.clear.clone()).collect();
        for job in self.told.jobs.clone() {
            for (i, b) in job.blocks.iter().enumerate() {
                let hours = self.hours(&b.person, day(b.from));
                let inside =
                    hours.is_some_and(|(from, to)| from <= b.from && b.from < b.to && b.to <= to);
                self.must(inside, || {
                    format!("hours: {} at {} {} outside their hours", b.person, job.on, job.step)
                });
                let last = i + 1 == job.blocks.len();
                let clears =
                    clear.iter().find(|c| c.person == b.person && day(c.from) == day(b.from));
                let leaves = hours
                    .is_some_and(|(_, to)| clears.map_or(to, |c| to - (c.to - c.from)) == b.to);
                let part = self.build.parts.iter().find(|p| **p.id() == *job.on);
                let aside = part.is_some_and(|p| {
                    p.given.steps.iter().any(|(step, given)| {
                        let may = matches!(given, StepGiven::Done { put_down: true, .. });
                        may && step.word() == job.step
                    })
                });
                self.must(last || leaves || aside, || {
                    format!("broken off: {} {} before the session ends", job.on, job.step)
                });
                self.must(last != b.goes_on, || {
                    format!("goes on: {} {} is said to end elsewhere", job.on, job.step)
                });
                busy.entry(b.person.clone()).or_default().push((b.from, b.to));
            }
            for b in job.help.iter().chain(&job.clear) {
                let hours = self.hours(&b.person, day(b.from));
                let inside = hours.is_some_and(|(from, to)| from <= b.from && b.to <= to);
                self.must(inside && b.from < b.to, || {
                    format!("hours: {} helps or clears up outside their hours", b.person)
                });
                busy.entry(b.person.clone()).or_default().push((b.from, b.to));
            }
        }
        self.hands(&busy);
        for (person, mut spans) in busy {
            spans.sort();
            let apart = spans.windows(2).all(|w| w[0].1 <= w[1].0);
            self.must(apart, || format!("one thing at a time: {person} does two"));
        }
    }

    /// Finish, bound and chain agree with the jobs.
    fn figures(&mut self, schedule: &Value) {
        let last = self.told.jobs.iter().map(|j| self.over(j)).max();
        // A finish that cannot be is not told; the rest has a day of its own.
        let minute = |key: &str| schedule[key].as_str().and_then(super::told::minute);
        let (whole, rest) = (minute("finish"), minute("rest"));
        let told = if self.told.missing.is_empty() { rest } else { whole };
        self.must(told.is_none(), || "finish: told while something is missing".into());
        let finish = whole.or(rest);
        let bound = schedule["bound"].as_str().and_then(super::told::minute);
        self.must(finish == last, || "finish: not when the last job is over".into());
        self.must(bound.is_none_or(|b| finish.is_some_and(|f| b <= f)), || {
            "bound: later than the finish".into()
        });
        let gap = finish.zip(bound).map(|(f, b)| (day(f) - day(b)) / A_DAY);
        self.must(schedule["gap_days"].as_i64() == gap, || "gap: not the days between".into());
        let least = schedule["least_heats"].as_u64().unwrap_or(0) as usize;
        self.must(least <= self.told.heats.len(), || "heats: fewer than can be".into());
        let ends = self.told.chain.last().and_then(|n| Some(self.over(self.told.jobs.get(*n)?)));
        self.must(ends == finish || self.told.jobs.is_empty(), || {
            "chain: ends before the finish".into()
        });
        let slack = self.told.jobs.iter().all(|j| j.slack >= 0);
        self.must(slack, || "slack: below nothing".into());
    }
}
