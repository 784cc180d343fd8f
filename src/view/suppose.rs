//! Two plans side by side.

use super::Head;
use super::text::{Look, Side, finished};
use crate::figure::{Kind, show};
use crate::model::Build;
use crate::plan::Schedule;
use serde::Serialize;
use std::collections::BTreeMap;

/// The plan as it is beside the plan as supposed.
#[derive(Debug, Clone, Serialize)]
pub struct SupposeView {
    /// Which build.
    #[serde(flatten)]
    pub head: Head,
    /// What is supposed, in words.
    pub supposed: Vec<String>,
    /// Rows: what, now, supposed, difference.
    pub rows: Vec<SupposeRow>,
    /// Whether the plan stays as it is, job by job.
    pub changes_nothing: bool,
    /// What cannot be planned if it is so.
    pub missing: Vec<String>,
}

/// One thing compared.
#[derive(Debug, Clone, Serialize)]
pub struct SupposeRow {
    /// What is compared.
    pub what: String,
    /// As it is.
    pub now: String,
    /// As supposed.
    pub supposed: String,
    /// The difference.
    pub difference: String,
}

/// One plan with what belongs to it.
#[derive(Clone, Copy)]
pub struct Case<'a> {
    /// The build.
    pub build: &'a Build,
    /// Its plan.
    pub schedule: &'a Schedule,
}

/// Charges by alloy and sand rammed of all moulds to come, kg.
fn amounts(side: Case<'_>) -> BTreeMap<String, f64> {
    let mut out: BTreeMap<String, f64> = BTreeMap::new();
    for heat in &side.schedule.heats {
        let charge = heat.charge.as_ref().map_or(0.0, |c| c.safe());
        *out.entry(format!("{} charged", heat.alloy)).or_default() += charge;
    }
    let sand = side.schedule.moulds.iter().filter_map(|m| m.sand.as_ref()).map(|s| s.si());
    out.insert("sand rammed".into(), sand.sum());
    out
}

impl SupposeView {
    /// Of two plans.
    pub fn new(now: Case<'_>, then: Case<'_>, supposed: Vec<String>) -> Self {
        let units = now.build.header.units;
        let mut rows = Vec::new();
        let mut row = |what: &str, now: String, supposed: String, difference: String| {
            rows.push(SupposeRow { what: what.into(), now, supposed, difference });
        };
        let day = |s: &Schedule| s.finish.map_or("none".into(), |f| f.date().to_string());
        let days = now.schedule.finish.zip(then.schedule.finish);
        let days = days.map(|(a, b)| (b.date() - a.date()).num_days());
        row("finish", day(now.schedule), day(then.schedule), days.map_or(String::new(), later));
        if !(now.schedule.missing.is_empty() && then.schedule.missing.is_empty()) {
            let rest =
                |s: &Schedule| s.rest.or(s.finish).map_or("none".into(), |f| f.date().to_string());
            row("the rest", rest(now.schedule), rest(then.schedule), String::new());
        }
        let count =
            |a: usize, b: usize| (a.to_string(), b.to_string(), signed(b as i64 - a as i64));
        let mut counted = |what: &str, a: usize, b: usize| {
            let (now, supposed, difference) = count(a, b);
            row(what, now, supposed, difference);
        };
        if !(now.schedule.waiting.is_empty() && then.schedule.waiting.is_empty()) {
            let (a, b) = (now.schedule.waiting.len(), then.schedule.waiting.len());
            counted("parts that cannot be finished", a, b);
        }
        counted("heats", now.schedule.heats.len(), then.schedule.heats.len());
        counted("moulds", now.schedule.moulds.len(), then.schedule.moulds.len());
        counted("sessions", now.schedule.sessions.len(), then.schedule.sessions.len());
        let hours = |s: &Schedule| s.jobs.iter().map(|j| j.minutes).sum::<i64>() as f64 / 60.0;
        let (a, b) = (hours(now.schedule), hours(then.schedule));
        row("at the bench", format!("{a:.1} h"), format!("{b:.1} h"), format!("{:+.1} h", b - a));
        let (a, b) = (amounts(now), amounts(then));
        let names: std::collections::BTreeSet<&String> = a.keys().chain(b.keys()).collect();
        for name in names {
            let of = |m: &BTreeMap<String, f64>| m.get(name).copied().unwrap_or(0.0);
            let (a, b) = (of(&a), of(&b));
            let difference = match b - a {
                d if d.abs() < 5e-4 => "0".to_owned(),
                d if d > 0.0 => format!("+{}", show(Kind::Mass, d, units)),
                d => format!("-{}", show(Kind::Mass, -d, units)),
            };
            row(name, show(Kind::Mass, a, units), show(Kind::Mass, b, units), difference);
        }
        let missing = then.schedule.missing.clone();
        let changes_nothing = rows.iter().all(|r| r.now == r.supposed)
            && same_jobs(now.schedule, then.schedule)
            && missing == now.schedule.missing;
        Self { head: Head::new(now.build), supposed, rows, changes_nothing, missing }
    }

    /// As text.
    pub fn text(&self, look: &Look) -> String {
        let mut out = self.head.text(look);
        out += &look.heading(&format!("Suppose: {}", self.supposed.join("; ")));
        let mut table = look.table(&[
            ("", Side::Left),
            ("now", Side::Right),
            ("supposed", Side::Right),
            ("difference", Side::Right),
        ]);
        for row in &self.rows {
            table.add_row(vec![
                row.what.clone(),
                row.now.clone(),
                row.supposed.clone(),
                row.difference.clone(),
            ]);
        }
        out += &finished(&table);
        if self.changes_nothing {
            out += "\nthis changes nothing: each piece of work stays where it is\n";
        }
        for says in &self.missing {
            out += &look.wrapped(&format!("not planned: {says}"), 2);
            out.push('\n');
        }
        out
    }
}

/// Whether two plans do the same work at the same times.
fn same_jobs(a: &Schedule, b: &Schedule) -> bool {
    let times = |s: &Schedule| s.jobs.iter().map(|j| (j.subject, j.step, j.start, j.end)).collect();
    let (mut a, mut b): (Vec<_>, Vec<_>) = (times(a), times(b));
    a.sort_by_key(|j| (j.2, j.3));
    b.sort_by_key(|j| (j.2, j.3));
    a == b
}

/// What each change would gain.
#[derive(Debug, Clone, Serialize)]
pub struct WorthView {
    /// Which build.
    #[serde(flatten)]
    pub head: Head,
    /// The day of finish as it is.
    pub finish: Option<String>,
    /// Heats as it is.
    pub heats: usize,
    /// Moulds as it is.
    pub moulds: usize,
    /// Parts that cannot be finished as it is.
    pub waiting: usize,
    /// Changes, the one that gains most first.
    pub changes: Vec<WorthRow>,
}

/// One change.
#[derive(Debug, Clone, Serialize)]
pub struct WorthRow {
    /// In words.
    pub change: String,
    /// The day of finish with it.
    pub finish: Option<String>,
    /// Parts that cannot be finished now, and can with it.
    pub parts: i64,
    /// Days that it gains.
    pub days: i64,
    /// Heats with it.
    pub heats: usize,
    /// Moulds with it.
    pub moulds: usize,
}

impl WorthView {
    /// Of the plan as it is, and the plans with each change.
    pub fn new(build: &Build, now: &Schedule, changed: &[(String, Schedule)]) -> Self {
        let day = |s: &Schedule| s.finish.map(|f| f.date());
        let mut changes: Vec<WorthRow> = changed
            .iter()
            .map(|(change, s)| WorthRow {
                change: change.clone(),
                finish: day(s).map(|d| d.to_string()),
                parts: now.waiting.len() as i64 - s.waiting.len() as i64,
                days: day(now).zip(day(s)).map_or(0, |(a, b)| (a - b).num_days()),
                heats: s.heats.len(),
                moulds: s.moulds.len(),
            })
            .collect();
        changes
            .sort_by_key(|row| (std::cmp::Reverse((row.parts, row.days)), row.heats, row.moulds));
        Self {
            head: Head::new(build),
            finish: day(now).map(|d| d.to_string()),
            heats: now.heats.len(),
            moulds: now.moulds.len(),
            waiting: now.waiting.len(),
            changes,
        }
    }

    /// As text.
    pub fn text(&self, look: &Look) -> String {
        let mut out = self.head.text(look);
        if let Some(finish) = &self.finish {
            let (heats, moulds) = (self.heats, self.moulds);
            out +=
                &format!("\nnow: finished {finish}, {heats} heats and {moulds} moulds to come\n");
        }
        if self.waiting > 0 {
            let parts = self.waiting;
            out +=
                &format!("\nnow: {parts} parts cannot be finished; `plan` says what is missing\n");
        }
        out += &look.heading("What would help most");
        let mut columns = vec![("change", Side::Left), ("finish", Side::Left)];
        if self.waiting > 0 {
            columns.push(("parts gained", Side::Right));
        }
        columns.extend(["days saved", "heats", "moulds"].map(|name| (name, Side::Right)));
        let mut table = look.table(&columns);
        for row in &self.changes {
            let finish = row.finish.clone().unwrap_or_else(|| "none".into());
            let mut cells = vec![row.change.clone(), finish];
            cells.extend((self.waiting > 0).then(|| row.parts.to_string()));
            cells.extend([row.days.to_string(), row.heats.to_string(), row.moulds.to_string()]);
            table.add_row(cells);
        }
        out + &finished(&table)
    }
}

fn later(days: i64) -> String {
    match days {
        0 => "the same day".into(),
        1 => "a day later".into(),
        -1 => "a day earlier".into(),
        d if d > 0 => format!("{d} days later"),
        d => format!("{} days earlier", -d),
    }
}

fn signed(n: i64) -> String {
    if n == 0 { "0".into() } else { format!("{n:+}") }
}
