//! Every kind of evidence at once, on a site small enough to list every outer state, extent and tree.
//!
//! The law of each way to assign heads to zones is taken as it stands, with all that a wrong label, a station test, a
//! standing tree, a sketch, swept ground and outlets make of it; what is summed over it is summed here tree by tree: no
//! elimination, no sampler, no signed sum of the engine's. Marks of one run are integrated by the engine; they have their
//! own brute force in `strike`.

use crate::common::trees;
use rayon::prelude::*;
use serde_json::{Value, json};
use std::collections::HashMap;
use std::sync::Arc;
use underturf::class::Class;
use underturf::decision::{look, strike_probability};
use underturf::inference::{Layouts, SampleOptions, sample_layouts};
use underturf::layout::{LEVELS, OuterPrior, OuterState, Run, RunId, System};
use underturf::monitor::Unwatched;
use underturf::site::Dig;
use underturf::site::io;
use underturf::strike::{Form, Observation, Observations, mean_beyond};

/// Two zones of three heads each, one head with the wrong label; digs among the heads, beside the find, at the mainline
/// and at the lines to both outlets.
fn document() -> Value {
    json!({
        "format": "underturf-site/2", "units": "m",
        "boundary": [[-8, -4], [14, -4], [14, 12], [-8, 12]],
        "heads": [
            {"id": "a", "x": 0.0, "y": 0.0, "zone": "1"},
            {"id": "b", "x": 4.0, "y": 0.3, "zone": "1"},
            {"id": "c", "x": 8.0, "y": 0.0, "zone": "2"},
            {"id": "d", "x": 0.0, "y": 4.0, "zone": "2"},
            {"id": "e", "x": 4.0, "y": 4.2, "zone": "2"},
            {"id": "f", "x": 8.0, "y": 4.0, "zone": "2"},
        ],
        "valve_boxes": [
            {"id": "v1", "x": -3.0, "y": 0.5, "zones": ["1"]},
            {"id": "v2", "x": -3.0, "y": 5.0, "zones": ["2"]},
        ],
        "sources": [{"id": "m", "x": -6.0, "y": 8.0, "kind": "meter"}],
        "outlets": [
            {"id": "q", "x": 2.0, "y": 9.0, "kind": "quick_coupler"},
            {"id": "y", "x": -1.0, "y": 11.0, "kind": "yard_hydrant"},
        ],
        "station_tests": [{"zone": "1", "heads": ["a", "b", "c"], "error": 0.01}],
        "trees": [{"x": 2.0, "y": 1.2, "stem_diameter": 0.4}],
        "sketches": [{"path": [[-6.0, 8.0], [-6.0, 0.5], [-3.0, 0.5]], "trust": 0.6}],
        "swept": [{"outline": [[-5.5, 5.5], [-3.5, 5.5], [-3.5, 7.0], [-5.5, 7.0]], "p_detect": 0.6}],
        "probes": [
            {"x": 6.0, "y": 0.2, "radius": 0.3, "depth": 0.4, "found": false},
            {"path": [[5.6, 1.4], [5.6, 2.6]], "width": 0.2, "depth": 0.35, "found": false, "tool": "slit"},
            {"x": -2.8, "y": 4.9, "radius": 0.25, "depth": 0.45, "found": true,
             "class": "lateral", "azimuth_deg": 98.0, "cover": 0.3},
        ],
        "settings": {
            "zone_error": 0.03, "header_step_m": 1.0, "grid_step_deg": 5.0, "grid_pair_share": 0.95,
            "grid_edge_share": 0.5
        },
        "digs": [
            {"id": "row", "x": 5.2, "y": 0.2, "radius": 0.4, "depth": 0.4},
            {"id": "found", "x": -2.2, "y": 4.9, "radius": 0.3, "depth": 0.33},
            {"id": "between", "path": [[1.0, 2.2], [3.0, 2.4]], "width": 0.3, "depth": 0.35},
            {"id": "main", "x": -4.5, "y": 6.4, "radius": 0.4, "depth": 0.6},
            {"id": "coupler", "x": -1.5, "y": 7.5, "radius": 0.5, "depth": 0.6},
            {"id": "hydrant", "x": -3.0, "y": 9.8, "radius": 0.5, "depth": 0.6},
        ],
    })
}

fn layouts_of(document: Value, draws: usize) -> Layouts {
    let site = Arc::new(io::from_value(document).expect("a good document"));
    sample_layouts(&site, &SampleOptions { draws, seed: 7 }, &Unwatched).expect("layouts")
}

/// An outer state with its trees written out: probability of the state, weight and lines of each tree.
struct Listed {
    probability: f64,
    trees: Vec<(f64, Vec<Arc<Run>>)>,
}

/// Every possible outer state of a system at a bearing.
fn list(law: &dyn OuterPrior, bearing: usize, system: usize) -> Vec<Listed> {
    // The lines of one extent are made once: equal extents share them.
    let lines_of = |state: &OuterState| {
        let mut known: HashMap<(usize, usize), Vec<Arc<Run>>> = HashMap::new();
        let listed = trees(&state.network).into_iter().map(|(edges, weight)| {
            let mut lines: Vec<Arc<Run>> = edges.iter().map(|&edge| state.runs[edge].clone()).collect();
            if let Some(header) = &state.header {
                let used: Vec<usize> =
                    (0..header.drops().len()).filter(|&k| edges.contains(&header.drops()[k])).collect();
                let extent = (used[0], used[used.len() - 1]);
                let made = || header.lines(extent.0, extent.1).into_iter().map(Arc::new).collect();
                lines.extend(known.entry(extent).or_insert_with(made).iter().cloned());
            } else {
                lines.extend(state.fixed.iter().cloned());
            }
            (weight, lines)
        });
        listed.collect::<Vec<_>>()
    };
    let probabilities = law.state_probabilities(bearing, system);
    let possible =
        probabilities.par_iter().enumerate().filter(|(_, p)| **p > 0.0).filter_map(|(state, &p)| {
            law.state(bearing, system, state).map(|state| Listed { probability: p, trees: lines_of(&state) })
        });
    possible.collect()
}

/// Chance that every look misses every line of a system: over states, trees and cover levels.
fn missed(law: &dyn OuterPrior, system: usize, states: &[Listed], looks: &[Observation]) -> f64 {
    let system = &law.systems()[system];
    let levels = system.cover.levels();
    let looks = Observations::new(system, looks);
    let of_state = |listed: &Listed| {
        let mut known: HashMap<RunId, [f64; LEVELS]> = HashMap::new();
        let (mut missed, mut all) = (0.0, 0.0);
        for (weight, lines) in &listed.trees {
            let mut product = [1.0; LEVELS];
            for line in lines {
                let miss =
                    known.entry(line.id()).or_insert_with(|| looks.miss(line).unwrap_or([1.0; LEVELS]));
                product.iter_mut().zip(miss).for_each(|(p, m)| *p *= *m);
            }
            all += weight;
            missed += weight * product.iter().zip(levels).map(|(m, (p, _))| m * p).sum::<f64>();
        }
        listed.probability * missed / all
    };
    let total: f64 = states.iter().map(|listed| listed.probability).sum();
    states.par_iter().map(of_state).collect::<Vec<f64>>().iter().sum::<f64>() / total
}

/// The outer states of one law: `[bearing][system]`.
type States = Vec<Vec<Vec<Listed>>>;

/// Chances that nothing is met: `[law][bearing][system]`.
type Missed = Vec<Vec<Vec<f64>>>;

/// Every law of the site with its states listed.
struct Everything<'a> {
    laws: Vec<(f64, &'a dyn OuterPrior)>,
    states: Vec<States>,
    /// The clear looks, and those with the find.
    looks: [Vec<Observation>; 2],
    /// That each of these meets nothing.
    missed: [Missed; 2],
    false_find: f64,
}

/// A dig as [`Everything`] sees it: that it and each set of looks meets nothing.
struct Dug<'a> {
    dig: &'a Observation,
    missed: [Missed; 2],
}

impl<'a> Everything<'a> {
    fn new(layouts: &'a Layouts) -> Self {
        let laws = layouts.priors();
        let of_law = |law: &dyn OuterPrior| {
            let of_bearing = |b: usize| (0..law.systems().len()).map(|s| list(law, b, s)).collect();
            (0..law.bearings().len()).map(of_bearing).collect()
        };
        let states = laws.iter().map(|(_, law)| of_law(*law)).collect();
        let findings = layouts.findings();
        let [find] = &findings.found[..] else { panic!("one find is written out below") };
        let with_find = findings.clear.iter().chain([&find.look]).cloned().collect();
        let looks = [findings.clear.clone(), with_find];
        let mut all = Self { states, laws, looks, missed: Default::default(), false_find: find.false_find };
        all.missed = [0, 1].map(|k| all.missed(&all.looks[k]));
        all
    }

    fn missed(&self, looks: &[Observation]) -> Missed {
        let of_law = |((_, law), states): (&(f64, &dyn OuterPrior), &States)| {
            let of_bearing = |systems: &Vec<Vec<Listed>>| {
                systems.iter().enumerate().map(|(s, states)| missed(*law, s, states, looks)).collect()
            };
            states.iter().map(of_bearing).collect()
        };
        self.laws.iter().zip(&self.states).map(of_law).collect()
    }

    fn dug(&self, dig: &'a Observation) -> Dug<'a> {
        let with = |k: usize| self.looks[k].iter().chain([dig]).cloned().collect::<Vec<_>>();
        Dug { dig, missed: [0, 1].map(|k| self.missed(&with(k))) }
    }

    /// Chance of what was seen and that a dig meets no line of the classes minded. The find was a line, or false:
    /// P(clear) - (1 - f) P(clear, and nothing at the find).
    fn seen(&self, dug: Option<&Dug<'_>>, minds: &dyn Fn(Class) -> bool) -> f64 {
        let dug_for = |class: Class| dug.filter(|_| minds(class));
        let term = |k: usize| -> f64 {
            let of_law = |(l, (share, law)): (usize, &(f64, &dyn OuterPrior))| -> f64 {
                let of_bearing = |(b, p): (usize, &f64)| {
                    let of_system = |(s, system): (usize, &System)| {
                        dug_for(system.class).map_or(&self.missed, |dug| &dug.missed)[k][l][b][s]
                    };
                    p * law.systems().iter().enumerate().map(of_system).product::<f64>()
                };
                share * law.bearings().iter().enumerate().map(of_bearing).sum::<f64>()
            };
            let dig = dug_for(Class::Unknown).map(|dug| dug.dig);
            let unknown: Vec<&Observation> = self.looks[k].iter().chain(dig).collect();
            let mean = |at: usize| mean_beyond(self.laws[0].1.unmapped_lines(), unknown[at], &unknown[..at]);
            let none = (-(0..unknown.len()).map(mean).sum::<f64>()).exp();
            none * self.laws.iter().enumerate().map(of_law).sum::<f64>()
        };
        term(0) - (1.0 - self.false_find) * term(1)
    }

    fn strike(&self, dug: &Dug<'_>, minds: &dyn Fn(Class) -> bool) -> f64 {
        (1.0 - self.seen(Some(dug), minds) / self.seen(None, minds)).min(1.0 - 1e-9) // never printed as certain
    }
}

/// Determinants against trees written out, to 1e-9, for the total and for laterals, mainline and potable line; then 6,000
/// draws in the general form within 5 standard errors and 0.004 for the outer states that draws share: 6 comparisons, false
/// alarm below 1e-5; at a chance of 0.3 an error of 0.04 is caught.
#[test]
fn with_every_kind_of_evidence_both_forms_equal_enumeration() {
    let layouts = layouts_of(document(), 6_000);
    let everything = Everything::new(&layouts);
    assert!(everything.laws.len() > 1, "the wrong label leaves several assignments");
    let digs = &layouts.site().digs;
    let exact = strike_probability(&layouts, digs, Form::Determinant, &Unwatched).expect("chances");
    let drawn = strike_probability(&layouts, digs, Form::General, &Unwatched).expect("chances");
    for ((dig, exact), drawn) in digs.iter().zip(&exact).zip(&drawn) {
        let look = look(dig);
        let dug = everything.dug(&look);
        let listed = everything.strike(&dug, &|_| true);
        assert!((exact.p - listed).abs() < 1e-9, "{}: {} {listed}", dig.id, exact.p);
        for class in [Class::Lateral, Class::Mainline, Class::Potable] {
            let listed = everything.strike(&dug, &|other| other == class);
            let exact = exact.by_class[class as usize].expect("assessed").p;
            assert!((exact - listed).abs() < 1e-9, "{} {class:?}: {exact} {listed}", dig.id);
        }
        let off = (drawn.p - exact.p).abs();
        assert!(off < 5.0 * drawn.mcse + 0.004, "{}: {} +- {} for {}", dig.id, drawn.p, drawn.mcse, exact.p);
    }
}

/// Planted faults: each piece of evidence left out in turn moves the chance of the dig that it bears on most by more than
/// 0.005, a million times the tolerance above.
#[test]
fn each_piece_of_evidence_left_out_is_noticed() {
    let chance = |mut document: Value, dig: &str| -> f64 {
        document["settings"]["grid_pair_share"] = json!(0.99); // one bearing: a third of the work
        let layouts = layouts_of(document, 2);
        let digs: Vec<Dig> = layouts.site().digs.iter().filter(|d| d.id == dig).cloned().collect();
        strike_probability(&layouts, &digs, Form::Determinant, &Unwatched).expect("chances")[0].p
    };
    let without = |key: &str, place: usize| {
        let mut document = document();
        document[key].as_array_mut().expect("a list").remove(place);
        document
    };
    let unnoted = |key: &str| {
        let mut document = document();
        document["probes"][2].as_object_mut().expect("a probe").remove(key);
        document
    };
    let mut unlabelled = document();
    unlabelled["heads"][2].as_object_mut().expect("a head").remove("zone");
    let faults = [
        ("label", "row", unlabelled),
        ("station test", "row", without("station_tests", 0)),
        ("tree", "between", without("trees", 0)),
        ("sketch", "main", without("sketches", 0)),
        ("swept ground", "main", without("swept", 0)),
        ("quick coupler", "coupler", without("outlets", 0)),
        ("yard hydrant", "hydrant", without("outlets", 1)),
        ("clear probe", "row", without("probes", 0)),
        ("slit", "row", without("probes", 1)),
        ("find", "found", without("probes", 2)),
        ("class of the find", "found", unnoted("class")),
        ("bearing of the find", "found", unnoted("azimuth_deg")),
        ("cover of the find", "found", unnoted("cover")),
    ];
    let mut right: HashMap<&str, f64> = HashMap::new();
    for (what, dig, wrong) in faults {
        let right = *right.entry(dig).or_insert_with(|| chance(document(), dig));
        let moved = (right - chance(wrong, dig)).abs();
        assert!(moved > 0.005, "without the {what} the chance of {dig} moves by {moved} only");
    }
}
