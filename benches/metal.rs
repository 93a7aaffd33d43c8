//! What it costs to tell metal lines from the flags of a walk, until the convergence checks pass.
//!
//! Lines run along two directions across a lot, with one bend in every second; flags stand 1.2 to 1.8 m apart and 0.12 m aside
//! in the mean, one in twenty is stray; meters, boxes and names there are none. Beside each time stands how far the chains had to run.

mod reference;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use rand::RngExt;
use serde_json::{Value, json};
use std::hint::black_box;
use std::time::Duration;
use underturf::metal::{Evidence, Law, MetalChains, MetalOptions, Model};
use underturf::model::grid_bearings;
use underturf::monitor::Unwatched;
use underturf::rng::{Stream, stream};
use underturf::site::io;

/// A place and its sideways error along a course of corners, so far from its start.
fn at(corners: &[[f64; 2]], mut along: f64, aside: f64) -> Option<[f64; 2]> {
    for pair in corners.windows(2) {
        let (dx, dy) = (pair[1][0] - pair[0][0], pair[1][1] - pair[0][1]);
        let length = dx.hypot(dy);
        if along <= length {
            let (u, v) = (dx / length, dy / length);
            return Some([pair[0][0] + u * along - v * aside, pair[0][1] + v * along + u * aside]);
        }
        along -= length;
    }
    None
}

/// A site of so many lines with so many flags on each.
fn site(lines: usize, flags: usize, rng: &mut Stream) -> Value {
    let long = 1.5 * flags as f64;
    let mut places = Vec::new();
    for line in 0..lines {
        let across = 4.0 + 6.0 * (line / 2) as f64;
        // Square to each other by turns; every second bends after two thirds of its way.
        let turned = |x: f64, y: f64| if line % 2 == 0 { [x, y] } else { [y, x] };
        let bend = if line % 4 < 2 { 0.0 } else { long / 3.0 };
        let corners = if bend == 0.0 {
            vec![turned(0.0, across), turned(long, across)]
        } else {
            vec![turned(0.0, across), turned(long - bend, across), turned(long - bend, across + bend)]
        };
        let mut along = rng.random::<f64>();
        for _ in 0..flags {
            let aside = 0.12 * (rng.random::<f64>() + rng.random::<f64>() + rng.random::<f64>() - 1.5) * 2.0;
            if let Some(place) = at(&corners, along, aside) {
                places.push(place);
            }
            along += 1.2 + 0.6 * rng.random::<f64>();
        }
    }
    for _ in 0..places.len() / 20 {
        places.push([long * rng.random::<f64>(), long * rng.random::<f64>()]);
    }
    let flag = |[x, y]: &[f64; 2]| json!({"x": x, "y": y, "sd": 0.12});
    let low = -3.0;
    let high = long + 3.0;
    json!({
        "format": "underturf-site/2", "units": "m",
        "boundary": [[low, low], [high, low], [high, high], [low, high]],
        "heads": [{"id": "h", "x": 1.0, "y": 1.0, "kind": "spray", "zone": "1"}],
        "sources": [{"id": "m", "x": low, "y": low, "kind": "meter"}],
        "flags": places.iter().map(flag).collect::<Vec<_>>()
    })
}

fn model(document: Value) -> Model {
    let site = io::from_value(document).unwrap_or_else(|faults| panic!("a good document: {faults}"));
    let bearings: Vec<(f64, f64)> = grid_bearings(&site).iter().map(|it| (it.rad, it.probability)).collect();
    Model::new(Evidence::of(&site, &bearings, Law::of(&site.settings)).expect("flags tell of metal"))
}

fn walks(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("metal");
    group.sample_size(10).measurement_time(Duration::from_secs(20));
    for (lines, flags) in [(2, 15), (3, 33), (6, 34)] {
        let model = model(site(lines, flags, &mut stream(3, lines as u64)));
        let items = model.evidence.items.len();
        let run = |seed| {
            let options = MetalOptions { seed, ..MetalOptions::default() };
            MetalChains::run(&model, &options, &Unwatched).expect("nothing stops it")
        };
        let runs: Vec<MetalChains> = (0..8).map(run).collect();
        let passed = runs.iter().filter(|run| run.checked.passed()).count();
        let kept: Vec<usize> = runs.iter().map(|run| run.kept).collect();
        println!(
            "metal/{lines}_lines_{items}_flags: checks passed on {passed} of 8 seeds, sweeps kept {kept:?}"
        );
        group.throughput(Throughput::Elements(items as u64));
        let mut seed = 0;
        group.bench_function(format!("{lines}_lines_{items}_flags"), |bencher| {
            bencher.iter(|| {
                seed += 1;
                black_box(run(seed % 8).kept)
            });
        });
    }
    group.finish();
}

criterion_group!(benches, reference::measure, walks);
criterion_main!(benches);
