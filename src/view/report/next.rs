//! What comes next: the next heat, who pours it, and what cannot be made yet.

use crate::estimate::{CrucibleFit, Estimates, FlaskFit};
use crate::model::{Build, Standing};
use crate::plan::{Plan, Pour};
use crate::view::page::plain;
use crate::view::sheet::{HeatSheet, Paper};

/// The next heat, as its pour sheet tells it: both show the same numbers.
pub(super) fn heat(build: &Build, estimates: &Estimates, plan: &Plan) -> Option<HeatSheet> {
    let name = &plan.schedule.heats.first()?.name;
    let pour = Pour::planned(build, &plan.schedule, name)?;
    Some(HeatSheet::new(build, estimates, &pour, Paper::A4))
}

/// Who is at the pour of the next heat; nobody is named where one person works alone.
pub(super) fn pourers(build: &Build, plan: &Plan) -> Vec<String> {
    let schedule = &plan.schedule;
    let Some(heat) = schedule.heats.first() else { return Vec::new() };
    let mut out: Vec<String> = Vec::new();
    let blocks = schedule.sessions.iter().flat_map(|s| &s.blocks);
    for block in blocks.filter(|b| b.from < heat.over && b.to > heat.pour) {
        let mould = schedule.jobs[block.job].mould;
        let name = plain(&block.person);
        if mould.is_some_and(|m| heat.moulds.contains(&m)) && !out.contains(&name) {
            out.push(name);
        }
    }
    if build.shop.people.len() > 1 { out } else { Vec::new() }
}

/// What cannot be made yet, and what is missing for it: as the plan tells it, and what the shop has
/// no flask or crucible for.
pub(super) fn lacking(build: &Build, estimates: &Estimates, plan: &Plan) -> Vec<String> {
    if !plan.schedule.missing.is_empty() {
        return plan.schedule.missing.iter().map(|m| plain(m)).collect();
    }
    let mut out = Vec::new();
    for (i, part) in build.parts.iter().enumerate() {
        let Some(estimate) = &estimates.castings[i] else { continue };
        if plan.standings[i] >= Standing::Cast {
            continue;
        }
        let flask = match &estimate.mould.flask {
            FlaskFit::Lacking(says) => Some(says),
            _ => None,
        };
        let crucible = match &estimate.mould.crucible {
            CrucibleFit::Lacking(says) => Some(says),
            _ => None,
        };
        let name = &part.given.name;
        out.extend(flask.into_iter().chain(crucible).map(|says| plain(&format!("{name}: {says}"))));
    }
    out
}

/// Parts that wait for what is missing, by name.
pub(super) fn kept_back(build: &Build, plan: &Plan) -> Vec<String> {
    plan.schedule.waiting.iter().map(|i| plain(&build.parts[*i].given.name)).collect()
}
