//! Grouping moulds into heats: how few there can be, and a grouping that comes near.

use crate::plan::work::Work;
use crate::plan::work::{Limits, may_share};

/// No grouping has fewer heats: for each alloy, moulds that fill more than half of the largest
/// crucible share no heat, and those of the rest that find no room beside them need more (the
/// bound L2 of Martello and Toth, Knapsack Problems, 1990, ch. 8; formula from memory, checked
/// against proven optima in the tests).
pub fn least_heats(work: &Work) -> usize {
    (0..work.alloys.len())
        .map(|alloy| {
            let moulds = || work.moulds.iter().filter(move |m| m.alloy == alloy);
            let most = moulds().filter_map(|m| m.pots.last()).map(|p| p.1).fold(0.0, f64::max);
            // A mould poured from two crucibles fills one and more.
            let sizes: Vec<f64> = moulds().map(|m| m.charge.min(most)).collect();
            bound(&sizes, most)
        })
        .sum()
}

/// Fewest bins of this capacity that hold these sizes, at least.
pub fn bound(sizes: &[f64], capacity: f64) -> usize {
    if sizes.is_empty() {
        return 0;
    }
    if capacity <= 0.0 {
        return 1;
    }
    let mut thresholds: Vec<f64> = sizes.iter().copied().filter(|s| *s <= capacity / 2.0).collect();
    thresholds.push(0.0);
    let at = |a: f64| {
        let large = sizes.iter().filter(|s| **s > capacity - a).count();
        let half = || sizes.iter().filter(|s| **s <= capacity - a && **s > capacity / 2.0);
        let small: f64 = sizes.iter().filter(|s| **s <= capacity / 2.0 && **s >= a).sum();
        let room = half().count() as f64 * capacity - half().sum::<f64>();
        let more = ((small - room) / capacity - 1e-9).ceil().max(0.0) as usize;
        large + half().count() + more
    };
    thresholds.into_iter().map(at).max().unwrap_or(0)
}

/// A grouping into few heats: the heaviest mould first, each into the fullest heat that takes it.
pub fn tight(work: &Work, limits: &Limits, longest: i64) -> Vec<Vec<usize>> {
    let mut moulds: Vec<usize> = (0..work.moulds.len()).collect();
    moulds.sort_by(|a, b| {
        let (a, b) = (&work.moulds[*a], &work.moulds[*b]);
        a.alloy.cmp(&b.alloy).then(b.charge.total_cmp(&a.charge))
    });
    let mut heats: Vec<(f64, Vec<usize>)> = Vec::new();
    for m in moulds {
        let mould = &work.moulds[m];
        // Older heats than these are full in all but odd cases.
        let recent = heats.len().saturating_sub(64)..heats.len();
        let takes = |g: &[usize]| {
            let group: Vec<usize> = g.iter().copied().chain([m]).collect();
            may_share(work, limits, &group, longest)
        };
        let fullest = recent
            .filter(|h| work.moulds[heats[*h].1[0]].alloy == mould.alloy && takes(&heats[*h].1))
            .max_by(|a, b| heats[*a].0.total_cmp(&heats[*b].0));
        match fullest {
            Some(h) => {
                heats[h].0 += mould.charge;
                heats[h].1.push(m);
            }
            None => heats.push((mould.charge, vec![m])),
        }
    }
    heats.into_iter().map(|(_, g)| g).collect()
}

#[cfg(test)]
mod tests {
    use super::bound;

    #[test]
    fn the_bound_meets_a_proven_optimum() {
        // Ten items in a computed example: volume alone asks for 3 bins, the proven optimum is 4.
        let sizes = [70.0, 60.0, 50.0, 33.0, 33.0, 33.0, 11.0, 7.0, 3.0];
        assert_eq!(bound(&sizes, 100.0), 4);
    }
}
