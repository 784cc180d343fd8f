//! The cheapest packs that hold at least so much of one stock.
//!
//! Pack by pack, all sums worth keeping are carried on: of two of them the one that holds no more
//! and costs more is dropped, and so is one that must end up dearer than a cover already found.
//! That is exact; where more than [`MOST_SUMS`] are worth keeping, the least hopeful are dropped
//! and the answer says how low a better one could lie.

use std::collections::HashMap;

/// Sums that are carried on from one pack to the next.
const MOST_SUMS: usize = 20_000;

/// A pack that can be chosen.
#[derive(Debug, Clone)]
pub(super) struct Choice {
    /// What is in it, mg.
    pub size: i64,
    /// Price of one from so many packs on, in the smallest unit of money; the first is from 1.
    pub prices: Vec<(u32, i64)>,
    /// How many can be taken.
    pub most: u32,
}

/// The best cover.
#[derive(Debug, Clone)]
pub(super) struct Best {
    /// Price of all.
    pub cost: i64,
    /// What they hold, mg.
    pub mass: i64,
    /// How many packs.
    pub packs: u32,
    /// How many of each choice.
    pub counts: Vec<u32>,
    /// No cover costs less than this: `cost` itself where it is proven.
    pub floor: i64,
}

/// A sum of packs: cost and number, the sum it was made from, and how many were added to that.
#[derive(Debug, Clone, Copy)]
struct Sum {
    mass: i64,
    cost: i64,
    packs: u32,
    from: usize,
    added: u32,
}

impl Choice {
    /// Price of so many.
    pub fn price(&self, count: u32) -> i64 {
        priced(&self.prices, count)
    }

    /// Lowest price of one.
    pub fn lowest(&self) -> i64 {
        let reached = self.prices.iter().filter(|(from, _)| *from <= self.most);
        reached.map(|(_, each)| *each).min().unwrap_or(0)
    }
}

/// Price of so many, by the price of one from so many on.
pub(super) fn priced(prices: &[(u32, i64)], count: u32) -> i64 {
    let each = prices.iter().rev().find(|(from, _)| *from <= count).map_or(0, |p| p.1);
    each.saturating_mul(i64::from(count))
}

/// The cheapest way to hold `need` mg, of those the lightest, of those the one with the fewest
/// packs; none where all there is holds less.
pub(super) fn cover(need: i64, choices: &[&Choice]) -> Option<Best> {
    // The cheapest by mass first: good covers are found early and much is dropped.
    let mut order: Vec<usize> = (0..choices.len()).collect();
    let rate = |i: usize| choices[i].lowest() as f64 / choices[i].size as f64;
    order.sort_by(|a, b| rate(*a).total_cmp(&rate(*b)));
    let mut layers = vec![vec![Sum { mass: 0, cost: 0, packs: 0, from: 0, added: 0 }]];
    let mut best: Option<(i64, i64, u32, usize, usize, u32)> = None;
    let mut complete = true;
    for (depth, &at) in order.iter().enumerate() {
        let choice = choices[at];
        let next_rate = order.get(depth + 1).map_or(f64::INFINITY, |i| rate(*i));
        let mut kept: HashMap<i64, Sum> = HashMap::new();
        for (from, sum) in layers[depth].iter().enumerate() {
            let enough = (need - sum.mass + choice.size - 1) / choice.size;
            let enough = u32::try_from(enough).unwrap_or(u32::MAX);
            // More than enough is only worth it to reach a lower price.
            let beyond = choice.prices.iter().map(|p| p.0).filter(|n| *n > enough);
            for added in (0..=enough.min(choice.most)).chain(beyond.filter(|n| *n <= choice.most)) {
                let (mass, cost, packs) = (
                    sum.mass + choice.size * i64::from(added),
                    sum.cost + choice.price(added),
                    sum.packs + added,
                );
                if mass >= need {
                    let this = (cost, mass, packs, depth, from, added);
                    if best.is_none_or(|b| (cost, mass, packs) < (b.0, b.1, b.2)) {
                        best = Some(this);
                    }
                    continue;
                }
                let at_least = cost as f64 + (need - mass) as f64 * next_rate;
                if best.is_some_and(|b| at_least > b.0 as f64 + 0.5) || next_rate.is_infinite() {
                    continue;
                }
                let new = Sum { mass, cost, packs, from, added };
                let old = kept.entry(mass).or_insert(new);
                if (new.cost, new.packs) < (old.cost, old.packs) {
                    *old = new;
                }
            }
        }
        let mut sums: Vec<Sum> = kept.into_values().collect();
        sums.sort_unstable_by_key(|s| (-s.mass, s.cost));
        let mut cheapest = i64::MAX;
        sums.retain(|s| {
            let keep = s.cost <= cheapest;
            cheapest = cheapest.min(s.cost);
            keep
        });
        if sums.len() > MOST_SUMS {
            complete = false;
            let hope = |s: &Sum| s.cost as f64 + (need - s.mass) as f64 * next_rate;
            sums.sort_by(|a, b| hope(a).total_cmp(&hope(b)).then(b.mass.cmp(&a.mass)));
            sums.truncate(MOST_SUMS);
        }
        layers.push(sums);
    }
    let (cost, mass, packs, depth, mut from, mut added) = best?;
    let mut counts = vec![0; choices.len()];
    for depth in (0..=depth).rev() {
        counts[order[depth]] = added;
        let sum = layers[depth][from];
        (from, added) = (sum.from, sum.added);
    }
    let least = order.first().map_or(0.0, |i| need as f64 * rate(*i)).ceil() as i64;
    Some(Best { cost, mass, packs, counts, floor: if complete { cost } else { least.min(cost) } })
}
