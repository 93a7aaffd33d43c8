//! Branches of chains that hang on a draw: whether a proposal of the kernel and a swap of the ladder are made, by scripts and
//! hand-worked outcomes.

use super::Scripted;
use std::f64::consts::LN_2;
use underturf::mcmc::tempering::{accepted, swap_log_ratio, swap_offered};

/// A ratio of a quarter: made below that share of the word. The outcomes are exact but within an ulp of a quarter.
#[test]
fn a_proposal_is_made_below_its_ratio() {
    let made = |log_ratio: f64, script: &[f64]| accepted(log_ratio, &mut Scripted::shares(script));
    let quarter = -2.0 * LN_2;
    for (share, outcome) in [(0.0, true), (0.2499, true), (0.2501, false), (0.999, false)] {
        assert_eq!(made(quarter, &[share]), outcome, "{share}");
    }
    assert!(made(0.0, &[]) && made(1.5, &[]), "no word is drawn for what gains");
    assert!(!made(f64::NEG_INFINITY, &[0.0]), "the impossible is never made");
}

/// Neighbours half a unit apart on the ladder, the lower at energy 0 and the upper at 2 ln 2: the ratio is exp(0.5 (0 - 2 ln 2)),
/// a half. The other way round it is two.
#[test]
fn a_swap_is_made_below_its_chance() {
    let offer = |low: f64, high: f64, script: &[f64]| {
        swap_offered(swap_log_ratio(0.5, low, high), &mut Scripted::shares(script))
    };
    for (share, outcome) in [(0.4999, true), (0.5001, false)] {
        let (chance, made) = offer(0.0, 2.0 * LN_2, &[share]);
        // one exponential: an ulp
        assert!((chance - 0.5).abs() < 2e-16 && made == outcome, "{share}: {chance}");
    }
    assert_eq!(offer(2.0 * LN_2, 0.0, &[]), (1.0, true), "no word is drawn for what is sure");
    assert_eq!(offer(f64::NEG_INFINITY, 0.0, &[0.0]), (0.0, false), "what the target excludes stays below");
    assert_eq!(offer(0.0, f64::NEG_INFINITY, &[]), (1.0, true), "and goes down at once");
}

/// Planted: energies taken the wrong way round are noticed, by the outcome and by the word that is left.
#[test]
fn a_swap_upside_down_is_noticed() {
    let wrong = std::panic::catch_unwind(|| {
        swap_offered(swap_log_ratio(0.5, 2.0 * LN_2, 0.0), &mut Scripted::shares(&[0.5001]))
    });
    assert!(wrong.is_err());
}
