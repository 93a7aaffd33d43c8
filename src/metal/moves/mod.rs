//! How explanations change: each kernel leaves the law, raised to a power for annealing, as it is.

mod bends;
mod join;
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

/// One sweep: every flag placed anew, kinds and bends of every line, joins, what is shared. `beta` flattens the law where it is
/// below one.
pub fn sweep(model: &Model, state: &mut State, beta: f64, counts: &mut [Tried; 6], rng: &mut impl Rng) {
    place::items(model, state, beta, &mut counts[0], rng);
    bends::kinds(model, state, beta, &mut counts[1], rng);
    bends::bends(model, state, beta, &mut counts[2], rng);
    for _ in 0..2 + state.lines.len() {
        join::split_or_merge(model, state, beta, &mut counts[3], rng);
        join::tails(model, state, beta, &mut counts[4], rng);
    }
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
