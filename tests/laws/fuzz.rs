//! A slice of the fuzz of the slow suite (`tests/statistical/fuzz.rs`): careless and hostile documents, read and answered; and
//! polygons, digs and probes from bytes, which the slow suite leaves to this and to `fuzz/`.

use crate::mutator::Document;
use crate::mutator::answer::Wrong;
use crate::mutator::hostile::of_metal;
use crate::mutator::targets::{Outcome, answer};
use crate::mutator::{bytes, ground};
use std::collections::BTreeSet;
use underturf::effort::Effort;
use underturf::geometry::{Point, Polygon};
use underturf::settings::Settings;

/// Work for one answer, a fraction of what is usual: what takes more is given up, which is counted.
const EFFORT: u64 = Effort::USUAL / 1_000;

/// Two thousand documents are read or refused with a typed error; a panic fails the test. Both ends must occur: a mutator that
/// breaks everything or nothing tests nothing.
#[test]
fn two_thousand_documents_are_read_or_refused() {
    let read = (0..2_000).filter(|&seed| Document::of(seed).read().is_ok()).count();
    assert!((400..1_700).contains(&read), "{read} of 2,000 are read");
}

/// Of 6,000 hostile documents every setting of metal is in some, and most of these are read; so is an accuracy at 95 % of each thing
/// that may have one. Planted fault: settings picked from all alike are missed, since each is one of more than a hundred.
#[test]
fn the_mutator_knows_settings_of_metal_and_accuracies() {
    let fields: Vec<&str> =
        Settings::FIELDS.iter().filter(|field| of_metal(field)).map(|field| field.name).collect();
    assert!(fields.len() >= 45, "{}", fields.len());
    let (mut met, mut good, mut changed, mut read) = (BTreeSet::new(), [0; 3], 0, 0);
    for document in (0..6_000).map(Document::hostile) {
        let Document::Tree(value) = &document else { continue };
        for (count, list) in good.iter_mut().zip(["heads", "flags", "marks"]) {
            let given = |it: &serde_json::Value| it.get("accuracy_95").is_some();
            *count += usize::from(value[list].as_array().into_iter().flatten().any(given));
        }
        let found: Vec<&str> =
            fields.iter().copied().filter(|name| value["settings"].get(*name).is_some()).collect();
        if !found.is_empty() {
            changed += 1;
            read += usize::from(document.read().is_ok());
            met.extend(found);
        }
    }
    let missed: Vec<&&str> = fields.iter().filter(|name| !met.contains(**name)).collect();
    assert!(missed.is_empty(), "{missed:?}");
    assert!(2 * read > changed && good.iter().all(|count| *count > 100), "{read} of {changed}, {good:?}");
}

/// Forty hostile documents of few heads, all labelled, answered: every dig, a coarse map, a planned probe, ranks and spots; no
/// panic, no error but those that say that there is no answer, no probability outside (0, 1), no more work than was allowed.
/// Sites that need chains, over zones or over metal lines, or have lines drawn are left to the slow suite.
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
        let metal = !(site.flags.is_empty() && site.marks.is_empty() && site.services.is_empty());
        if metal
            || site.heads.len() > 4
            || site.probes.len() > 5
            || !labelled
            || !site.sketches.is_empty()
            || fine
        {
            continue;
        }
        let outcome = answer(site, EFFORT).unwrap_or_else(|wrong| panic!("seed {seed}: {wrong}"));
        answered += usize::from(outcome == Outcome::Answered);
    }
}

/// Runs a target on bytes of so many seeds: how many were read, and how many answered.
fn run(seeds: u64, target: impl Fn(&[u8]) -> Result<Outcome, String>) -> [usize; 2] {
    let mut counts = [0; 2];
    for seed in 0..seeds {
        let outcome = target(&bytes::of_seed(seed)).unwrap_or_else(|wrong| panic!("seed {seed}: {wrong}"));
        counts[0] += usize::from(outcome != Outcome::Refused);
        counts[1] += usize::from(outcome == Outcome::Answered);
    }
    counts
}

/// Five thousand polygons from bytes. Simple ones, which are held to all laws, and others must both occur.
#[test]
fn five_thousand_polygons_keep_their_laws() {
    let [simple, _] = run(5_000, ground::polygon);
    assert!((500..4_500).contains(&simple), "{simple} of 5,000 are simple");
}

/// Three thousand lists of digs from bytes, refused or answered.
#[test]
fn three_thousand_lists_of_digs_are_refused_or_answered() {
    let [_, answered] = run(3_000, ground::digs);
    assert!((200..2_800).contains(&answered), "{answered} of 3,000 are answered");
}

/// Six hundred lists of probes from bytes, refused or answered.
#[test]
fn six_hundred_lists_of_probes_are_refused_or_answered() {
    let [_, answered] = run(600, |data| ground::probes(data, EFFORT));
    assert!((60..550).contains(&answered), "{answered} of 600 are answered");
}

/// Planted fault: a polygon that does not contain its border, and one that is taken for its box, are noticed.
#[test]
fn polygons_without_border_or_corners_are_noticed() {
    let seeds = || (0..2_000).map(bytes::of_seed);
    let open = |polygon: &Polygon, p: Point| polygon.contains(p) && polygon.distance_to_boundary(p) > 0.0;
    assert!(seeds().any(|data| ground::polygon_by(&data, &open).is_err()));
    let boxed = |polygon: &Polygon, p: Point| {
        let (low, high) = polygon.bounds();
        (low.x..=high.x).contains(&p.x) && (low.y..=high.y).contains(&p.y)
    };
    assert!(seeds().any(|data| ground::polygon_by(&data, &boxed).is_err()));
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
