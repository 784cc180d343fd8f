//! Solving a stretch of a good schedule anew (large neighbourhood search).

use super::meter::{Best, Meter};
use super::net::Net;
use super::prove::{Answer, Prover};
use super::warm::Shop;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

/// Decisions spent on one stretch.
const EACH: u64 = 400;

/// Picks stretches and solves them. The order of all other activities is kept as arcs between
/// those that hand units of a resource on to each other, not as fixed times (D. Godard,
/// P. Laborie and W. Nuijten, 2005), so that the rest may move up.
pub(super) struct Windows {
    random: ChaCha8Rng,
    /// Activities in a stretch, about; grows while stretches are solved with ease.
    size: f64,
}

impl Windows {
    pub fn new(seed: u64) -> Self {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        random.set_stream(1);
        Self { random, size: 20.0 }
    }

    /// Solves stretches until `steps` are spent.
    pub fn run(
        &mut self,
        shop: &mut Shop,
        cliques: &[Vec<usize>],
        best: &mut Best,
        meter: &Meter,
        steps: u64,
    ) {
        for _ in 0..steps.div_ceil(EACH) {
            if best.proven() || meter.over() {
                return;
            }
            let net = &shop.net;
            let free = self.pick(net, &best.starts);
            let kept = net.with_arcs(&handed_on(net, &best.starts, &free));
            let seed = self.random.random_range(0..u64::MAX);
            let mut prover = Prover::new(&kept, cliques, best.makespan - 1, seed);
            match prover.by(best.makespan - 1, EACH, meter) {
                Answer::Found(starts) => {
                    let (starts, makespan) = shop.serial(&starts);
                    best.offer(&starts, makespan);
                }
                Answer::None => self.size = (self.size * 1.05).min(best.starts.len() as f64),
                Answer::Open => self.size = (self.size * 0.95).max(5.0),
            }
        }
    }

    /// The activities whose middle is nearest to that of a random one.
    fn pick(&mut self, net: &Net, starts: &[i32]) -> Vec<bool> {
        let middle = |i: usize| 2 * starts[i] + net.durations[i];
        let centre = middle(self.random.random_range(0..net.len()));
        let mut near: Vec<usize> = (0..net.len()).collect();
        near.sort_by_key(|i| (middle(*i) - centre).abs());
        let mut free = vec![false; net.len()];
        near.iter().take(self.size as usize).for_each(|i| free[*i] = true);
        free
    }
}

/// Arcs end to start between activities that are not free, along which each unit of each resource
/// is handed on.
fn handed_on(net: &Net, starts: &[i32], free: &[bool]) -> Vec<(usize, usize, i32)> {
    let mut by_start: Vec<usize> = (0..net.len()).filter(|i| !free[*i]).collect();
    by_start.sort_by_key(|i| starts[*i]);
    let mut arcs = Vec::new();
    for r in 0..net.capacities.len() {
        // Units in the hands of who had them last; none at first.
        let mut hands: Vec<(Option<usize>, i32)> = vec![(None, net.capacities[r])];
        for &i in by_start.iter().filter(|i| net.demands(**i)[r] > 0) {
            let mut need = net.demands(i)[r];
            // Those that were done last are asked first, so that few arcs are made.
            let end = |who: Option<usize>| who.map_or(i32::MIN, |j| starts[j] + net.durations[j]);
            hands.sort_by_key(|&(who, _)| std::cmp::Reverse(end(who)));
            for (who, units) in &mut hands {
                if end(*who) > starts[i] || need == 0 {
                    continue;
                }
                let given = need.min(*units);
                if let (Some(j), true) = (*who, given > 0) {
                    arcs.push((j, i, net.durations[j]));
                }
                *units -= given;
                need -= given;
            }
            hands.retain(|&(_, units)| units > 0);
            hands.push((Some(i), net.demands(i)[r]));
        }
    }
    arcs
}
