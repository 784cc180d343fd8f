//! Least-cost choices under linear limits, some of them in whole numbers. Solved with `microlp`
//! (simplex with branch and bound); limits on its work are counted in nodes, so that the same
//! question always has the same answer.

use microlp::{
    ComparisonOp, Error, OptimizationDirection, Problem, SolutionStatus, SolveOptions, SolveOutcome,
};

/// Nodes of branch and bound after which the best answer so far is taken, with its gap.
const MOST_NODES: u64 = 20_000;

/// How a row is bounded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Bound {
    AtMost,
    AtLeast,
}

/// A weighted sum: quantities by index, each with its weight.
pub(super) type Terms = Vec<(usize, f64)>;

/// Quantities to choose and the limits they are under.
#[derive(Debug, Clone, Default)]
pub(super) struct Model {
    /// Least, most, and whether only whole numbers will do.
    quantities: Vec<(f64, f64, bool)>,
    rows: Vec<(Terms, Bound, f64)>,
}

/// An answer.
#[derive(Debug, Clone)]
pub(super) struct Answer {
    /// The quantities, in order.
    pub values: Vec<f64>,
    /// What the objective comes to.
    pub objective: f64,
    /// Whether no better answer exists.
    pub proven: bool,
}

/// Why there is no answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum NoAnswer {
    /// The limits contradict each other.
    Impossible,
    /// The solver gave up.
    GaveUp,
}

impl Model {
    /// A quantity between two bounds; whole where `whole`.
    pub fn quantity(&mut self, least: f64, most: f64, whole: bool) -> usize {
        self.quantities.push((least, most, whole));
        self.quantities.len() - 1
    }

    /// A limit on a weighted sum; terms of the same quantity are added up.
    pub fn limit(&mut self, mut terms: Terms, bound: Bound, value: f64) {
        terms.sort_by_key(|(i, _)| *i);
        terms.dedup_by(|b, a| {
            let same = a.0 == b.0;
            if same {
                a.1 += b.1;
            }
            same
        });
        self.rows.push((terms, bound, value));
    }

    /// The least of a weighted sum of the quantities.
    ///
    /// # Errors
    /// Where there is no answer.
    pub fn least(&self, terms: &[(usize, f64)]) -> Result<Answer, NoAnswer> {
        let mut weights = vec![0.0; self.quantities.len()];
        for (i, w) in terms {
            weights[*i] += w;
        }
        let mut problem = Problem::new(OptimizationDirection::Minimize);
        let mut variables = Vec::with_capacity(weights.len());
        for (&(least, most, whole), &weight) in self.quantities.iter().zip(&weights) {
            variables.push(if whole {
                problem
                    .add_integer_var(weight, (least as i32, most.min(f64::from(i32::MAX)) as i32))
            } else {
                problem.add_var(weight, (least, most))
            });
        }
        for (terms, bound, value) in &self.rows {
            let op = match bound {
                Bound::AtMost => ComparisonOp::Le,
                Bound::AtLeast => ComparisonOp::Ge,
            };
            problem.add_constraint(terms.iter().map(|(i, w)| (variables[*i], *w)), op, *value);
        }
        let mut options = SolveOptions::default();
        options.node_limit = Some(MOST_NODES);
        match problem.solve_with(options) {
            Ok(SolveOutcome::Solution(found)) => Ok(Answer {
                values: variables.iter().map(|v| found.var_value(*v)).collect(),
                objective: found.objective(),
                proven: found.status() == SolutionStatus::Optimal,
            }),
            Err(Error::Infeasible) => Err(NoAnswer::Impossible),
            _ => Err(NoAnswer::GaveUp),
        }
    }
}
