//! How explanations change: each kernel leaves the law, raised to a power for annealing, as it is.

mod accept;
mod bends;
mod join;
mod part;
mod place;
mod shared;

use super::model::Model;
use super::state::State;
pub use accept::{Rates, Tried};
use rand::Rng;

/// Names of the proposals, in the order of the tallies.
pub const NAMES: [&str; 6] = ["place", "kind", "bends", "split or merge", "tails", "shared"];

/// Items taken off a leg or put on one in a sweep. Numerical choice.
const OFF_OR_ON: usize = 6;

/// Joins and cuts in a sweep. Numerical choice.
const JOINS: usize = 3;

/// One sweep: items placed anew, kinds and bends of lines, joins, what is shared. `beta` flattens the law where it is below one.
pub fn sweep(
    model: &Model,
    state: &mut State,
    beta: f64,
    rates: &mut Rates,
    counts: &mut [Tried; NAMES.len()],
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
