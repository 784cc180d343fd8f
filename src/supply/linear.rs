//! Least-cost choices under linear limits, some of them in whole numbers. Solved with `microlp`
//! (simplex with branch and bound); limits on its work are counted in nodes, so that the same
//! question always has the same answer.

use microlp::{
    ComparisonOp, Error, OptimizationDirection, Problem, SolutionStatus, SolveOptions, SolveOutcome,
};

/// Work on branch and bound after which the best answer so far is taken, with its gap: nodes times
/// quantities times rows.
const MOST_WORK: usize = 300_000;

/// How a row is bounded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Bound {
    AtMost,
    AtLeast,
}

/// A weighted sum: quantities by index, each with its weight.
pub(super) type Terms = Vec<(usize, f64)>;

/// A quantity to choose.
#[derive(Debug, Clone, Copy)]
struct Quantity {
    least: f64,
    most: f64,
    whole: bool,
}

/// Quantities to choose and the limits they are under.
#[derive(Debug, Clone, Default)]
pub(super) struct Model {
    quantities: Vec<Quantity>,
    rows: Vec<(Terms, Bound, f64)>,
}

/// An answer.
#[derive(Debug, Clone)]
pub(super) struct Answer {
    /// The quantities, in order.
    pub values: Vec<f64>,
    /// What the objective comes to.
    pub objective: f64,
    /// Share of the objective by which a better answer could be better; 0 where none is.
    pub gap: f64,
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
        self.quantities.push(Quantity { least, most, whole });
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

    /// The least of a weighted sum of the quantities. Where branch and bound finds no whole answer
    /// within its work, one is dived for: the quantities are made whole one after the other.
    ///
    /// # Errors
    /// Where there is no answer.
    pub fn least(&self, terms: &[(usize, f64)]) -> Result<Answer, NoAnswer> {
        match self.solve(terms) {
            Err(NoAnswer::GaveUp) => self.dive(terms),
            found => found,
        }
    }

    fn solve(&self, terms: &[(usize, f64)]) -> Result<Answer, NoAnswer> {
        let mut weights = vec![0.0; self.quantities.len()];
        for (i, w) in terms {
            weights[*i] += w;
        }
        let mut problem = Problem::new(OptimizationDirection::Minimize);
        let mut variables = Vec::with_capacity(weights.len());
        for (q, &weight) in self.quantities.iter().zip(&weights) {
            let most = q.most.min(f64::from(i32::MAX)) as i32;
            variables.push(match q.whole {
                true => problem.add_integer_var(weight, (q.least as i32, most)),
                false => problem.add_var(weight, (q.least, q.most)),
            });
        }
        for (terms, bound, value) in &self.rows {
            let op = match bound {
                Bound::AtMost => ComparisonOp::Le,
                Bound::AtLeast => ComparisonOp::Ge,
            };
            problem.add_constraint(terms.iter().map(|(i, w)| (variables[*i], *w)), op, *value);
        }
        let nodes = MOST_WORK / (self.quantities.len() * self.rows.len()).max(1);
        let mut options = SolveOptions::default();
        options.node_limit = Some(nodes.max(100) as u64);
        match problem.solve_with(options) {
            Ok(SolveOutcome::Solution(found)) => Ok(Answer {
                values: variables.iter().map(|v| found.var_value(*v)).collect(),
                objective: found.objective(),
                gap: match found.status() {
                    SolutionStatus::Optimal => 0.0,
                    _ => found.gap().unwrap_or(1.0),
                },
            }),
            Err(Error::Infeasible) => Err(NoAnswer::Impossible),
            _ => Err(NoAnswer::GaveUp),
        }
    }

    /// A whole answer by making one quantity after the other whole, the one nearest to it first:
    /// rounded up where that can be, else down.
    fn dive(&self, terms: &[(usize, f64)]) -> Result<Answer, NoAnswer> {
        let mut relaxed = self.clone();
        relaxed.quantities.iter_mut().for_each(|q| q.whole = false);
        let floor = relaxed.solve(terms)?;
        let mut found = floor.clone();
        let mut left: Vec<usize> =
            (0..self.quantities.len()).filter(|i| self.quantities[*i].whole).collect();
        while !left.is_empty() {
            let up = |i: usize| found.values[i].ceil() - found.values[i];
            let next = left.iter().enumerate().min_by(|a, b| up(*a.1).total_cmp(&up(*b.1)));
            let Some((at, &i)) = next else { break };
            left.swap_remove(at);
            let value = found.values[i];
            let tried = [(value - 1e-9).ceil(), (value + 1e-9).floor()].map(|whole| {
                let mut fixed = relaxed.clone();
                let within = whole >= self.quantities[i].least && whole <= self.quantities[i].most;
                fixed.quantities[i] = Quantity { least: whole, most: whole, whole: false };
                within.then(|| Some((fixed.solve(terms).ok()?, fixed))).flatten()
            });
            let better =
                |a: &(Answer, Self), b: &(Answer, Self)| a.0.objective.total_cmp(&b.0.objective);
            let Some((answer, fixed)) = tried.into_iter().flatten().min_by(better) else {
                return Err(NoAnswer::GaveUp);
            };
            (found, relaxed) = (answer, fixed);
        }
        let gap = (found.objective - floor.objective) / found.objective.abs().max(1e-12);
        Ok(Answer { gap: gap.max(1e-12), ..found })
    }
}

#[cfg(test)]
mod tests {
    use super::{Bound, Model};

    /// x + 3 y at the least, with x + 4 y of 10 and x + 2 y of 7 at the least: 8.5 at (4, 1.5). What is
    /// whole already is held first, so y becomes 2 beside x = 4: 10, of which 1.5 may be too much.
    #[test]
    fn a_dive_makes_first_whole_what_is_nearest_to_it() {
        let mut model = Model::default();
        let [x, y] = [0, 1].map(|_| model.quantity(0.0, 9.0, true));
        model.limit(vec![(x, 1.0), (y, 4.0)], Bound::AtLeast, 10.0);
        model.limit(vec![(x, 1.0), (y, 2.0)], Bound::AtLeast, 7.0);
        let found = model.dive(&[(x, 1.0), (y, 3.0)]).expect("an answer");
        assert_eq!(found.values.iter().map(|v| v.round() as i64).collect::<Vec<_>>(), [4, 2]);
        assert!((found.objective - 10.0).abs() < 1e-9, "{}", found.objective);
        assert!((found.gap - 0.15).abs() < 1e-9, "{}", found.gap);
    }
}
