//! Layouts given what probes found: outer states with exact weights, then trees and marks, draw after draw independent.
//!
//! `P(bearing, outer states | seen) ~ p sum_S c_S prod_k Z_k(C + S) / Z_k(0)` with the signed sum of `strike::Findings`
//! over sets S of finds taken as missed; finds couple the systems, which are else independent given the bearing. Outer
//! states are sampled from the law, many more than are used, and weighted by that ratio: trees and marks are summed over
//! exactly, so the weights vary little (a fixed set of full draws would collapse; python/docs/model.md, 4.7). Given its outer
//! state a tree is drawn edge by edge (`tree`), the marks of the runs that a look may meet by rejection (`marks`).

mod drawn;
mod given_rest;
mod held;
mod observed_system;
mod outer;
mod pool;
mod relevant;
mod run_attributes;
mod run_likelihood;
mod sums;
mod tree;
mod weighed;

pub use given_rest::GivenRest;
pub use held::{FindingsLikelihood, HeldStates};
pub use sums::Sums;
pub use weighed::{Limits, Posterior};
