//! The communication barrier: how hard it is for replicas to travel, and where on the path.
//!
//! The cumulative barrier at b_k is the sum of the rejection rates of the pairs below it, smooth and monotone in between;
//! its slope is the local barrier, its end the global barrier (Syed et al. 2022).

use super::monotone::Monotone;

/// The barrier along the path.
#[derive(Clone, Debug, PartialEq)]
pub struct Barrier {
    cumulative: Monotone,
}

impl Barrier {
    /// From the inverse temperatures and one rejection rate for each pair of neighbours.
    pub(super) fn new(betas: &[f64], rejections: &[f64]) -> Self {
        let mut total = 0.0;
        let rest = rejections.iter().map(|rejection| {
            total += rejection;
            total
        });
        let cumulative: Vec<f64> = [0.0].into_iter().chain(rest).collect();
        Self { cumulative: Monotone::new(betas.to_vec(), cumulative) }
    }

    /// The global barrier, Lambda. A replica needs about 2 + 2 Lambda sweeps for a round trip on the best ladder.
    pub fn global(&self) -> f64 {
        self.cumulative.top()
    }

    /// The barrier between 0 and `beta`.
    pub fn cumulative(&self, beta: f64) -> f64 {
        self.cumulative.at(beta).0
    }

    /// The barrier per unit of inverse temperature at `beta`.
    pub fn local(&self, beta: f64) -> f64 {
        self.cumulative.at(beta).1
    }

    /// The inverse temperature below which lies the barrier `cumulative`.
    pub(super) fn inverse(&self, cumulative: f64) -> f64 {
        self.cumulative.inverse(cumulative)
    }
}
