//! Probes against closed forms: the noisy detector on a triangle (python/docs/model.md, 12.18), the clear probe beside a hole
//! under one run (python/docs/model.md, 3.3), the search update of a missed look (python/docs/model.md, 12.28). Offsets beyond
//! six standard deviations are left out of every sum: 2e-9 of it, so closed forms are met to 1e-8.

use crate::small_law::{ASSESSED, clear, hole};
use std::sync::Arc;
use underturf::class::Class;
use underturf::geometry::{Point, ShiftedPath};
use underturf::inference::posterior::Posterior;
use underturf::layout::{
    CLEAR, Cover, Kind, Offset, OuterPrior, OuterState, Route, Run, System, UnmappedLines, normal_cdf,
};
use underturf::spanning_tree::{Edge, Network};
use underturf::strike::{Find, Findings, Observation, strike_by_determinants};

/// One system, one bearing, one outer state; next to no unknown lines.
struct OneState {
    systems: Vec<System>,
    state: Arc<OuterState>,
    unmapped: UnmappedLines,
}

impl OuterPrior for OneState {
    fn bearings(&self) -> &[f64] {
        &[1.0]
    }
    fn systems(&self) -> &[System] {
        &self.systems
    }
    fn state_probabilities(&self, _: usize, _: usize) -> &[f64] {
        &[1.0]
    }
    fn state(&self, _: usize, _: usize, _: usize) -> Option<Arc<OuterState>> {
        Some(self.state.clone())
    }
    fn unmapped_lines(&self) -> &UnmappedLines {
        &self.unmapped
    }
}

/// A law of straight runs with weights and one offset law; node 2 (or the last) is the valve.
fn law(nodes: usize, runs: &[(usize, usize, f64, Point, Point)], sd_m: f64) -> OneState {
    let run = |&(_, _, _, a, b): &(usize, usize, f64, Point, Point)| {
        let routes =
            vec![Route { share: 1.0, path: ShiftedPath::new(&[a, b]), paved: Vec::new(), clear: CLEAR }];
        let offset = Offset::new(sd_m, 0.0, sd_m, 0.0);
        Arc::new(Run::new(Kind::Run, offset, routes, [false, false]))
    };
    let edges = runs.iter().map(|&(a, b, weight, ..)| Edge { a, b, weight }).collect();
    let network = Network::new(nodes, edges).expect("good");
    let state = OuterState::new("direct", runs.iter().map(run).collect(), network, None).expect("connected");
    let cover = Cover {
        mean_m: 0.25,
        level_sd_m: 0.01,
        run_sd_m: 0.01,
        least_m: 0.05,
        greatest_m: 0.6,
        paving_m: 0.3,
    };
    OneState {
        systems: vec![System { name: "zone 1".into(), class: Class::Lateral, radius_m: 0.0, cover }],
        state: Arc::new(state),
        unmapped: UnmappedLines { density_per_m: 1e-13, cover_m: 0.35, cover_sd_m: 0.2, radius_m: 0.0 },
    }
}

fn lateral(law: &OneState, dig: &Observation, findings: &Findings) -> f64 {
    strike_by_determinants(law, dig, findings, &ASSESSED).by_class[Class::Lateral as usize]
        .expect("assessed")
        .p
}

/// Valve v and heads a, b with weights va 1, vb 2, ab 3; a detector that sounds over ab with chance 0.8 where the run
/// lies and 0.1 where it does not has sounded: Z = 11, evidence 7.4 / 11, P(va) = 2.6 / 7.4 (python/docs/model.md, 12.18).
#[test]
fn a_noisy_detector_on_the_triangle() {
    let (v, a, b) = (Point::new(0.0, 0.0), Point::new(40.0, 0.0), Point::new(0.0, 40.0));
    let law = law(2, &[(0, 2, 1.0, v, a), (1, 2, 2.0, v, b), (0, 1, 3.0, a, b)], 0.1);
    let detect = 1.0 - 0.2 / 0.9; // 0.8 = 1 - (1 - 0.1) (1 - detect)
    let over = |x, y| Observation { detect, ..hole(x, y, 2.0, 0.9) };
    let sounded =
        Findings { clear: Vec::new(), found: vec![Find { look: over(20.0, 20.0), false_find: 0.1 }] };
    let posterior = Posterior::new(&law, &sounded, 100, 1, &|| false).expect("not stopped");
    assert!((posterior.log_evidence().exp() - 7.4 / 11.0).abs() < 1e-8);
    let on_va = hole(20.0, 0.0, 2.0, 0.9);
    assert!((lateral(&law, &on_va, &Findings::default()) - 5.0 / 11.0).abs() < 1e-8);
    assert!((lateral(&law, &on_va, &sounded) - 2.6 / 7.4).abs() < 1e-8);
}

/// A run of prior 0.9 under a hole, a clear pothole 0.6 m to its side. From the normal law of the offset,
/// P(strike | clear) = 0.9 (h - d b) / (1 - 0.9 d q): h the chance that the run passes under the hole, q under the probe,
/// b under both. The product of single-look numbers, 0.9 h (1 - d q) / (1 - 0.9 d q), is far off: the planted fault.
#[test]
fn a_clear_probe_beside_a_hole_says_much_about_the_same_run() {
    let (sd, r, s, d) = (0.3, 0.45, 0.25, 0.97);
    let (v, a) = (Point::new(-30.0, 0.0), Point::new(30.0, 0.0));
    let far = (Point::new(-30.0, 60.0), Point::new(30.0, 60.0));
    let law = law(1, &[(0, 1, 9.0, v, a), (0, 1, 1.0, far.0, far.1)], sd);
    let within = |low: f64, high: f64| normal_cdf(high / sd) - normal_cdf(low / sd);
    let (h, q, b) = (within(-r, r), within(0.6 - s, 0.6 + s), within(0.6 - s, r));
    let right = 0.9 * (h - d * b) / (1.0 - 0.9 * d * q);
    let product = 0.9 * h * (1.0 - d * q) / (1.0 - 0.9 * d * q);
    let findings = Findings { clear: vec![clear(0.0, 0.6, s, 0.9, d)], found: Vec::new() };
    let seen = lateral(&law, &hole(0.0, 0.0, r, 0.9), &findings);
    assert!((seen - right).abs() < 1e-9, "{seen} {right}");
    assert!((right - product).abs() > 0.01, "{right} {product}");
}

/// A look that covers all places of a run and misses it with chance 1 - POD: POA' = POA (1 - POD) / (1 - POA POD)
/// (python/docs/model.md, 12.28).
#[test]
fn a_missed_look_updates_by_search_theory() {
    let (v, a) = (Point::new(-30.0, 0.0), Point::new(30.0, 0.0));
    let far = (Point::new(-30.0, 60.0), Point::new(30.0, 60.0));
    let law = law(1, &[(0, 1, 7.0, v, a), (0, 1, 3.0, far.0, far.1)], 0.05);
    let findings = Findings { clear: vec![clear(5.0, 0.0, 3.0, 0.9, 0.8)], found: Vec::new() };
    let seen = lateral(&law, &hole(-9.0, 0.0, 2.0, 0.9), &findings);
    let (poa, pod) = (0.7, 0.8);
    assert!((seen - poa * (1.0 - pod) / (1.0 - poa * pod)).abs() < 1e-8, "{seen}");
}
