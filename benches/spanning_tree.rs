//! Trees: elimination and draws on seeded networks of 10, 20, 40 and 200 heads, each with about five candidate runs a head;
//! beside the draws a loop-erased random walk (Wilson 1996) on the same networks, and on one with a bottleneck.

mod reference;

use criterion::measurement::WallTime;
use criterion::{BenchmarkGroup, BenchmarkId, Criterion, criterion_group, criterion_main};
use rand::RngExt;
use std::hint::black_box;
use underturf::rng;
use underturf::spanning_tree::{Edge, Network, Sampler};

fn network(heads: usize) -> Network {
    let mut rng = rng::stream(heads as u64, 0);
    let chain = (0..heads).map(|a| Edge { a, b: a + 1, weight: 1.0 });
    let mut edges: Vec<Edge> = chain.collect();
    while edges.len() < 5 * heads {
        let (a, b) = (rng.random_range(0..heads), rng.random_range(0..=heads));
        if a != b {
            edges.push(Edge { a, b, weight: (-4.0 * rng.random::<f64>()).exp() });
        }
    }
    Network::new(heads, edges).expect("ends and weights are good")
}

/// A tree by loop-erased walks: for each node the edge it leaves by.
fn walk(network: &Network, around: &[Vec<(usize, usize, f64)>], rng: &mut rng::Stream) -> Vec<usize> {
    let root = network.root();
    let mut leaves_by = vec![(usize::MAX, usize::MAX); root];
    let mut in_tree = vec![false; root + 1];
    in_tree[root] = true;
    for start in 0..root {
        let mut node = start;
        while !in_tree[node] {
            let mut left = rng.random::<f64>() * around[node].iter().map(|(.., w)| w).sum::<f64>();
            let step = around[node].iter().find(|(.., w)| {
                left -= w;
                left < 0.0
            });
            let &(edge, next, _) = step.unwrap_or(&around[node][0]);
            leaves_by[node] = (edge, next);
            node = next;
        }
        node = start;
        while !in_tree[node] {
            in_tree[node] = true;
            node = leaves_by[node].1;
        }
    }
    leaves_by.into_iter().map(|(edge, _)| edge).collect()
}

fn neighbours(network: &Network) -> Vec<Vec<(usize, usize, f64)>> {
    let mut around = vec![Vec::new(); network.nodes() + 1];
    for (k, e) in network.edges().iter().enumerate() {
        around[e.a].push((k, e.b, e.weight));
        around[e.b].push((k, e.a, e.weight));
    }
    around
}

/// The network of 20 heads with two of them tied by a weight e^10 above all others.
fn bottleneck() -> Network {
    let mut edges = network(20).edges().to_vec();
    edges.push(Edge { a: 3, b: 7, weight: 10f64.exp() });
    Network::new(20, edges).expect("ends and weights are good")
}

fn trees(c: &mut Criterion) {
    let mut group = c.benchmark_group("spanning_tree");
    for heads in [10, 20, 40, 200] {
        let network = network(heads);
        let sampler = Sampler::new(&network).expect("connected");
        group.bench_function(BenchmarkId::new("eliminate", heads), |b| {
            b.iter(|| Sampler::new(black_box(&network)))
        });
        group.bench_function(BenchmarkId::new("log_z", heads), |b| b.iter(|| black_box(&network).log_z()));
        draws(&mut group, &heads.to_string(), &network, &sampler);
    }
    let tied = bottleneck();
    draws(&mut group, "20_bottleneck", &tied, &Sampler::new(&tied).expect("connected"));
    group.finish();
}

fn draws(group: &mut BenchmarkGroup<'_, WallTime>, name: &str, network: &Network, sampler: &Sampler) {
    let around = neighbours(network);
    let mut k = 0;
    group.bench_function(BenchmarkId::new("draw", name), |b| {
        b.iter(|| {
            k += 1;
            sampler.draw(&mut rng::stream(1, k))
        });
    });
    group.bench_function(BenchmarkId::new("walk", name), |b| {
        b.iter(|| {
            k += 1;
            walk(network, &around, &mut rng::stream(1, k))
        });
    });
}

criterion_group!(benches, reference::measure, trees);
criterion_main!(benches);
