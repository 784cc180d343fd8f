//! Grouping moulds into few heats.

use super::heats::Least;
use crate::plan::work::{Limits, Work, in_order, may_share};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Steps towards fuller heats, for each mould and at the most.
const STEPS: usize = 400;
const MOST_STEPS: usize = 400_000;

/// A grouping into few heats: no fewer than the least. The moulds of each stand no longer than they may.
pub fn few(work: &Work, limits: &Limits, longest: i64, least: &Least) -> Vec<Vec<usize>> {
    let mut heats = tight(work, limits, longest);
    if heats.len() > least.heats {
        let fuller = Fuller::new(work, limits, longest, &least.weights, &heats).heats(least.heats);
        if fuller.len() < heats.len() {
            heats = fuller;
        }
    }
    heats.iter().map(|heat| in_order(work, limits, heat)).collect()
}

/// A grouping into few heats: the heaviest batch first, each into the fullest heat that takes it.
fn tight(work: &Work, limits: &Limits, longest: i64) -> Vec<Vec<usize>> {
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

/// A grouping on its way to fewer heats: batches move and change places where that makes full heats
/// fuller and others emptier, until some are empty.
struct Fuller<'a> {
    work: &'a Work,
    limits: &'a Limits,
    longest: i64,
    weights: &'a [f64],
    /// Batches of each heat, with what all of them weigh.
    heats: Vec<(Vec<&'a [usize]>, f64)>,
    random: ChaCha8Rng,
}

impl<'a> Fuller<'a> {
    fn new(
        work: &'a Work,
        limits: &'a Limits,
        longest: i64,
        weights: &'a [f64],
        heats: &[Vec<usize>],
    ) -> Self {
        let batches = |heat: &Vec<usize>| {
            let mut batches: Vec<&[usize]> = heat.iter().map(|m| work.batches.with(*m)).collect();
            batches.sort();
            batches.dedup();
            batches
        };
        let random = ChaCha8Rng::seed_from_u64(1);
        let mut fuller = Self { work, limits, longest, weights, heats: Vec::new(), random };
        for heat in heats {
            let batches = batches(heat);
            let weight = fuller.weight(&batches);
            fuller.heats.push((batches, weight));
        }
        fuller
    }

    /// The heats, once there are few enough or enough was tried.
    fn heats(mut self, least: usize) -> Vec<Vec<usize>> {
        for _ in 0..(STEPS * self.weights.len()).min(MOST_STEPS) {
            if self.heats.len() <= least {
                break;
            }
            self.step();
        }
        self.heats.into_iter().map(|(batches, _)| batches.concat()).collect()
    }

    fn weight(&self, batches: &[&[usize]]) -> f64 {
        batches.iter().flat_map(|batch| *batch).map(|m| self.weights[*m]).sum()
    }

    fn any(&mut self, count: usize) -> usize {
        self.random.random_range(0..count)
    }

    /// Moves a batch from one heat to another, or lets two change places, if that makes the fuller of the
    /// two fuller and both can be.
    fn step(&mut self) {
        let (from, to) = (self.any(self.heats.len()), self.any(self.heats.len()));
        let alloy = |heat: usize| self.work.moulds[self.heats[heat].0[0][0]].alloy;
        if from == to || alloy(from) != alloy(to) {
            return;
        }
        let (mut a, mut b) = (self.heats[from].0.clone(), self.heats[to].0.clone());
        let moved = a.swap_remove(self.any(a.len()));
        if self.random.random_bool(0.5) {
            let other = self.any(b.len());
            a.push(std::mem::replace(&mut b[other], moved));
        } else {
            b.push(moved);
        }
        let (left, full) = (self.weight(&a), self.weight(&b));
        let before = self.heats[from].1.powi(2) + self.heats[to].1.powi(2);
        if left.powi(2) + full.powi(2) < before - SAME || !self.can_be(&b) || !self.can_be(&a) {
            return;
        }
        (self.heats[from], self.heats[to]) = ((a, left), (b, full));
        if self.heats[from].0.is_empty() {
            self.heats.swap_remove(from);
        }
    }

    fn can_be(&self, batches: &[&[usize]]) -> bool {
        let group = batches.concat();
        batches.len() <= 1
            || self.work.batches.may_join(&group)
                && may_share(self.work, self.limits, &group, self.longest)
    }
}

/// Squares of weights that differ by less are the same.
const SAME: f64 = 1e-9;
