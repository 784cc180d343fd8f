//! Activities of which no two can run at the same time.

use super::net::Net;

/// Sets of three and more activities that exclude each other pairwise: for each resource, those
/// that take more than half of it; then, greedily, as many as it takes to hold every clashing pair.
/// Each set is one machine's work, of which more can be said than of a shared resource.
pub(super) fn cliques(net: &Net) -> Vec<Vec<usize>> {
    let n = net.len();
    let exclude = exclusions(net);
    let mut longest: Vec<usize> = (0..n).filter(|i| net.durations[*i] > 0).collect();
    longest.sort_by_key(|i| -net.durations[*i]);
    let mut covered = vec![false; n * n];
    let mut found = Vec::new();
    let mut grow = |mut clique: Vec<usize>, covered: &mut Vec<bool>| {
        for &other in &longest {
            if clique.iter().all(|member| exclude[member * n + other]) {
                clique.push(other);
            }
        }
        for &a in &clique {
            clique.iter().for_each(|b| covered[a * n + b] = true);
        }
        if clique.len() > 2 {
            found.push(clique);
        }
    };
    for (r, capacity) in net.capacities.iter().enumerate() {
        let big: Vec<usize> = (0..n).filter(|i| 2 * net.demands(*i)[r] > *capacity).collect();
        if big.len() > 1 {
            grow(big, &mut covered);
        }
    }
    for &a in &longest {
        for &b in &longest {
            if a != b && !covered[a * n + b] && net.clash(a, b) {
                grow(vec![a, b], &mut covered);
            }
        }
    }
    found
}

/// Whether two activities can never run at the same time, at `a * n + b`: they clash on a
/// resource, or one waits for the end of the other.
fn exclusions(net: &Net) -> Vec<bool> {
    let n = net.len();
    let mut exclude = vec![false; n * n];
    for a in 0..n {
        // Least time from the start of `a` to other starts, along arcs.
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
