//! All that is usually asked of one scalar, each part worked out once.

use super::chains::Chains;
use super::{ess, mcse, r_hat};

/// Diagnostics of one scalar.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Diagnosis {
    /// Rank-normalised split R-hat; `None` for one chain or constant draws.
    pub r_hat: Option<f64>,
    /// Effective size for the bulk.
    pub ess_bulk: f64,
    /// Effective size for the tails.
    pub ess_tail: f64,
    /// Effective size for the mean.
    pub ess_mean: f64,
    /// Standard error of the mean.
    pub mcse_mean: f64,
    /// Standard error of the standard deviation; `None` for constant draws.
    pub mcse_sd: Option<f64>,
}

impl Diagnosis {
    /// Diagnoses chains.
    #[must_use]
    pub fn new(chains: &Chains) -> Self {
        let ess_mean = ess::mean(chains);
        Self {
            r_hat: r_hat(chains),
            ess_bulk: ess::bulk(chains),
            ess_tail: ess::tail(chains),
            ess_mean,
            mcse_mean: mcse::mean_with(chains, ess_mean),
            mcse_sd: mcse::sd_with(chains, ess_mean),
        }
    }
}
