//! Oracles shared by several laws: plain, slow, and independent of the engine's algebra.

use underturf::spanning_tree::{Edge, Network};

/// Every spanning tree as its sorted edge indices, with its weight: plain search over edge subsets.
pub fn trees(network: &Network) -> Vec<(Vec<usize>, f64)> {
    fn grow(network: &Network, from: usize, chosen: &mut Vec<usize>, found: &mut Vec<(Vec<usize>, f64)>) {
        if chosen.len() == network.nodes() {
            found.push((chosen.clone(), chosen.iter().map(|&e| network.edges()[e].weight).product()));
            return;
        }
        for next in from..network.edges().len() {
            chosen.push(next);
            if acyclic(network, chosen) {
                grow(network, next + 1, chosen, found);
            }
            chosen.pop();
        }
    }
    let mut found = Vec::new();
    grow(network, 0, &mut Vec::new(), &mut found);
    found
}

fn acyclic(network: &Network, chosen: &[usize]) -> bool {
    let mut part: Vec<usize> = (0..=network.nodes()).collect();
    chosen.iter().all(|&e| {
        let Edge { a, b, .. } = network.edges()[e];
        let (a, b) = (part[a], part[b]);
        part.iter_mut().filter(|p| **p == a).for_each(|p| *p = b);
        a != b
    })
}
