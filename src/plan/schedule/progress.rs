//! How the build came along, and how it is planned to go on.

use crate::estimate::Estimates;
use crate::figure::Figure;
use crate::journal::{Disposition, Event};
use crate::manifest::Step;
use crate::model::{Build, Standing};
use crate::plan::subject::Subject;
use crate::plan::tasks::Plan;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Sums over time; each day with the sum from then on.
#[derive(Debug, Clone, Default)]
pub struct Progress {
    /// Parts finished.
    pub parts: Vec<(NaiveDate, f64)>,
    /// Good castings, kg.
    pub mass: Vec<(NaiveDate, f64)>,
    /// Parts finished by the schedule, going on from those that are.
    pub parts_planned: Vec<(NaiveDate, f64)>,
    /// Good castings by the schedule, kg, going on from those that are.
    pub mass_planned: Vec<(NaiveDate, f64)>,
}

/// Running sums, starting from a day and an amount.
fn summed(
    begun: NaiveDate,
    start: f64,
    steps: impl Iterator<Item = (NaiveDate, f64)>,
) -> Vec<(NaiveDate, f64)> {
    let mut days: BTreeMap<NaiveDate, f64> = BTreeMap::new();
    for (day, amount) in steps {
        *days.entry(day).or_default() += amount;
    }
    let mut sum = start;
    let mut out = vec![(begun, start)];
    for (day, amount) in days {
        sum += amount;
        out.push((day, sum));
    }
    out
}

/// Reckons the progress of a build.
pub fn progress(build: &Build, estimates: &Estimates, plan: &Plan) -> Progress {
    let mass_of = |part: usize| {
        let estimate = estimates.castings[part].as_ref();
        estimate.and_then(|e| e.size.rough_mass.as_ref()).map_or(0.0, Figure::si)
    };
    let mut touched: BTreeMap<usize, NaiveDate> = BTreeMap::new();
    for entry in &build.history.log {
        let part = match &entry.event {
            Event::Done(e) => e.part.as_ref(),
            Event::Received(e) => e.part.as_ref(),
            Event::Inspected(e) => Some(&e.part),
            _ => None,
        };
        if let Some(part) = part.and_then(|p| build.part(&p.value)) {
            touched.insert(part, entry.at.date());
        }
    }
    let finished = |part: &usize| plan.standings[*part] == Standing::Finished;
    let finished = touched.iter().filter(|(p, _)| finished(p)).map(|(_, day)| (*day, 1.0));
    let findings = build.history.attempts.values().flat_map(|a| &a.findings);
    let good = |d| matches!(d, Disposition::Accept | Disposition::Concession);
    let good = findings.filter(|f| good(f.disposition)).map(|f| {
        let each = f.mass.as_ref().map_or_else(|| mass_of(f.part), Figure::si);
        (f.at.date(), each * f64::from(f.pieces))
    });
    let begun = build.header.begun;
    let parts = summed(begun, 0.0, finished);
    let mass = summed(begun, 0.0, good);
    let last = |line: &[(NaiveDate, f64)]| line.last().map_or(0.0, |p| p.1);
    let jobs = &plan.schedule.jobs;
    let (mut parts_planned, mut mass_planned) = (Vec::new(), Vec::new());
    if !jobs.is_empty() {
        let mut ends: BTreeMap<usize, NaiveDate> = BTreeMap::new();
        let mut cast: BTreeMap<usize, NaiveDate> = BTreeMap::new();
        for job in jobs {
            let Subject::Part(part) = job.subject else { continue };
            let end = ends.entry(part).or_insert(job.end.date());
            *end = (*end).max(job.end.date());
            if job.step == Step::Inspect {
                cast.insert(part, job.end.date());
            }
        }
        let castings = cast.into_iter().map(|(part, day)| {
            let wanted = build.parts[part].given.quantity;
            let missing = wanted.saturating_sub(build.history.pieces(part).good());
            (day, mass_of(part) * f64::from(missing))
        });
        parts_planned = summed(build.today, last(&parts), ends.into_values().map(|day| (day, 1.0)));
        mass_planned = summed(build.today, last(&mass), castings);
    }
    Progress { parts, mass, parts_planned, mass_planned }
}
