//! What the engine needs to know of a law.

use super::Counts;
use crate::rng::Stream;

/// A law given as reference x exp(energy), and how to move along the path from the one to the other.
///
/// At inverse temperature b the law is pi_b, proportional to reference x exp(b x energy): b = 0 is the reference, b = 1 the
/// target.
pub trait Target: Sync {
    /// A state. One that is dear to evaluate may carry its own energy: it is asked for once after each exploration.
    type State: Clone + Send;

    /// A draw of the reference, independent of everything before if [`Target::independent`], else somewhere to start.
    fn reference(&self, rng: &mut Stream) -> Self::State;

    /// Whether [`Target::reference`] draws the reference exactly. The chain at b = 0 then takes a fresh draw every sweep.
    fn independent(&self) -> bool;

    /// Log density ratio of target and reference, up to a constant that does not depend on the state. It may be minus
    /// infinity (the target excludes the state), never plus infinity.
    fn energy(&self, state: &Self::State) -> f64;

    /// Moves the state by a kernel that leaves pi_b unchanged, noting in `counts` each move tried. A chain may start in a
    /// state of energy minus infinity: the kernel must be able to leave it. At `beta` = 0 it is asked only if the reference
    /// is not independent; minus infinity times 0 counts as 0 there.
    fn explore(&self, state: &mut Self::State, beta: f64, rng: &mut Stream, counts: &mut Counts);

    /// Whether more work was done than is allowed: the run is then given up. Asked after every exploration.
    fn is_spent(&self) -> bool {
        false
    }
}

impl<T: Target> Target for &T {
    type State = T::State;

    fn reference(&self, rng: &mut Stream) -> Self::State {
        (**self).reference(rng)
    }

    fn independent(&self) -> bool {
        (**self).independent()
    }

    fn energy(&self, state: &Self::State) -> f64 {
        (**self).energy(state)
    }

    fn explore(&self, state: &mut Self::State, beta: f64, rng: &mut Stream, counts: &mut Counts) {
        (**self).explore(state, beta, rng, counts);
    }

    fn is_spent(&self) -> bool {
        (**self).is_spent()
    }
}
