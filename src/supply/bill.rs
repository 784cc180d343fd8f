//! The bill: what a build takes and what must be bought for it.

use super::flowing;
use super::in_shop::InShop;
use super::line::{Bill, BoughtLine, MadeLine};
use super::lines;
use super::money;
use super::stock::holdings;
use super::walker::{cored, flow};
use super::wear::wear;
use crate::estimate::Estimates;
use crate::manifest::{Id, Making, Step};
use crate::model::{Build, Part};
use crate::plan::Schedule;
use rust_decimal::Decimal;

/// Reckons what a build takes, and what must be bought for the work in this schedule.
pub fn bill(build: &Build, estimates: &Estimates, schedule: &Schedule) -> Bill {
    let bought = bought(build);
    let to_pay = bought.iter().filter(|l| !l.here).filter_map(|l| l.price).sum();
    let shop = InShop::new(build, estimates, &cored(schedule));
    let moulds = lines::moulds(build, estimates);
    let mut bill = Bill {
        metal: lines::metal(build, &moulds, &shop),
        sand: lines::sand(build, &moulds, &shop),
        consumables: lines::used_up(build, &moulds, &shop),
        crucibles: wear(build, schedule),
        bought,
        made: made(build),
        to_pay,
        holdings: holdings(build, &shop),
        left_out: left_out(build, schedule),
        flow: flow(&shop, schedule),
    };
    flowing::apply(build, schedule, &shop, &mut bill);
    bill
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

/// What the parts are made of that are still to be made.
fn made(build: &Build) -> Vec<MadeLine> {
    let parts = build.parts.iter().enumerate();
    let to_make =
        parts.filter(|(i, p)| !p.steps().into_iter().any(|s| build.history.is_done(*i, s)));
    let line = |(_, part): (usize, &Part)| match &part.given.making {
        Making::Made(made) => Some(MadeLine {
            id: part.id().clone(),
            from: made.from.clone()?,
            quantity: part.given.quantity,
        }),
        _ => None,
    };
    to_make.filter_map(line).collect()
}

fn bought(build: &Build) -> Vec<BoughtLine> {
    let mut lines = Vec::new();
    for (i, part) in build.parts.iter().enumerate() {
        let Making::Bought(bought) = &part.given.making else { continue };
        let each: Option<Decimal> = bought.price.as_ref().and_then(|p| p.parse().ok());
        let later = part.steps().into_iter().any(|s| build.history.is_done(i, s));
        lines.push(BoughtLine {
            id: part.id().clone(),
            name: part.given.name.clone(),
            quantity: part.given.quantity,
            price: each.map(|p| money::rounded(p * Decimal::from(part.given.quantity))),
            supplier: bought.supplier.clone(),
            ordered: build.history.on_order.iter().find(|o| o.of == *part.id()).cloned(),
            here: build.history.is_done(i, Step::Receive) || later,
        });
    }
    lines
}
