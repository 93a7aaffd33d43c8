//! psi, a factor on whole layouts, which only chains can reach: against independent layouts weighted by it.
//!
//! Zonings are drawn from their enumeration, bearings, outer states, trees and marks from their law: n = 30,000 layouts without
//! psi, each weighed by its psi. Chains (4,000 draws) must give the same strike chances, shares of pairs of heads on one zone
//! and mean log psi within the errors of both: false alarm 1e-5 a figure (4.4 errors), 2e-4 in all. Planted fault: the same
//! layouts unweighted, as chains without psi would give them, must be off by more.

use super::joint::{ERRORS, PAIRS, labellings, laws, site, six_heads, two_valves};
use serde_json::{Value, json};
use std::sync::Arc;
use underturf::decision::strike_probability;
use underturf::inference::{SampleOptions, sample_layouts};
use underturf::layout::{Draw, pick};
use underturf::model::Psi;
use underturf::monitor::Unwatched;
use underturf::rng::stream;
use underturf::site::Site;
use underturf::strike::{Findings, Form, Observation, RunIndex};

const PLAIN: usize = 30_000;

/// Strong factors, and a mainline.
fn weighed(mut document: Value) -> Arc<Site> {
    document["sources"] = json!([{"id": "s", "x": -3.0, "y": 6.0, "kind": "meter"}]);
    document["settings"]["third_branch_factor"] = 0.3.into();
    document["settings"]["pipe_crossing_factor"] = 0.6.into();
    document["settings"]["shared_trench_gain"] = 2.0.into();
    site(&document)
}

/// Figures of chains and of weighted layouts, with the error of the one less the other, and of unweighted layouts.
struct Compared {
    name: String,
    chains: f64,
    weighted: f64,
    unweighted: f64,
    error: f64,
}

impl Compared {
    fn off(&self) -> f64 {
        (self.chains - self.weighted).abs() / self.error
    }

    fn off_without_psi(&self) -> f64 {
        (self.chains - self.unweighted).abs() / self.error
    }
}

fn compare(site: &Arc<Site>) -> Vec<Compared> {
    let psi = Psi::new(&site.settings);
    let listed = labellings(site);
    let laws = laws(site, &listed);
    let shares: Vec<f64> = laws.iter().map(|(share, _)| *share).collect();
    let mut rng = stream(4, 0);
    let (mut draws, mut logs, mut chosen) = (Vec::new(), Vec::new(), Vec::new());
    for _ in 0..PLAIN {
        let k = pick(&shares, &mut rng);
        let draw = Draw::sample(&laws[k].1, &mut rng).expect("a layout");
        logs.push(psi.log(&draw, &draw.pieces(&laws[k].1, &mut rng)));
        draws.push(draw);
        chosen.push(k);
    }
    let total: f64 = logs.iter().map(|log| log.exp()).sum();
    let weights: Vec<f64> = logs.iter().map(|log| log.exp() / total).collect();
    let worth = 1.0 / weights.iter().map(|w| w * w).sum::<f64>();
    assert!(worth > 1_000.0 && worth < 0.8 * PLAIN as f64, "{worth} draws: too few, or psi does nothing");
    let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
    // Mean and error under the weights: that of a ratio of means.
    let weigh = |values: &[f64]| -> (f64, f64) {
        let mean: f64 = weights.iter().zip(values).map(|(w, v)| w * v).sum();
        (mean, weights.iter().zip(values).map(|(w, v)| (w * (v - mean)).powi(2)).sum::<f64>().sqrt())
    };

    let chains = sample_layouts(site, &SampleOptions { draws: 4_000, seed: 6 }, &Unwatched).expect("layouts");
    let independent = chains.effective_draws();
    let compared = |name: String, values: &[f64], (chains, error): (f64, f64)| {
        let (weighted, of_weights) = weigh(values);
        Compared { name, chains, weighted, unweighted: mean(values), error: error.hypot(of_weights) }
    };
    let of_chains = |values: &[f64]| {
        let mean = mean(values);
        let variance = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / values.len() as f64;
        (mean, (variance / independent).sqrt().max(1e-4))
    };
    let drawn = chains.draws().iter().enumerate();
    let of_psi: Vec<f64> = drawn.map(|(k, draw)| psi.log(draw, chains.pieces().draw(k))).collect();
    let mut all = vec![compared("log psi".to_owned(), &logs, of_chains(&of_psi))];
    let strikes = strike_probability(&chains, &site.digs, Form::General, &Unwatched).expect("strikes");
    let index = RunIndex::new(&draws);
    for (dig, strike) in site.digs.iter().zip(strikes) {
        let look = Observation::dig(dig.shape.footprint(), dig.depth_m);
        let chances = index.chances(&laws[0].1, &look, &Findings::default());
        all.push(compared(dig.id.clone(), &chances, (strike.p, strike.mcse)));
    }
    for (a, b) in PAIRS {
        let same = |zone_of: &[usize]| f64::from(u8::from(zone_of[a] == zone_of[b]));
        let plain: Vec<f64> = chosen.iter().map(|&k| same(&listed[k].0.zone_of)).collect();
        let shares: Vec<f64> = chains.zonings().iter().map(|zone_of| same(zone_of)).collect();
        all.push(compared(format!("heads {a} and {b}"), &plain, of_chains(&shares)));
    }
    all
}

fn agree(compared: &[Compared]) {
    for one in compared {
        let Compared { name, chains, weighted, error, .. } = one;
        assert!(one.off() < ERRORS, "{name}: {chains} against {weighted}, error {error}");
    }
    let off = compared[0].off_without_psi();
    assert!(off > 2.0 * ERRORS, "without psi log psi is within {off} errors");
}

/// Two labelled zones.
#[test]
fn whole_layouts_weigh_by_psi() {
    let mut document = six_heads();
    for k in 0..6 {
        document["heads"][k]["zone"] = if k % 2 == 0 { "1" } else { "2" }.into();
    }
    document["valve_boxes"] = json!([{"id": "v", "x": 4.0, "y": -2.0, "zones": ["1", "2"]}]);
    document["settings"]["zone_error"] = 1e-6.into();
    agree(&compare(&weighed(document)));
}

/// Zones unknown: psi changes the shares of zonings as well, since it is summed over the layouts of each.
#[test]
fn whole_layouts_of_unknown_zones_weigh_by_psi() {
    let compared = compare(&weighed(two_valves()));
    agree(&compared);
    let off = compared[4..].iter().map(Compared::off_without_psi).fold(0.0, f64::max);
    assert!(off > ERRORS, "without psi shares of zones are within {off} errors");
}
