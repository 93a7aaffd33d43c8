//! What all kernels share: tallies, and the ratio of Metropolis and Hastings.

use crate::metal::state::State;
use rand::{Rng, RngExt};

/// Tallies of tried and accepted proposals by kind.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tried {
    /// Proposals tried.
    pub tried: u64,
    /// Proposals taken.
    pub taken: u64,
}

impl Tried {
    pub(super) fn count(&mut self, taken: bool) {
        self.tried += 1;
        self.taken += u64::from(taken);
    }
}

/// Takes a proposal by the ratio of Metropolis and Hastings.
pub(super) fn accept(
    state: &mut State,
    proposed: Option<State>,
    log_ratio: f64,
    beta: f64,
    counts: &mut Tried,
    rng: &mut impl Rng,
) {
    let taken = proposed.filter(|to| {
        let log = beta * (to.log_density - state.log_density) + log_ratio;
        log >= 0.0 || rng.random::<f64>() < log.exp()
    });
    counts.count(taken.is_some());
    if let Some(taken) = taken {
        *state = taken;
    }
}
