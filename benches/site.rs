//! The main job on a shipped example: full draws (trees, marks, pieces), 100 named holes, and a map.

mod reference;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use std::path::Path;
use std::sync::Arc;
use underturf::decision::{strike_map, strike_probability};
use underturf::geometry::Point;
use underturf::inference::{SampleOptions, sample_layouts};
use underturf::monitor::Unwatched;
use underturf::site::io::read_site;
use underturf::site::{Dig, DigShape, Site};
use underturf::strike::Form;

fn site() -> Arc<Site> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("python/underturf/examples/green.toml");
    Arc::new(read_site(&path).expect("the shipped example is sound"))
}

/// 100 holes on a 10 x 10 grid over the lawn.
fn holes(site: &Site) -> Vec<Dig> {
    let pattern = site.digs.first().expect("the example has digs");
    let hole = |k: usize| {
        let centre = Point::new(1.0 + 1.7 * (k % 10) as f64, 1.0 + 1.5 * (k / 10) as f64);
        Dig { shape: DigShape::Disc { centre, radius_m: 0.45 }, depth_m: 0.4, ..pattern.clone() }
    };
    (0..100).map(hole).collect()
}

fn main_job(c: &mut Criterion) {
    let site = site();
    let draws = 2000;
    let options = SampleOptions { draws, seed: 7 };
    let layouts = sample_layouts(&site, &options, &Unwatched).expect("layouts");
    let holes = holes(&site);
    let mut group = c.benchmark_group("site");
    group.sample_size(10);
    group.throughput(Throughput::Elements(draws as u64));
    group.bench_function("full_draws_3_zones_2000", |b| {
        b.iter(|| sample_layouts(&site, &options, &Unwatched))
    });
    group.throughput(Throughput::Elements(holes.len() as u64));
    group.bench_function("named_holes_100_general_2000_draws", |b| {
        b.iter(|| strike_probability(&layouts, &holes, Form::General, &Unwatched));
    });
    group.throughput(Throughput::Elements(3));
    group.bench_function("named_holes_3_determinant", |b| {
        b.iter(|| strike_probability(&layouts, &holes[..3], Form::Determinant, &Unwatched));
    });
    group.throughput(Throughput::Elements(draws as u64));
    group.bench_function("map_192_x_170_cells_2000_draws", |b| {
        b.iter(|| strike_map(&layouts, 0.45, 0.4, 0.1, None, &Unwatched));
    });
    group.finish();
}

criterion_group!(benches, reference::measure, main_job);
criterion_main!(benches);
