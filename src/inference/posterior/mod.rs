//! Layouts given what probes found: outer states with exact weights, then trees and run attributes, draw after draw
//! independent.
//!
//! `P(bearing, outer states | seen) ~ p sum_S c_S prod_k Z_k(C + S) / Z_k(0)` with the signed sum of `strike::Findings`
//! over sets S of finds taken as missed (`sums`); finds couple the systems, which are else independent given the bearing.
//! Outer states are sampled from the prior, many more than are used, and weighted by that ratio: trees and run attributes
//! are summed over exactly, so the weights vary little (a fixed set of full draws would collapse; python/docs/model.md,
//! 4.7). Given its outer state a tree is drawn edge by edge (`tree`), the attributes of the runs that an observation may
//! meet by rejection (`run_attributes`).
//!
//! From an observation to a weight: the run likelihood of each run (`run_likelihoods`), summed over trees to that of an
//! outer state (`outer_likelihoods`), states held in pools (`pool`). Known zones have large pools (`weighed`), chains over
//! zonings small ones (`findings_likelihood`); both draw from them alike (`given_bearing`, `drawn`).

mod attempts;
mod drawn;
mod findings_likelihood;
mod given_bearing;
mod given_rest;
mod metal_finds;
mod observed_system;
mod outer;
mod outer_likelihoods;
mod pool;
mod relevant;
mod run_attributes;
mod run_cache;
mod run_likelihoods;
mod sample;
mod sums;
mod system_missed;
mod system_observations;
mod tree;
mod weighed;

pub use findings_likelihood::FindingsLikelihood;
pub use given_rest::GivenRest;
pub use metal_finds::{DrawnMetal, MetalFinds};
pub use pool::SystemPool;
pub use sums::Sums;
pub use weighed::{Limits, Posterior};
