//! How much work may still be done, and how it goes.

use super::Solution;
use std::cell::Cell;

/// How long to search.
#[derive(Clone, Copy)]
pub struct Budget<'a> {
    /// Steps: one schedule generated, or one decision of the prover. With the same seed and a
    /// `stop` that never says so, the same number of steps gives the same answer.
    pub steps: u64,
    /// Of every random choice.
    pub seed: u64,
    /// Asked between steps; `true` ends the search. A wall clock belongs here.
    pub stop: &'a dyn Fn() -> bool,
}

impl std::fmt::Debug for Budget<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Budget").field("steps", &self.steps).field("seed", &self.seed).finish()
    }
}

impl Budget<'_> {
    /// So many steps, whatever time they take.
    #[must_use]
    pub fn steps(steps: u64, seed: u64) -> Self {
        Self { steps, seed, stop: &|| false }
    }
}

/// Counts steps down.
pub(super) struct Meter<'a> {
    left: Cell<u64>,
    stopped: Cell<bool>,
    stop: &'a dyn Fn() -> bool,
}

impl<'a> Meter<'a> {
    pub fn new(budget: &Budget<'a>) -> Self {
        Self { left: Cell::new(budget.steps), stopped: Cell::new(false), stop: budget.stop }
    }

    /// Takes one step; false when none is left.
    pub fn step(&self) -> bool {
        let left = self.left.get();
        // Asking may cost a system call, a step is some ten microseconds.
        if left.is_multiple_of(16) && !self.stopped.get() {
            self.stopped.set((self.stop)());
        }
        if self.over() {
            return false;
        }
        self.left.set(left - 1);
        true
    }

    pub fn over(&self) -> bool {
        self.stopped.get() || self.left.get() == 0
    }
}

/// The best schedule so far, and what is known about better ones.
pub(super) struct Best<'a> {
    pub starts: Vec<i32>,
    pub makespan: i32,
    pub bound: i32,
    tell: &'a mut dyn FnMut(&Solution),
}

impl<'a> Best<'a> {
    pub fn new(bound: i32, tell: &'a mut dyn FnMut(&Solution)) -> Self {
        Self { starts: Vec::new(), makespan: i32::MAX, bound, tell }
    }

    /// Keeps the schedule if it is shorter.
    pub fn offer(&mut self, starts: &[i32], makespan: i32) -> bool {
        let better = makespan < self.makespan;
        if better {
            self.starts.clear();
            self.starts.extend_from_slice(starts);
            self.makespan = makespan;
            let now = self.solution();
            (self.tell)(&now);
        }
        better
    }

    /// No schedule is shorter than `bound`.
    pub fn raise(&mut self, bound: i32) {
        if bound > self.bound {
            self.bound = bound.min(self.makespan);
            let now = self.solution();
            (self.tell)(&now);
        }
    }

    pub fn proven(&self) -> bool {
        self.bound >= self.makespan
    }

    pub fn solution(&self) -> Solution {
        Solution { starts: self.starts.clone(), makespan: self.makespan, bound: self.bound }
    }
}
