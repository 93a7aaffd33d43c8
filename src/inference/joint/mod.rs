//! One posterior over zonings, bearing and outer states where zones are not known: what is sampled, and how.
//!
//! A state has a zoning, a grid bearing and, where probes were dug, a pool of outer states for each system; trees and run
//! attributes are summed over. Its density is the zoning prior (`model::ZoningPrior`) times the prior of bearings and outer
//! states times the chance of all that probes saw. The reference of tempering is what the weighted trees of the zones,
//! labels and station tests say, and ways to valves, flows and kinds in part; their rest, the probes and psi come in with
//! beta. Where psi is not one a state holds a whole layout, since psi looks at that.

mod density;
mod kernel;
mod pools;
mod state;
mod system_priors;

use crate::inference::proposals::Zoning;
use crate::mcmc::tempering::{Counts, Target};
use crate::rng::Stream;
use crate::spanning_tree::Scratch;
use density::EASY;
pub use density::Joint;
pub use state::{Layout, State};
pub use system_priors::SystemPriors;

impl Target for Joint<'_> {
    type State = State;

    fn reference(&self, rng: &mut Stream) -> State {
        let zoning = Zoning::start(self.zoning_prior, &mut Scratch::default(), rng);
        State::start(self, zoning, rng)
    }

    fn independent(&self) -> bool {
        false
    }

    fn energy(&self, state: &State) -> f64 {
        (1.0 - EASY) * state.zoning.log_prior + state.log_chance + state.log_psi()
    }

    fn explore(&self, state: &mut State, beta: f64, rng: &mut Stream, counts: &mut Counts) {
        kernel::sweep(self, state, beta, rng, counts);
    }

    fn is_spent(&self) -> bool {
        self.effort.is_spent()
    }
}
