//! Order, levels and longest chain against networkx, and against published networks.

mod common;
#[path = "common/dice.rs"]
mod dice;

use dice::Dice;
use pourwright::plan::Network;
use serde_json::{Value, json};

fn random(seed: u64) -> (Vec<f64>, Vec<(usize, usize)>) {
    let mut dice = Dice(seed);
    let n = 2 + dice.roll(40) as usize;
    let hours = (0..n).map(|_| dice.roll(80) as f64 / 4.0).collect();
    let names: Vec<usize> = {
        let mut names: Vec<usize> = (0..n).collect();
        for i in (1..n).rev() {
            names.swap(i, dice.roll(i as u64 + 1) as usize);
        }
        names
    };
    let mut edges = Vec::new();
    for late in 1..n {
        for early in 0..late {
            if dice.roll(8) == 0 {
                edges.push((names[early], names[late]));
            }
        }
    }
    (hours, edges)
}

fn network(hours: &[f64], edges: &[(usize, usize)]) -> Network {
    let mut network = Network::default();
    for h in hours {
        network.add(*h);
    }
    for (from, to) in edges {
        network.wait(*from, *to);
    }
    network
}

#[test]
fn networkx_agrees_on_200_random_networks() {
    let cases: Vec<_> = (0..200).map(random).collect();
    let graphs: Vec<Value> = cases
        .iter()
        .map(|(hours, edges)| {
            json!({"nodes": hours, "edges": edges, "order": network(hours, edges).order()})
        })
        .collect();
    let question = json!({ "graphs": graphs });
    let Some(told) =
        common::ask("networkx_agrees_on_200_random_networks", "graph_order", &question)
    else {
        return;
    };
    let told = told["graphs"].as_array().expect("graphs");
    assert_eq!(told.len(), cases.len());
    for ((hours, edges), told) in cases.iter().zip(told) {
        let network = network(hours, edges);
        assert_eq!(told["order_valid"], true, "{edges:?}");
        let (chain, length) = network.longest();
        assert!((length - told["longest"].as_f64().expect("hours")).abs() < 1e-9);
        let along: f64 = chain.iter().map(|n| hours[*n]).sum();
        assert!((along - length).abs() < 1e-9);
        assert!(chain.windows(2).all(|w| edges.contains(&(w[0], w[1]))));
        for (level, nodes) in told["levels"].as_array().expect("levels").iter().enumerate() {
            for node in nodes.as_array().expect("nodes") {
                let node = node.as_u64().expect("a number") as usize;
                assert_eq!(network.levels()[node], level);
            }
        }
    }
}

#[test]
fn a_published_critical_path() {
    // Taylor, Introduction to Management Science, ch. 8, first problem (activity on arrow,
    // scribd.com/doc/47113515): duration 20 along 1-3, 3-4, 4-5, 5-6.
    let hours = [7.0, 10.0, 5.0, 5.0, 4.0, 3.0, 2.0];
    let edges = [(0, 2), (1, 3), (1, 4), (2, 5), (3, 5), (4, 6), (5, 6)];
    let (chain, length) = network(&hours, &edges).longest();
    assert!((length - 20.0).abs() < 1e-12);
    assert_eq!(chain, [1, 3, 5, 6]);
}

#[test]
fn of_what_could_come_next_the_longest_chain_comes_first() {
    let network = network(&[1.0, 1.0, 5.0, 1.0], &[(0, 3), (1, 2)]);
    assert_eq!(network.order(), [1, 2, 0, 3]);
}
