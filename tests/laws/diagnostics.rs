//! Diagnostics equal those of the Python package arviz-stats 0.8.0, the reference implementation of Vehtari et al. (2021)
//! for Python. `diagnose/make_expected.py` writes the expected values.

use serde::Deserialize;
use underturf::mcmc::diagnostics::{Chains, Diagnosis, Level, ess, mcse};

const TOLERANCE: f64 = 1e-8;

#[derive(Deserialize)]
struct Expected {
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    name: String,
    chains: Vec<Vec<f64>>,
    r_hat: Option<f64>,
    ess_bulk: f64,
    ess_tail: f64,
    ess_mean: f64,
    mcse_mean: f64,
    mcse_sd: Option<f64>,
    quantiles: Vec<OfQuantile>,
}

#[derive(Deserialize)]
struct OfQuantile {
    level: f64,
    ess: f64,
    mcse: f64,
}

fn cases() -> Vec<Case> {
    let expected: Expected =
        serde_json::from_str(include_str!("diagnostics/expected.json")).expect("the file is ours");
    expected.cases
}

/// What the engine says about some chains and differs from what is expected of the case.
fn differences(case: &Case, chains: &Chains) -> Vec<String> {
    let found = Diagnosis::new(chains);
    let mut pairs = vec![
        ("r_hat".to_owned(), found.r_hat, case.r_hat),
        ("ess_bulk".to_owned(), Some(found.ess_bulk), Some(case.ess_bulk)),
        ("ess_tail".to_owned(), Some(found.ess_tail), Some(case.ess_tail)),
        ("ess_mean".to_owned(), Some(found.ess_mean), Some(case.ess_mean)),
        ("mcse_mean".to_owned(), Some(found.mcse_mean), Some(case.mcse_mean)),
        ("mcse_sd".to_owned(), found.mcse_sd, case.mcse_sd),
    ];
    for expected in &case.quantiles {
        let level = Level::new(expected.level).expect("levels lie inside");
        let (size, error) = (ess::quantile(chains, level), mcse::quantile(chains, level));
        pairs.push((format!("ess at {}", expected.level), Some(size), Some(expected.ess)));
        pairs.push((format!("mcse at {}", expected.level), Some(error), Some(expected.mcse)));
    }
    let same = |found: Option<f64>, expected: Option<f64>| match (found, expected) {
        (Some(found), Some(expected)) => (found - expected).abs() <= TOLERANCE * expected.abs(),
        (found, expected) => found == expected,
    };
    let differ = pairs.into_iter().filter(|&(_, found, expected)| !same(found, expected));
    differ
        .map(|(what, found, expected)| format!("{}: {what} {found:?}, not {expected:?}", case.name))
        .collect()
}

#[test]
fn diagnostics_equal_the_reference_implementation() {
    let cases = cases();
    assert!(cases.len() >= 12, "only {} cases", cases.len());
    let all: Vec<String> = cases
        .iter()
        .flat_map(|case| differences(case, &Chains::new(&case.chains).expect("the file holds chains")))
        .collect();
    assert!(all.is_empty(), "{}", all.join("\n"));
}

/// Planted faults: the last draw left out, and the chains joined to one. Every case that varies must notice both.
#[test]
fn planted_faults_are_noticed() {
    for case in cases().iter().filter(|case| case.r_hat.is_some()) {
        let joined = Chains::new(&[case.chains.concat()]).expect("a longer chain");
        assert!(!differences(case, &joined).is_empty(), "{}: joined", case.name);
        let shorter: Vec<&[f64]> = case.chains.iter().map(|row| &row[..row.len() - 1]).collect();
        if let Ok(shorter) = Chains::new(&shorter) {
            assert!(!differences(case, &shorter).is_empty(), "{}: shorter", case.name);
        }
    }
}

/// Draws that are worth nothing are told from draws that are worth much, though both have that size by convention.
#[test]
fn constant_chains_are_told_apart() {
    for case in cases() {
        let chains = Chains::new(&case.chains).expect("the file holds chains");
        assert_eq!(chains.is_constant(), case.name == "constant", "{}", case.name);
    }
}
