//! What a sampler over zonings pays for a zone it has not seen: its law, and one outer state at each of two bearings.
//!
//! Each step exchanges two heads between neighbouring zones, as such a sampler would, and makes the two zones that have
//! changed. `all_anew` makes the whole law of the site for each zoning instead, as if nothing were shared.
//!
//! Beside the figures of the whole, the cost split is printed as microseconds for each zone and bearing.

mod reference;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use rand::RngExt;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::hint::black_box;
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};
use underturf::layout::{OuterPrior, pick};
use underturf::model::{Common, LayoutPrior, SystemPrior, WeightedZoning};
use underturf::rng::{Stream, stream};
use underturf::site::Site;
use underturf::site::io;

/// Zonings stepped through, again and again: the runs between their heads are known after the first round.
const LABELLINGS: usize = 250;

/// 8 x 5 heads about 4 m apart on four zones of ten, two boxes.
fn open() -> Value {
    let head = |k: usize| {
        let (i, j) = (k % 8, k / 8);
        let wander = |s: usize| 0.3 * ((k * 7 + s * 13) % 11) as f64 / 11.0;
        json!({"id": format!("h{k}"), "x": 1.0 + 4.0 * i as f64 + wander(1), "y": 1.0 + 4.0 * j as f64 + wander(2),
               "kind": "spray", "zone": (i / 2 + 1).to_string()})
    };
    json!({
        "format": "underturf-site/2", "units": "m",
        "heads": (0..40).map(head).collect::<Vec<_>>(),
        "valve_boxes": [
            {"id": "v", "x": 15.0, "y": -2.0, "zones": ["1", "2"]},
            {"id": "w", "x": 19.0, "y": 19.5, "zones": ["3", "4"]}
        ],
        "sources": [{"id": "m", "x": 1.0, "y": 9.0, "kind": "meter"}]
    })
}

fn sites() -> Vec<(&'static str, Site)> {
    let with = |key: &str, value: Value| {
        let mut document = open();
        document[key] = value;
        document
    };
    let lawn = json!([[0.5, -3], [30.0, -3], [30.0, 20.0], [0.5, 20.0]]);
    let obstacles = json!([
        {"kind": "building", "outline": [[6.2, 6.2], [12.0, 6.2], [12.0, 8.1], [6.2, 8.1]]},
        {"kind": "pool", "outline": [[18.3, 2.1], [20.2, 2.1], [20.2, 4.2], [18.3, 4.2]]},
        {"kind": "paving", "outline": [[14.2, -3.0], [15.8, -3.0], [15.8, 20.0], [14.2, 20.0]]}
    ]);
    let mut built = with("boundary", lawn.clone());
    built["obstacles"] = obstacles;
    let mut hidden = with("boundary", lawn.clone());
    hidden["valve_boxes"] = json!([]);
    let made = |document: Value| io::from_value(document).expect("a good document");
    let green = Path::new(env!("CARGO_MANIFEST_DIR")).join("python/underturf/examples/green.toml");
    vec![
        ("open_40_heads", made(open())),
        ("lawn_40_heads", made(with("boundary", lawn))),
        ("obstacles_40_heads", made(built)),
        ("hidden_valves_40_heads", made(hidden)),
        ("green_26_heads", io::read_site(&green).expect("the shipped example is sound")),
    ]
}

/// The written zoning with two pairs of heads exchanged between two zones, and those zones.
fn exchange(site: &Site, rng: &mut Stream) -> (WeightedZoning, [usize; 2]) {
    let written = WeightedZoning::written(site).expect("all heads are labelled");
    loop {
        let mut labelling = written.clone();
        let zone_of = &mut labelling.zone_of;
        let mut zones: Option<[usize; 2]> = None;
        for _ in 0..2 {
            let a = rng.random_range(0..site.heads.len());
            let away = |b: usize| site.heads[a].at.distance(site.heads[b].at);
            let open = |head: usize| zones.is_none_or(|zones| zones.contains(&zone_of[head]));
            let others = (0..site.heads.len()).filter(|&b| zone_of[b] != zone_of[a] && open(b) && open(a));
            let Some(b) = others.min_by(|&x, &y| away(x).total_cmp(&away(y))) else { continue };
            zones = Some([zone_of[a], zone_of[b]]);
            zone_of.swap(a, b);
        }
        if let (Some(zones), true) = (zones, *zone_of != written.zone_of) {
            return (labelling, zones);
        }
    }
}

/// Zones to make: name's zone, heads, two bearings, and for each where among the states to look.
struct Job {
    zone: usize,
    heads: Vec<usize>,
    looks: [(usize, f64); 2],
}

fn jobs(site: &Site, common: &Arc<Common>) -> Vec<(WeightedZoning, Vec<Job>)> {
    let mut rng = stream(5, 0);
    let law = LayoutPrior::assemble(common.clone(), Vec::new()).expect("supply lines");
    let step = |_| {
        let (labelling, zones) = exchange(site, &mut rng);
        let members = labelling.members(site.zones.len());
        let mut look = || (pick(law.bearings(), &mut rng), rng.random::<f64>());
        let job = |zone: usize| Job { zone, heads: members[zone].clone(), looks: [look(), look()] };
        (labelling, zones.map(job).into_iter().collect())
    };
    (0..LABELLINGS).map(step).collect()
}

fn at(probabilities: &[f64], u: f64) -> usize {
    let mut left = u * probabilities.iter().sum::<f64>();
    let found = probabilities.iter().position(|p| {
        left -= p;
        left < 0.0
    });
    found.unwrap_or(probabilities.len() - 1)
}

fn make(common: &Common, job: &Job) -> SystemPrior {
    let (name, valve) = common.written(job.zone);
    common.zone(name, valve, &job.heads)
}

/// The zone's law with its states looked at.
fn fresh_zone(common: &Arc<Common>, job: &Job) {
    let zone = Arc::new(make(common, job));
    let law = LayoutPrior::assemble(common.clone(), vec![zone]).expect("a law");
    for (bearing, u) in job.looks {
        black_box(law.state(bearing, 0, at(law.state_probabilities(bearing, 0), u)));
    }
}

/// Prints what the parts cost, once all runs between heads are known.
fn print_split(name: &str, common: &Arc<Common>, jobs: &[(WeightedZoning, Vec<Job>)]) {
    let mut parts: BTreeMap<String, (Duration, u32)> = BTreeMap::new();
    let mut timed = |part: &str, began: Instant| {
        let entry = parts.entry(part.to_owned()).or_default();
        *entry = (entry.0 + began.elapsed(), entry.1 + 1);
    };
    for job in jobs.iter().flat_map(|(_, jobs)| jobs) {
        let began = Instant::now();
        let zone = Arc::new(make(common, job));
        timed("1 plan and starts", began);
        let began = Instant::now();
        let law = LayoutPrior::assemble(common.clone(), vec![zone]).expect("a law");
        timed("2 reach", began);
        for (bearing, u) in job.looks {
            let began = Instant::now();
            let state = at(law.state_probabilities(bearing, 0), u);
            timed("3 runs and probabilities", began);
            let began = Instant::now();
            let state = law.state(bearing, 0, state);
            timed(&format!("4 state: {}", state.map_or("none", |state| state.family)), began);
        }
    }
    println!("{name}:");
    for (part, (took, count)) in parts {
        println!("  {part:<26}{:7.1} us", 1e6 * took.as_secs_f64() / f64::from(count));
    }
}

fn zones(c: &mut Criterion) {
    for (name, site) in sites() {
        let common = Arc::new(Common::new(&site));
        let jobs = jobs(&site, &common);
        let fresh: Vec<&Job> = jobs.iter().flat_map(|(_, jobs)| jobs).collect();
        fresh.iter().for_each(|job| fresh_zone(&common, job));
        print_split(name, &common, &jobs);
        let mut group = c.benchmark_group(format!("zones/{name}"));
        group.throughput(Throughput::Elements(2)); // zones and states
        let mut next = 0;
        group.bench_function("fresh_zone_2_states", |b| {
            b.iter(|| {
                next = (next + 1) % fresh.len();
                fresh_zone(&common, fresh[next]);
            });
        });
        group.sample_size(20);
        group.throughput(Throughput::Elements(4));
        group.bench_function("all_anew_2_zones_4_states", |b| {
            b.iter(|| {
                next = (next + 1) % jobs.len();
                let (labelling, jobs) = &jobs[next];
                let law = LayoutPrior::with_zoning(&site, labelling).expect("a law");
                for job in jobs {
                    for (bearing, u) in job.looks {
                        let state = at(law.state_probabilities(bearing, job.zone), u);
                        black_box(law.state(bearing, job.zone, state));
                    }
                }
            });
        });
        group.finish();
    }
}

criterion_group!(benches, reference::measure, zones);
criterion_main!(benches);
