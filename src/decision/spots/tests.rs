//! The search against plain enumeration of every choice, and its bound.

use super::bound::lower_bound;
use super::candidates::apart;
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
        match (brute(&all, n, spacing), choose(&all, n, spacing, STEPS, &Unwatched)) {
            (Some(least), Ok(choice)) => {
                let total = exact::total(&all, &choice.chosen);
                assert_relative_eq!(total, least, epsilon = 1e-12);
                assert!(choice.exact && choice.chosen.len() == n);
                let pairs = choice.chosen.iter().flat_map(|&a| choice.chosen.iter().map(move |&b| (a, b)));
                assert!(pairs.filter(|(a, b)| a != b).all(|(a, b)| apart(&all[a], &all[b], spacing)));
                let order: Vec<usize> = (0..all.len()).collect();
                let quick = greedy::take(&all, &order, n, spacing);
                greedy_was_worse += usize::from(quick.len() < n || exact::total(&all, &quick) > least + 1e-9);
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
    let choice = choose(&all, 9, 1.7, 2_000, &Unwatched).expect("room for nine");
    let total = exact::total(&all, &choice.chosen);
    assert!(!choice.exact && choice.lower_bound <= total && choice.lower_bound > 0.8, "{total}");
    let best = choose(&all, 9, 1.7, STEPS, &Unwatched).expect("room for nine");
    assert!(exact::total(&all, &best.chosen) <= total + 1e-12);
    assert!(choice.lower_bound <= exact::total(&all, &best.chosen) + 1e-12);
}

struct Stopped;

impl Monitor for Stopped {
    fn tick(&self, _done: usize, _total: usize) -> bool {
        false
    }
}

#[test]
fn a_long_search_can_be_stopped() {
    let all = places(900, 6);
    assert!(matches!(choose(&all, 12, 1.6, STEPS, &Stopped), Err(Error::Interrupted)));
}
