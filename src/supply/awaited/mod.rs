//! Work that takes a material before it can be there, and so has to wait for it.

mod shelf;
mod words;

pub use words::{overdue, waits};

use super::flow::Happens;
use super::line::Bill;
use super::ordered::{arrivals, deliverer, takes_in_hand};
use crate::figure::{Amount, Figure};
use crate::manifest::{Id, Step, Supplier};
use crate::model::Build;
use crate::plan::{Awaited, Job, Kept, Schedule, Subject};
use chrono::{NaiveDate, NaiveDateTime};
use shelf::too_early;

/// Less than this is rounding, kg.
const NONE: f64 = 1e-6;

/// What of these waits stands: that of a material of which nothing else is known than when they were
/// found. What nobody has ordered comes as late as if it were ordered today.
pub fn still(build: &Build, awaited: Vec<Awaited>) -> Vec<Awaited> {
    let still = |awaited: Awaited| {
        let on_order = arrivals(build, &awaited.of).iter().any(|(day, _)| *day == awaited.until);
        let until = match on_order {
            true => awaited.until,
            false => quickest(build, &awaited.of)?.0,
        };
        (awaited.known == known(build, &awaited.of)).then_some(Awaited { until, ..awaited })
    };
    awaited.into_iter().filter_map(still).collect()
}

/// All that is known of what there is of a material, or whether a part is here, and of what is to come.
fn known(build: &Build, id: &Id) -> String {
    let here = build.part(id).is_some_and(|part| build.history.is_done(part, Step::Receive));
    format!("{:?} {here} {:?}", build.history.stock.get(id), arrivals(build, id))
}

/// The day on which a material or a part is there that is ordered today, from whoever brings it first,
/// with the longest delivery; none where nobody sells it, or nobody says how long it takes. `buy` orders
/// from none who brings it later than it is needed then (`supply/sellers.rs`).
fn quickest(build: &Build, id: &Id) -> Option<(NaiveDate, Supplier)> {
    let comes = |s: Supplier| Some((s.soonest(build.today)?, s));
    if let Some(part) = build.part(id) {
        return deliverer(build, part).and_then(comes);
    }
    let sellers = build.suppliers.values().filter(|s| s.packs.iter().any(|p| p.of == *id));
    sellers.cloned().filter_map(comes).min_by_key(|(day, _)| *day)
}

/// Work of a plan that takes a material, or a part in hand, before it can be there, and the day on
/// which it can: from what lies in the shop, from what is on order as of the day it should be here, and
/// then from what is ordered today. What was promised first has it first. By the likely walk, as what is
/// to be bought. Of what nobody sells and nobody has ordered no day is known, and nothing waits for it.
pub fn short(
    build: &Build,
    bill: &Bill,
    schedule: &Schedule,
    promised: Option<&Kept>,
) -> Vec<Awaited> {
    let mut out = Vec::new();
    let mut wait = |job: &Job, of: &Id, until| {
        let (job, of, known) = (job.name.clone(), of.clone(), known(build, of));
        out.push(Awaited { job, of, until, known });
    };
    for line in bill.lines() {
        for (by, until) in too_early(build, bill, line, &promise(schedule, promised)) {
            let jobs = jobs_of(schedule, by);
            jobs.into_iter().for_each(|n| wait(&schedule.jobs[n], &line.id, until));
        }
    }
    // What has to be there before some of the work: parts in hand, and what is for the whole build.
    let mut all: Vec<(&Id, bool, Vec<&Job>)> = Vec::new();
    for line in bill.bought.iter().chain(&bill.made).filter(|line| !line.here) {
        let jobs = build.part(&line.id).map(|part| takes_in_hand(schedule, part).collect());
        all.push((&line.id, line.ordered.is_none(), jobs.unwrap_or_default()));
    }
    let some = |figure: &Option<Figure<Amount>>| figure.as_ref().is_some_and(|f| f.si() > NONE);
    for line in bill.lines().filter(|line| line.before.is_some() && some(&line.left)) {
        let jobs = schedule.jobs.iter().filter(|job| Some(job.step) == line.before);
        all.push((&line.id, some(&line.buy), jobs.collect()));
    }
    for (id, lacks_more, jobs) in all {
        let until = match lacks_more {
            true => quickest(build, id).map(|(day, _)| day),
            false => arrivals(build, id).into_iter().map(|(day, _)| day).max(),
        };
        let Some(until) = until else { continue };
        let early = jobs.into_iter().filter(|job| job.start.date() < until);
        early.for_each(|job| wait(job, id, until));
    }
    out
}

/// When the heat was promised that something happens for.
fn promise<'s>(
    schedule: &'s Schedule,
    promised: Option<&'s Kept>,
) -> impl Fn(Happens) -> Option<NaiveDateTime> + 's {
    move |by| {
        let heat = match by {
            Happens::Charged(heat) | Happens::Pigged(heat) => heat,
            Happens::Cored(m)
            | Happens::Rammed(m)
            | Happens::Again(m)
            | Happens::ShakenOut(m)
            | Happens::Fettled(m) => schedule.moulds.get(m)?.heat,
        };
        let name = &schedule.heats.get(heat)?.name;
        Some(promised?.heats.iter().find(|heat| heat.heat == *name)?.pour)
    }
}

/// The jobs by which it happens.
fn jobs_of(schedule: &Schedule, by: Happens) -> Vec<usize> {
    let jobs = || schedule.jobs.iter().enumerate();
    let on_mould = |mould: usize, step| {
        let mut mine = jobs().filter(|(_, job)| job.mould == Some(mould) && job.step == step);
        mine.next().map(|(n, _)| n)
    };
    match by {
        Happens::Charged(heat) => {
            let moulds = schedule.heats[heat].moulds.iter();
            moulds.filter_map(|m| on_mould(*m, Step::Pour)).collect()
        }
        Happens::Rammed(m) | Happens::Again(m) => on_mould(m, Step::Ram).into_iter().collect(),
        Happens::Cored(m) => {
            let parts: Vec<Subject> =
                schedule.moulds[m].lots().iter().map(|lot| Subject::Part(lot.0)).collect();
            let cores = |job: &Job| job.step == Step::Core && parts.contains(&job.subject);
            jobs().filter(|(_, job)| cores(job)).map(|(n, _)| n).collect()
        }
        // What the sand is made up with may come after it is shaken out.
        Happens::ShakenOut(_) | Happens::Fettled(_) | Happens::Pigged(_) => Vec::new(),
    }
}
