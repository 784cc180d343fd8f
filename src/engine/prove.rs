//! Proof and improvement by a constraint solver that learns from its dead ends (`pumpkin`).

use super::meter::Meter;
use super::net::Net;
use pumpkin_conflict_resolvers::resolvers::ResolutionResolver;
use pumpkin_constraints as constraints;
use pumpkin_core::Solver;
use pumpkin_core::branching::branchers::autonomous_search::AutonomousSearch;
use pumpkin_core::branching::branchers::independent_variable_value_brancher::IndependentVariableValueBrancher;
use pumpkin_core::branching::tie_breaking::InOrderTieBreaker;
use pumpkin_core::branching::value_selection::InDomainMin;
use pumpkin_core::branching::variable_selection::Smallest;
use pumpkin_core::branching::{Brancher, BrancherEvent, SelectionContext};
use pumpkin_core::options::{RestartOptions, SolverOptions};
use pumpkin_core::predicate;
use pumpkin_core::predicates::Predicate;
use pumpkin_core::rand::SeedableRng;
use pumpkin_core::results::{
    ProblemSolution, SatisfactionResultUnderAssumptions, SolutionReference,
};
use pumpkin_core::termination::TerminationCondition;
use pumpkin_core::variables::{DomainId, TransformableVariable};
use pumpkin_propagators::disjunctive::ArgDisjunctiveTask;
use std::cell::Cell;
use std::rc::Rc;

/// What came of a question.
pub(super) enum Answer {
    /// A schedule that ends in time.
    Found(Vec<i32>),
    /// There is none.
    None,
    /// The steps did not suffice.
    Open,
}

/// Activity of predicates in conflicts first; where that says nothing, the earliest start.
type Choice = AutonomousSearch<
    IndependentVariableValueBrancher<
        DomainId,
        Smallest<DomainId, InOrderTieBreaker<DomainId, i32>>,
        InDomainMin,
    >,
>;

/// Chooses, and notes that it did: pumpkin 0.4 does not recover from being stopped with no decision
/// made, so [`Count`] stops it only right after one.
#[derive(Debug)]
struct Search {
    choice: Choice,
    decided: Rc<Cell<bool>>,
}

impl Brancher for Search {
    fn next_decision(&mut self, context: &mut SelectionContext) -> Option<Predicate> {
        let next = self.choice.next_decision(context);
        self.decided.set(next.is_some());
        next
    }
    fn on_conflict(&mut self) {
        self.choice.on_conflict();
    }
    fn on_backtrack(&mut self) {
        self.choice.on_backtrack();
    }
    fn on_solution(&mut self, solution: SolutionReference) {
        self.choice.on_solution(solution);
    }
    fn on_unassign_integer(&mut self, variable: DomainId, value: i32) {
        self.choice.on_unassign_integer(variable, value);
    }
    fn on_appearance_in_conflict_predicate(&mut self, predicate: Predicate) {
        self.choice.on_appearance_in_conflict_predicate(predicate);
    }
    fn on_restart(&mut self) {
        self.choice.on_restart();
    }
    fn synchronise(&mut self, context: &mut SelectionContext) {
        self.choice.synchronise(context);
    }
    fn is_restart_pointless(&mut self) -> bool {
        self.choice.is_restart_pointless()
    }
    fn subscribe_to_events(&self) -> Vec<BrancherEvent> {
        self.choice.subscribe_to_events()
    }
}

/// A model of schedules that end by a given time, with all that was learnt about them.
pub(super) struct Prover {
    solver: Solver,
    starts: Vec<DomainId>,
    end: DomainId,
    brancher: Search,
    resolver: ResolutionResolver,
    /// The model was found to have no solution while it was made or narrowed.
    empty: bool,
}

/// Counts decisions of the solver.
struct Count<'a> {
    left: u64,
    decided: Rc<Cell<bool>>,
    meter: &'a Meter<'a>,
}

impl TerminationCondition for Count<'_> {
    fn should_stop(&mut self) -> bool {
        let decided = self.decided.replace(false);
        if self.meter.step() && self.left > 0 {
            self.left -= 1;
            return false;
        }
        decided
    }
}

impl Prover {
    /// The model of all schedules that end by `horizon`; `cliques` are of activities that exclude
    /// each other.
    pub fn new(net: &Net, cliques: &[Vec<usize>], horizon: i32, seed: u64) -> Self {
        // Proofs restart early; pumpkin would wait for 10,000 conflicts.
        let restart_options = RestartOptions {
            min_num_conflicts_before_first_restart: 100,
            ..RestartOptions::default()
        };
        let options = SolverOptions {
            restart_options,
            random_generator: SeedableRng::seed_from_u64(seed),
            memory_preallocated: 1,
            ..SolverOptions::default()
        };
        let mut solver = Solver::with_options(options);
        let mut empty = false;
        let starts: Vec<DomainId> = (0..net.len())
            .map(|i| {
                let latest = horizon - net.tails[i] - net.durations[i];
                empty |= latest < net.heads[i];
                solver.new_bounded_integer(net.heads[i], latest.max(net.heads[i]))
            })
            .collect();
        let end = solver.new_bounded_integer(0, horizon);
        for i in 0..net.len() {
            let tag = solver.new_constraint_tag();
            let terms = [starts[i].scaled(1), end.scaled(-1)];
            let rhs = -net.durations[i] - net.tails[i];
            let post = solver.add_constraint(constraints::less_than_or_equals(terms, rhs, tag));
            empty |= post.post().is_err();
            for &(j, w) in &net.afters[i] {
                let tag = solver.new_constraint_tag();
                let terms = [starts[i].scaled(1), starts[j].scaled(-1)];
                let post = solver.add_constraint(constraints::less_than_or_equals(terms, -w, tag));
                empty |= post.post().is_err();
            }
        }
        for (r, &capacity) in net.capacities.iter().enumerate() {
            let demand = |i: usize| net.demands(i)[r];
            let users: Vec<usize> = (0..net.len()).filter(|i| demand(*i) > 0).collect();
            if users.iter().map(|i| i64::from(demand(*i))).sum::<i64>() <= i64::from(capacity) {
                continue;
            }
            let tag = solver.new_constraint_tag();
            let cumulative = constraints::cumulative(
                users.iter().map(|i| starts[*i]).collect::<Vec<_>>(),
                users.iter().map(|i| net.durations[*i]).collect::<Vec<_>>(),
                users.iter().map(|i| demand(*i)).collect::<Vec<_>>(),
                capacity,
                tag,
            );
            empty |= solver.add_constraint(cumulative).post().is_err();
        }
        for clique in cliques {
            let tag = solver.new_constraint_tag();
            let tasks = clique.iter().map(|&i| ArgDisjunctiveTask {
                start_time: starts[i],
                processing_time: net.durations[i],
            });
            let post = solver.add_constraint(constraints::disjunctive_strict(tasks, tag));
            empty |= post.post().is_err();
        }
        let backup = IndependentVariableValueBrancher::new(Smallest::new(&starts), InDomainMin);
        let brancher = Search { choice: AutonomousSearch::new(backup), decided: Rc::default() };
        Self { solver, starts, end, brancher, resolver: ResolutionResolver::default(), empty }
    }

    /// From now on only schedules that end by `latest`.
    pub fn narrow(&mut self, latest: i32) {
        let tag = self.solver.new_constraint_tag();
        let end = self.end;
        self.empty |= self.solver.add_clause([predicate![end <= latest]], tag).is_err();
    }

    /// Points the search at a known schedule.
    pub fn hint(&mut self, starts: &[i32], meter: &Meter) {
        let mut assume: Vec<Predicate> = Vec::with_capacity(starts.len());
        for (&variable, &start) in self.starts.iter().zip(starts) {
            assume.push(predicate![variable == start]);
        }
        self.ask(&assume, 4 * starts.len() as u64, meter);
    }

    /// A schedule that ends by `latest`, in so many steps.
    pub fn by(&mut self, latest: i32, steps: u64, meter: &Meter) -> Answer {
        let end = self.end;
        self.ask(&[predicate![end <= latest]], steps, meter)
    }

    fn ask(&mut self, assume: &[Predicate], steps: u64, meter: &Meter) -> Answer {
        if self.empty {
            return Answer::None;
        }
        self.brancher.decided.set(false);
        let decided = Rc::clone(&self.brancher.decided);
        let mut count = Count { left: steps, decided, meter };
        let answer = self.solver.satisfy_under_assumptions(
            &mut self.brancher,
            &mut count,
            &mut self.resolver,
            assume,
        );
        match answer {
            SatisfactionResultUnderAssumptions::Satisfiable(found) => {
                let found = found.solution();
                Answer::Found(self.starts.iter().map(|v| found.get_integer_value(*v)).collect())
            }
            SatisfactionResultUnderAssumptions::UnsatisfiableUnderAssumptions(_) => Answer::None,
            SatisfactionResultUnderAssumptions::Unsatisfiable(_) => {
                self.empty = true;
                Answer::None
            }
            SatisfactionResultUnderAssumptions::Unknown(_) => Answer::Open,
        }
    }
}
