//! What waits for which material, and orders that are overdue, in words.

use super::quickest;
use super::shelf::too_early;
use crate::figure::show;
use crate::manifest::{Id, Step};
use crate::model::Build;
use crate::plan::{Awaited, Job, Schedule, Subject};
use crate::supply::flow::{Happens, StockWalk};
use crate::supply::line::Bill;
use crate::supply::ordered::{arrivals, due};
use chrono::{Days, NaiveDate};
use std::collections::BTreeMap;

/// So many pieces of work are named that wait for one delivery.
const NAMED: usize = 4;

/// What is on order and should be here by now, in words.
pub fn overdue(build: &Build) -> Vec<String> {
    let overdue = build.history.on_order.iter().filter_map(|order| {
        let day = due(build, order).filter(|day| *day < build.today)?;
        Some(format!(
            "{}: ordered on {}, it should have been here by {day}: ask the seller, or log it as \
             received; the plan counts it as here",
            order.of, order.ordered
        ))
    });
    overdue.collect()
}

/// What a plan waits for, in words, by the day on which it can be there: what waits, how much all
/// that waits lacks together, and the last day to order; then what is lacking where nothing can wait for it.
pub fn waits(build: &Build, bill: &Bill, schedule: &Schedule, awaited: &[Awaited]) -> Vec<String> {
    // By the day, and how it comes: who waits, and for what, each once.
    let mut all: BTreeMap<(NaiveDate, String), [Vec<String>; 2]> = BTreeMap::new();
    let mut add = |key: (NaiveDate, String), both: [String; 2]| {
        for (list, says) in all.entry(key).or_default().iter_mut().zip(both) {
            if !list.contains(&says) {
                list.push(says);
            }
        }
    };
    let last = |of: &Id, until: NaiveDate| {
        let mine = awaited.iter().filter(|a| a.of == *of && a.until == until);
        let jobs = mine.filter_map(|a| schedule.jobs.iter().find(|job| job.name == a.job));
        jobs.map(|job| job.start.date()).max()
    };
    for Awaited { job, of, until, .. } in awaited {
        let Some(job) = schedule.jobs.iter().find(|j| j.name == *job) else { continue };
        let much = much(build, bill, of, *until, last(of, *until).unwrap_or(*until));
        let on = needed(build, bill, of, *until);
        add((on, comes(build, of, on)), [named(build, schedule, job), much]);
    }
    for line in bill.lines() {
        let early = too_early(build, bill, line, &|_| None);
        let early = early.into_iter().find_map(|(by, until)| match by {
            Happens::ShakenOut(m) => Some((schedule.moulds.get(m)?, until)),
            _ => None,
        });
        if let Some((mould, until)) = early {
            let sand =
                format!("the sand of {} when it is shaken out", build.parts[mould.part].id());
            let much = much(build, bill, &line.id, until, mould.shaken_out.date());
            let on = needed(build, bill, &line.id, until);
            add((on, comes(build, &line.id, on)), [sand, much]);
        }
    }
    let told = |((until, comes), [who, what]): ((NaiveDate, String), [Vec<String>; 2])| {
        let wait = if who.len() == 1 { "waits" } else { "wait" };
        let are = if what.len() == 1 { "it is" } else { "they are" };
        // A material may have a comma in its name.
        let (who, what) = (some_of(who, ", "), some_of(what, "; "));
        format!("{who} {wait} for {what}. {comes}, {are} there by {until}")
    };
    all.into_iter().map(told).collect()
}

/// The first of a list, and how many more there are.
fn some_of(mut list: Vec<String>, between: &str) -> String {
    let more = list.len().saturating_sub(NAMED);
    list.truncate(NAMED);
    list.extend((more > 0).then(|| format!("{more} more")));
    list.join(between)
}

/// The day by which a material that can be there on one is to be there: where it is still to be
/// ordered, the later day on which the plan needs it, as what is to be bought goes by.
fn needed(build: &Build, bill: &Bill, of: &Id, until: NaiveDate) -> NaiveDate {
    let material = || bill.lines().find(|line| line.id == *of).and_then(|line| line.by);
    let mut parts = bill.bought.iter().chain(&bill.made);
    let part = parts.find(|line| line.id == *of).and_then(|line| line.by);
    let on_order = arrivals(build, of).iter().any(|(day, _)| *day == until);
    let by = part.or_else(material).filter(|_| !on_order);
    by.map_or(until, |by| by.max(until))
}

/// How a material comes on a day: as it was ordered, or ordered by the last day for it.
fn comes(build: &Build, of: &Id, on: NaiveDate) -> String {
    let on_order = arrivals(build, of).iter().any(|(day, _)| *day == on);
    match quickest(build, of).and_then(|(_, seller)| seller.order_by(on)) {
        Some(last) if !on_order => format!("Ordered by {last} at the latest"),
        _ => "As ordered".into(),
    }
}

/// A heat, or a piece of other work.
fn named(build: &Build, schedule: &Schedule, job: &Job) -> String {
    let heat = job.mould.filter(|_| job.step == Step::Pour).map(|m| schedule.moulds[m].heat);
    match (heat, job.subject) {
        (Some(heat), _) => schedule.heats[heat].name.to_string(),
        (None, Subject::Pattern(i)) => format!("make {}", build.patterns[i].id),
        (None, Subject::Part(i)) => format!("{} {}", build.parts[i].id(), job.step.word()),
    }
}

/// A material, and how much of it is lacking by a day without what comes as of another.
fn much(build: &Build, bill: &Bill, of: &Id, comes: NaiveDate, on: NaiveDate) -> String {
    let line = bill.lines().find(|line| line.id == *of);
    let mut parts = bill.bought.iter().chain(&bill.made);
    let part = || parts.find(|line| line.id == *of).map(|line| line.name.to_string());
    let title = line.map(|line| line.title.to_string());
    let title = title.or_else(part).unwrap_or_else(|| of.to_string());
    let lacking = lacking(build, bill, of, comes, on);
    lacking.map_or_else(|| title.clone(), |much| format!("{much} of {title}"))
}

fn lacking(build: &Build, bill: &Bill, of: &Id, comes: NaiveDate, on: NaiveDate) -> Option<String> {
    let flow = bill.flow.as_ref()?;
    let orders = arrivals(build, of);
    let before: Vec<_> = orders.into_iter().filter(|(day, _)| *day < comes).collect();
    let upto = on.checked_add_days(Days::new(1))?;
    let lacks = |walk: &StockWalk| walk.first_short(&before, upto).map(|(_, kg)| kg);
    let likely = lacks(flow.likely.stocks.get(of)?)?;
    let most = flow.most.stocks.get(of).and_then(lacks).map_or(likely, |kg| kg.max(likely));
    let [likely, most] =
        [likely, most].map(|much| show(build.kind_of(of), much, build.header.units));
    Some(if likely == most { most } else { format!("up to {most} (likely {likely})") })
}
