//! What the user is told where zones are sampled: refusals with reasons, doubted labels, findings hard to believe.

use serde_json::{Value, json};
use std::sync::Arc;
use underturf::Error;
use underturf::decision::strike_probability;
use underturf::inference::posterior::Limits;
use underturf::inference::{Layouts, RunBudget, SampleOptions, sample_layouts_within};
use underturf::mcmc::diagnostics::Thresholds;
use underturf::monitor::Unwatched;
use underturf::site::io;
use underturf::strike::Form;

const OPTIONS: SampleOptions = SampleOptions { draws: 200, seed: 2 };

/// Four columns of four heads, 4 m apart; the left two labelled 1, the right two 2, but for a corner of each.
fn lawn() -> Value {
    let mut heads = Vec::new();
    for i in 0..4 {
        for j in 0..4 {
            let mut head = json!({"id": format!("h{i}{j}"), "x": 4.0 * f64::from(i), "y": 4.0 * f64::from(j), "kind": "spray"});
            if !((i, j) == (0, 0) || (i, j) == (3, 3)) {
                head["zone"] = if i < 2 { "1" } else { "2" }.into();
            }
            heads.push(head);
        }
    }
    json!({
        "format": "underturf-site/2", "units": "m", "heads": heads,
        "valve_boxes": [{"id": "v", "x": 6.0, "y": -2.0, "zones": ["1", "2"]}],
        "digs": [{"id": "d", "x": 6.1, "y": 4.2, "radius": 0.4, "depth": 0.4}]
    })
}

fn sampled(document: &Value, budget: &RunBudget) -> Result<Layouts, Error> {
    let site = io::from_value(document.clone()).unwrap_or_else(|faults| panic!("{faults}"));
    sample_layouts_within(&Arc::new(site), &OPTIONS, Limits::default(), budget, &Unwatched)
}

fn warned(layouts: &Layouts, words: &str) -> bool {
    layouts.warnings().iter().any(|warning| warning.contains(words))
}

#[test]
fn what_does_not_pass_is_refused_with_reasons_and_marked_where_it_is_wanted_all_the_same() {
    let thresholds = Thresholds { ess: 1e6, ..Thresholds::default() };
    let strict = RunBudget { longest: 2, thresholds, ..RunBudget::default() };
    let Err(Error::NotConverged { failures, sweeps, chains }) = sampled(&lawn(), &strict) else {
        panic!("a million effective draws of two thousand")
    };
    assert_eq!((sweeps, chains), (1_000, 4), "twice as long as at first");
    assert!(
        failures.iter().any(|f| f.quantity() == "strike chance of d" && f.to_string().contains("1000000")),
        "{failures:?}"
    );
    let accepted = sampled(&lawn(), &RunBudget { accept_unconverged: true, ..strict }).expect("accepted");
    for sets in ["which heads share a zone", "which places a pipe joins"] {
        assert!(failures.iter().any(|failure| failure.quantity() == sets), "{failures:?}");
    }
    assert!(accepted.warnings()[0].starts_with("NOT CONVERGED"), "{:?}", accepted.warnings());
    assert!(accepted.convergence().is_some_and(|convergence| !convergence.passed));
    let passed = sampled(&lawn(), &RunBudget::default()).expect("layouts");
    assert!(passed.convergence().is_some_and(|convergence| convergence.passed));
    assert!(!warned(&passed, "NOT CONVERGED") && warned(&passed, "Run each zone and flag the wet heads"));
}

/// Thresholds that only the digs asked for later can fail: a site without digs passes, whatever an error of a chance may be. Planted
/// fault: the shipped gates let the same chance pass.
#[test]
fn a_dig_named_later_is_held_against_the_gates_as_well() {
    let mut document = lawn();
    let dig = io::from_value(document.clone()).expect("a site").digs;
    document["digs"] = json!([]);
    let chance = |budget: &RunBudget| {
        let layouts = sampled(&document, budget).expect("layouts");
        assert!(layouts.convergence().is_some_and(|convergence| convergence.passed));
        strike_probability(&layouts, &dig, Form::Auto, &Unwatched).map(|strikes| strikes[0].reliable)
    };
    let thresholds = Thresholds { mcse_floor: 1e-4, mcse_share: 1e-3, ..Thresholds::default() };
    let narrow = RunBudget { thresholds, ..RunBudget::default() };
    let Err(Error::NotConverged { failures, chains, .. }) = chance(&narrow) else {
        panic!("an error of a thousandth from two thousand draws")
    };
    assert!(
        chains == 4 && failures.len() == 1 && failures[0].quantity() == "strike chance of d",
        "{failures:?}"
    );
    assert!(matches!(chance(&RunBudget { accept_unconverged: true, ..narrow }), Ok(false)));
    assert!(matches!(chance(&RunBudget::default()), Ok(true)));
}

/// Fewer draws asked for than the convergence checks look at: all of these are given, and a dig's error is that which the convergence checks saw.
#[test]
fn all_draws_that_were_judged_are_given() {
    let layouts = sampled(&lawn(), &RunBudget::default()).expect("layouts");
    let convergence = layouts.convergence().expect("chains");
    let judged: usize = convergence.watched[0].chains.iter().map(Vec::len).sum();
    assert_eq!((layouts.draws().len(), layouts.zonings().len()), (judged, judged));
    let row = convergence.checked.rows.iter().find(|row| row.name == "strike chance of d").expect("a row");
    let strikes =
        strike_probability(&layouts, &layouts.site().digs, Form::Auto, &Unwatched).expect("strikes");
    let (seen, error) = (strikes[0].mcse, row.mcse.expect("draws differ"));
    assert!((strikes[0].p - row.mean).abs() < 1e-9);
    // Draws that counter each other are taken for independent, no better: the error may be a little larger.
    assert!((0.999_999..1.02).contains(&(seen / error)), "{seen} {error}");
}

#[test]
fn a_wrong_label_is_pointed_out_and_right_ones_are_not() {
    let mut document = lawn();
    document["heads"][5]["zone"] = "2".into(); // h11, among heads of zone 1
    let mut tested = document.clone();
    tested["station_tests"] = json!([{"zone": "1", "heads": ["h00", "h01", "h02", "h03", "h10", "h11", "h12", "h13"], "error": 0.01}]);
    let layouts = sampled(&tested, &RunBudget::default()).expect("layouts");
    assert!(warned(&layouts, "Head h11 is more likely on zone 1"), "{:?}", layouts.warnings());
    let layouts = sampled(&lawn(), &RunBudget::default()).expect("layouts");
    assert!(!warned(&layouts, "is more likely on zone"), "{:?}", layouts.warnings());
}

#[test]
fn findings_hard_to_believe_are_pointed_out_and_ordinary_ones_are_not() {
    let probe = |x: f64, y: f64, found: bool| json!({"x": x, "y": y, "radius": 0.3, "depth": 0.45, "found": found, "p_detect": 0.9999, "p_false": 0.0001});
    let mut document = lawn();
    document["probes"] = json!([probe(2.0, 4.0, true), probe(2.0, 6.0, false), probe(60.0, 60.0, true)]);
    document["probes"].as_array_mut().expect("probes").push(json!({
        "x": 4.0, "y": 4.0, "radius": 1.5, "depth": 0.9, "found": false, "p_detect": 0.9999
    }));
    let once = RunBudget { accept_unconverged: true, longest: 1, ..RunBudget::default() };
    let layouts = sampled(&document, &once).expect("layouts");
    let warnings = layouts.warnings();
    assert!(warned(&layouts, "probes[2] found a line where"), "{warnings:?}");
    assert!(warned(&layouts, "probes[3] found nothing where"), "{warnings:?}");
    assert!(!warned(&layouts, "probes[0]") && !warned(&layouts, "probes[1]"), "{warnings:?}");
}
