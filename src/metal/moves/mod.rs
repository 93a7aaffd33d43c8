//! How explanations change: each kernel leaves the law, raised to a power for annealing, as it is.

mod accept;
mod bends;
mod exchange;
mod gather;
mod guess;
mod join;
mod left;
mod part;
mod place;
mod rates;
mod shared;
mod tails;

use super::model::Model;
use super::state::State;
pub use accept::Tried;
pub use exchange::exchange;
use rand::{Rng, RngExt};
pub use rates::Rates;

/// Names of the proposals, in the order of the tallies.
pub const NAMES: [&str; 8] =
    ["place", "kind", "bends", "split or merge", "tails", "gather", "shared", "exchange"];

/// Items taken off a leg or put on one in a sweep. Numerical choice.
const OFF_OR_ON: usize = 2;

/// Joins and cuts in a sweep, strays gathered or given up, and the chance that tails are exchanged. Numerical choices.
const JOINS: usize = 1;
const GATHERS: usize = 4;
const TAILS: f64 = 0.25;

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
    if rng.random::<f64>() < TAILS {
        tails::tails(model, state, beta, &mut counts[4], rng);
    }
    for _ in 0..GATHERS {
        gather::gather(model, state, beta, &mut counts[5], rng);
    }
    shared::shared(model, state, beta, &mut counts[6], rng);
}
