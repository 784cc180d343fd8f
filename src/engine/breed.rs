//! Better schedules out of good ones: orders are crossed and generated anew.

use super::meter::{Best, Meter};
use super::warm::Shop;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

/// Schedules kept at a time.
const KEPT: usize = 40;

/// A population of schedules. Two are crossed by taking the order of one between two cuts and the
/// order of the other around it (two-point crossover of activity lists, S. Hartmann, 1998); the
/// child is generated serially and improved by forward-backward passes.
pub(super) struct Breed {
    random: ChaCha8Rng,
    kept: Vec<(i32, Vec<i32>)>,
}

impl Breed {
    pub fn new(seed: u64) -> Self {
        Self { random: ChaCha8Rng::seed_from_u64(seed), kept: Vec::new() }
    }

    /// Makes `count` schedules.
    pub fn run(&mut self, shop: &mut Shop, best: &mut Best, meter: &Meter, count: u64) {
        self.keep(best.makespan, best.starts.clone());
        for _ in 0..count {
            if best.proven() || !meter.step() {
                return;
            }
            let keys =
                if self.kept.len() < KEPT { self.fresh(shop) } else { self.child(shop.net.len()) };
            let (starts, makespan) = shop.serial(&keys);
            best.offer(&starts, makespan);
            self.keep(makespan, starts);
        }
    }

    /// Latest starts, shaken.
    fn fresh(&mut self, shop: &Shop) -> Vec<i32> {
        let net = &shop.net;
        let longest = (0..net.len()).map(|i| net.tails[i] + net.durations[i]).fold(1, i32::max);
        let shake = longest / 5 + 1;
        let late = |i: usize| longest - net.tails[i] - net.durations[i];
        (0..net.len()).map(|i| late(i) + self.random.random_range(0..shake)).collect()
    }

    fn child(&mut self, n: usize) -> Vec<i32> {
        let pick = |random: &mut ChaCha8Rng| {
            let (a, b) = (random.random_range(0..KEPT), random.random_range(0..KEPT));
            a.min(b)
        };
        let mother = order(&self.kept[pick(&mut self.random)].1);
        let father = order(&self.kept[pick(&mut self.random)].1);
        let (a, b) = (self.random.random_range(0..=n), self.random.random_range(0..=n));
        let (from, to) = (a.min(b), a.max(b));
        let mut taken = vec![false; n];
        let mut list = Vec::with_capacity(n);
        for (parent, until) in [(&father, from), (&mother, to), (&father, n)] {
            for &i in parent {
                if list.len() == until {
                    break;
                }
                if !std::mem::replace(&mut taken[i], true) {
                    list.push(i);
                }
            }
        }
        let mut keys = vec![0; n];
        for (place, &i) in list.iter().enumerate() {
            keys[i] = 4 * place as i32;
            // Now and then somebody moves up or down a little.
            if self.random.random_bool(0.05) {
                keys[i] += self.random.random_range(-20..=20);
            }
        }
        keys
    }

    /// Keeps the best, each once; sorted by makespan.
    fn keep(&mut self, makespan: i32, starts: Vec<i32>) {
        let at = self.kept.partition_point(|(m, _)| *m < makespan);
        let same = self.kept[at..].iter().take_while(|(m, _)| *m == makespan);
        if same.into_iter().any(|(_, s)| *s == starts) {
            return;
        }
        self.kept.insert(at, (makespan, starts));
        self.kept.truncate(KEPT);
    }
}

/// Activities in the order of their starts.
fn order(starts: &[i32]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..starts.len()).collect();
    order.sort_by_key(|i| starts[*i]);
    order
}
