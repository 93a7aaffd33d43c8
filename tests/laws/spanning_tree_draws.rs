//! Drawn spanning trees against enumerated chances, marginals, a graph library and published counts; the faults that these
//! checks must catch.

use crate::common::trees;
use crate::spanning_tree::{complete, random_network};
use rand::RngExt;
use statrs::distribution::{ChiSquared, ContinuousCDF};
use std::collections::HashMap;
use underturf::rng;
use underturf::spanning_tree::{Edge, Network, Sampler};

/// 20,000 draws on each of 6 networks against enumerated probabilities, chi-squared at 1e-4 for each
/// (budget 6e-4 in all); catches a tree whose probability is off by about 5 %. Parallel edges included.
#[test]
fn draws_follow_the_tree_law() {
    for seed in 0..6 {
        let network = random_network(4, 10, 1.5, 500 + seed);
        let all = trees(&network);
        let Ok(sampler) = Sampler::new(&network) else { continue };
        assert!(chi_squared_p(&all, &frequencies(&sampler, 20_000, seed)) > 1e-4, "seed {seed}");
    }
}

/// Planted fault: draws of a network whose first weight is 20 % too high must be refused by the same test.
#[test]
fn draws_with_a_wrong_weight_are_noticed() {
    let mut refused = 0;
    for seed in 0..6 {
        let network = random_network(4, 10, 1.5, 500 + seed);
        let mut edges = network.edges().to_vec();
        edges[0].weight *= 1.2;
        let wrong = Network::new(4, edges).expect("good");
        let Ok(sampler) = Sampler::new(&wrong) else { continue };
        refused += usize::from(chi_squared_p(&trees(&network), &frequencies(&sampler, 20_000, seed)) < 1e-4);
    }
    assert!(refused >= 3, "{refused} of 6 wrong samplers were noticed");
}

fn frequencies(sampler: &Sampler, draws: u64, seed: u64) -> HashMap<Vec<usize>, f64> {
    let mut count = HashMap::new();
    for k in 0..draws {
        let mut tree = sampler.draw(&mut rng::stream(seed, k));
        tree.sort_unstable();
        *count.entry(tree).or_insert(0.0) += 1.0;
    }
    count
}

fn chi_squared_p(all: &[(Vec<usize>, f64)], count: &HashMap<Vec<usize>, f64>) -> f64 {
    let z: f64 = all.iter().map(|(_, w)| w).sum();
    let draws: f64 = count.values().sum();
    assert!(count.keys().all(|tree| all.iter().any(|(t, _)| t == tree)), "drew something that is no tree");
    let (mut statistic, mut cells, mut rest_seen, mut rest) = (0.0, 0.0, 0.0, 0.0);
    for (tree, w) in all {
        let (expected, seen) = (draws * w / z, count.get(tree).copied().unwrap_or(0.0));
        if expected < 10.0 {
            rest += expected;
            rest_seen += seen;
        } else {
            statistic += (seen - expected).powi(2) / expected;
            cells += 1.0;
        }
    }
    if rest > 10.0 {
        statistic += (rest_seen - rest).powi(2) / rest;
        cells += 1.0;
    }
    ChiSquared::new(f64::max(cells - 1.0, 1.0)).expect("positive").sf(statistic)
}

/// 200 heads, 8,000 draws: every run's frequency against `w_e R_eff(e)`; the largest of 600 z-scores stays under
/// 4.8 (false alarm 1e-3 in all); catches a marginal of 0.5 that is off by 0.027.
#[test]
fn run_frequencies_at_full_size_match_effective_resistance() {
    let network = random_network(200, 1200, 3.0, 42);
    let sampler = Sampler::new(&network).expect("connected");
    let draws = 8_000;
    let mut count = vec![0.0; network.edges().len()];
    for k in 0..draws {
        for e in sampler.draw(&mut rng::stream(9, k)) {
            count[e] += 1.0;
        }
    }
    let n = draws as f64;
    for (e, (&seen, p)) in count.iter().zip(network.marginals()).enumerate() {
        let sd = (n * p * (1.0 - p)).sqrt().max(1.0);
        assert!((seen - n * p).abs() < 4.8 * sd + 1.0, "edge {e}: {seen} of {n}, p = {p}");
    }
}

/// A network with one edge between any two nodes, drawn as pairs: n = 20,000 trees on five nodes, each of the 125 has its
/// chance by chi-square (false alarm 1e-4). Planted: weights squared are noticed.
#[test]
fn pairs_of_a_complete_network_follow_their_weights() {
    let weight = |a: usize, b: usize| [0.3, 1.0, 2.5, 0.7, 1.6][(3 * a + 5 * b) % 5];
    let sampler = Sampler::complete(4, weight).expect("connected");
    let mut counts: HashMap<Vec<(usize, usize)>, f64> = HashMap::new();
    for k in 0..20_000 {
        let mut tree = sampler.draw_pairs(&mut rng::stream(10, k));
        tree.sort_unstable();
        *counts.entry(tree).or_default() += 1.0;
    }
    assert_eq!(counts.len(), 125);
    let p = |power: i32| {
        let of = |tree: &Vec<(usize, usize)>| -> f64 {
            tree.iter().map(|&(a, b)| weight(a, b).powi(power)).product()
        };
        let total: f64 = counts.keys().map(of).sum();
        let off = |(tree, &seen): (&Vec<(usize, usize)>, &f64)| {
            let expected = 20_000.0 * of(tree) / total;
            (seen - expected).powi(2) / expected
        };
        ChiSquared::new(124.0).expect("positive").sf(counts.iter().map(off).sum())
    };
    assert!(p(1) > 1e-4 && p(2) < 1e-9, "{} {}", p(1), p(2));
    assert!(Sampler::complete(2, |_, b| f64::from(u8::from(b != 2))).is_err(), "nothing leads to the root");
}

/// Two heads tied by e^60 and held to the rest by e^-60: a loop-erased walk would step e^120 times. Here each draw
/// takes the same few operations, and the tree always holds the tie and one of the two weak edges, half and half.
/// 4,000 draws; |z| < 4 (false alarm 6e-5).
#[test]
fn bottlenecks_do_not_stall_a_draw() {
    let edges = [(0, 1, 60.0f64), (0, 2, -60.0), (1, 2, -60.0)];
    let edges = edges.map(|(a, b, log)| Edge { a, b, weight: log.exp() });
    let network = Network::new(2, edges.to_vec()).expect("good");
    let sampler = Sampler::new(&network).expect("connected");
    let mut first = 0.0;
    for k in 0..4000 {
        let tree = sampler.draw(&mut rng::stream(3, k));
        assert!(tree.contains(&0));
        first += f64::from(u8::from(tree.contains(&1)));
    }
    assert!((first - 2000.0).abs() < 4.0 * 1000.0f64.sqrt());
}

/// As the decay of weight with length grows, the drawn tree becomes the minimum spanning tree: petgraph's Kruskal on 20
/// random sites of 30 heads. Weights are exp(-300 length / spacing): a tree that is longer by 5 % of the spacing has
/// chance e^-15, so of 20 draws none may differ by more (false alarm below 1e-3).
#[test]
fn steep_weights_draw_the_minimum_spanning_tree_of_a_graph_library() {
    use petgraph::algo::min_spanning_tree;
    use petgraph::data::FromElements;
    use petgraph::graph::UnGraph;
    for seed in 0..20 {
        let mut rng = rng::stream(seed, 77);
        let heads: Vec<(f64, f64)> =
            (0..31).map(|_| (rng.random::<f64>() * 6.0, rng.random::<f64>() * 6.0)).collect();
        let mut graph: UnGraph<(), f64> = UnGraph::new_undirected();
        let nodes: Vec<_> = heads.iter().map(|_| graph.add_node(())).collect();
        let (mut edges, mut lengths) = (Vec::new(), Vec::new());
        for a in 0..heads.len() {
            for b in a + 1..heads.len() {
                let length = (heads[a].0 - heads[b].0).hypot(heads[a].1 - heads[b].1);
                graph.add_edge(nodes[a], nodes[b], length);
                lengths.push(length);
                edges.push(Edge { a, b, weight: (-300.0 * length).exp() });
            }
        }
        let tree: UnGraph<(), f64> = UnGraph::from_elements(min_spanning_tree(&graph));
        let shortest: f64 = tree.edge_weights().sum();
        let sampler = Sampler::new(&Network::new(30, edges).expect("good")).expect("connected");
        let drawn: f64 = sampler.draw(&mut rng::stream(seed, 78)).iter().map(|&e| lengths[e]).sum();
        assert!(drawn >= shortest - 1e-9 && drawn < shortest + 0.05, "{drawn} {shortest}");
    }
}

/// Uniform trees on n labelled nodes have n (1 - 1/n)^(n-2) leaves on average (python/docs/model.md, 12.13, from memory): n =
/// 12, 20,000 draws; a tree's leaves have a standard deviation below 1.3, so 4.5 standard errors are 0.042 (false alarm 7e-6).
#[test]
fn uniform_trees_have_the_known_number_of_leaves() {
    let network = complete(11, 1.0);
    let sampler = Sampler::new(&network).expect("connected");
    let n = 12.0f64;
    let mut leaves = 0.0;
    for k in 0..20_000 {
        let mut degree = [0; 12];
        for e in sampler.draw(&mut rng::stream(13, k)) {
            degree[network.edges()[e].a] += 1;
            degree[network.edges()[e].b] += 1;
        }
        leaves += degree.iter().filter(|&&d| d == 1).count() as f64;
    }
    let expected = n * (1.0 - 1.0 / n).powf(n - 2.0);
    assert!((leaves / 20_000.0 - expected).abs() < 0.042, "{} {expected}", leaves / 20_000.0);
}
