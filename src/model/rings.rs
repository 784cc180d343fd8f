//! Parts that wait for each other in a ring.

use super::Part;
use crate::manifest::Step;
use crate::yaml::{Code, Fault};
use petgraph::algo::tarjan_scc;
use petgraph::graph::DiGraph;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// Parts that wait for each other, shown as the chain they form. What shares a flask is rammed,
/// poured and shaken out together, so none of it may wait for the other in between.
pub(super) fn rings(parts: &[Part], boxes: &[Vec<usize>], faults: &mut Vec<Fault>) {
    let mut graph: DiGraph<(usize, Step), ()> = DiGraph::new();
    let mut nodes = HashMap::new();
    for (i, part) in parts.iter().enumerate() {
        let mut last = None;
        for step in
            std::iter::once(Step::Pattern).filter(|_| part.casting.is_some()).chain(part.steps())
        {
            let node = graph.add_node((i, step));
            nodes.insert((i, step), node);
            if let Some(last) = last {
                graph.add_edge(last, node, ());
            }
            last = Some(node);
        }
    }
    for (i, part) in parts.iter().enumerate() {
        for need in &part.needs {
            if let (Some(from), Some(to)) =
                (nodes.get(&(need.part, need.step)), nodes.get(&(i, need.before)))
            {
                graph.add_edge(*from, *to, ());
            }
        }
    }
    // Rammed in one flask: what the one waits for before such a step, the other waits for too.
    let pattern = |i: usize| parts[i].casting.as_ref().map(|c| c.pattern);
    let mut more = Vec::new();
    for inside in boxes {
        let among: Vec<usize> =
            (0..parts.len()).filter(|i| pattern(*i).is_some_and(|p| inside.contains(&p))).collect();
        for (one, other) in among.iter().flat_map(|i| among.iter().map(move |o| (*i, *o))) {
            for step in [Step::Ram, Step::Pour, Step::ShakeOut] {
                let both = nodes.get(&(one, step)).zip(nodes.get(&(other, step)));
                let Some((one, to)) = both.filter(|_| pattern(one) != pattern(other)) else {
                    continue;
                };
                let before = graph.neighbors_directed(*one, petgraph::Direction::Incoming);
                more.extend(before.filter(|b| b != to).map(|from| (from, *to)));
            }
        }
    }
    for (from, to) in more {
        graph.add_edge(from, to, ());
    }
    for ring in tarjan_scc(&graph).into_iter().filter(|r| r.len() > 1) {
        let inside: BTreeSet<_> = ring.iter().copied().collect();
        let mut chain = vec![ring[0]];
        let mut seen = BTreeMap::from([(ring[0], 0)]);
        let start = loop {
            let Some(at) = chain.last().copied() else { return };
            let mut next: Vec<_> = graph.neighbors(at).filter(|n| inside.contains(n)).collect();
            next.sort();
            let Some(next) = next.first().copied() else { return };
            if let Some(start) = seen.get(&next) {
                break *start;
            }
            seen.insert(next, chain.len());
            chain.push(next);
        };
        let ring: Vec<(usize, Step)> = chain[start..].iter().map(|n| graph[*n]).collect();
        let first = ring.iter().enumerate().min_by_key(|(_, n)| **n).map_or(0, |(i, _)| i);
        let mut words: Vec<String> = ring
            .iter()
            .cycle()
            .skip(first)
            .take(ring.len())
            .map(|(part, step)| format!("{}.{}", parts[*part].id(), step.word()))
            .collect();
        words.push(words[0].clone());
        let route = parts[ring[first].0].given.route.clone();
        faults.push(Fault::key(
            Code::Ring,
            route,
            format!("each waits for the one before: {}", words.join(" -> ")),
            if boxes.is_empty() {
                "remove one of these `needs`, or let it wait for an earlier step"
            } else {
                "remove one of these `needs`, or let it wait for an earlier step; what shares a flask waits for all that any of it waits for, so a pattern may need one of its own"
            },
        ));
    }
}
