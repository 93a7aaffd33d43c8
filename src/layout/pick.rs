//! Drawing from lists: an index by its probability, and an outer state among those that allow a layout.

use rand::{Rng, RngExt};

/// An outer state by its probability among those of a list that allow a layout; `None` if none does.
pub fn listed_state<S>(
    probabilities: &[f64],
    state: impl Fn(usize) -> Option<S>,
    mut rng: &mut dyn Rng,
) -> Option<S> {
    let mut probabilities = probabilities.to_vec();
    while probabilities.iter().any(|p| *p > 0.0) {
        let drawn = pick(&probabilities, &mut rng);
        if let Some(state) = state(drawn) {
            return Some(state);
        }
        probabilities[drawn] = 0.0;
    }
    None
}

/// An index in proportion to probability.
pub fn pick(probabilities: &[f64], rng: &mut impl Rng) -> usize {
    let mut left = rng.random::<f64>() * probabilities.iter().sum::<f64>();
    let found = probabilities.iter().position(|p| {
        left -= p;
        left < 0.0
    });
    found.or_else(|| probabilities.iter().rposition(|p| *p > 0.0)).unwrap_or(0)
}
