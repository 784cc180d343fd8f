//! The plan under chance.

use super::Head;
use super::bill::unit_of;
use super::page::day_words;
use super::schedule::NoFinish;
use super::text::{Look, Side, finished};
use crate::figure::Alike;
use crate::model::Build;
use crate::plan::Schedule;
use crate::risk::{MISSED, OWN, Percentile, Risk, SHARED};
use crate::supply::Bill;
use serde::Serialize;

/// When the build may be finished and what it may take.
#[derive(Debug, Clone, Serialize)]
pub struct RiskView {
    /// Which build.
    #[serde(flatten)]
    pub head: Head,
    /// How often the plan was replayed.
    pub replays: u64,
    /// Seed of the draws.
    pub seed: u64,
    /// The day of finish, by share of the replays.
    pub finish: Vec<DayRow>,
    /// What is missing, so that the days are only those of the rest.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub no_finish: Option<NoFinish>,
    /// What waits for a material, and orders that are overdue.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub supply: Vec<String>,
    /// The day of finish if nothing is cast again and all takes as long as is likely.
    pub planned: Option<String>,
    /// Mean number of moulds lost.
    pub lost: f64,
    /// Metal, sand and fuel.
    pub amounts: Vec<AmountRow>,
    /// Kinds of work, the one that drives the spread most first.
    pub drivers: Vec<DriverRow>,
    /// Parts with moulds to come, the one that loses most moulds first.
    pub attempts: Vec<AttemptsRow>,
    /// Chance that a mould is lost, by class.
    pub classes: Vec<ClassRow>,
    /// Replays finished in each week, by its Monday.
    pub weeks: Vec<(String, u32)>,
}

/// A percentile of the day of finish.
#[derive(Debug, Clone, Serialize)]
pub struct DayRow {
    /// Share of the replays, such as 0.8.
    pub share: f64,
    /// The day.
    pub day: String,
    /// Sampling error: 95 % interval.
    pub low: String,
    /// Sampling error: 95 % interval.
    pub high: String,
}

/// An amount.
#[derive(Debug, Clone, Serialize)]
pub struct AmountRow {
    /// Of which alloy, sand or fuel.
    pub of: String,
    /// What it is.
    pub what: &'static str,
    /// SI unit.
    pub unit: &'static str,
    /// Percentiles in that unit.
    pub values: Vec<ValueRow>,
}

/// A percentile of an amount.
#[derive(Debug, Clone, Serialize)]
pub struct ValueRow {
    /// Share of the replays.
    pub share: f64,
    /// Value in the unit.
    pub value: f64,
    /// Sampling error: 95 % interval.
    pub low: f64,
    /// Sampling error: 95 % interval.
    pub high: f64,
    /// In the units of the build.
    pub shown: String,
}

/// A kind of work.
#[derive(Debug, Clone, Serialize)]
pub struct DriverRow {
    /// In words.
    pub what: &'static str,
    /// Mean hours at the bench.
    pub hours: f64,
    /// Its covariance with the moment of finish, as a share of that of all bench time.
    pub share: f64,
}

/// A part.
#[derive(Debug, Clone, Serialize)]
pub struct AttemptsRow {
    /// Its id.
    pub part: String,
    /// Moulds to come if none is lost.
    pub least: u32,
    /// Mean number of moulds.
    pub moulds: f64,
    /// Enough with a chance of 80 %, exactly.
    pub allow_80: u32,
    /// Enough with a chance of 90 %, exactly.
    pub allow_90: u32,
    /// Chance that at least one mould is lost.
    pub lost: f64,
}

/// A class of difficulty.
#[derive(Debug, Clone, Serialize)]
pub struct ClassRow {
    /// Its word.
    pub class: &'static str,
    /// Prior: a and b of a beta distribution.
    pub prior: (f64, f64),
    /// Moulds lost so far.
    pub lost: u32,
    /// Moulds decided upon so far.
    pub moulds: u32,
    /// Mean chance with both.
    pub mean: f64,
}

impl RiskView {
    /// Of a build.
    pub fn new(
        build: &Build,
        bill: &Bill,
        risk: &Risk,
        planned: Option<chrono::NaiveDateTime>,
    ) -> Self {
        let value = |kind: crate::figure::Kind, p: &Percentile<f64>, unit: Alike| ValueRow {
            share: p.share,
            value: kind.told(p.value),
            low: kind.told(p.low),
            high: kind.told(p.high),
            shown: unit.show(p.value),
        };
        Self {
            head: Head::new(build),
            replays: risk.replays,
            seed: risk.seed,
            no_finish: None,
            supply: Vec::new(),
            finish: risk
                .finish
                .iter()
                .map(|p| DayRow {
                    share: p.share,
                    day: p.value.to_string(),
                    low: p.low.to_string(),
                    high: p.high.to_string(),
                })
                .collect(),
            planned: planned.map(|at| at.date().to_string()),
            lost: risk.lost,
            amounts: risk
                .amounts
                .iter()
                .map(|s| {
                    let all: Vec<f64> = s.told.iter().map(|p| p.value).collect();
                    let unit = unit_of(build, bill, &s.of, &all);
                    AmountRow {
                        of: s.of.to_string(),
                        what: s.what.words(),
                        unit: s.kind.symbol(),
                        values: s.told.iter().map(|p| value(s.kind, p, unit)).collect(),
                    }
                })
                .collect(),
            drivers: risk
                .drivers
                .iter()
                .map(|d| DriverRow { what: d.what, hours: d.minutes / 60.0, share: d.share })
                .collect(),
            attempts: risk
                .attempts
                .iter()
                .map(|d| AttemptsRow {
                    part: build.parts[d.part].id().to_string(),
                    least: d.least,
                    moulds: d.moulds,
                    allow_80: d.allow[0],
                    allow_90: d.allow[1],
                    lost: d.lost,
                })
                .collect(),
            classes: risk
                .classes
                .iter()
                .map(|class| ClassRow {
                    class: class.difficulty.word(),
                    prior: (class.prior.a(), class.prior.b()),
                    lost: class.lost,
                    moulds: class.of,
                    mean: class.now.mean(),
                })
                .collect(),
            weeks: risk.weeks.iter().map(|(day, n)| (day.to_string(), *n)).collect(),
        }
    }

    /// The same, saying what is missing from the schedule that was replayed.
    #[must_use]
    pub fn missing(self, build: &Build, schedule: &Schedule) -> Self {
        let supply = schedule.supply.clone();
        Self { no_finish: NoFinish::of(build, schedule), supply, ..self }
    }

    /// The day in words, what moves it, and the moulds to allow for.
    pub fn brief(&self, look: &Look) -> String {
        let mut out = self.head.text(look) + "\n";
        let by = |share: f64| self.finish.iter().find(|r| (r.share - share).abs() < 1e-9);
        let words = |row: &DayRow| row.day.parse().map_or(row.day.clone(), day_words);
        if let (Some(half), Some(nine)) = (by(0.5), by(0.9)) {
            let what = if self.no_finish.is_none() { "Finished" } else { "The rest finished" };
            let says = format!(
                "{what} as likely as not by {}, nine in ten by {}.",
                words(half),
                words(nine)
            );
            out += &(look.wrapped(&says, 0) + "\n");
        }
        for says in self.no_finish.iter().flat_map(|n| &n.missing) {
            out += &(look.wrapped(&format!("missing: {says}"), 9) + "\n");
        }
        for says in &self.supply {
            out += &(look.wrapped(says, 2) + "\n");
        }
        if let Some(planned) = &self.planned {
            out += &(look.wrapped(&self.if_none_is_lost(planned), 0) + "\n");
        }
        let drivers = self.drivers.iter().filter(|r| r.share >= 0.05);
        let drivers: Vec<String> =
            drivers.map(|r| format!("{} {:.0} %", r.what, r.share * 100.0)).collect();
        if !drivers.is_empty() {
            let says = format!("What moves the day most: {}.", drivers.join(", "));
            out += &(look.wrapped(&says, 2) + "\n");
        }
        out += &self.allowed(look, 8);
        out + "\n`risk --all` also shows the amounts, the classes and how it was done.\n"
    }

    fn if_none_is_lost(&self, planned: &str) -> String {
        let day = planned.parse().map_or(planned.to_owned(), day_words);
        format!(
            "The plan says {day}, if nothing is cast again and all work takes its likely time. \
             On average {:.1} moulds are lost and made again.",
            self.lost
        )
    }

    /// Moulds to allow for, so many parts at the most.
    fn allowed(&self, look: &Look, most: usize) -> String {
        let mut out = look.heading("Moulds to allow for");
        let mut table = look.table(&[
            ("part", Side::Left),
            ("if none is lost", Side::Right),
            ("80 % sure", Side::Right),
            ("90 % sure", Side::Right),
            ("one or more lost", Side::Right),
        ]);
        for row in self.attempts.iter().take(most) {
            table.add_row(vec![
                row.part.clone(),
                row.least.to_string(),
                row.allow_80.to_string(),
                row.allow_90.to_string(),
                format!("{:.0} %", row.lost * 100.0),
            ]);
        }
        out += &finished(&table);
        if self.attempts.len() > most {
            out += &format!("and {} more; --json has them\n", self.attempts.len() - most);
        }
        out
    }

    /// As text.
    pub fn text(&self, look: &Look) -> String {
        let mut out = self.head.text(look);
        out += &look.heading(match self.no_finish {
            None => "Finished by",
            Some(_) => "No finish while something is missing; the rest finished by",
        });
        for says in self.no_finish.iter().flat_map(|n| &n.missing) {
            out += &(look.wrapped(&format!("missing: {says}"), 9) + "\n");
        }
        for says in &self.supply {
            out += &(look.wrapped(says, 2) + "\n");
        }
        let mut table = look.table(&[
            ("chance", Side::Right),
            ("day", Side::Left),
            ("sampling error", Side::Left),
        ]);
        for row in &self.finish {
            let error = match row.low == row.high {
                true => "none to the day".to_owned(),
                false => format!("{} to {}", row.low, row.high),
            };
            table.add_row(vec![format!("{:.0} %", row.share * 100.0), row.day.clone(), error]);
        }
        out += &finished(&table);
        if let Some(planned) = &self.planned {
            out += &(look.wrapped(&self.if_none_is_lost(planned), 0) + "\n");
        }
        out += &look.heading("Amounts for the moulds to come");
        let mut table = look.table(&[
            ("what", Side::Left),
            ("P10", Side::Right),
            ("P50", Side::Right),
            ("P80", Side::Right),
            ("P90", Side::Right),
        ]);
        for row in &self.amounts {
            let mut cells = vec![format!("{}: {}", row.of, row.what)];
            cells.extend(row.values.iter().map(|v| v.shown.clone()));
            table.add_row(cells);
        }
        out += &finished(&table);
        out += &look.heading("What drives the day of finish");
        let mut table = look.table(&[
            ("kind of work", Side::Left),
            ("bench", Side::Right),
            ("of the spread", Side::Right),
        ]);
        for row in self.drivers.iter().filter(|r| r.share >= 0.005) {
            table.add_row(vec![
                row.what.to_owned(),
                format!("{:.0} h", row.hours),
                format!("{:.0} %", row.share * 100.0),
            ]);
        }
        out += &finished(&table);
        out += &self.allowed(look, 12);
        out += &look.heading("Chance that a mould is lost");
        let mut table = look.table(&[
            ("class", Side::Left),
            ("before", Side::Left),
            ("journal", Side::Left),
            ("now", Side::Right),
        ]);
        for row in &self.classes {
            table.add_row(vec![
                row.class.to_owned(),
                format!("Beta({}, {}), from memory", row.prior.0, row.prior.1),
                format!("{} lost of {}", row.lost, row.moulds),
                format!("{:.0} %", row.mean * 100.0),
            ]);
        }
        out += &finished(&table);
        let says = format!(
            "{} replays, seed {}. Hours scatter between low and high as a beta distribution of \
             PERT (shape 4, variance (mean - low)(high - mean)/7); {:.0} % of the scatter of a \
             kind of work is common to all its jobs. Hours of your own that have no range are taken \
             to turn out {} to {} times as given, and one session in {:.0} to be missed; both from \
             memory. Lost moulds are rammed again as soon as a session allows, and share a heat where \
             crucible, flasks and session do; moulds to allow for are computed, not drawn.",
            self.replays,
            self.seed,
            SHARED * 100.0,
            OWN[0],
            OWN[2],
            1.0 / MISSED,
        );
        out.push('\n');
        out += &look.wrapped(&says, 0);
        out.push('\n');
        out
    }
}
