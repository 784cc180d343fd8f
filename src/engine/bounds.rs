//! Lower bounds of the makespan that cost next to nothing.

use super::net::Net;

/// The best of the bounds below.
pub(super) fn lower(net: &Net) -> i32 {
    critical_path(net).max(energy(net)).max(cliques(net))
}

/// The longest chain of durations and lags.
pub(super) fn critical_path(net: &Net) -> i32 {
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

/// Activities that exclude each other pairwise share one machine. Cliques are grown greedily, from
/// each activity, by the longest that still excludes all in the clique.
fn cliques(net: &Net) -> i32 {
    let mut by_length: Vec<usize> = (0..net.len()).filter(|i| net.durations[*i] > 0).collect();
    by_length.sort_by_key(|i| -net.durations[*i]);
    let exclude = exclusions(net);
    let mut best = 0;
    for &seed in &by_length {
        let mut clique = vec![seed];
        for &other in &by_length {
            if clique.iter().all(|&member| exclude[member * net.len() + other]) {
                clique.push(other);
            }
        }
        best = best.max(work_bound(net, &clique, 1, |i| i64::from(net.durations[i])));
    }
    best
}

/// Whether two activities can never run at the same time, at `a * n + b`: they clash on a
/// resource, or one waits for the end of the other.
fn exclusions(net: &Net) -> Vec<bool> {
    let n = net.len();
    let mut exclude = vec![false; n * n];
    // Least time from start to start along arcs, where there is a way at all.
    for a in 0..n {
        let mut far: Vec<Option<i32>> = vec![None; n];
        far[a] = Some(0);
        for &i in &net.order {
            let Some(here) = far[i] else { continue };
            for &(j, w) in &net.afters[i] {
                far[j] = far[j].max(Some(here + w));
            }
        }
        for b in 0..n {
            let waits = far[b].is_some_and(|w| w >= net.durations[a]);
            if a != b && (waits || net.clash(a, b)) {
                exclude[a * n + b] = true;
                exclude[b * n + a] = true;
            }
        }
    }
    exclude
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
