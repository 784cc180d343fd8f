//! Grouping moulds into heats: how few there can be, and a grouping that comes near.

use crate::plan::calendar::Calendar;
use crate::plan::work::{Limits, Mould, Work, may_share};

/// Steps of the search for a grouping into so few heats, for one alloy.
const STEPS: usize = 20_000;
/// The same times moulds.
const STEPS_OF_MOULDS: usize = 2_000_000;
/// Of more moulds than this it is not asked which wait for which.
const MOST_MOULDS: usize = 2_000;
/// Sums may be this much above what there is room for.
const SLACK: f64 = 1e-9;

/// No grouping has fewer heats. For each alloy: moulds share a crucible, the flasks, the heap of sand
/// and a session, and none is poured with one that it waits for. Beside the bounds in closed form, a
/// search through all groupings into one heat fewer, as far as it comes.
pub fn least_heats(work: &Work, limits: &Limits, calendar: &Calendar) -> usize {
    let waits = waits(work);
    (0..work.alloys.len())
        .map(|alloy| {
            let moulds = (0..work.moulds.len()).filter(|m| work.moulds[*m].alloy == alloy);
            Packing::new(work, limits, calendar, moulds.collect(), &waits).fewest()
        })
        .sum()
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
    /// By mould, the largest first: share of the crucible, of the heap, of a session beside the melt, of
    /// what the people may lift, and of a session with its metal melted.
    sizes: Vec<Size>,
    /// The flask that each takes.
    flasks: Vec<Option<usize>>,
    /// Flasks of each kind.
    count: Vec<usize>,
    /// Moulds that share no heat with it.
    apart: Vec<Vec<bool>>,
}

/// Things of which there is so much room in a heat.
const ROOMS: usize = 5;

/// Shares of what there is room for.
type Size = [f64; ROOMS];

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
        mut moulds: Vec<usize>,
        waits: &[Vec<bool>],
    ) -> Self {
        let most = moulds.iter().filter_map(|m| work.moulds[*m].pots.last()).map(|p| p.1);
        let most = most.fold(0.0, f64::max);
        let pots = moulds.iter().flat_map(|m| &work.moulds[*m].pots);
        let lifted = pots.map(|p| limits.most_lifted(p.0)).fold(0.0, f64::max);
        let session = calendar.longest_pour() as f64;
        let alone = calendar.people.len() == 1;
        // Of one person's session a heat on a hot furnace leaves less: the one before is in it too.
        let firing = match alone {
            true => work.least_melt(false) + work.least_clear_up(),
            false => work.least_melt(true),
        };
        let beside = session - firing as f64;
        let share = |much: f64, room: f64| if room > 0.0 { (much / room).min(1.0) } else { 1.0 };
        let cleared = if alone { work.least_clear_up() as f64 } else { 0.0 };
        // A heat melts no quicker than its metal does in the best furnace.
        let quickest = |mould: &Mould| {
            mould.melting.iter().map(|melts| melts[1]).reduce(f64::min).unwrap_or(0.0)
        };
        let size = |m: &usize| {
            let mould = &work.moulds[*m];
            let minutes = |n: Option<usize>| n.map_or(0, |n| work.items[n].minutes);
            // Several people may ram at a time.
            let ram = if alone && mould.stands.is_none() { minutes(mould.items[0]) } else { 0 };
            [
                share(mould.charge, most),
                limits.sand.map_or(0.0, |heap| share(mould.sand, heap)),
                share((ram + minutes(mould.items[1])) as f64, beside),
                share(mould.charge_most, lifted),
                share(quickest(mould) + (ram + minutes(mould.items[1])) as f64, session - cleared),
            ]
        };
        let largest = |m: &usize| size(m).into_iter().fold(0.0, f64::max);
        moulds.sort_by(|a, b| largest(b).total_cmp(&largest(a)).then(a.cmp(b)));
        let waits_for = |a: usize, b: usize| waits[a].get(b).is_some_and(|waits| *waits);
        let apart =
            |m: &usize| moulds.iter().map(|o| waits_for(*m, *o) || waits_for(*o, *m)).collect();
        Self {
            sizes: moulds.iter().map(size).collect(),
            flasks: moulds.iter().map(|m| work.moulds[*m].flask).collect(),
            count: limits.flasks.clone(),
            apart: moulds.iter().map(apart).collect(),
        }
    }

    /// The fewest heats that could be proven.
    fn fewest(&self) -> usize {
        let moulds = self.sizes.len();
        let by_room = (0..ROOMS)
            .map(|of| bound(&self.sizes.iter().map(|size| size[of]).collect::<Vec<_>>(), 1.0));
        let by_flask = self.count.iter().enumerate().map(|(flask, count)| {
            let taken = self.flasks.iter().filter(|f| **f == Some(flask)).count();
            taken.div_ceil((*count).max(1))
        });
        let mut fewest = by_room.chain(by_flask).chain([self.all_apart()]).max().unwrap_or(0);
        let mut steps = (STEPS_OF_MOULDS / moulds.max(1)).min(STEPS);
        while fewest < moulds && self.none(&mut vec![Filling::default(); fewest], 0, &mut steps) {
            fewest += 1;
        }
        fewest
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

/// Fewest bins of this capacity that hold these sizes, at least (the bound L2 of Martello and Toth,
/// Knapsack Problems, 1990, ch. 8; formula from memory, checked against proven optima in the tests).
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

/// A grouping into few heats: the heaviest batch first, each into the fullest heat that takes it.
pub fn tight(work: &Work, limits: &Limits, longest: i64) -> Vec<Vec<usize>> {
    let alloy = |batch: &[usize]| batch.first().map_or(0, |m| work.moulds[*m].alloy);
    let charge = |batch: &[usize]| batch.iter().map(|m| work.moulds[*m].charge).sum::<f64>();
    let mut batches: Vec<&Vec<usize>> = work.batches.all().iter().collect();
    batches.sort_by(|a, b| alloy(a).cmp(&alloy(b)).then(charge(b).total_cmp(&charge(a))));
    let mut heats: Vec<(f64, Vec<usize>)> = Vec::new();
    for batch in batches {
        // Older heats than these are full in all but odd cases.
        let recent = heats.len().saturating_sub(64)..heats.len();
        let takes = |g: &[usize]| {
            let group: Vec<usize> = g.iter().chain(batch).copied().collect();
            work.batches.may_join(&group) && may_share(work, limits, &group, longest)
        };
        let fullest = recent
            .filter(|h| alloy(&heats[*h].1) == alloy(batch) && takes(&heats[*h].1))
            .max_by(|a, b| heats[*a].0.total_cmp(&heats[*b].0));
        match fullest {
            Some(h) => {
                heats[h].0 += charge(batch);
                heats[h].1.extend(batch);
            }
            None => heats.push((charge(batch), batch.clone())),
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
