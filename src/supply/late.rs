//! What the plan takes sooner than it can be there.

use super::bill::bill;
use super::line::StockLine;
use super::ordered::{arrivals, due};
use crate::estimate::Estimates;
use crate::figure::{Kind, show};
use crate::model::Build;
use crate::plan::Schedule;
use chrono::NaiveDate;

/// Less than this is rounding, kg.
const NONE: f64 = 1e-6;

/// Materials that the plan takes before they can be there, in words, by the likely walk: what lies in
/// the shop, and what is on order from the day it should be here; then what is ordered today, with
/// the longest delivery of the quickest of those who sell it. Orders that are overdue stand first.
/// Nothing is told of what nobody sells, and of sellers that say nothing of their delivery.
pub fn late(build: &Build, estimates: &Estimates, schedule: &Schedule) -> Vec<String> {
    let overdue = build.history.on_order.iter().filter_map(|order| {
        let day = due(build, order).filter(|day| *day < build.today)?;
        Some(format!(
            "{}: ordered on {}, it should have been here by {day}: ask the seller, or log it as \
             received; the plan counts it as here",
            order.of, order.ordered
        ))
    });
    let overdue: Vec<String> = overdue.collect();
    let bill = bill(build, estimates, schedule);
    let Some(flow) = &bill.flow else { return overdue };
    let says = |line: &StockLine| {
        let walk = flow.likely.stocks.get(&line.id)?;
        let orders = arrivals(build, &line.id);
        let (short, _) = walk.first_short(&orders, NaiveDate::MAX)?;
        let later = orders.iter().map(|order| order.0).filter(|day| *day > short.date());
        let sellers = build.suppliers.values().filter(|s| s.packs.iter().any(|p| p.of == line.id));
        // Where what is on order is enough, nobody orders more.
        let lacks_more = line.buy.as_ref().is_some_and(|buy| buy.si() > NONE);
        let anew = sellers.filter_map(|s| s.soonest(build.today)).min().filter(|_| lacks_more);
        let next = later.min();
        let soonest = next.into_iter().chain(anew).min().filter(|day| *day > short.date())?;
        let (_, lacks) = walk.first_short(&orders, soonest)?;
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
    overdue.into_iter().chain(bill.lines().filter_map(says)).collect()
}
