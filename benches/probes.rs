//! Layouts given probes: twelve probes on a site of 60 heads in five zones, reports taken from one drawn layout.
//!
//! The target (python/docs/model.md, 4.7) is 2,000 draws with an effective size of at least half in under 2 s on 2 cores; the
//! effective size is printed.

mod reference;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use serde_json::{Value, json};
use std::sync::Arc;
use underturf::geometry::{Footprint, Point};
use underturf::inference::{SampleOptions, sample_layouts};
use underturf::monitor::Unwatched;
use underturf::site::Site;
use underturf::site::io;

/// 12 x 5 heads 4 m apart, five zones of twelve, a box for each.
fn document() -> Value {
    let head = |k: usize| {
        let (i, j) = (k % 12, k / 12);
        let wander = |s: usize| 0.1 * ((k * 7 + s * 13) % 11) as f64 / 11.0;
        let zone = if j < 4 { 2 * (j / 2) + i / 6 + 1 } else { 5 };
        json!({"id": format!("h{k}"), "x": 4.0 * i as f64 + wander(1), "y": 4.0 * j as f64 + wander(2),
               "kind": "spray", "zone": zone.to_string()})
    };
    let valve = |k: usize| json!({"id": format!("v{k}"), "x": 9.0 * k as f64 - 5.0, "y": 9.5, "zones": [k.to_string()]});
    json!({
        "format": "underturf-site/2", "units": "m",
        "heads": (0..60).map(head).collect::<Vec<_>>(),
        "valve_boxes": (1..=5).map(valve).collect::<Vec<_>>(),
        "sources": [{"id": "m", "x": -2.0, "y": 9.0, "kind": "meter"}]
    })
}

/// The site with twelve probes spread over it: where a line of one drawn layout lies in the way, it was found.
fn probed() -> Arc<Site> {
    let mut document = document();
    let site = Arc::new(io::from_value(document.clone()).expect("a good document"));
    let truth = sample_layouts(&site, &SampleOptions { draws: 2, seed: 3 }, &Unwatched).expect("layouts");
    let probe = |k: usize| {
        let (x, y) = (2.0 + 3.7 * k as f64, [0.2, 4.1, 9.6, 12.2, 2.0, 15.9][k % 6]);
        let hole = Footprint::disc(Point::new(x, y), 0.25);
        let meets = |piece: &underturf::layout::Piece| {
            f64::from(piece.cover_m) < 0.45
                && hole.inflated(f64::from(piece.radius_m)).meets_segment(piece.a, piece.b)
        };
        let found = truth.pieces().draw(0).iter().any(meets);
        json!({"x": x, "y": y, "radius": 0.25, "depth": 0.45, "found": found})
    };
    document["probes"] = (0..12).map(probe).collect();
    Arc::new(io::from_value(document).expect("a good document"))
}

fn given_probes(c: &mut Criterion) {
    let site = probed();
    let options = SampleOptions { draws: 2_000, seed: 7 };
    let layouts = sample_layouts(&site, &options, &Unwatched).expect("layouts");
    let found = site.probes.iter().filter(|probe| probe.found).count();
    println!("{found} of 12 probes found a line; effective draws {:.0} of 2,000", layouts.effective_draws());
    assert!(layouts.effective_draws() >= 1_000.0, "too few outer states behind the draws");
    let mut group = c.benchmark_group("probes");
    group.sample_size(10);
    group.throughput(Throughput::Elements(2_000));
    group.bench_function("draws_2000_heads_60_zones_5_probes_12", |b| {
        b.iter(|| sample_layouts(&site, &options, &Unwatched))
    });
    group.finish();
}

criterion_group!(benches, reference::measure, given_probes);
criterion_main!(benches);
