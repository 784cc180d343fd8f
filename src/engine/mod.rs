//! Schedules of activities that share limited resources, in integer time: short ones, with a proof
//! of how short a schedule can be at all.
//!
//! [`solve`] starts from priority rules (`warm`), bounds the makespan from below (`bounds`),
//! and then takes turns between a constraint solver that proves or improves (`prove`), crossing
//! good schedules (`breed`) and solving a stretch of the best one anew (`windows`). It knows
//! nothing of what is being made.

mod bounds;
mod breed;
mod cliques;
mod decode;
mod meter;
mod net;
mod problem;
mod prove;
mod warm;
mod windows;

pub use meter::Budget;
pub use problem::{Activity, Fault, LONGEST, Precedence, Problem};

use breed::Breed;
use meter::{Best, Meter};
use net::Net;
use prove::{Answer, Prover};
use warm::Shop;
use windows::Windows;

/// A schedule, and what is known about shorter ones.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Solution {
    /// Start of each activity.
    pub starts: Vec<i32>,
    /// End of the last one.
    pub makespan: i32,
    /// No schedule is shorter than this.
    pub bound: i32,
}

impl Solution {
    /// Whether no schedule is shorter than this one.
    #[must_use]
    pub fn proven(&self) -> bool {
        self.bound == self.makespan
    }

    /// The most that could be gained: (makespan - bound) / makespan, from 0 to 1.
    #[must_use]
    pub fn gap(&self) -> f64 {
        f64::from(self.makespan - self.bound) / f64::from(self.makespan.max(1))
    }
}

/// The schedule by priority rules and forward-backward passes alone, some
/// milliseconds; [`solve`] is never worse.
///
/// # Errors
/// Every fault of the problem.
pub fn first(problem: &Problem) -> Result<Solution, Vec<Fault>> {
    let net = check(problem)?;
    let mut nothing = |_: &Solution| ();
    let cliques = cliques::cliques(&net);
    let mut best = Best::new(bounds::lower(&net, &cliques), &mut nothing);
    Shop::new(net).rules(&mut best);
    Ok(best.solution())
}

/// Searches until a schedule is proven shortest or the budget is used up; what [`first`] does is
/// done whatever the budget. `progress` is told of
/// each better schedule and each better bound.
///
/// # Errors
/// Every fault of the problem.
pub fn solve(
    problem: &Problem,
    budget: &Budget,
    progress: &mut dyn FnMut(&Solution),
) -> Result<Solution, Vec<Fault>> {
    let net = check(problem)?;
    let meter = Meter::new(budget);
    let cliques = cliques::cliques(&net);
    let mut best = Best::new(bounds::lower(&net, &cliques), progress);
    let mut shop = Shop::new(net);
    shop.rules(&mut best);
    if best.proven() {
        return Ok(best.solution());
    }
    let mut breed = Breed::new(budget.seed);
    breed.run(&mut shop, &mut best, &meter, 100);
    let mut prover = Prover::new(&shop.net, &cliques, best.makespan, budget.seed);
    let mut windows = Windows::new(budget.seed);
    let mut hinted = i32::MAX;
    let mut turn = 500;
    while !best.proven() && !meter.over() {
        if best.makespan < hinted {
            prover.hint(&best.starts, &meter);
            prover.narrow(best.makespan - 1);
            hinted = best.makespan;
        }
        match prover.by(best.makespan - 1, turn, &meter) {
            Answer::Found(starts) => {
                // Generated anew in this order, so that no schedule rests on the prover's word.
                let (starts, makespan) = shop.serial(&starts);
                if best.offer(&starts, makespan) {
                    continue;
                }
            }
            Answer::None => {
                best.raise(best.makespan);
                break;
            }
            Answer::Open => {}
        }
        if let Answer::None = prover.by(best.bound, turn / 4, &meter) {
            best.raise(best.bound + 1);
        }
        // Decisions of the prover cost more, and lead less far, the more activities there are.
        let schedules = turn * shop.net.len() as u64 / 30;
        breed.run(&mut shop, &mut best, &meter, schedules);
        windows.run(&mut shop, &cliques, &mut best, &meter, turn / 4);
        turn += turn / 4;
    }
    Ok(best.solution())
}

fn check(problem: &Problem) -> Result<Net, Vec<Fault>> {
    let faults = problem.faults();
    if faults.is_empty() { Ok(Net::new(problem)) } else { Err(faults) }
}
