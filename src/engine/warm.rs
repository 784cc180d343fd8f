//! First schedules: priority rules, and passes that push everything late and early again.

use super::decode::Decoder;
use super::meter::Best;
use super::net::Net;

/// Both directions of a problem, and the tables to schedule them.
pub(super) struct Shop {
    pub net: Net,
    back: Net,
    decoder: Decoder,
}

impl Shop {
    pub fn new(net: Net) -> Self {
        let back = net.reversed();
        Self { net, back, decoder: Decoder::default() }
    }

    /// A schedule by serial generation, improved.
    pub fn serial(&mut self, keys: &[i32]) -> (Vec<i32>, i32) {
        let starts = self.decoder.serial(&self.net, keys);
        self.improve(starts)
    }

    /// Forward-backward passes (K. Y. Li and R. J. Willis, 1992; as "justification" in V. Valls,
    /// F. Ballestin and S. Quintanilla, 2005): all as late as possible in the order of ends, then
    /// all as early as possible in the order of starts, until that gains nothing.
    fn improve(&mut self, mut starts: Vec<i32>) -> (Vec<i32>, i32) {
        let mut makespan = self.net.makespan(&starts);
        loop {
            let late = self.backwards(&starts);
            let early = self.decoder.serial(&self.net, &late);
            let shorter = self.net.makespan(&early);
            if shorter >= makespan {
                return if shorter == makespan { (early, shorter) } else { (starts, makespan) };
            }
            (starts, makespan) = (early, shorter);
        }
    }

    /// Starts of a schedule generated from the end, in the order of the ends of `starts`.
    fn backwards(&mut self, starts: &[i32]) -> Vec<i32> {
        let d = &self.net.durations;
        let keys: Vec<i32> = starts.iter().zip(d).map(|(s, d)| -(s + d)).collect();
        let back = self.decoder.serial(&self.back, &keys);
        let whole = self.back.makespan(&back);
        back.iter().zip(d).map(|(s, d)| whole - s - d).collect()
    }

    /// Every rule, serial and parallel, forwards and backwards; each improved.
    pub fn rules(&mut self, best: &mut Best) {
        let forward = keys(&self.net);
        let backward = keys(&self.back);
        for (ahead, behind) in forward.iter().zip(&backward) {
            for parallel in [false, true] {
                for reverse in [false, true] {
                    if best.proven() {
                        return;
                    }
                    let (net, keys) =
                        if reverse { (&self.back, behind) } else { (&self.net, ahead) };
                    let mut starts = match parallel {
                        true => self.decoder.parallel(net, keys),
                        false => self.decoder.serial(net, keys),
                    };
                    if reverse {
                        let whole = net.makespan(&starts);
                        for (start, d) in starts.iter_mut().zip(&net.durations) {
                            *start = whole - *start - d;
                        }
                    }
                    let (starts, makespan) = self.improve(starts);
                    best.offer(&starts, makespan);
                }
            }
        }
    }
}

/// Priority rules, smallest first (surveyed by R. Kolisch, 1996): latest end, latest start, most
/// work after, most activities after, most resource work of its own and after.
fn keys(net: &Net) -> [Vec<i32>; 5] {
    let each = |key: &dyn Fn(usize) -> i32| (0..net.len()).map(key).collect::<Vec<i32>>();
    let load = |i: usize| {
        let d = f64::from(net.durations[i]);
        let share = net.demands(i).iter().zip(&net.capacities);
        let sum: f64 = share.map(|(u, c)| f64::from(*u) / f64::from((*c).max(1))).sum();
        (1000.0 * d * sum) as i32
    };
    let own_and_next = |weight: &dyn Fn(usize) -> i32| {
        each(&|i| {
            -net.afters[i].iter().fold(weight(i), |sum, &(j, _)| sum.saturating_add(weight(j)))
        })
    };
    [
        each(&|i| -net.tails[i]),
        each(&|i| -net.tails[i] - net.durations[i]),
        own_and_next(&|i| net.durations[i]),
        each(&|i| -(count_after(net, i) as i32)),
        own_and_next(&load),
    ]
}

/// How many activities wait for this one, straight or through others.
fn count_after(net: &Net, activity: usize) -> usize {
    let mut seen = vec![false; net.len()];
    let mut open = vec![activity];
    let mut count = 0;
    while let Some(i) = open.pop() {
        for &(j, _) in &net.afters[i] {
            if !std::mem::replace(&mut seen[j], true) {
                count += 1;
                open.push(j);
            }
        }
    }
    count
}
