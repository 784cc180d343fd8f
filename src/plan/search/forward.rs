//! Bringing castings forward: which work goes first so that those on which much waits, and which
//! may be lost, are known early.

use crate::plan::calendar::Minute;
use crate::plan::subject::Subject;
use crate::plan::work::Work;
use std::collections::BTreeSet;

/// All that an item waits for, and itself.
fn up_to(work: &Work, last: impl IntoIterator<Item = usize>) -> BTreeSet<usize> {
    let mut out = BTreeSet::new();
    let mut open: Vec<usize> = last.into_iter().collect();
    while let Some(n) = open.pop() {
        if out.insert(n) {
            open.extend(&work.items[n].before);
        }
    }
    out
}

/// Priorities that do the work for one heat after the other, the heat first that has most at stake
/// for an hour of work that it still wants. `stakes` names an item that decides and what is at
/// stake in it; all else keeps its priority.
///
/// The order is that of the ratio rule for weighted ends on one machine (W. E. Smith, 1956).
pub fn forward(
    work: &Work,
    heats: &[Vec<usize>],
    stakes: &[(usize, f64)],
    keys: &[f64],
) -> Vec<f64> {
    let decides = |m: usize| {
        let part = work.moulds[m].part;
        let mine = work
            .items
            .iter()
            .enumerate()
            .filter(move |(_, item)| item.subject == Subject::Part(part));
        mine.map(|(n, _)| n).filter(|n| stakes.iter().any(|(s, _)| s == n)).collect::<Vec<_>>()
    };
    struct Heat {
        work: BTreeSet<usize>,
        stake: f64,
    }
    let mut left: Vec<Heat> = heats
        .iter()
        .map(|moulds| {
            let last: Vec<usize> = moulds.iter().flat_map(|m| decides(*m)).collect();
            let stake = stakes.iter().filter(|(n, _)| last.contains(n)).map(|(_, s)| s).sum();
            let pours = moulds.iter().filter_map(|m| work.moulds[*m].items[1]);
            Heat { work: up_to(work, last.iter().copied().chain(pours)), stake }
        })
        .collect();
    let most = keys.iter().copied().fold(1.0, f64::max);
    let mut out = keys.to_vec();
    let mut done: BTreeSet<usize> = BTreeSet::new();
    while !left.is_empty() {
        let worth = |heat: &Heat| {
            let wanted = heat.work.difference(&done).map(|n| work.items[*n].minutes);
            heat.stake / wanted.sum::<Minute>().max(1) as f64
        };
        let first = (0..left.len()).max_by(|a, b| worth(&left[*a]).total_cmp(&worth(&left[*b])));
        let heat = left.swap_remove(first.unwrap_or_default());
        let above = most * (left.len() + 1) as f64;
        for n in heat.work.into_iter().filter(|n| done.insert(*n)) {
            out[n] += above;
        }
    }
    out
}
