//! The bill: what a build takes and what must be bought for it.

use super::flowing;
use super::in_shop::InShop;
use super::line::{Bill, BoughtLine};
use super::lines;
use super::walker::{cored, flow};
use super::wear::wear;
use crate::estimate::Estimates;
use crate::manifest::{Making, Step};
use crate::model::Build;
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
        to_pay,
        flow: flow(&shop, schedule),
    };
    flowing::apply(build, schedule, &shop, &mut bill);
    bill
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
            price: each.map(|p| p * Decimal::from(part.given.quantity)),
            here: build.history.is_done(i, Step::Receive) || later,
        });
    }
    lines
}
