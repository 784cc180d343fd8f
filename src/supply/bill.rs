//! The bill: what a build takes and what must be bought for it.

use super::flowing;
use super::in_shop::InShop;
use super::line::Bill;
use super::lines;
use super::ordered;
use super::stock::holdings;
use super::walker::{cored, flow};
use super::wear::{wear, worn_out};
use crate::estimate::Estimates;
use crate::manifest::{Id, Step};
use crate::model::Build;
use crate::plan::Schedule;
use chrono::NaiveDate;

/// Reckons what a build takes, and what must be bought for the work in this schedule.
pub fn bill(build: &Build, estimates: &Estimates, schedule: &Schedule) -> Bill {
    let bought = ordered::bought(build, schedule);
    let to_pay = bought.iter().filter(|l| !l.here).filter_map(|l| l.price).sum();
    let shop = InShop::new(build, estimates, &cored(build, schedule));
    let moulds = lines::moulds(build, estimates);
    let mut bill = Bill {
        metal: lines::metal(build, &moulds, &shop),
        sand: lines::sand(build, &moulds, &shop),
        consumables: lines::used_up(build, &moulds, &shop),
        crucibles: wear(build, schedule, &shop),
        bought,
        made: ordered::made(build, schedule),
        to_pay,
        holdings: holdings(build, &shop),
        left_out: left_out(build, schedule),
        flow: flow(&shop, schedule),
    };
    flowing::apply(build, schedule, &shop, &mut bill);
    bill.consumables.extend(worn_out(build, &bill.crucibles, &shop));
    for line in &mut bill.consumables {
        line.by = line.by.or_else(|| first(schedule, line.before?));
    }
    bill
}

/// The first day with such work in the plan.
fn first(schedule: &Schedule, step: Step) -> Option<NaiveDate> {
    let jobs = schedule.jobs.iter().filter(|job| job.step == step);
    jobs.map(|job| job.start.date()).min()
}

/// Castings that are wanted and that no mould of the plan is for.
fn left_out(build: &Build, schedule: &Schedule) -> Vec<(Id, u32)> {
    if schedule.moulds.is_empty() && schedule.heats.is_empty() {
        return Vec::new();
    }
    let planned = |part: usize| -> u32 {
        let lots = schedule.moulds.iter().filter(|m| m.standing.is_none()).flat_map(|m| m.lots());
        lots.filter(|lot| lot.0 == part).map(|lot| lot.1).sum()
    };
    let parts = build.parts.iter().enumerate().filter(|(_, p)| p.casting.is_some());
    let lacking = parts.map(|(i, p)| (p.id().clone(), build.to_cast(i).saturating_sub(planned(i))));
    lacking.filter(|(_, n)| *n > 0).collect()
}
