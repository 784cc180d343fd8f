//! The cheapest packs that cover every need where some orders must be worth so much.
//!
//! Need by need and pack by pack all sums worth keeping are carried on, with what each order is worth
//! by then. A sum is dropped where another costs no more, holds no less and is worth no less to every
//! order, and where it must end up dearer than what is known. That is exact; where more than
//! [`MOST_SUMS`] are worth keeping, the least hopeful are dropped and the answer says how low a better
//! one could lie.

use super::cover::{Best, Choice, priced};

/// Orders that must be worth so much, at one time.
pub(super) const MOST_FLOORS: usize = 6;

/// Sums that are carried on from one pack to the next, and how many where no work is left.
const MOST_SUMS: usize = 1_000;
const FEWEST_SUMS: usize = 60;

/// A pack that can be chosen.
pub(super) struct Topping<'a> {
    /// Index of the need.
    pub need: usize,
    /// Its size and what it costs.
    pub choice: &'a Choice,
    /// What one is worth to its order, from so many on.
    pub net: &'a [(u32, i64)],
    /// Index of the floor of its order, if it has one.
    pub floor: Option<usize>,
}

#[derive(Debug, Clone, Copy)]
struct Sum {
    /// Of the need in hand, no more than is needed, mg.
    mass: i64,
    cost: i64,
    /// Of all needs, mg.
    in_all: i64,
    packs: u32,
    /// What each order is worth, no more than it must be.
    worth: [i64; MOST_FLOORS],
    from: usize,
    added: u32,
}

impl Sum {
    /// Whether another is no better in anything that counts.
    fn beats(&self, other: &Self) -> bool {
        (self.cost, self.in_all, self.packs) <= (other.cost, other.in_all, other.packs)
            && self.mass >= other.mass
            && self.worth.iter().zip(&other.worth).all(|(a, b)| a >= b)
    }
}

impl Topping<'_> {
    /// Numbers of it that are worth a try beyond a sum: up to enough for the need and the order, and
    /// where a lower price begins.
    fn counts(&self, sum: &Sum, need: i64, floors: &[i64]) -> Vec<u32> {
        let size = self.choice.size;
        let enough = (need - sum.mass + size - 1) / size;
        let short = self.floor.map_or(0, |f| floors[f] - sum.worth[f]).max(0);
        let least = self.net.iter().map(|p| p.1).min().unwrap_or(0);
        let worth = if least > 0 { (short + least - 1) / least } else { 0 };
        let most = u32::try_from(enough.max(worth).max(0)).unwrap_or(u32::MAX);
        let breaks = self.choice.prices.iter().map(|p| p.0).filter(|n| *n > most);
        (0..=most.min(self.choice.most)).chain(breaks.filter(|n| *n <= self.choice.most)).collect()
    }

    /// Lowest price of 1 mg.
    fn rate(&self) -> f64 {
        self.choice.lowest() as f64 / self.choice.size as f64
    }
}

/// The cheapest packs, in the order of the toppings, which is by need; `each` is the least that each
/// need costs by itself. None where nothing below the ceiling is enough.
pub(super) fn topped(
    targets: &[i64],
    toppings: &[Topping<'_>],
    floors: &[i64],
    each: &[i64],
    (ceiling, work): (i64, &mut u64),
) -> Option<Best> {
    let rest = |need: usize| -> i64 { each[need + 1..].iter().sum() };
    let start =
        Sum { mass: 0, cost: 0, in_all: 0, packs: 0, worth: [0; MOST_FLOORS], from: 0, added: 0 };
    let mut layers = vec![vec![start]];
    let mut dropped: Option<i64> = None;
    for (at, topping) in toppings.iter().enumerate() {
        let (need, target) = (topping.need, targets[topping.need]);
        let later = || toppings[at + 1..].iter();
        let own = later().filter(|t| t.need == need).map(Topping::rate).min_by(f64::total_cmp);
        let is_last = own.is_none();
        let still = |floor: usize| later().any(|t| t.floor == Some(floor));
        let mut sums = Vec::new();
        for (from, sum) in layers[at].iter().enumerate() {
            for added in topping.counts(sum, target, floors) {
                let mut new = Sum {
                    mass: (sum.mass + topping.choice.size * i64::from(added)).min(target),
                    cost: sum.cost + topping.choice.price(added),
                    in_all: sum.in_all + topping.choice.size * i64::from(added),
                    packs: sum.packs + added,
                    from,
                    added,
                    ..*sum
                };
                if let Some(f) = topping.floor {
                    new.worth[f] = (new.worth[f] + priced(topping.net, added)).min(floors[f]);
                }
                let lacks = (0..floors.len()).any(|f| new.worth[f] < floors[f] && !still(f));
                if lacks || (is_last && new.mass < target) {
                    continue;
                }
                if least(&new, target, own, rest(need), floors) > ceiling {
                    continue;
                }
                if is_last {
                    new.mass = 0;
                }
                sums.push(new);
            }
        }
        let (kept, lost) = thinned(sums, work, |s| {
            least(s, if is_last { 0 } else { target }, own, rest(need), floors)
        });
        dropped = dropped.into_iter().chain(lost).min();
        layers.push(kept);
    }
    let done = layers.last()?.iter().enumerate();
    let done = done.filter(|(_, s)| floors.iter().zip(&s.worth).all(|(f, w)| w >= f));
    let (mut from, last) = done.min_by_key(|(_, s)| (s.cost, s.in_all, s.packs))?;
    let mut counts = vec![0; toppings.len()];
    for at in (0..toppings.len()).rev() {
        let sum = layers[at + 1][from];
        counts[at] = sum.added;
        from = sum.from;
    }
    let floor = dropped.map_or(last.cost, |d| d.min(last.cost));
    Some(Best { cost: last.cost, mass: last.in_all, packs: last.packs, counts, floor })
}

/// The least that a sum can end up costing: what the need still takes, or what the orders lack, which
/// costs no less than it is worth; and the needs after it.
fn least(sum: &Sum, target: i64, rate: Option<f64>, rest: i64, floors: &[i64]) -> i64 {
    let need = rate.map_or(0.0, |r| (target - sum.mass) as f64 * r).floor() as i64;
    let lacks: i64 = floors.iter().zip(&sum.worth).map(|(f, w)| (f - w).max(0)).sum();
    sum.cost + (need + rest).max(lacks)
}

/// The sums that none beats; where they are too many, those that can end up cheapest, with the least
/// that one of the others could cost.
fn thinned(
    mut sums: Vec<Sum>,
    work: &mut u64,
    hope: impl Fn(&Sum) -> i64,
) -> (Vec<Sum>, Option<i64>) {
    let most = if *work > 0 { MOST_SUMS } else { FEWEST_SUMS };
    sums.sort_by_key(|s| (s.cost, s.in_all, s.packs, -s.mass, s.worth.map(|w| -w)));
    let mut kept: Vec<Sum> = Vec::new();
    let mut lost: Option<i64> = None;
    for sum in sums {
        let beaten = kept.iter().position(|k| k.beats(&sum));
        *work = work.saturating_sub(beaten.unwrap_or(kept.len()) as u64 + 1);
        if beaten.is_some() {
            continue;
        }
        match kept.len() < most * 2 {
            true => kept.push(sum),
            false => lost = lost.into_iter().chain([hope(&sum)]).min(),
        }
    }
    if kept.len() > most {
        kept.sort_by_key(|s| (hope(s), s.from, s.added));
        lost = kept[most..].iter().map(&hope).chain(lost).min();
        kept.truncate(most);
    }
    (kept, lost)
}
