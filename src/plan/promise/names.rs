//! The names by which moulds and jobs are kept, so that they are known again when all is counted anew.

use crate::manifest::Step;
use crate::model::Build;
use crate::plan::subject::Subject;
use crate::plan::work::{Mould, Work};

/// Castings by part, in words that do not depend on which part leads.
pub(super) fn holds(build: &Build, lots: impl Iterator<Item = (usize, u32)>) -> String {
    let mut lots: Vec<String> =
        lots.map(|(part, n)| format!("{}={n}", build.parts[part].id())).collect();
    lots.sort_unstable();
    lots.join(" ")
}

pub(super) fn holds_of(build: &Build, mould: &Mould) -> String {
    let lots = std::iter::once((mould.part, mould.castings)).chain(mould.others.iter().copied());
    holds(build, lots)
}

/// The name of a mould in a plan: its own if it stands; else the part's and which of those to come.
pub(super) fn mould_name(build: &Build, mould: &Mould) -> String {
    match &mould.standing {
        Some((name, _)) => name.to_string(),
        None => format!("{}/{}", build.parts[mould.part].id(), mould.nth),
    }
}

pub(super) fn step_of(mould: &str, step: Step) -> String {
    format!("{mould} {}", step.word())
}

/// The name of each item, its mould by the name of today.
pub(crate) fn names_of_today(build: &Build, work: &Work) -> Vec<String> {
    let moulds: Vec<String> = work.moulds.iter().map(|m| mould_name(build, m)).collect();
    job_names(build, work, &moulds)
}

/// The name of each item, where moulds have these names.
pub(super) fn job_names(build: &Build, work: &Work, moulds: &[String]) -> Vec<String> {
    let names = work.items.iter().map(|item| {
        let on = match item.subject {
            Subject::Pattern(i) => &build.patterns[i].id,
            Subject::Part(i) => build.parts[i].id(),
        };
        step_of(item.mould.map_or(on, |m| &*moulds[m]), item.step)
    });
    let mut names: Vec<String> = names.collect();
    for taken in &work.cooling {
        names[taken.until] = step_of(&taken.mould, Step::ShakeOut);
    }
    names
}
