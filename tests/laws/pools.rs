//! Pools of outer states that samplers over zonings carry: what a pool says of all that was seen, which it puts together
//! from likelihoods of single runs, against the signed sum over find sets with every run held against the whole set.

use rand::RngExt;
use serde_json::json;
use std::sync::Arc;
use underturf::inference::posterior::FindingsLikelihood;
use underturf::inference::{SampleOptions, sample_layouts};
use underturf::layout::{OuterState, Run, System};
use underturf::monitor::Unwatched;
use underturf::rng::stream;
use underturf::site::io;
use underturf::spanning_tree::Scratch;
use underturf::strike::{FindSet, Findings, Observations};

/// The chance that clear looks and a set of finds miss all lines of a state, trees summed over. Observations lie deeper than
/// any run, so cover levels make no difference.
fn missed(system: &System, state: &OuterState, findings: &Findings, set: FindSet) -> f64 {
    let looks = Observations::new(system, &findings.looks(set));
    assert!(looks.level_free());
    let miss = |run: &Run| looks.miss(run).map_or(1.0, |miss| miss[0]);
    let lines: f64 = state.fixed.iter().map(|line| miss(line)).product();
    let weight = |edge: usize| state.network.edges()[edge].weight * miss(&state.runs[edge]);
    lines * (state.network.log_z_where(weight, &[], &mut Scratch::default()) - state.log_z()).exp()
}

/// Two zones of four heads, three finds and two clear probes, of which no run meets all. 200 states of each zone without a
/// header, a pool of one: equal to 1e-9. Planted: two finds that
/// change places are noticed in most.
#[test]
fn a_pool_of_one_state_says_of_what_was_seen_what_all_find_sets_say() {
    let head = |k: usize| {
        let (x, y) = (4.0 * (k % 4) as f64 + 0.1 * (k % 3) as f64, 4.0 * (k / 4) as f64);
        json!({"id": format!("h{k}"), "x": x, "y": y, "zone": (k % 4 / 2 + 1).to_string(), "kind": "spray"})
    };
    let probe =
        |x: f64, y: f64, found: bool| json!({"x": x, "y": y, "radius": 0.4, "depth": 1.2, "found": found});
    let document = json!({
        "format": "underturf-site/2", "units": "m",
        "heads": (0..8).map(head).collect::<Vec<_>>(),
        "valve_boxes": [{"id": "v", "x": 6.0, "y": -2.0, "zones": ["1", "2"]}],
        "probes": [
            probe(2.0, 0.2, true), probe(0.3, 2.0, true), probe(10.1, 4.2, true),
            probe(4.2, 2.1, false), probe(8.0, 2.2, false)
        ]
    });
    let site = Arc::new(io::from_value(document).unwrap_or_else(|faults| panic!("{faults}")));
    let layouts = sample_layouts(&site, &SampleOptions { draws: 2, seed: 1 }, &Unwatched).expect("layouts");
    let (law, findings) = (layouts.prior(), layouts.findings());
    let coefficients = findings.coefficients(law.unmapped_lines());
    let likelihood = FindingsLikelihood::new(findings, law.unmapped_lines());
    let swapped = |set: FindSet| set.among(&[2, 1, 0]);
    let (mut checked, mut noticed) = (0, 0);
    let mut rng = stream(31, 0);
    while checked < 400 {
        let system = checked % 2;
        let number = rng.random_range(0..law.state_probabilities(0, system).len());
        let Some(state) = law.state(0, system, number).filter(|state| state.header.is_none()) else {
            continue;
        };
        let of = &law.systems()[system];
        let pool = likelihood.pool(of, vec![state.clone()], &mut rng).expect("effort without end");
        let chance = likelihood.log_chance(0, &[pool]).exp();
        let sum = |of_set: &dyn Fn(FindSet) -> FindSet| -> f64 {
            let term = |set: FindSet| coefficients[set] * missed(of, &state, findings, of_set(set));
            coefficients.sets().map(term).sum::<f64>().max(0.0)
        };
        let exact = sum(&|set| set);
        assert!(
            (chance - exact).abs() < 1e-9 * exact.max(1e-3),
            "state {number} of {system}: {chance}, {exact}"
        );
        noticed += usize::from((chance - sum(&swapped)).abs() > 1e-6 * exact);
        checked += 1;
    }
    assert!(noticed > 200, "{noticed} of {checked}");
}
