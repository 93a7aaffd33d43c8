//! Trees: elimination and draws on seeded networks of 10, 20, 40 and 200 heads, each with about five candidate runs a head.

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use rand::RngExt;
use std::hint::black_box;
use underturf::forest::{Edge, Network, Sampler};
use underturf::rng;

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

fn trees(c: &mut Criterion) {
    let mut group = c.benchmark_group("forest");
    for heads in [10, 20, 40, 200] {
        let network = network(heads);
        let sampler = Sampler::new(&network).expect("connected");
        group.bench_function(BenchmarkId::new("eliminate", heads), |b| {
            b.iter(|| Sampler::new(black_box(&network)))
        });
        group.bench_function(BenchmarkId::new("log_z", heads), |b| b.iter(|| black_box(&network).log_z()));
        let mut k = 0;
        group.bench_function(BenchmarkId::new("draw", heads), |b| {
            b.iter(|| {
                k += 1;
                sampler.draw(&mut rng::stream(1, k))
            });
        });
    }
    group.finish();
}

criterion_group!(benches, trees);
criterion_main!(benches);
