//! A slice of the fuzz of the slow suite (`tests/statistical/fuzz.rs`): careless and hostile documents, read and answered.

use crate::mutator::Document;
use crate::mutator::answer::Wrong;
use crate::mutator::targets::{Outcome, answer};
use underturf::effort::Effort;

/// Work for one answer, a fraction of what is usual: what takes more is given up, which is counted.
const EFFORT: u64 = Effort::USUAL / 1_000;

/// Two thousand documents are read or refused with a typed error; a panic fails the test. Both ends must occur: a mutator that
/// breaks everything or nothing tests nothing.
#[test]
fn two_thousand_documents_are_read_or_refused() {
    let read = (0..2_000).filter(|&seed| Document::of(seed).read().is_ok()).count();
    assert!((400..1_700).contains(&read), "{read} of 2,000 are read");
}

/// Forty hostile documents of few heads, all labelled, answered: every dig, a coarse map, a planned probe, ranks and spots; no
/// panic, no error but those that say that there is no answer, no probability outside (0, 1), no more work than was allowed.
/// Sites that need chains or have lines drawn are left to the slow suite.
#[test]
fn forty_hostile_documents_are_answered_with_probabilities() {
    let (mut answered, mut seed) = (0, 0);
    while answered < 40 {
        assert!(seed < 4_000, "{answered} answered");
        seed += 1;
        let Ok(site) = Document::hostile(seed).read() else { continue };
        let labelled = site.heads.iter().all(|head| head.zone.is_some());
        // Fine grids of bearings and headers make many outer states.
        let fine =
            ["grid_step_deg", "header_step_m"].iter().any(|name| site.document.settings.contains_key(*name));
        if site.heads.len() > 4 || site.probes.len() > 5 || !labelled || !site.sketches.is_empty() || fine {
            continue;
        }
        let outcome = answer(site, EFFORT).unwrap_or_else(|wrong| panic!("seed {seed}: {wrong}"));
        answered += usize::from(outcome == Outcome::Answered);
    }
}

/// Planted fault: what is no probability is noticed.
#[test]
fn what_is_no_probability_is_noticed() {
    let mut wrong = Wrong::default();
    for p in [0.0, 1.0, -1e-16, f64::NAN, 1.0 + 1e-16 + f64::EPSILON] {
        wrong.hold("planted", p);
    }
    [1e-9, 0.5, 1.0 - 1e-9].into_iter().for_each(|p| wrong.hold("fine", p));
    assert_eq!(wrong.0.len(), 5, "{:?}", wrong.0);
}
