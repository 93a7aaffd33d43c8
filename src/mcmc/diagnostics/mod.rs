//! Convergence diagnostics: what the output of several Markov chains says about itself.
//!
//! Scalars follow Vehtari, Gelman, Simpson, Carpenter and Buerkner (Bayesian Analysis 16 (2021) 667-718,
//! arXiv 1903.08008) and equal the Python package `arviz-stats` to 1e-8 (checked by `tests/laws/diagnostics.rs` and
//! `tests/python/test_diagnostics.py`). Trees, as sets of identifiers, follow Magee, Karcher, Matsen and Minin (Bayesian
//! Analysis 19 (2024) 565-593). [`check`] holds named quantities against [`Thresholds`]. Pure numerics: no site, no layouts.

mod autocovariance;
mod chains;
mod check;
mod diagnosis;
pub mod ess;
mod geyer;
mod halves;
mod level;
pub mod mcse;
mod moments;
mod r_hat;
mod rank;
mod rare;
mod sets;
mod thresholds;
mod tree_ess;

pub use chains::{Chains, ChainsError, LEAST_DRAWS};
pub use check::{CheckError, Checked, Kind, Quantity, Row, check};
pub use diagnosis::Diagnosis;
pub use level::{Level, LevelError};
pub use r_hat::r_hat;
pub use rare::{Bound, upper_bound_without_hits};
pub use sets::{SetChains, SetChainsError};
pub use thresholds::{Failure, Thresholds};
pub use tree_ess::{PseudoEss, ReferencesError, frechet_ess, pseudo_ess};
