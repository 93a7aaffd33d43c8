//! A system that some observation may meet: its observations, and a pool of outer states at each bearing.

use super::outer_likelihoods::OuterLikelihoods;
use super::pool::{Pool, SystemPool};
use super::run_likelihoods::RunLikelihoods;
use super::sample::Sample;
use super::system_missed::SystemMissed;
use super::system_observations::SystemObservations;
use crate::effort::Work;
use rayon::prelude::*;
use std::sync::Arc;

/// A system that some observation may meet.
pub struct ObservedSystem {
    /// Index of the system.
    pub system: usize,
    /// The observations that may meet its runs.
    pub observations: Arc<SystemObservations>,
    /// Outer states, for each bearing.
    pub pools: Vec<Arc<Pool>>,
}

impl ObservedSystem {
    /// The samples of a system, one for each bearing, weighed by these observations. `None` if `work` is to stop.
    pub fn new(
        system: usize,
        observations: SystemObservations,
        samples: &[Sample],
        work: &dyn Work,
    ) -> Option<Self> {
        let weighed = |sample: &Sample| {
            let likelihoods = OuterLikelihoods::new(&observations, RunLikelihoods::default());
            Pool::new(sample, likelihoods, work).map(Arc::new)
        };
        let pools: Option<Vec<Arc<Pool>>> = samples.par_iter().map(weighed).collect();
        Some(Self { system, pools: pools?, observations: Arc::new(observations) })
    }

    /// The mean over its pool at a bearing of the chance that nothing is met.
    pub(super) fn missed(&self, bearing: usize) -> SystemMissed<'_> {
        SystemMissed { finds: &self.observations.relevant.finds, missed: self.pools[bearing].mean.row() }
    }

    /// Its pool at a bearing.
    pub fn at(&self, bearing: usize) -> SystemPool {
        SystemPool { observations: self.observations.clone(), pool: self.pools[bearing].clone() }
    }
}
