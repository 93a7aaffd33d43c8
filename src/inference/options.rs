//! What is asked of a sampling: how many draws, how long to go on, and how much work it may take.

use crate::effort::Effort;
use crate::mcmc::diagnostics::Thresholds;

/// How many layouts to draw, and from which seed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SampleOptions {
    /// Number of draws, at least [`Self::LEAST_DRAWS`]. Chains give all draws that the convergence checks judged, which may be more.
    pub draws: usize,
    /// Seed; the draws depend on it alone, not on the number of threads.
    pub seed: u64,
}

impl SampleOptions {
    /// Fewest draws: one has no error estimate.
    pub const LEAST_DRAWS: usize = 2;
}

/// How long to go on, and where zones are not known and chains over them do not agree yet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RunBudget {
    /// Chains are lengthened by doubling until they are this many times as long as at first.
    pub longest: usize,
    /// Whether an answer that did not pass is given all the same, marked as such.
    pub accept_unconverged: bool,
    /// Thresholds of the convergence checks.
    pub thresholds: Thresholds,
    /// Most work that the call may take, in the units of [`Effort`].
    pub effort: u64,
}

impl Default for RunBudget {
    fn default() -> Self {
        Self {
            longest: 16,
            accept_unconverged: false,
            thresholds: Thresholds::default(),
            effort: Effort::USUAL,
        }
    }
}
