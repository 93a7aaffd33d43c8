//! Non-reversible parallel tempering, which the sampler of unknown zones uses, beside adaptive tempered sequential Monte Carlo
//! (Del Moral, Doucet and Jasra 2006, from memory) on the same target with the same kernel: whose shares of near heads on one
//! zone, and whose mean log density, err less for as many sweeps.
//!
//! A sweep costs both the same, so errors at equal sweeps compare the two whatever else the machine does. The truth is the
//! mean of long tempering runs and of long sequential ones; mean squared errors are over repeats, pairs of heads with
//! a share between 0.02 and 0.98 counting alike. Sequential runs are tried with two numbers of sweeps at each temperature.

use rand::RngExt;
use serde_json::{Value, json};
use std::sync::Arc;
use std::time::Instant;
use underturf::inference::joint::{Joint, State};
use underturf::inference::posterior::Limits;
use underturf::inference::{RunBudget, SampleOptions, sample_layouts_within};
use underturf::mcmc::tempering::{Counts, Options, Run, Target};
use underturf::model::{Common, ZoningPrior};
use underturf::monitor::Unwatched;
use underturf::rng::{Stream, stream};
use underturf::site::Site;
use underturf::site::io;

#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

const REPEATS: u64 = 8;

/// Sweeps of each tempering chain on record, and of long runs.
const SWEEPS: usize = 250;
const LONG: usize = 4_000;

/// The next temperature keeps this share of the effective number of particles; all are drawn anew below it. Usual choice.
const KEPT: f64 = 0.5;

/// Sweeps at the reference before the first weight.
const BURNED: usize = 5;

/// Columns of five heads 4 m apart, ten a zone, all valves in one box.
fn site(zones: usize, probes: usize) -> Arc<Site> {
    let head = |k: usize| {
        let (x, y) = (4.0 * (k / 5) as f64 + 0.03 * (k * 7 % 13) as f64, 4.0 * (k % 5) as f64);
        json!({"id": format!("h{k}"), "x": x, "y": y, "kind": "spray"})
    };
    let probe = |k: usize| {
        let (x, y) = (3.0 + 5.3 * k as f64, 2.0 + 2.9 * (2 * k % 5) as f64);
        json!({"x": x, "y": y, "radius": 0.25, "depth": 0.45, "found": k % 3 == 1})
    };
    let document: Value = json!({
        "format": "underturf-site/2", "units": "m",
        "heads": (0..10 * zones).map(head).collect::<Vec<_>>(),
        "valve_boxes": [{"id": "v", "x": 4.0 * zones as f64, "y": -2.0, "valves": zones}],
        "probes": (0..probes).map(probe).collect::<Vec<_>>()
    });
    Arc::new(io::from_value(document).expect("a good document"))
}

/// Shares of pairs of heads less than 6 m apart on one zone, then the mean log density, of weighted states.
fn figures(site: &Site, states: &[(f64, &State)]) -> Vec<f64> {
    let near = |a: usize, b: usize| site.heads[a].at.distance(site.heads[b].at) < 6.0;
    let heads = site.heads.len();
    let pairs = (0..heads).flat_map(|a| (0..a).map(move |b| (a, b))).filter(|&(a, b)| near(a, b));
    let total: f64 = states.iter().map(|(weight, _)| weight).sum();
    let mean = |of: &dyn Fn(&State) -> f64| states.iter().map(|(w, s)| w * of(s)).sum::<f64>() / total;
    let together = |(a, b): (usize, usize)| {
        mean(&|state| f64::from(u8::from(state.zoning.zone_of[a] == state.zoning.zone_of[b])))
    };
    pairs.map(together).chain([mean(&State::log_density)]).collect()
}

/// A tempering run: its figures, and the sweeps it took, tuning included.
fn tempered(site: &Site, joint: &Joint<'_>, sweeps: usize, seed: u64) -> (Vec<f64>, usize) {
    let options = Options { rounds: 3, seed, ..Options::default() };
    let mut run = Run::tuned(joint, &options, &Unwatched).expect("a ladder");
    run.advance(sweeps, &Unwatched).expect("a run");
    // Rounds of 16, 32 and 64 sweeps, the first on eight temperatures, the others on fewer: counted as on the last ladder.
    let taken = options.replicates * (8 * 16 + run.ladder().chains() * (32 + 64 + sweeps));
    let states: Vec<(f64, &State)> =
        run.records().flat_map(|record| record.states()).map(|state| (1.0, state)).collect();
    (figures(site, &states), taken)
}

/// Effective share of particles with these log weights.
fn effective(logs: &[f64]) -> f64 {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights = logs.iter().map(|log| (log - top).exp());
    let (sum, squares) = weights.fold((0.0, 0.0), |(sum, squares), w| (sum + w, squares + w * w));
    sum * sum / squares / logs.len() as f64
}

/// A sequential run of so many particles and sweeps at each temperature: its figures, and the sweeps it took.
fn sequential(
    site: &Site,
    joint: &Joint<'_>,
    particles: usize,
    sweeps: usize,
    seed: u64,
) -> (Vec<f64>, usize) {
    let rng = &mut stream(seed, 0);
    let counts = &mut Counts::default();
    let mut start = |rng: &mut Stream| {
        let mut state = joint.reference(rng);
        (0..BURNED).for_each(|_| joint.explore(&mut state, 0.0, rng, counts));
        state
    };
    let mut states: Vec<State> = (0..particles).map(|_| start(rng)).collect();
    let (mut beta, mut taken) = (0.0, particles * BURNED);
    while beta < 1.0 {
        let energies: Vec<f64> = states.iter().map(|state| joint.energy(state)).collect();
        let logs = |step: f64| -> Vec<f64> { energies.iter().map(|energy| step * energy).collect() };
        let mut step = 1.0 - beta;
        if effective(&logs(step)) < KEPT {
            let (mut low, mut high) = (0.0, step);
            for _ in 0..40 {
                step = f64::midpoint(low, high);
                if effective(&logs(step)) < KEPT { high = step } else { low = step }
            }
        }
        let logs = logs(step);
        beta = if step >= 1.0 - beta { 1.0 } else { beta + step };
        // Systematic resampling.
        let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let weights: Vec<f64> = logs.iter().map(|log| (log - top).exp()).collect();
        let total: f64 = weights.iter().sum();
        let first: f64 = rng.random();
        let (mut next, mut passed) = (0, weights[0]);
        let place = |k: usize| (first + k as f64) / particles as f64 * total;
        let mut anew = Vec::with_capacity(particles);
        for k in 0..particles {
            while passed < place(k) && next + 1 < particles {
                next += 1;
                passed += weights[next];
            }
            anew.push(states[next].clone());
        }
        states = anew;
        for state in &mut states {
            (0..sweeps).for_each(|_| joint.explore(state, beta, rng, counts));
        }
        taken += particles * sweeps;
    }
    let weighted: Vec<(f64, &State)> = states.iter().map(|state| (1.0, state)).collect();
    (figures(site, &weighted), taken)
}

fn main() {
    println!("heads zones probes  way                sweeps  mse of pairs  mse of log density  seconds");
    for (zones, probes) in [(2, 0), (4, 0), (2, 2)] {
        let site = site(zones, probes);
        let budget = RunBudget { accept_unconverged: true, longest: 1, ..RunBudget::default() };
        let options = SampleOptions { draws: 2, seed: 1 };
        let layouts = sample_layouts_within(&site, &options, Limits::default(), &budget, &Unwatched);
        let findings = layouts.expect("layouts").findings().clone();
        let (law, common) = (ZoningPrior::new(&site), Arc::new(Common::new(&site)));
        let unmapped = *common.unmapped_lines();
        let joint = Joint::new(&site, &law, common, &findings, &unmapped);
        let budget = tempered(&site, &joint, SWEEPS, 0).1;
        let trial = |sweeps: usize| {
            // The number of temperatures is found on the way: a small run tells how many particles the budget allows.
            let taken = sequential(&site, &joint, 100, sweeps, 99).1;
            (100 * budget / taken).max(2)
        };
        let truth = {
            let long = |k: u64| tempered(&site, &joint, LONG, 1_000 + k).0;
            let runs: Vec<Vec<f64>> = (0..2).map(long).collect();
            (0..runs[0].len()).map(|j| runs.iter().map(|run| run[j]).sum::<f64>() / 2.0).collect::<Vec<_>>()
        };
        let open: Vec<usize> = (0..truth.len() - 1).filter(|&j| (0.02..0.98).contains(&truth[j])).collect();
        let tell = |name: &str, run: &dyn Fn(u64) -> (Vec<f64>, usize)| {
            let began = Instant::now();
            let runs: Vec<(Vec<f64>, usize)> = (1..=REPEATS).map(run).collect();
            let seconds = began.elapsed().as_secs_f64() / REPEATS as f64;
            let sweeps = runs.iter().map(|(_, taken)| taken).sum::<usize>() / runs.len();
            let squared = |j: usize| -> f64 {
                runs.iter().map(|(run, _)| (run[j] - truth[j]).powi(2)).sum::<f64>() / runs.len() as f64
            };
            let pairs = open.iter().map(|&j| squared(j)).sum::<f64>() / open.len() as f64;
            println!(
                "{:5} {zones:5} {probes:6}  {name:17} {sweeps:7}  {:12.2e}  {:18.4}  {seconds:7.2}",
                10 * zones,
                pairs,
                squared(truth.len() - 1)
            );
        };
        tell("tempering", &|seed| tempered(&site, &joint, SWEEPS, seed));
        for sweeps in [2, 10] {
            let particles = trial(sweeps);
            let name = format!("sequential, {sweeps} each");
            tell(&name, &|seed| sequential(&site, &joint, particles, sweeps, seed));
        }
    }
}
