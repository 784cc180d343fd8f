//! What the plan takes sooner than it can be there.

use super::line::{Bill, StockLine};
use super::ordered::{arrivals, due, next_after};
use crate::figure::{Kind, show};
use crate::model::Build;
use crate::plan::Schedule;
use chrono::NaiveDate;

/// Less than this is rounding, kg.
const NONE: f64 = 1e-6;

/// Materials that the plan takes before they can be there, in words: what lies in the shop, and what
/// is on order from the day it should be here; then what is ordered today, with the longest delivery
/// of the quickest of those who sell it. The day is by the likely walk, as that of what is to be
/// bought; how much is lacking, by the walk that uses most. Orders that are overdue stand first.
/// Nothing is told of what nobody sells, and of sellers that say nothing of their delivery.
pub fn late(build: &Build, bill: &Bill, schedule: &Schedule) -> Vec<String> {
    let overdue = build.history.on_order.iter().filter_map(|order| {
        let day = due(build, order).filter(|day| *day < build.today)?;
        Some(format!(
            "{}: ordered on {}, it should have been here by {day}: ask the seller, or log it as \
             received; the plan counts it as here",
            order.of, order.ordered
        ))
    });
    let lacking = bill.lines().filter_map(|line| lacking(build, bill, schedule, line));
    overdue.chain(lacking).collect()
}

fn lacking(build: &Build, bill: &Bill, schedule: &Schedule, line: &StockLine) -> Option<String> {
    let flow = bill.flow.as_ref()?;
    let walk = flow.likely.stocks.get(&line.id)?;
    let orders = arrivals(build, &line.id);
    let (short, _) = walk.first_short(&orders, NaiveDate::MAX)?;
    let next = next_after(&orders, short.date());
    let sellers = build.suppliers.values().filter(|s| s.packs.iter().any(|p| p.of == line.id));
    // Where what is on order is enough, nobody orders more.
    let lacks_more = line.buy.as_ref().is_some_and(|buy| buy.si() > NONE);
    let anew = sellers.filter_map(|s| s.soonest(build.today)).min().filter(|_| lacks_more);
    let there = next.into_iter().chain(anew).min().filter(|day| *day > short.date())?;
    let lacks = |walk: &super::StockWalk| walk.first_short(&orders, there).map(|(_, kg)| kg);
    let likely = lacks(walk)?;
    let most = flow.most.stocks.get(&line.id).and_then(lacks).map_or(likely, |kg| kg.max(likely));
    let [likely, most] = [likely, most].map(|kg| show(Kind::Mass, kg, build.header.units));
    let much = if likely == most { most } else { format!("up to {most} (likely {likely})") };
    let heat = schedule.heats.iter().find(|heat| heat.lit == short);
    let heat = heat.map_or(String::new(), |heat| format!(" ({})", heat.name));
    let how = if next == Some(there) { "as ordered" } else { "ordered today" };
    Some(format!(
        "{}: {much} lacking from {}{heat}; {how} it is there by {there}, and the plan does not wait \
         for it",
        line.title,
        short.date(),
    ))
}
