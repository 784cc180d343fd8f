//! From priorities to a schedule: serial and parallel generation.

use super::net::Net;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// What is free of each resource, from each time at which that changes until the next.
#[derive(Default)]
struct Free {
    times: Vec<i32>,
    /// Free units of resource `r` from `times[k]` on, at `k * resources + r`.
    units: Vec<i32>,
}

impl Free {
    fn reset(&mut self, capacities: &[i32]) {
        self.times.clear();
        self.times.push(0);
        self.units.clear();
        self.units.extend_from_slice(capacities);
    }

    /// Index of the stretch that holds `time`.
    fn stretch(&self, time: i32) -> usize {
        self.times.partition_point(|t| *t <= time) - 1
    }

    fn fits(&self, at: usize, demands: &[i32]) -> bool {
        let free = &self.units[at * demands.len()..(at + 1) * demands.len()];
        free.iter().zip(demands).all(|(free, demand)| demand <= free)
    }

    /// Earliest time from `from` on at which `demands` are free for `duration`.
    fn earliest(&self, from: i32, duration: i32, demands: &[i32]) -> i32 {
        if duration == 0 {
            return from;
        }
        let mut start = from;
        let mut at = self.stretch(from);
        while at < self.times.len() && self.times[at] < start + duration {
            if !self.fits(at, demands) {
                // The last stretch has everything free, so there is a next one.
                start = self.times[at + 1];
            }
            at += 1;
        }
        start
    }

    /// Index of the stretch that begins at `time`, split off if need be.
    fn split(&mut self, time: i32, resources: usize) -> usize {
        let at = self.stretch(time);
        if self.times[at] == time {
            return at;
        }
        self.times.insert(at + 1, time);
        let old = self.units.len();
        self.units.extend_from_within(old - resources..);
        self.units.copy_within(at * resources..old - resources, (at + 1) * resources);
        at + 1
    }

    fn take(&mut self, start: i32, duration: i32, demands: &[i32]) {
        if duration == 0 || demands.iter().all(|d| *d == 0) {
            return;
        }
        let first = self.split(start, demands.len());
        let last = self.split(start + duration, demands.len());
        for stretch in
            self.units[first * demands.len()..last * demands.len()].chunks_exact_mut(demands.len())
        {
            stretch.iter_mut().zip(demands).for_each(|(free, demand)| *free -= demand);
        }
    }
}

/// Generates schedules; keeps its tables between calls.
#[derive(Default)]
pub(super) struct Decoder {
    free: Free,
    waits: Vec<usize>,
    ready: BinaryHeap<Reverse<(i32, usize)>>,
    earliest: Vec<i32>,
}

impl Decoder {
    fn begin(&mut self, net: &Net) {
        self.free.reset(&net.capacities);
        self.waits.clear();
        self.waits.extend(net.befores.iter().map(Vec::len));
        self.earliest.clear();
        self.earliest.resize(net.len(), 0);
        self.ready.clear();
    }

    /// Tells those that waited for `done`; gives those that wait no longer.
    fn release(
        &mut self,
        net: &Net,
        done: usize,
        start: i32,
        mut ready: impl FnMut(&mut Self, usize),
    ) {
        for &(after, w) in &net.afters[done] {
            self.earliest[after] = self.earliest[after].max(start + w);
            self.waits[after] -= 1;
            if self.waits[after] == 0 {
                ready(self, after);
            }
        }
    }

    /// Serial generation: of the activities that wait for nothing unplaced, the one with the
    /// smallest key goes to the earliest place where it fits.
    pub fn serial(&mut self, net: &Net, keys: &[i32]) -> Vec<i32> {
        self.begin(net);
        let mut starts = vec![0; net.len()];
        let first = (0..net.len()).filter(|i| net.befores[*i].is_empty());
        self.ready.extend(first.map(|i| Reverse((keys[i], i))));
        while let Some(Reverse((_, i))) = self.ready.pop() {
            let (duration, demands) = (net.durations[i], net.demands(i));
            let start = self.free.earliest(self.earliest[i], duration, demands);
            self.free.take(start, duration, demands);
            starts[i] = start;
            self.release(net, i, start, |me, j| me.ready.push(Reverse((keys[j], j))));
        }
        starts
    }

    /// Parallel generation: time goes on from end to end, and whatever may start then and fits
    /// does so, the smallest key first.
    pub fn parallel(&mut self, net: &Net, keys: &[i32]) -> Vec<i32> {
        self.begin(net);
        let mut starts = vec![0; net.len()];
        let mut waiting: Vec<usize> =
            (0..net.len()).filter(|i| net.befores[*i].is_empty()).collect();
        let mut now = 0;
        while !waiting.is_empty() {
            waiting.sort_unstable_by_key(|i| (keys[*i], *i));
            let mut next = i32::MAX;
            let mut released = Vec::new();
            waiting.retain(|&i| {
                let from = self.earliest[i].max(now);
                let (duration, demands) = (net.durations[i], net.demands(i));
                let start = self.free.earliest(from, duration, demands);
                if start > now {
                    next = next.min(start);
                    return true;
                }
                self.free.take(start, duration, demands);
                starts[i] = start;
                self.release(net, i, start, |_, j| released.push(j));
                false
            });
            // What was released may start now too; else time goes to the next possible start.
            if released.is_empty() {
                now = next;
            }
            waiting.append(&mut released);
        }
        starts
    }
}
