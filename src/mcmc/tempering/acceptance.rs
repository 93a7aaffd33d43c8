//! Whether a proposal of a kernel is made: the rule of Metropolis and Hastings.

use rand::{Rng, RngExt};

/// Whether a proposal of this log acceptance ratio is made. One word is drawn where the ratio is below one, and none else.
///
/// # Examples
/// ```
/// use underturf::{mcmc::tempering::accepted, rng::stream};
/// let mut rng = stream(7, 0);
/// assert!(accepted(0.0, &mut rng));
/// assert!(!accepted(f64::NEG_INFINITY, &mut rng));
/// ```
pub fn accepted(log_ratio: f64, rng: &mut impl Rng) -> bool {
    log_ratio >= 0.0 || rng.random::<f64>() < log_ratio.exp()
}
