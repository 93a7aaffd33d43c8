//! What output has to pass before it is reported, and what is said when it does not.

use std::fmt;

/// Limits on diagnostics. A limit that is not a number lets nothing pass.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thresholds {
    /// R-hat must lie below this.
    pub r_hat: f64,
    /// Effective size must lie above this, bulk and tail.
    pub ess: f64,
    /// The standard error of a reported chance p must be at most the greater of this ...
    pub mcse_floor: f64,
    /// ... and this share of p.
    pub mcse_share: f64,
}

impl Default for Thresholds {
    /// R-hat below 1.01 and effective sizes above 400 (Vehtari et al. 2021, section 4); error of a chance at most 0.01 or
    /// a tenth of it (our choice: digging advice turns on nothing finer).
    fn default() -> Self {
        Self { r_hat: 1.01, ess: 400.0, mcse_floor: 0.01, mcse_share: 0.1 }
    }
}

impl Thresholds {
    /// Greatest standard error allowed for a reported chance.
    #[must_use]
    pub fn mcse_limit(&self, p: f64) -> f64 {
        let share = self.mcse_share * p;
        // `max` alone would pass over what is no number.
        if self.mcse_floor.is_nan() || share.is_nan() { f64::NAN } else { self.mcse_floor.max(share) }
    }
}

/// A convergence check that a quantity did not pass.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Failure {
    /// One chain cannot be compared with another.
    OneChain {
        /// Name of the quantity.
        quantity: String,
    },
    /// Chains disagree.
    RHat {
        /// Name of the quantity.
        quantity: String,
        /// Its R-hat.
        value: f64,
        /// The limit.
        limit: f64,
    },
    /// Too few effective draws for the bulk.
    EssBulk {
        /// Name of the quantity.
        quantity: String,
        /// Its effective size.
        value: f64,
        /// The limit.
        limit: f64,
    },
    /// Too few effective draws for the tails.
    EssTail {
        /// Name of the quantity.
        quantity: String,
        /// Its effective size.
        value: f64,
        /// The limit.
        limit: f64,
    },
    /// A chance is not known closely enough to be reported.
    Mcse {
        /// Name of the quantity.
        quantity: String,
        /// Its chance.
        p: f64,
        /// Standard error of that.
        value: f64,
        /// The limit.
        limit: f64,
    },
}

impl Failure {
    /// Name of the quantity that failed.
    #[must_use]
    pub fn quantity(&self) -> &str {
        match self {
            Self::OneChain { quantity }
            | Self::RHat { quantity, .. }
            | Self::EssBulk { quantity, .. }
            | Self::EssTail { quantity, .. }
            | Self::Mcse { quantity, .. } => quantity,
        }
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OneChain { quantity } => {
                write!(f, "{quantity}: there is one chain; at least 2 are needed to see whether they agree")
            }
            Self::RHat { quantity, value, limit } => {
                write!(f, "{quantity}: the chains disagree, R-hat is {value:.4}; it must be below {limit}")
            }
            Self::EssBulk { quantity, value, limit } => {
                write!(
                    f,
                    "{quantity}: the bulk rests on {value:.1} effective draws; it needs more than {limit}"
                )
            }
            Self::EssTail { quantity, value, limit } => {
                write!(
                    f,
                    "{quantity}: the tails rest on {value:.1} effective draws; they need more than {limit}"
                )
            }
            Self::Mcse { quantity, p, value, limit } => {
                write!(
                    f,
                    "{quantity}: the chance {p:.4} has a standard error of {value:.4}; it must be at most {limit:.4}"
                )
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn limit_grows_with_the_chance() {
        let thresholds = Thresholds::default();
        assert_relative_eq!(thresholds.mcse_limit(0.02), 0.01);
        assert_relative_eq!(thresholds.mcse_limit(0.5), 0.05);
    }

    #[test]
    fn sentences_say_what_failed_its_value_and_the_limit() {
        let quantity = || "strike at d1".to_owned();
        let r_hat = Failure::RHat { quantity: quantity(), value: 1.0321, limit: 1.01 };
        assert_eq!(
            r_hat.to_string(),
            "strike at d1: the chains disagree, R-hat is 1.0321; it must be below 1.01"
        );
        let mcse = Failure::Mcse { quantity: quantity(), p: 0.2, value: 0.05, limit: 0.02 };
        assert_eq!(
            mcse.to_string(),
            "strike at d1: the chance 0.2000 has a standard error of 0.0500; it must be at most 0.0200"
        );
        assert_eq!(mcse.quantity(), "strike at d1");
    }
}
