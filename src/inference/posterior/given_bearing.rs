//! What a draw is made from once its grid bearing is known: a pool of each observed system, and what findings come to.
//!
//! Known zones bring large pools, chains over zonings the small ones that their states carry; draws are made alike.

use super::attempts::Attempts;
use super::outer::Outer;
use super::pool::SystemPool;
use super::sums::Sums;
use crate::layout::OuterPrior;
use crate::strike::BySet;

/// Everything that a draw at one bearing depends on.
pub(super) struct GivenBearing<'p> {
    pub prior: &'p dyn OuterPrior,
    pub bearing: usize,
    pub sums: &'p Sums<'p>,
    /// The systems that observations bear on, by their numbers; the others are drawn from the prior.
    pub systems: Vec<(usize, SystemPool)>,
    pub attempts: &'p Attempts,
}

/// One system of a draw in the making.
pub(super) struct Chosen<'p> {
    pub outer: &'p Outer,
    /// For each set of the system's finds, the chance that nothing is met: of the outer state, then of its tree.
    pub missed: BySet<Vec<f64>>,
}
