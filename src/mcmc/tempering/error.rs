//! What can go wrong, each with the value that broke the rule.

/// An error of tempering.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// An option is out of its range.
    #[error("{name} = {value} is out of range: {allowed}")]
    BadOption {
        /// Name of the option.
        name: &'static str,
        /// The value given.
        value: usize,
        /// What is allowed.
        allowed: &'static str,
    },
    /// Inverse temperatures that do not rise strictly from 0 to 1.
    #[error("inverse temperatures must rise strictly from 0 to 1: {betas:?}")]
    BadLadder {
        /// The values given.
        betas: Vec<f64>,
    },
    /// The target gave an energy that no log density ratio can be.
    #[error("energy {energy} at inverse temperature {beta}: it must be finite or minus infinity")]
    BadEnergy {
        /// The energy.
        energy: f64,
        /// Where on the path.
        beta: f64,
    },
    /// The target excludes every state that was reached.
    #[error("no state with a finite energy was found: the target excludes all that was reached")]
    OutsideTarget,
    /// The target allows no more work.
    #[error("given up: more work than is allowed")]
    Spent,
    /// The monitor stopped the computation.
    #[error("stopped before it was finished")]
    Interrupted,
}
