//! Sites where nobody knows which valve feeds which head: one run each, as a table of seconds, effective draws and gates.
//!
//! The target (design: unknown zones) is a site of 40 heads, four zones in one box and five probes with all gates passed in
//! under 10 s on 2 cores. Then the same site with drawn lines, and larger sites without probes, to see how the cost of an
//! effective draw grows.

use serde_json::{Value, json};
use std::sync::Arc;
use std::time::Instant;
use underturf::inference::{RunBudget, SampleOptions, sample_layouts_within};
use underturf::monitor::Unwatched;
use underturf::site::Site;
use underturf::site::io;

/// As in the Python extension.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// `zones` zones of ten heads: columns of five heads 4 m apart with a little wander, all valves in one box, eight digs; `drawn`
/// with an old sketch of a row and of a header.
fn site(zones: usize, probes: usize, drawn: bool) -> Arc<Site> {
    let wander = |k: usize| ((k * 7_919 % 13) as f64 - 6.0) * 0.03;
    let head = |k: usize| {
        let (i, j) = (k / 5, k % 5);
        let (x, y) = (4.0 * i as f64 + wander(k), 4.0 * j as f64 + wander(i + 17 * j));
        json!({"id": format!("h{k}"), "x": x, "y": y, "kind": "spray"})
    };
    let probe = |k: usize| {
        let (x, y) = (3.0 + 5.3 * k as f64, 2.0 + 2.9 * (2 * k % 5) as f64);
        json!({"x": x, "y": y, "radius": 0.25, "depth": 0.45, "found": k % 3 == 1})
    };
    let dig = |k: usize| {
        let (x, y) = (2.0 + 3.7 * k as f64, 1.0 + 2.3 * (3 * k % 7) as f64);
        json!({"id": format!("d{k}"), "x": x, "y": y, "radius": 0.4, "depth": 0.45})
    };
    let sketches = json!([
        {"path": [[0.0, 8.0], [24.0, 8.1], [24.1, 16.0]], "trust": 0.7},
        {"path": [[16.0, -2.0], [16.0, 2.0], [0.0, 2.0]], "trust": 0.7}
    ]);
    let document: Value = json!({
        "format": "underturf-site/2", "units": "m",
        "heads": (0..10 * zones).map(head).collect::<Vec<_>>(),
        "valve_boxes": [{"id": "v", "x": 4.0 * zones as f64, "y": -2.0, "valves": zones}],
        "sources": [{"id": "m", "x": 0.0, "y": -5.0, "kind": "meter"}],
        "sketches": if drawn { sketches } else { json!([]) },
        "probes": (0..probes).map(probe).collect::<Vec<_>>(),
        "digs": (0..8).map(dig).collect::<Vec<_>>()
    });
    Arc::new(io::from_value(document).expect("a good document"))
}

fn main() {
    println!("heads zones probes drawn   seconds  effective  ms each  chains  barrier  sweeps  gates");
    let cases = [(4, 5, false), (4, 0, false), (4, 5, true), (4, 0, true)];
    let larger = [2, 8, 16, 40].map(|zones| (zones, 0, false));
    for (zones, probes, drawn) in cases.into_iter().chain(larger) {
        let site = site(zones, probes, drawn);
        let budget = RunBudget { accept_unconverged: true, ..RunBudget::default() };
        let options = SampleOptions { draws: 2_000, seed: 5 };
        let began = Instant::now();
        let layouts = sample_layouts_within(&site, &options, Default::default(), &budget, &Unwatched);
        let seconds = began.elapsed().as_secs_f64();
        let layouts = layouts.expect("layouts");
        let convergence = layouts.convergence().expect("zones are sampled");
        let effective = layouts.effective_draws();
        println!(
            "{:5} {zones:5} {probes:6} {drawn:5} {seconds:9.2} {effective:10.0} {:8.2} {:7} {:8.2} {:7}  {}",
            site.heads.len(),
            1_000.0 * seconds / effective,
            convergence.betas.len(),
            convergence.barrier.unwrap_or(f64::NAN),
            convergence.sweeps,
            if convergence.passed { "passed" } else { "NOT passed" },
        );
    }
}
