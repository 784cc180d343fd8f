//! How much of a heat each mould takes at the least: weights of which no heat holds more than 1, by the
//! duality of linear programs (Gilmore and Gomory, Operations Research 9 (1961) 849, for cutting stock).

use super::rooms::{ROOMS, Size};
use microlp::{ComparisonOp, OptimizationDirection, Problem, SolveOutcome, Variable};
use std::collections::BTreeMap;

/// Heats of which no more than 1 may be held, at the most.
const MOST_HEATS: usize = 120;
/// Steps of the search for the heaviest heat.
const STEPS: usize = 200_000;
/// Moulds whose shares differ by less than one of so many parts are of one kind.
const PARTS: f64 = 100.0;
/// Sums may be this much above 1.
const SLACK: f64 = 1e-9;
/// Weights of a heat that are this much above 1 are too heavy.
const HEAVY: f64 = 1e-6;

/// Moulds that are alike, as the least of them is.
struct Kind {
    size: Size,
    flask: Option<usize>,
    moulds: Vec<usize>,
}

/// Weights of moulds of one alloy, by the shares of a heat and the flask that each takes; `count` flasks
/// of each kind. Nothing but 1 divided by the number of moulds where no better are found.
pub fn weights(sizes: &[Size], flasks: &[Option<usize>], count: &[usize]) -> Vec<f64> {
    let kinds = kinds(sizes, flasks);
    let mut best = vec![1.0 / sizes.len().max(1) as f64; kinds.len()];
    let sum = |weights: &[f64]| {
        weights.iter().zip(&kinds).map(|(w, kind)| w * kind.moulds.len() as f64).sum::<f64>()
    };
    let mut problem = Problem::new(OptimizationDirection::Maximize);
    let variables: Vec<Variable> =
        kinds.iter().map(|kind| problem.add_var(kind.moulds.len() as f64, (0.0, 1.0))).collect();
    let mut solved = problem.solve();
    for _ in 0..MOST_HEATS {
        let Ok(SolveOutcome::Solution(solution)) = solved else { break };
        let weights: Vec<f64> =
            variables.iter().map(|v| solution.var_value_raw(*v).max(0.0)).collect();
        let Some((heaviest, heat)) = heaviest(&kinds, count, &weights) else { break };
        let scaled: Vec<f64> = weights.iter().map(|w| w / heaviest.max(1.0)).collect();
        if sum(&scaled) > sum(&best) {
            best = scaled;
        }
        if heat.is_empty() {
            break;
        }
        let held: Vec<(Variable, f64)> =
            heat.into_iter().map(|(kind, moulds)| (variables[kind], moulds as f64)).collect();
        solved = solution.add_constraint(held, ComparisonOp::Le, 1.0);
    }
    let mut of = vec![0.0; sizes.len()];
    for (kind, weight) in kinds.iter().zip(best) {
        kind.moulds.iter().for_each(|m| of[*m] = weight);
    }
    of
}

fn kinds(sizes: &[Size], flasks: &[Option<usize>]) -> Vec<Kind> {
    let mut kinds: BTreeMap<(Option<usize>, [i64; ROOMS]), Kind> = BTreeMap::new();
    for (m, (size, flask)) in sizes.iter().zip(flasks).enumerate() {
        let key = (*flask, size.map(|share| (share * PARTS).round() as i64));
        let new = || Kind { size: *size, flask: *flask, moulds: Vec::new() };
        let kind = kinds.entry(key).or_insert_with(new);
        kind.size.iter_mut().zip(size).for_each(|(least, share)| *least = least.min(*share));
        kind.moulds.push(m);
    }
    kinds.into_values().collect()
}

/// Moulds of some kinds in a heat.
type Heat = Vec<(usize, usize)>;

/// The weight of the heaviest heat and what is in it; no more than 1 and nothing where none is above 1; none
/// where the search is too long.
fn heaviest(kinds: &[Kind], count: &[usize], weights: &[f64]) -> Option<(f64, Heat)> {
    let mut order: Vec<usize> = (0..kinds.len()).filter(|k| weights[*k] > SLACK).collect();
    let dense = |k: &usize| weights[*k] / kinds[*k].size.iter().sum::<f64>().max(SLACK);
    order.sort_by(|a, b| dense(b).total_cmp(&dense(a)).then(a.cmp(b)));
    // Most weight for a share of a room that this kind or one after it has.
    let mut most = vec![[0.0; ROOMS]; order.len() + 1];
    for at in (0..order.len()).rev() {
        let (weight, size) = (weights[order[at]], kinds[order[at]].size);
        most[at] = std::array::from_fn(|room| (weight / size[room]).max(most[at + 1][room]));
    }
    let mut search = Heaviest {
        kinds,
        weights,
        order,
        most,
        flasks: count.to_vec(),
        heat: Vec::new(),
        best: (1.0 + HEAVY, Vec::new()),
        steps: STEPS,
    };
    search.fill(0, [1.0; ROOMS], 0.0);
    (search.steps > 0).then_some(search.best)
}

struct Heaviest<'a> {
    kinds: &'a [Kind],
    weights: &'a [f64],
    order: Vec<usize>,
    most: Vec<Size>,
    flasks: Vec<usize>,
    heat: Heat,
    best: (f64, Heat),
    steps: usize,
}

impl Heaviest<'_> {
    /// Fills what is left of a heat with the kinds from this place in the order on.
    fn fill(&mut self, at: usize, left: Size, weight: f64) {
        if weight > self.best.0 {
            self.best = (weight, self.heat.clone());
        }
        let hope = left.iter().zip(&self.most[at]).map(|(left, most)| left * most);
        let hope = hope.fold(f64::INFINITY, f64::min);
        if at == self.order.len() || weight + hope <= self.best.0 || self.steps == 0 {
            return;
        }
        self.steps -= 1;
        let kind = &self.kinds[self.order[at]];
        let rooms = left.iter().zip(&kind.size).filter(|(_, size)| **size > 0.0);
        let rooms = rooms.map(|(left, size)| ((left + SLACK) / size) as usize);
        let flasks = kind.flask.map_or(usize::MAX, |flask| self.flasks[flask]);
        let fit = rooms.min().unwrap_or(usize::MAX).min(flasks).min(kind.moulds.len());
        for moulds in (0..=fit).rev() {
            let taken =
                std::array::from_fn(|room| (left[room] - moulds as f64 * kind.size[room]).max(0.0));
            if moulds > 0 {
                self.heat.push((self.order[at], moulds));
            }
            if let Some(flask) = kind.flask {
                self.flasks[flask] -= moulds;
            }
            self.fill(at + 1, taken, weight + moulds as f64 * self.weights[self.order[at]]);
            if let Some(flask) = kind.flask {
                self.flasks[flask] += moulds;
            }
            if moulds > 0 {
                self.heat.pop();
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::weights;
    use crate::plan::search::rooms::ROOMS;

    fn sum(sizes: &[[f64; ROOMS]], flasks: &[Option<usize>], count: &[usize]) -> f64 {
        weights(sizes, flasks, count).iter().sum()
    }

    #[test]
    fn weights_know_several_rooms_and_flasks_at_a_time() {
        let size = |pot, session| [pot, 0.0, session, 0.0, 0.0, 0.0];
        // Three heavy fill a pot, five light a session, and of both two and two, or one and four: a heavy one
        // takes a third and a light one a sixth. By the pot alone 2.7 heats, by the session 2.4.
        let mixed = [vec![size(0.32, 0.2); 6], vec![size(0.13, 0.2); 6]].concat();
        assert!((sum(&mixed, &[None; 12], &[]) - 3.0).abs() < 1e-4);
        // Four small flasks and two large: a session holds four and one of them, or three and two, so that each
        // takes a fifth. By the session alone 29.5 heats, by the flasks 28.5.
        let flasks: Vec<Option<usize>> = [vec![Some(0); 110], vec![Some(1); 57]].concat();
        let sizes = [vec![size(0.0, 0.147); 110], vec![size(0.0, 0.233); 57]].concat();
        assert!((sum(&sizes, &flasks, &[4, 2]) - 33.4).abs() < 1e-4);
        // Nothing fits with anything.
        assert!((sum(&vec![size(0.6, 0.1); 7], &[None; 7], &[]) - 7.0).abs() < 1e-4);
    }
}
