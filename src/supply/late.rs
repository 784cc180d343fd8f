//! What the plan takes sooner than it can be there.

use super::bill::bill;
use super::flow::StockWalk;
use super::line::StockLine;
use crate::estimate::Estimates;
use crate::figure::{Kind, show};
use crate::manifest::Supplier;
use crate::model::{Build, OnOrder};
use crate::plan::Schedule;
use chrono::{NaiveDate, NaiveDateTime};

/// Less than this is rounding, kg.
const NONE: f64 = 1e-6;

/// Materials that the plan takes before they can be there, in words, by the likely walk: what lies in
/// the shop, and what is on order from the day it should be here; then what is ordered today, with
/// the longest delivery of the quickest of those who sell it. Nothing is told of what nobody sells,
/// and of sellers that say nothing of their delivery.
pub fn late(build: &Build, estimates: &Estimates, schedule: &Schedule) -> Vec<String> {
    let bill = bill(build, estimates, schedule);
    let Some(flow) = &bill.flow else { return Vec::new() };
    let says = |line: &StockLine| {
        let walk = flow.likely.stocks.get(&line.id)?;
        let orders = arrivals(build, line);
        let (short, _) = first_short(walk, &orders, NaiveDate::MAX)?;
        let later = orders.iter().map(|order| order.0).filter(|day| *day > short.date());
        let sellers = build.suppliers.values().filter(|s| s.packs.iter().any(|p| p.of == line.id));
        let anew = sellers.filter_map(|s| s.soonest(build.today)).min();
        let next = later.min();
        let soonest = next.into_iter().chain(anew).min().filter(|day| *day > short.date())?;
        let (_, lacks) = first_short(walk, &orders, soonest)?;
        let heat = schedule.heats.iter().find(|heat| heat.lit == short);
        let heat = heat.map_or(String::new(), |heat| format!(" ({})", heat.name));
        let how = if next == Some(soonest) { "as ordered" } else { "ordered today" };
        Some(format!(
            "{}: {} lacking from {}{heat}; {how} it is there by {soonest}, and the plan does \
             not wait for it",
            line.title,
            show(Kind::Mass, lacks, build.header.units),
            short.date(),
        ))
    };
    bill.lines().filter_map(says).collect()
}

/// What is on order of a material: the day it should be here, and how much, kg. At once, where
/// nobody knows.
fn arrivals(build: &Build, line: &StockLine) -> Vec<(NaiveDate, f64)> {
    let of = build.history.on_order.iter().filter(|order| order.of == line.id);
    let day = |order: &OnOrder| {
        let from = order.from.as_ref().and_then(|name| build.suppliers.get(name));
        let usual = || from.and_then(|s: &Supplier| s.soonest(order.ordered));
        order.expected.or_else(usual).unwrap_or(build.today)
    };
    of.map(|order| (day(order), order.mass)).collect()
}

/// When a material first runs short with what has arrived by then, and the most that is lacking
/// before a day, kg.
fn first_short(
    walk: &StockWalk,
    arrivals: &[(NaiveDate, f64)],
    before: NaiveDate,
) -> Option<(NaiveDateTime, f64)> {
    let here = |at: NaiveDateTime| -> f64 {
        arrivals.iter().filter(|(day, _)| *day <= at.date()).map(|(_, mass)| mass).sum()
    };
    let until = walk.points.iter().filter(|(at, _)| at.date() < before);
    let mut lacks = until.map(|(at, point)| (*at, -(point.stock + here(*at))));
    let (at, first) = lacks.find(|(_, lack)| *lack > NONE)?;
    Some((at, lacks.map(|(_, lack)| lack).fold(first, f64::max)))
}
