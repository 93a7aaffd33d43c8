//! How explanations change: each kernel leaves the law, raised to a power for annealing, as it is.

mod bends;
mod join;
mod part;
mod place;
mod shared;

use super::model::Model;
use super::state::State;
use rand::Rng;

/// Tallies of tried and accepted proposals by kind.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tried {
    /// Proposals tried.
    pub tried: u64,
    /// Proposals taken.
    pub taken: u64,
}

impl Tried {
    fn count(&mut self, taken: bool) {
        self.tried += 1;
        self.taken += u64::from(taken);
    }
}

/// Names of the proposals, in the order of the tallies.
pub const NAMES: [&str; 6] = ["place", "kind", "bends", "split or merge", "tails", "shared"];

/// How often what is asked: tuned while warming up, then left alone, so that it never depends on the state.
#[derive(Clone, Debug)]
pub struct Rates {
    /// For each item, the chance that a sweep asks it.
    item: Vec<f64>,
    /// For each item, how often it was asked and how often it moved.
    seen: Vec<(f64, f64)>,
}

/// Chance that a sweep asks an item that was never seen to move, and the greatest chance. Numerical choices.
const RARELY: f64 = 0.04;
const OFTEN: f64 = 0.9;

/// Chances that a sweep asks a line for its kinds and its bends. Numerical choices, by price.
const KINDS: f64 = 0.3;
const BENDS: f64 = 0.2;

/// Items taken off a leg or put on one in a sweep. Numerical choice.
const OFF_OR_ON: usize = 6;

/// Joins and exchanges of tails in a sweep. Numerical choice.
const JOINS: usize = 3;

impl Rates {
    /// Every item half of the time.
    pub fn new(items: usize) -> Self {
        Self { item: vec![0.5; items], seen: vec![(0.0, 0.0); items] }
    }

    /// Items that moved are asked more often from now on.
    pub fn tune(&mut self) {
        for (rate, (asked, moved)) in self.item.iter_mut().zip(&mut self.seen) {
            *rate = (RARELY + 6.0 * (*moved + 0.02) / (*asked + 2.0)).min(OFTEN);
            (*asked, *moved) = (0.0, 0.0);
        }
    }
}

/// One sweep: items placed anew, kinds and bends of lines, joins, what is shared. `beta` flattens the law where it is below one.
pub fn sweep(
    model: &Model,
    state: &mut State,
    beta: f64,
    rates: &mut Rates,
    counts: &mut [Tried; 6],
    rng: &mut impl Rng,
) {
    place::items(model, state, beta, rates, &mut counts[0], rng);
    for _ in 0..OFF_OR_ON {
        place::off_or_on(model, state, beta, &mut counts[0], rng);
    }
    bends::kinds(model, state, beta, &mut counts[1], rng);
    bends::bends(model, state, beta, &mut counts[2], rng);
    for _ in 0..JOINS {
        join::split_or_merge(model, state, beta, &mut counts[3], rng);
    }
    join::tails(model, state, beta, &mut counts[4], rng);
    shared::shared(model, state, beta, &mut counts[5], rng);
}

/// Takes a proposal by the ratio of Metropolis and Hastings.
fn accept(
    state: &mut State,
    proposed: Option<State>,
    log_ratio: f64,
    beta: f64,
    counts: &mut Tried,
    rng: &mut impl Rng,
) {
    use rand::RngExt;
    let taken = proposed.filter(|to| {
        let log = beta * (to.log_density - state.log_density) + log_ratio;
        log >= 0.0 || rng.random::<f64>() < log.exp()
    });
    counts.count(taken.is_some());
    if let Some(taken) = taken {
        *state = taken;
    }
}
