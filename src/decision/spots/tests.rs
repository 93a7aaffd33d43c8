//! The search against plain enumeration of every choice, and its bound.

use super::bound::lower_bound;
use super::*;
use crate::monitor::Unwatched;
use crate::rng::stream;
use approx::assert_relative_eq;
use rand::RngExt;

/// Places at random in a square of 6 m, with costs between 0 and 1, some alike.
fn places(count: usize, seed: u64) -> Vec<Candidate> {
    let mut rng = stream(31, seed);
    let mut all: Vec<Candidate> = (0..count)
        .map(|k| Candidate {
            at: Point::new(rng.random_range(0.0..6.0), rng.random_range(0.0..6.0)),
            cost: f64::from(rng.random_range(0..40)) / 40.0,
            cell: (0, k),
        })
        .collect();
    all.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    all
}

/// Every choice of `n` places that are apart: the least total, if there is one.
fn brute(all: &[Candidate], n: usize, spacing_m: f64) -> Option<f64> {
    let subsets = (0u32..1 << all.len()).filter(|bits| bits.count_ones() as usize == n);
    let chosen = subsets.map(|bits| (0..all.len()).filter(|k| bits >> k & 1 == 1).collect::<Vec<usize>>());
    let sound = chosen.filter(|of| {
        of.iter().all(|&a| of.iter().all(|&b| a == b || all[a].at.distance(all[b].at) >= spacing_m))
    });
    sound.map(|of| of.iter().map(|&k| all[k].cost).sum::<f64>()).min_by(f64::total_cmp)
}

#[test]
fn small_questions_are_solved_as_by_brute_force() {
    let (mut solved, mut refused, mut greedy_was_worse) = (0, 0, 0);
    for seed in 0..60 {
        let all = places(13, seed);
        let (n, spacing) = (2 + (seed % 4) as usize, 1.0 + 0.4 * (seed % 7) as f64);
        let question = Question::alike(all.clone(), n, spacing);
        match (brute(&all, n, spacing), choose(&question, STEPS, &Unwatched)) {
            (Some(least), Ok(choice)) => {
                let total = question.total(&choice.chosen);
                assert_relative_eq!(total, least, epsilon = 1e-12);
                assert!(choice.exact && choice.chosen.len() == n);
                let pairs = choice.chosen.iter().flat_map(|&a| choice.chosen.iter().map(move |&b| (a, b)));
                assert!(pairs.filter(|(a, b)| a != b).all(|(a, b)| question.apart(a, b)));
                let order: Vec<usize> = (0..all.len()).collect();
                let quick = greedy::take(&question, &[order]);
                greedy_was_worse += usize::from(quick.len() < n || question.total(&quick) > least + 1e-9);
                solved += 1;
            }
            (None, Err(Error::NoRoom { asked, fit, proven, candidates })) => {
                assert!(proven && asked == n && candidates == 13);
                assert!(brute(&all, fit, spacing).is_some() && brute(&all, fit + 1, spacing).is_none());
                refused += 1;
            }
            (least, found) => panic!("{least:?} by brute force, {:?}", found.map(|choice| choice.chosen)),
        }
    }
    // Planted fault: cheapest first alone would fail on some of these.
    assert!(solved >= 30 && refused >= 3 && greedy_was_worse >= 5, "{solved} {refused} {greedy_was_worse}");
}

#[test]
fn the_bound_holds_and_beats_the_sum_of_the_least_costs() {
    let mut sharper = 0;
    for seed in 100..160 {
        let all = places(13, seed);
        let (n, spacing) = (3, 1.2 + 0.2 * (seed % 5) as f64);
        let bound = lower_bound(&all, n, spacing);
        let plain: f64 = all[..n].iter().map(|place| place.cost).sum();
        assert!(bound >= plain - 1e-12);
        sharper += usize::from(bound > plain + 1e-9);
        if let Some(least) = brute(&all, n, spacing) {
            assert!(bound <= least + 1e-12, "{bound} {least}");
        }
    }
    assert!(sharper >= 10, "{sharper}");
}

/// Planted fault: squares with a diagonal above the spacing hold two spots, and the "bound" exceeds the optimum.
#[test]
fn squares_that_are_too_wide_give_no_bound() {
    let near = |x: f64, cost| Candidate { at: Point::new(x, 0.1), cost, cell: (0, 0) };
    let all = [near(0.1, 0.0), near(1.2, 0.0), near(9.0, 1.0)];
    assert_eq!(brute(&all, 2, 1.0), Some(0.0));
    assert_eq!(lower_bound(&all, 2, 1.0), 0.0);
    assert!(lower_bound(&all, 2, 3.0) > 0.0, "with squares made for another spacing");
}

/// Where the steps run out the choice is no better than the bound, and says that it is not proven.
#[test]
fn large_questions_state_a_gap() {
    let mut all = places(900, 5);
    all.iter_mut().for_each(|place| place.cost += 0.1);
    let question = Question::alike(all, 9, 1.7);
    let choice = choose(&question, 2_000, &Unwatched).expect("room for nine");
    let total = question.total(&choice.chosen);
    assert!(!choice.exact && choice.lower_bound <= total && choice.lower_bound > 0.8, "{total}");
    let best = choose(&question, STEPS, &Unwatched).expect("room for nine");
    assert!(question.total(&best.chosen) <= total + 1e-12);
    assert!(choice.lower_bound <= question.total(&best.chosen) + 1e-12);
}

struct Stopped;

impl Monitor for Stopped {
    fn tick(&self, _done: usize, _total: usize) -> bool {
        false
    }
}

#[test]
fn a_long_search_can_be_stopped() {
    let question = Question::alike(places(900, 6), 12, 1.6);
    assert!(matches!(choose(&question, STEPS, &Stopped), Err(Error::Interrupted)));
}

/// Two kinds of holes, each with its own costs and width, against every choice: centres keep as far apart as the two kinds
/// need. Planted fault: with the spacing of the narrower kind throughout, a better total than any sound choice is found.
#[test]
fn holes_of_two_kinds_are_placed_as_by_brute_force() {
    let (mut solved, mut cheated) = (0, 0);
    for seed in 200..240 {
        let kinds = [places(8, seed), places(8, seed + 1000)];
        let question = Question {
            places: kinds.to_vec(),
            counts: vec![2, 1 + (seed % 2) as usize],
            spacing_m: vec![vec![2.4, 1.8], vec![1.8, 1.2]],
        };
        let picks: Vec<Pick> = (0..16).map(|k| (k / 8, k % 8)).collect();
        let sound = |bits: u32| {
            let of: Vec<Pick> =
                picks.iter().enumerate().filter(|(k, _)| bits >> k & 1 == 1).map(|(_, p)| *p).collect();
            let counted =
                (0..2).all(|kind| of.iter().filter(|p| p.0 == kind).count() == question.counts[kind]);
            let apart = of.iter().all(|&a| of.iter().all(|&b| a == b || question.apart(a, b)));
            (counted && apart).then(|| question.total(&of))
        };
        let least = (0u32..1 << 16).filter_map(sound).min_by(f64::total_cmp);
        match (least, choose(&question, STEPS, &Unwatched)) {
            (Some(least), Ok(choice)) => {
                assert_relative_eq!(question.total(&choice.chosen), least, epsilon = 1e-12);
                assert!(choice.exact && bound::of_question(&question) <= least + 1e-12);
                let narrow = Question {
                    places: kinds.to_vec(),
                    counts: question.counts.clone(),
                    spacing_m: vec![vec![1.2; 2]; 2],
                };
                let wrong = choose(&narrow, STEPS, &Unwatched).expect("room");
                cheated += usize::from(narrow.total(&wrong.chosen) < least - 1e-9);
                solved += 1;
            }
            (None, Err(Error::NoRoom { .. })) => {}
            (least, _) => panic!("{least:?} by brute force"),
        }
    }
    assert!(solved >= 20 && cheated >= 5, "{solved} {cheated}");
}
