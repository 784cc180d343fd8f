//! Lower bounds of the makespan that cost next to nothing.

use super::net::Net;

/// The best of the bounds below.
pub(super) fn lower(net: &Net, cliques: &[Vec<usize>]) -> i32 {
    critical_path(net).max(energy(net)).max(machines(net, cliques))
}

/// The longest chain of durations and lags.
fn critical_path(net: &Net) -> i32 {
    (0..net.len()).map(|i| net.heads[i] + net.durations[i] + net.tails[i]).fold(0, i32::max)
}

/// For each resource, the most that any set of activities needs: earliest head, then the work of
/// the set at full capacity, then the shortest tail.
fn energy(net: &Net) -> i32 {
    let all: Vec<usize> = (0..net.len()).collect();
    let of = |r: usize| {
        work_bound(net, &all, net.capacities[r], |i| {
            i64::from(net.demands(i)[r]) * i64::from(net.durations[i])
        })
    };
    (0..net.capacities.len()).map(of).fold(0, i32::max)
}

/// Activities that exclude each other pairwise share one machine.
fn machines(net: &Net, cliques: &[Vec<usize>]) -> i32 {
    let of = |clique: &Vec<usize>| work_bound(net, clique, 1, |i| i64::from(net.durations[i]));
    cliques.iter().map(of).fold(0, i32::max)
}

/// Over all subsets given by a least head and a least tail: head + work / capacity + tail.
/// With capacity 1 this is the preemptive one-machine bound of J. R. Jackson (1955).
fn work_bound(net: &Net, among: &[usize], capacity: i32, work: impl Fn(usize) -> i64) -> i32 {
    let busy: Vec<(usize, i64)> =
        among.iter().map(|&i| (i, work(i))).filter(|&(_, w)| w > 0).collect();
    let mut by_tail = busy.clone();
    by_tail.sort_by_key(|&(i, _)| -net.tails[i]);
    let mut heads: Vec<i32> = busy.iter().map(|&(i, _)| net.heads[i]).collect();
    heads.sort_unstable();
    heads.dedup();
    let mut best = 0;
    for head in heads {
        let mut sum = 0i64;
        for &(i, work) in by_tail.iter().filter(|&&(i, _)| net.heads[i] >= head) {
            sum += work;
            let time = (sum + i64::from(capacity) - 1) / i64::from(capacity);
            best = best.max(i64::from(head) + time + i64::from(net.tails[i]));
        }
    }
    i32::try_from(best).unwrap_or(i32::MAX)
}
