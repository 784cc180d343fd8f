//! A directed graph of work: order, levels, longest chain. It knows nothing of foundries.

use petgraph::Direction;
use petgraph::graph::{DiGraph, NodeIndex};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Pieces of work, each with a length, and what waits for what; without rings.
#[derive(Debug, Clone, Default)]
pub struct Network {
    graph: DiGraph<f64, ()>,
}

/// A length that can be compared: lengths are finite and never negative.
#[derive(PartialEq)]
struct Length(f64);

impl Eq for Length {}

impl PartialOrd for Length {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Length {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.0.total_cmp(&other.0)
    }
}

impl Network {
    /// Adds a piece of work of this length and returns its number.
    pub fn add(&mut self, length: f64) -> usize {
        self.graph.add_node(length).index()
    }

    /// Lets `later` wait for `earlier`.
    pub fn wait(&mut self, earlier: usize, later: usize) {
        let (from, to) = (NodeIndex::new(earlier), NodeIndex::new(later));
        if self.graph.find_edge(from, to).is_none() {
            self.graph.add_edge(from, to, ());
        }
    }

    /// How many pieces of work there are.
    pub fn len(&self) -> usize {
        self.graph.node_count()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// What this piece of work waits for.
    pub fn before(&self, node: usize) -> Vec<usize> {
        self.near(node, Direction::Incoming)
    }

    /// What waits for this piece of work.
    pub fn after(&self, node: usize) -> Vec<usize> {
        self.near(node, Direction::Outgoing)
    }

    fn near(&self, node: usize, direction: Direction) -> Vec<usize> {
        let near = self.graph.neighbors_directed(NodeIndex::new(node), direction);
        let mut list: Vec<usize> = near.map(NodeIndex::index).collect();
        list.sort_unstable();
        list
    }

    /// Length of the longest chain that starts with each piece of work, its own length included.
    pub fn tails(&self) -> Vec<f64> {
        let mut tails = vec![0.0; self.len()];
        for &node in self.any_order().iter().rev() {
            let longest = self.after(node).into_iter().map(|n| tails[n]).fold(0.0, f64::max);
            tails[node] = self.graph[NodeIndex::new(node)] + longest;
        }
        tails
    }

    /// An order in which nothing comes before what it waits for. Of what could come next, the
    /// one with the longest chain behind it comes first; among equals the one added first.
    pub fn order(&self) -> Vec<usize> {
        let tails = self.tails();
        self.order_by(|node| (Length(tails[node]), Reverse(node)))
    }

    fn any_order(&self) -> Vec<usize> {
        self.order_by(Reverse)
    }

    fn order_by<K: Ord>(&self, key: impl Fn(usize) -> K) -> Vec<usize> {
        let mut waits: Vec<usize> = (0..self.len())
            .map(|n| self.graph.neighbors_directed(NodeIndex::new(n), Direction::Incoming).count())
            .collect();
        let mut free: BinaryHeap<(K, usize)> =
            (0..self.len()).filter(|n| waits[*n] == 0).map(|n| (key(n), n)).collect();
        let mut order = Vec::with_capacity(self.len());
        while let Some((_, node)) = free.pop() {
            order.push(node);
            for next in self.graph.neighbors(NodeIndex::new(node)) {
                let next = next.index();
                waits[next] -= 1;
                if waits[next] == 0 {
                    free.push((key(next), next));
                }
            }
        }
        order
    }

    /// How many steps of waiting lie before each piece of work: 0 where it waits for nothing.
    pub fn levels(&self) -> Vec<usize> {
        let mut levels = vec![0; self.len()];
        for node in self.any_order() {
            for next in self.after(node) {
                levels[next] = levels[next].max(levels[node] + 1);
            }
        }
        levels
    }

    /// The longest chain of work and its length.
    pub fn longest(&self) -> (Vec<usize>, f64) {
        let tails = self.tails();
        let first = |nodes: &mut dyn Iterator<Item = usize>| {
            nodes.max_by_key(|n| (Length(tails[*n]), Reverse(*n)))
        };
        let mut chain = Vec::new();
        let mut next = first(&mut (0..self.len()));
        while let Some(node) = next {
            chain.push(node);
            next = first(&mut self.after(node).into_iter());
        }
        (chain.clone(), chain.first().map_or(0.0, |n| tails[*n]))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_published_network_has_its_published_length() {
        // Activity-on-node example 1, studylib.net/doc/8378728: 16, critical A-B-D-E-G.
        let mut n = Network::default();
        for length in [6.0, 2.0, 2.0, 3.0, 4.0, 2.0, 1.0] {
            n.add(length);
        }
        for (from, to) in [(0, 1), (0, 2), (1, 3), (3, 4), (5, 4), (2, 5), (4, 6)] {
            n.wait(from, to);
        }
        let (chain, length) = n.longest();
        assert!((length - 16.0).abs() < 1e-12);
        assert_eq!(chain, [0, 1, 3, 4, 6]);
        assert_eq!(n.levels(), [0, 1, 1, 2, 3, 2, 4]);
    }
}
