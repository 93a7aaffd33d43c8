//! Chances that no draw hit: what can be said when an indicator never moved.
//!
//! Such an indicator has no R-hat and no effective size of its own. If the trees that it depends on were worth ESS independent
//! draws, ESS draws without a hit bound its chance: the 95 % point of Beta(1, ESS + 1), the posterior of a flat prior.

/// A one-sided 95 % bound of a chance whose indicator never moved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Bound {
    /// No draw hit: the chance is at most this.
    AtMost(f64),
    /// Every draw hit: the chance is at least this.
    AtLeast(f64),
}

/// Chance left outside a bound.
const OUTSIDE: f64 = 0.05;

/// Upper 95 % bound of a chance that `ess` effective draws did not hit: 1 - 0.05^(1 / (ess + 1)).
///
/// The size must not be negative; a size that is not a number gives none.
#[must_use]
pub fn upper_bound_without_hits(ess: f64) -> f64 {
    -(OUTSIDE.ln() / (ess + 1.0)).exp_m1()
}

impl Bound {
    /// The bound for an indicator that is the same in all draws; `None` if that is neither 0 nor 1, which is no hit or
    /// miss but a chance that each draw agrees on.
    pub(super) fn of_constant(value: f64, ess: f64) -> Option<Self> {
        let upper = upper_bound_without_hits(ess);
        if value == 0.0 {
            Some(Self::AtMost(upper))
        } else {
            (value == 1.0).then_some(Self::AtLeast(1.0 - upper))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use statrs::distribution::{Beta, ContinuousCDF};

    #[test]
    fn is_the_beta_point() {
        for ess in [0.0, 1.0, 19.5, 400.0, 4_000.0] {
            let below = Beta::new(1.0, ess + 1.0).unwrap().cdf(upper_bound_without_hits(ess));
            assert_relative_eq!(below, 0.95, max_relative = 1e-10);
        }
        // By hand: none of 0 draws leaves 95 %; one of two unknown halves.
        assert_relative_eq!(upper_bound_without_hits(0.0), 0.95, max_relative = 1e-14);
        assert_relative_eq!(upper_bound_without_hits(1.0), 1.0 - 0.05_f64.sqrt(), max_relative = 1e-14);
    }

    #[test]
    fn hits_throughout_are_the_mirror_image() {
        assert_eq!(Bound::of_constant(0.0, 1.0), Some(Bound::AtMost(upper_bound_without_hits(1.0))));
        let Some(Bound::AtLeast(lower)) = Bound::of_constant(1.0, 400.0) else { panic!("a lower bound") };
        assert_relative_eq!(lower, 1.0 - upper_bound_without_hits(400.0));
        assert_eq!(Bound::of_constant(0.25, 400.0), None);
    }
}
