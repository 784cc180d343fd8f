//! How few heats there can be.

use super::rooms::{ROOMS, Size, sizes};
use super::weights::weights;
use crate::plan::calendar::Calendar;
use crate::plan::work::{Limits, Work};

/// Steps of the search for a grouping into so few heats, for one alloy.
const STEPS: usize = 20_000;
/// The same times moulds.
const STEPS_OF_MOULDS: usize = 2_000_000;
/// Of more moulds than this it is not asked which wait for which.
const MOST_MOULDS: usize = 2_000;
/// Sums may be this much above what there is room for.
const SLACK: f64 = 1e-9;
/// Parts of a heat that differ by less are the same.
const SAME: f64 = 1e-6;
/// Sizes are rounded to so many parts of a heat at the most.
const MOST_PARTS: u32 = 30;

/// What no grouping can beat.
pub struct Least {
    /// No grouping has fewer heats.
    pub heats: usize,
    /// How much of a heat each mould takes at the least; no heat holds more than 1.
    pub weights: Vec<f64>,
}

/// The fewest heats. For each alloy: moulds share a crucible, the flasks, the heap of sand and a session,
/// and none is poured with one that it waits for. Beside the bounds in closed form, weights of the moulds,
/// and a search through all groupings into one heat fewer, as far as it comes.
pub fn least(work: &Work, limits: &Limits, calendar: &Calendar) -> Least {
    let waits = waits(work);
    let mut least = Least { heats: 0, weights: vec![0.0; work.moulds.len()] };
    for alloy in 0..work.alloys.len() {
        let moulds = (0..work.moulds.len()).filter(|m| work.moulds[*m].alloy == alloy);
        let packing = Packing::new(work, limits, calendar, moulds.collect(), &waits);
        let weights = weights(&packing.sizes, &packing.flasks, &packing.count);
        least.heats += packing.fewest(&weights);
        for (mould, weight) in packing.moulds.iter().zip(weights) {
            least.weights[*mould] = weight;
        }
    }
    least
}

/// By mould: those whose pour or shake-out must be over before it can be rammed or poured.
fn waits(work: &Work) -> Vec<Vec<bool>> {
    let count = work.moulds.len();
    if count > MOST_MOULDS {
        return vec![Vec::new(); count];
    }
    let mut behind: Vec<Vec<bool>> = vec![Vec::new(); work.items.len()];
    for n in work.order() {
        let mut all = vec![false; count];
        for &b in &work.items[n].before {
            all.iter_mut().zip(&behind[b]).for_each(|(mine, theirs)| *mine |= *theirs);
            if let Some(mould) = work.items[b].mould.filter(|m| work.moulds[*m].items[0] != Some(b))
            {
                all[mould] = true;
            }
        }
        behind[n] = all;
    }
    let of = |m: usize| {
        let mut all = vec![false; count];
        for n in work.moulds[m].items[..2].iter().flatten() {
            all.iter_mut().zip(&behind[*n]).for_each(|(mine, theirs)| *mine |= *theirs);
        }
        all[m] = false;
        all
    };
    (0..count).map(of).collect()
}

/// Moulds of one alloy to be put into heats.
struct Packing {
    /// The moulds, the largest first.
    moulds: Vec<usize>,
    /// By mould.
    sizes: Vec<Size>,
    /// The flask that each takes.
    flasks: Vec<Option<usize>>,
    /// Flasks of each kind.
    count: Vec<usize>,
    /// Moulds that share no heat with it.
    apart: Vec<Vec<bool>>,
}

/// A heat that is being filled.
#[derive(Clone, Default)]
struct Filling {
    moulds: Vec<usize>,
    filled: Size,
}

impl Packing {
    fn new(
        work: &Work,
        limits: &Limits,
        calendar: &Calendar,
        moulds: Vec<usize>,
        waits: &[Vec<bool>],
    ) -> Self {
        let sizes = sizes(work, limits, calendar, &moulds);
        let largest = |at: &usize| sizes[*at].into_iter().fold(0.0, f64::max);
        let mut order: Vec<usize> = (0..moulds.len()).collect();
        order.sort_by(|a, b| largest(b).total_cmp(&largest(a)).then(moulds[*a].cmp(&moulds[*b])));
        let sizes = order.iter().map(|at| sizes[*at]).collect();
        let moulds: Vec<usize> = order.into_iter().map(|at| moulds[at]).collect();
        let waits_for = |a: usize, b: usize| waits[a].get(b).is_some_and(|waits| *waits);
        let apart =
            |m: &usize| moulds.iter().map(|o| waits_for(*m, *o) || waits_for(*o, *m)).collect();
        Self {
            sizes,
            flasks: moulds.iter().map(|m| work.moulds[*m].flask).collect(),
            count: limits.flasks.clone(),
            apart: moulds.iter().map(apart).collect(),
            moulds,
        }
    }

    /// The fewest heats that could be proven, by weights of the moulds too.
    fn fewest(&self, weights: &[f64]) -> usize {
        let moulds = self.sizes.len();
        let by_room = (0..ROOMS)
            .map(|of| bound(&self.sizes.iter().map(|size| size[of]).collect::<Vec<_>>(), 1.0));
        let by_flask = self.count.iter().enumerate().map(|(flask, count)| {
            let taken = self.flasks.iter().filter(|f| **f == Some(flask)).count();
            taken.div_ceil((*count).max(1))
        });
        let mut fewest = by_room
            .chain(by_flask)
            .chain([self.all_apart(), self.by_weight(weights)])
            .max()
            .unwrap_or(0);
        let mut steps = (STEPS_OF_MOULDS / moulds.max(1)).min(STEPS);
        while fewest < moulds && self.none(&mut vec![Filling::default(); fewest], 0, &mut steps) {
            fewest += 1;
        }
        fewest
    }

    /// Heats that hold no more than 1 each; a mould that shares with no other has one for itself.
    fn by_weight(&self, weights: &[f64]) -> usize {
        let alone = |m: &usize| (0..weights.len()).all(|o| o == *m || self.apart[*m][o]);
        let (alone, others): (Vec<usize>, Vec<usize>) = (0..weights.len()).partition(alone);
        let sum: f64 = others.iter().map(|m| weights[*m]).sum();
        alone.len() + (sum - SAME).ceil().max(0.0) as usize
    }

    /// Moulds of which no two share a heat, taken as they come.
    fn all_apart(&self) -> usize {
        let mut taken: Vec<usize> = Vec::new();
        for m in 0..self.sizes.len() {
            if taken.iter().all(|other| self.apart[m][*other]) {
                taken.push(m);
            }
        }
        taken.len()
    }

    /// Whether there surely is no way to put this mould and those after it into the heats.
    fn none(&self, heats: &mut Vec<Filling>, mould: usize, steps: &mut usize) -> bool {
        if mould == self.sizes.len() {
            return false;
        }
        if *steps == 0 {
            return false;
        }
        *steps -= 1;
        let too_much = (0..ROOMS).any(|of| {
            let left: f64 = self.sizes[mould..].iter().map(|size| size[of]).sum();
            let room: f64 = heats.iter().map(|heat| 1.0 - heat.filled[of]).sum();
            left > room + SLACK
        });
        if too_much {
            return true;
        }
        // Heats that are empty are alike; so are moulds, of which the second goes no further forward.
        let first = if mould > 0 && self.alike(mould) { self.heat_of(heats, mould - 1) } else { 0 };
        for h in first..heats.len() {
            let empty = heats[h].moulds.is_empty();
            if self.takes(&heats[h], mould) {
                self.put(&mut heats[h], mould, 1.0);
                heats[h].moulds.push(mould);
                let none = self.none(heats, mould + 1, steps);
                heats[h].moulds.pop();
                self.put(&mut heats[h], mould, -1.0);
                if !none {
                    return false;
                }
            }
            if empty {
                break;
            }
        }
        true
    }

    fn put(&self, heat: &mut Filling, mould: usize, sign: f64) {
        heat.filled.iter_mut().zip(self.sizes[mould]).for_each(|(sum, size)| *sum += sign * size);
    }

    fn heat_of(&self, heats: &[Filling], mould: usize) -> usize {
        heats.iter().position(|heat| heat.moulds.contains(&mould)).unwrap_or(0)
    }

    /// Whether a mould is like the one before it.
    fn alike(&self, mould: usize) -> bool {
        let (a, b) = (mould - 1, mould);
        self.sizes[a] == self.sizes[b]
            && self.flasks[a] == self.flasks[b]
            && self.apart[a] == self.apart[b]
    }

    fn takes(&self, heat: &Filling, mould: usize) -> bool {
        let room = (0..ROOMS).all(|of| heat.filled[of] + self.sizes[mould][of] <= 1.0 + SLACK);
        let flasks = self.flasks[mould].is_none_or(|flask| {
            heat.moulds.iter().filter(|m| self.flasks[**m] == Some(flask)).count()
                < self.count[flask]
        });
        room && flasks && heat.moulds.iter().all(|other| !self.apart[mould][*other])
    }
}

/// Fewest bins of this capacity that hold these sizes, at least: the larger of two bounds.
pub fn bound(sizes: &[f64], capacity: f64) -> usize {
    if sizes.is_empty() {
        return 0;
    }
    if capacity <= 0.0 {
        return 1;
    }
    in_halves(sizes, capacity).max(in_whole_parts(sizes, capacity))
}

/// The bound L2 of Martello and Toth, Knapsack Problems, 1990, ch. 8; formula from memory, checked
/// against proven optima in the tests.
fn in_halves(sizes: &[f64], capacity: f64) -> usize {
    let mut thresholds: Vec<f64> = sizes.iter().copied().filter(|s| *s <= capacity / 2.0).collect();
    thresholds.push(0.0);
    let at = |a: f64| {
        let large = sizes.iter().filter(|s| **s > capacity - a).count();
        let half = || sizes.iter().filter(|s| **s <= capacity - a && **s > capacity / 2.0);
        let small: f64 = sizes.iter().filter(|s| **s <= capacity / 2.0 && **s >= a).sum();
        let room = half().count() as f64 * capacity - half().sum::<f64>();
        let more = ((small - room) / capacity - SLACK).ceil().max(0.0) as usize;
        large + half().count() + more
    };
    thresholds.into_iter().map(at).max().unwrap_or(0)
}

/// Sizes rounded up to a k-th where more than a (k + 1)-th is taken: the dual feasible functions u(k) of
/// Fekete and Schepers, Mathematical Programming 91 (2001) 11; formula from memory, checked against proven
/// optima in the tests. Five moulds that take a sixth of a session and a little more fill it.
fn in_whole_parts(sizes: &[f64], capacity: f64) -> usize {
    let at = |k: u32| {
        let (k, parts) = (f64::from(k), f64::from(k + 1));
        let rounded = |size: &f64| {
            let taken = parts * size / capacity;
            // What is a whole number of parts, but for rounding, stays as it is.
            if (taken - taken.round()).abs() < SAME { taken / parts } else { taken.floor() / k }
        };
        (sizes.iter().map(rounded).sum::<f64>() - SAME).ceil().max(0.0) as usize
    };
    (1..=MOST_PARTS).map(at).max().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::bound;
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    #[test]
    fn the_bound_meets_a_proven_optimum() {
        // Ten items in a computed example: volume alone asks for 3 bins, the proven optimum is 4.
        let sizes = [70.0, 60.0, 50.0, 33.0, 33.0, 33.0, 11.0, 7.0, 3.0];
        assert_eq!(bound(&sizes, 100.0), 4);
        // Five of 0.18 fill a bin: their volume alone asks for 4 bins of 22, which take 5.
        assert_eq!(bound(&[0.18; 22], 1.0), 5);
        // Five of a fifth fit, of a sixth six.
        assert_eq!((bound(&[0.2; 20], 1.0), bound(&[1.0 / 6.0; 24], 1.0)), (4, 4));
    }

    /// The fewest bins, by trying all ways.
    fn fewest(sizes: &[u32], bins: &mut Vec<u32>, capacity: u32, best: &mut usize) {
        let Some((size, rest)) = sizes.split_first() else {
            *best = bins.len().min(*best);
            return;
        };
        for at in 0..bins.len() {
            if bins[at] + size <= capacity {
                bins[at] += size;
                fewest(rest, bins, capacity, best);
                bins[at] -= size;
            }
        }
        if bins.len() + 1 < *best {
            bins.push(*size);
            fewest(rest, bins, capacity, best);
            bins.pop();
        }
    }

    #[test]
    fn no_bound_is_above_the_fewest_that_all_ways_give() {
        let mut random = ChaCha8Rng::seed_from_u64(1);
        let (mut met, mut all) = (0, 0);
        for _ in 0..300 {
            let count = random.random_range(1..=8);
            let sizes: Vec<u32> = (0..count).map(|_| random.random_range(1..=60)).collect();
            let mut best = usize::MAX;
            fewest(&sizes, &mut Vec::new(), 60, &mut best);
            let parts: Vec<f64> = sizes.iter().map(|size| f64::from(*size) / 60.0).collect();
            let told = bound(&parts, 1.0);
            assert!(told <= best, "{sizes:?}: {told} told, {best} are enough");
            met += usize::from(told == best);
            all += 1;
        }
        assert!(met * 10 >= all * 9, "{met} of {all} are met");
    }
}
