//! A problem made ready for search: arcs from start to start, heads and tails.

use super::problem::Problem;

/// The checked problem, seen from its beginning or from its end.
#[derive(Debug, Clone)]
pub(super) struct Net {
    pub capacities: Vec<i32>,
    pub durations: Vec<i32>,
    /// Demand of activity `i` for resource `r` at `i * resources + r`; 0 for milestones.
    demands: Vec<i32>,
    /// For each activity, `(other, time from the other's start to this start)`.
    pub befores: Vec<Vec<(usize, i32)>>,
    /// For each activity, `(other, time from this start to the other's start)`.
    pub afters: Vec<Vec<(usize, i32)>>,
    /// An order in which each activity comes after all that it waits for.
    pub order: Vec<usize>,
    /// Earliest start by the arcs alone (published as "head").
    pub heads: Vec<i32>,
    /// Least time from an activity's end to the end of all (published as "tail").
    pub tails: Vec<i32>,
}

impl Net {
    /// Of a problem without faults.
    pub fn new(problem: &Problem) -> Self {
        let demands = problem.activities.iter().flat_map(|a| {
            let held = i32::from(a.duration > 0);
            a.demands.iter().map(move |d| d * held)
        });
        let durations: Vec<i32> = problem.activities.iter().map(|a| a.duration).collect();
        let mut arcs: Vec<(usize, usize, i32)> = problem
            .precedences
            .iter()
            .map(|p| (p.before, p.after, durations[p.before] + p.lag))
            .collect();
        // Of several arcs between the same two only the longest matters.
        arcs.sort_unstable_by_key(|&(a, b, w)| (a, b, -w));
        arcs.dedup_by_key(|&mut (a, b, _)| (a, b));
        Self::build(problem.capacities.clone(), durations, demands.collect(), &arcs)
    }

    fn build(
        capacities: Vec<i32>,
        durations: Vec<i32>,
        demands: Vec<i32>,
        arcs: &[(usize, usize, i32)],
    ) -> Self {
        let n = durations.len();
        let (mut befores, mut afters) = (vec![Vec::new(); n], vec![Vec::new(); n]);
        for &(a, b, w) in arcs {
            befores[b].push((a, w));
            afters[a].push((b, w));
        }
        let mut waits: Vec<usize> = befores.iter().map(Vec::len).collect();
        let mut order: Vec<usize> = (0..n).filter(|i| waits[*i] == 0).collect();
        let mut at = 0;
        while at < order.len() {
            for &(b, _) in &afters[order[at]] {
                waits[b] -= 1;
                if waits[b] == 0 {
                    order.push(b);
                }
            }
            at += 1;
        }
        let mut heads = vec![0; n];
        for &i in &order {
            heads[i] = befores[i].iter().map(|&(p, w)| heads[p] + w).fold(0, i32::max);
        }
        let mut tails = vec![0; n];
        for &i in order.iter().rev() {
            let after = afters[i].iter().map(|&(s, w)| w - durations[i] + durations[s] + tails[s]);
            tails[i] = after.fold(0, i32::max);
        }
        Self { capacities, durations, demands, befores, afters, order, heads, tails }
    }

    /// The same work with time running backwards.
    pub fn reversed(&self) -> Self {
        let d = &self.durations;
        let arcs: Vec<_> = (0..self.len())
            .flat_map(|i| self.afters[i].iter().map(move |&(j, w)| (j, i, w + d[j] - d[i])))
            .collect();
        Self::build(self.capacities.clone(), d.clone(), self.demands.clone(), &arcs)
    }

    /// The same work with more arcs `(before, after, time from start to start)`, which must not
    /// close a ring.
    pub fn with_arcs(&self, more: &[(usize, usize, i32)]) -> Self {
        let mut arcs: Vec<_> = (0..self.len())
            .flat_map(|i| self.afters[i].iter().map(move |&(j, w)| (i, j, w)))
            .chain(more.iter().copied())
            .collect();
        arcs.sort_unstable_by_key(|&(a, b, w)| (a, b, -w));
        arcs.dedup_by_key(|&mut (a, b, _)| (a, b));
        Self::build(self.capacities.clone(), self.durations.clone(), self.demands.clone(), &arcs)
    }

    pub fn len(&self) -> usize {
        self.durations.len()
    }

    /// What an activity holds of each resource.
    pub fn demands(&self, activity: usize) -> &[i32] {
        let resources = self.capacities.len();
        &self.demands[activity * resources..(activity + 1) * resources]
    }

    /// Whether two activities ask together for more than there is.
    pub fn clash(&self, a: usize, b: usize) -> bool {
        let both = self.demands(a).iter().zip(self.demands(b));
        both.zip(&self.capacities).any(|((a, b), capacity)| a + b > *capacity)
    }

    /// End of the last activity.
    pub fn makespan(&self, starts: &[i32]) -> i32 {
        starts.iter().zip(&self.durations).map(|(s, d)| s + d).fold(0, i32::max)
    }
}
