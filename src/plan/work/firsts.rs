//! The first heat of a shop, of an alloy and of a sand: one mould, the easiest and then the lightest,
//! before any other of its kind. What is learned in it is learned cheaply. Common practice, no source.

use super::items::Work;
use crate::manifest::{Difficulty, Id};
use crate::model::Build;
use std::collections::BTreeSet;

/// What a heat is the first of.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub enum FirstOf {
    /// The shop.
    Shop,
    /// An alloy.
    Alloy(Id),
    /// A sand.
    Sand(Id),
}

/// A mould that is poured before all others of its kind.
#[derive(Debug, Clone)]
pub struct First {
    /// The mould, by index.
    pub mould: usize,
    /// What it is the first of.
    pub of: FirstOf,
}

/// First heats of what is new in the shop, small and easy ones.
pub struct Firsts {
    /// What they are.
    pub first: Vec<First>,
    /// Days that small ones first would cost, where that is too many and they are not.
    pub would_cost: Option<i64>,
}

/// Makes all that a new shop, alloy or sand pours wait for its first heat, and says which they are.
pub fn learn_first(build: &Build, work: &mut Work) -> Vec<First> {
    let mut firsts: Vec<First> = Vec::new();
    for (of, group) in kinds(build, work) {
        let Some(mould) = easiest(build, work, &group) else { continue };
        let batch = work.batches.with(mould).to_vec();
        let others: Vec<usize> = group.into_iter().filter(|m| !batch.contains(m)).collect();
        for &other in &others {
            let (Some(first), Some(then)) =
                (work.moulds[mould].items[1], work.moulds[other].items[1])
            else {
                continue;
            };
            if !work.items[then].before.contains(&first) {
                work.items[then].before.push(first);
                work.items[first].after.push(then);
            }
        }
        if !others.is_empty() {
            work.batches.keep_alone(mould);
            firsts.push(First { mould, of });
        }
    }
    firsts
}

/// What is new, with the moulds of its kind.
fn kinds(build: &Build, work: &Work) -> Vec<(FirstOf, Vec<usize>)> {
    let before = &build.shop.poured_before;
    let poured = || build.history.attempts.values().filter(|a| a.poured.is_some());
    let known: BTreeSet<Id> = poured()
        .flat_map(|a| {
            let parts = a.castings.iter().map(|(part, _)| *part);
            parts.filter_map(|part| kind_of(build, part)).flatten()
        })
        .chain(before.iter().map(|given| given.value.clone()))
        .collect();
    let moulds = 0..work.moulds.len();
    let mut out = Vec::new();
    if before.is_empty() && poured().next().is_none() && build.history.heats.is_empty() {
        out.push((FirstOf::Shop, moulds.clone().collect()));
    }
    for which in 0..2 {
        let mut seen: Vec<(Id, Vec<usize>)> = Vec::new();
        for m in moulds.clone() {
            let Some(kind) = kind_of(build, work.moulds[m].part).map(|k| k[which].clone()) else {
                continue;
            };
            match seen.iter_mut().find(|(id, _)| *id == kind) {
                Some((_, group)) => group.push(m),
                None => seen.push((kind, vec![m])),
            }
        }
        let new = seen.into_iter().filter(|(id, _)| !known.contains(id));
        let of = |id| if which == 0 { FirstOf::Alloy(id) } else { FirstOf::Sand(id) };
        out.extend(new.map(|(id, group)| (of(id), group)));
    }
    out
}

/// Alloy and sand of a part that is cast.
fn kind_of(build: &Build, part: usize) -> Option<[Id; 2]> {
    let casting = build.parts[part].casting.as_ref()?;
    let sand = build.patterns[casting.pattern].sand.as_ref()?;
    Some([casting.alloy.id.clone(), sand.id.clone()])
}

/// The easiest and then the lightest of these moulds, of those that stand rammed where any does, that
/// waits for no other of them.
fn easiest(build: &Build, work: &Work, group: &[usize]) -> Option<usize> {
    let stands = |m: &usize| work.moulds[*m].standing.is_some();
    let any = group.iter().any(stands);
    let free = group.iter().copied().filter(|m| stands(m) || !any);
    let free = free.filter(|m| !waits(work, *m, group));
    let difficulty = |m: usize| {
        let parts = std::iter::once(work.moulds[m].part)
            .chain(work.moulds[m].others.iter().map(|(part, _)| *part));
        let castings = parts.filter_map(|part| build.parts[part].casting.as_ref());
        castings.map(|c| c.given.difficulty).max().unwrap_or(Difficulty::Hard)
    };
    let rank = |a: &usize, b: &usize| {
        let (ma, mb) = (&work.moulds[*a], &work.moulds[*b]);
        let by_weight = ma.charge.total_cmp(&mb.charge);
        difficulty(*a).cmp(&difficulty(*b)).then(by_weight).then(a.cmp(b))
    };
    free.min_by(rank)
}

/// Whether a mould waits for the pour or the shake-out of another of these.
fn waits(work: &Work, mould: usize, group: &[usize]) -> bool {
    let mut stack: Vec<usize> = work.moulds[mould].items[..2].iter().flatten().copied().collect();
    let mut seen = vec![false; work.items.len()];
    while let Some(n) = stack.pop() {
        for &before in &work.items[n].before {
            if std::mem::replace(&mut seen[before], true) {
                continue;
            }
            let other = work.items[before].mould.filter(|m| *m != mould && group.contains(m));
            let rams = other.is_some_and(|m| work.moulds[m].items[0] == Some(before));
            if other.is_some() && !rams {
                return true;
            }
            stack.push(before);
        }
    }
    false
}
