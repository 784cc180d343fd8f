//! Work that takes a material before it can be there, and so has to wait for it.

use super::flow::{Happens, StockWalk};
use super::line::{Bill, StockLine};
use super::ordered::{arrivals, deliverer, due, takes_in_hand};
use crate::figure::{Amount, Figure, Kind, show};
use crate::manifest::{Id, Step, Supplier};
use crate::model::Build;
use crate::plan::{Awaited, Job, Kept, Schedule, Subject};
use chrono::{Days, NaiveDate, NaiveDateTime, NaiveTime};
use std::collections::BTreeMap;

/// Less than this is rounding, kg.
const NONE: f64 = 1e-6;
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
/// with the longest delivery; none where nobody sells it, or nobody says how long it takes.
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

/// What of a walk takes a material before it can be there, and the day on which it can be.
fn too_early(
    build: &Build,
    bill: &Bill,
    line: &StockLine,
    promised: &dyn Fn(Happens) -> Option<NaiveDateTime>,
) -> Vec<(Happens, NaiveDate)> {
    let walk = bill.flow.as_ref().and_then(|flow| flow.likely.stocks.get(&line.id));
    let orders = arrivals(build, &line.id);
    // Where what is on order is enough, nobody orders more.
    let lacks_more = line.buy.as_ref().is_some_and(|buy| buy.si() > NONE);
    let anew = quickest(build, &line.id).map(|(day, _)| day).filter(|_| lacks_more);
    let Some(walk) = walk else { return Vec::new() };
    if walk.first_short(&orders, anew.unwrap_or(NaiveDate::MAX)).is_none() {
        return Vec::new();
    }
    let mut days: Vec<NaiveDate> =
        orders.iter().map(|(day, _)| *day).filter(|day| *day > build.today).chain(anew).collect();
    days.sort_unstable();
    let (mut shelf, takes) = Shelf::new(walk, &orders, anew);
    let mut takes: Vec<_> =
        takes.into_iter().map(|take| (promised(take.by).unwrap_or(take.at), take)).collect();
    takes.sort_by_key(|(when, take)| (*when, take.place));
    let mut out = Vec::new();
    for (_, Take { at, place, much, by }) in takes {
        let later = |day: &&NaiveDate| **day > at.date() && shelf.bears(shelf.place(**day), much);
        let day = days.iter().find(later).copied().filter(|_| !shelf.bears(place, much));
        shelf.take(day.map_or(place, |day| shelf.place(day)), much);
        out.extend(day.map(|day| (by, day)));
    }
    out
}

/// Something that a walk takes.
struct Take {
    at: NaiveDateTime,
    /// Which moment of the shelf that is.
    place: usize,
    /// How much, kg.
    much: f64,
    by: Happens,
}

/// What there is of a material from each moment on, kg, until any amount of it can be there.
struct Shelf(Vec<(NaiveDateTime, f64)>);

impl Shelf {
    /// With what comes and what comes back, before anything is taken; and all that is.
    fn new(
        walk: &StockWalk,
        orders: &[(NaiveDate, f64)],
        anew: Option<NaiveDate>,
    ) -> (Self, Vec<Take>) {
        let mut comes: BTreeMap<NaiveDateTime, f64> = BTreeMap::new();
        for (day, mass) in orders {
            *comes.entry(day.and_time(NaiveTime::MIN)).or_default() += mass;
        }
        let walked = walk.points.windows(2).zip(&walk.by);
        let walked = walked.map(|(w, by)| (w[1].0, w[1].1.stock - w[0].1.stock, Some(*by)));
        let comes = comes.into_iter().map(|(at, mass)| (at, mass, None));
        let mut all: Vec<(NaiveDateTime, f64, Option<Happens>)> = comes.chain(walked).collect();
        all.retain(|(at, ..)| anew.is_none_or(|anew| at.date() < anew));
        // What has come is there before anything is taken at that moment.
        all.sort_by_key(|(at, ..)| *at);
        let mut there = walk.points.first().map_or(0.0, |(_, point)| point.stock);
        let (mut moments, mut takes) = (Vec::new(), Vec::new());
        for (place, (at, change, by)) in all.into_iter().enumerate() {
            there += change.max(0.0);
            moments.push((at, there));
            let much = -change;
            takes.extend(by.filter(|_| much > NONE).map(|by| Take { at, place, much, by }));
        }
        (Self(moments), takes)
    }

    /// Which moment is the first of a day.
    fn place(&self, day: NaiveDate) -> usize {
        self.0.partition_point(|(at, _)| at.date() < day)
    }

    /// Whether so much may be taken at a moment and nothing is lacking later.
    fn bears(&self, place: usize, much: f64) -> bool {
        self.0[place..].iter().all(|(_, there)| *there >= much - NONE)
    }

    fn take(&mut self, place: usize, much: f64) {
        self.0[place..].iter_mut().for_each(|(_, there)| *there -= much);
    }
}

/// What a plan waits for, in words, by the day on which it can be there: what waits, how much is
/// lacking, and the last day to order; then what is lacking where nothing can wait for it.
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
    let first = |of: &Id, until: NaiveDate| {
        let mine = awaited.iter().filter(|a| a.of == *of && a.until == until);
        let jobs = mine.filter_map(|a| schedule.jobs.iter().find(|job| job.name == a.job));
        jobs.map(|job| job.start.date()).min()
    };
    for Awaited { job, of, until, .. } in awaited {
        let Some(job) = schedule.jobs.iter().find(|j| j.name == *job) else { continue };
        let much = much(build, bill, of, *until, first(of, *until).unwrap_or(*until));
        add((*until, comes(build, of, *until)), [named(build, schedule, job), much]);
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
            add((until, comes(build, &line.id, until)), [sand, much]);
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

/// A material, and how much of it is lacking on a day without what comes as of another.
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
    let [likely, most] = [likely, most].map(|kg| show(Kind::Mass, kg, build.header.units));
    Some(if likely == most { most } else { format!("up to {most} (likely {likely})") })
}
