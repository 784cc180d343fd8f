//! What comes ready for a part, bought or to be made from: from whom, for how much, and by when.

use super::Bill;
use super::line::BoughtLine;
use super::money;
use super::packs::PartNeed;
use crate::figure::{Figure, Time};
use crate::manifest::{Id, Making, Step, Supplier};
use crate::model::{Build, OnOrder};
use crate::plan::{Job, Schedule, Subject};
use chrono::NaiveDate;
use rust_decimal::Decimal;

/// Every bought part.
pub(super) fn bought(build: &Build, schedule: &Schedule) -> Vec<BoughtLine> {
    let mut lines = Vec::new();
    for (i, part) in build.parts.iter().enumerate() {
        let Making::Bought(bought) = &part.given.making else { continue };
        let later = part.steps().into_iter().any(|s| build.history.is_done(i, s));
        lines.push(BoughtLine {
            id: part.id().clone(),
            name: part.given.name.clone(),
            quantity: part.given.quantity,
            price: of_all(bought.price.as_deref(), part.given.quantity),
            supplier: bought.supplier.clone(),
            ordered: build.history.on_order.iter().find(|o| o.of == *part.id()).cloned(),
            here: build.history.is_done(i, Step::Receive) || later,
            by: needed(schedule, i),
            delivery: bought.delivery.clone(),
        });
    }
    lines
}

/// What the parts are made of that are still to be made.
pub(super) fn made(build: &Build, schedule: &Schedule) -> Vec<BoughtLine> {
    let mut lines = Vec::new();
    for (i, part) in build.parts.iter().enumerate() {
        let Making::Made(made) = &part.given.making else { continue };
        let Some(from) = made.from.clone() else { continue };
        if part.steps().into_iter().any(|s| build.history.is_done(i, s)) {
            continue;
        }
        lines.push(BoughtLine {
            id: part.id().clone(),
            name: from,
            quantity: part.given.quantity,
            price: of_all(made.price.as_deref(), part.given.quantity),
            supplier: made.supplier.clone(),
            ordered: build.history.on_order.iter().find(|o| o.of == *part.id()).cloned(),
            here: build.history.is_done(i, Step::Receive),
            by: needed(schedule, i),
            delivery: made.delivery.clone(),
        });
    }
    lines
}

fn of_all(price: Option<&str>, quantity: u32) -> Option<Decimal> {
    let each: Decimal = price?.parse().ok()?;
    Some(money::rounded(each * Decimal::from(quantity)))
}

/// The day on which the plan first takes a part in hand, or what it is made of.
fn needed(schedule: &Schedule, part: usize) -> Option<NaiveDate> {
    takes_in_hand(schedule, part).map(|job| job.start.date()).min()
}

/// The jobs that first take a part in hand, or what it is made of.
pub(super) fn takes_in_hand(schedule: &Schedule, part: usize) -> impl Iterator<Item = &Job> {
    let jobs = || schedule.jobs.iter().enumerate();
    let own = move |job: &Job| job.subject == Subject::Part(part);
    let comes = jobs().find(|(_, j)| own(j) && j.step == Step::Receive).map(|(n, _)| n);
    let waits = move |j: &Job| comes.is_some_and(|n| j.after.contains(&n));
    let works = move |j: &Job| own(j) && j.step != Step::Receive;
    let first = move |j: &Job| works(j) && !j.after.iter().any(|n| works(&schedule.jobs[*n]));
    let mine = jobs().filter(move |(_, j)| first(j) || (j.step != Step::Receive && waits(j)));
    mine.map(|(_, job)| job)
}

/// Who delivers a part, or what it is made of: whoever sells it, with the part's own time of delivery
/// where it has one; none where no time is known.
pub(super) fn deliverer(build: &Build, part: usize) -> Option<Supplier> {
    let (from, delivery) = match &build.parts[part].given.making {
        Making::Bought(bought) => (bought.supplier.as_ref(), bought.delivery.as_ref()),
        Making::Made(made) if made.from.is_some() => {
            (made.supplier.as_ref(), made.delivery.as_ref())
        }
        _ => return None,
    };
    delivered(build, from, delivery)
}

/// The parts, and what parts are made of, that are neither here nor on order.
pub(super) fn to_order(build: &Build, bill: &Bill) -> Vec<PartNeed> {
    let missing = bill.bought.iter().chain(&bill.made).filter(|l| !l.here && l.ordered.is_none());
    let need = |l: &BoughtLine| PartNeed {
        id: l.id.clone(),
        name: l.name.clone(),
        quantity: l.quantity,
        from: l.supplier.as_ref().map(|name| seller(build, name)),
        price: l.price,
        by: l.by,
        order_by: delivered(build, l.supplier.as_ref(), l.delivery.as_ref())
            .and_then(|from| from.order_by(l.by?)),
    };
    missing.map(need).collect()
}

/// The id of the supplier of this id or name; the name itself where the manifest lists none.
fn seller(build: &Build, name: &Id) -> Id {
    let called =
        |(id, s): &(&Id, &Supplier)| *id == name || s.name.to_lowercase() == name.to_lowercase();
    build.suppliers.iter().find(called).map_or_else(|| name.clone(), |(id, _)| id.clone())
}

/// A supplier with the part's own time of delivery, else with its own.
fn delivered(
    build: &Build,
    from: Option<&Id>,
    delivery: Option<&Figure<Time>>,
) -> Option<Supplier> {
    let supplier = from.and_then(|name| build.suppliers.get(&seller(build, name)));
    let usual = Supplier::default();
    let supplier = supplier.unwrap_or(&usual);
    let delivery = delivery.or(supplier.delivery.as_ref())?.clone();
    Some(Supplier { delivery: Some(delivery), ..supplier.clone() })
}

/// What is on order of a material: the day it should be here, and how much, kg. At once, where nobody
/// knows.
pub(super) fn arrivals(build: &Build, id: &Id) -> Vec<(NaiveDate, f64)> {
    let of = build.history.on_order.iter().filter(|order| order.of == *id);
    of.map(|order| (due(build, order).unwrap_or(build.today), order.mass)).collect()
}

/// What is on order of a material and should be here by a day, kg.
pub(super) fn on_the_way(build: &Build, id: &Id, by: NaiveDate) -> f64 {
    arrivals(build, id).iter().filter(|(day, _)| *day <= by).map(|(_, mass)| mass).sum()
}

/// The first of these arrivals that comes after a day.
pub(super) fn next_after(arrivals: &[(NaiveDate, f64)], day: NaiveDate) -> Option<NaiveDate> {
    arrivals.iter().map(|arrival| arrival.0).filter(|comes| *comes > day).min()
}

/// The day on which an order should be here: as it was told, else by its seller's longest delivery.
pub(super) fn due(build: &Build, order: &OnOrder) -> Option<NaiveDate> {
    let from = order.from.as_ref().and_then(|name| build.suppliers.get(name));
    order.expected.or_else(|| from.and_then(|seller| seller.soonest(order.ordered)))
}
