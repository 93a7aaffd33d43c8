//! Pools: outer states of one system at one bearing, held together with the chances of what was seen.

use super::outer::{Outer, level_at};
use super::outer_likelihoods::OuterLikelihoods;
use super::run_likelihoods::RunLikelihoods;
use super::sample::Sample;
use super::system_missed::SystemMissed;
use super::system_observations::SystemObservations;
use crate::effort::Work;
use crate::strike::BySet;
use std::sync::Arc;

/// Outer states of a system at one bearing.
pub struct Pool {
    /// The states.
    pub outer: Vec<Outer>,
    /// For each state, its row among those below: states that are alike share one.
    row_of: Vec<u32>,
    /// For each set of finds, the chance that set and clear observations meet nothing; row after row.
    rows: Vec<f64>,
    /// The mean of that over the states.
    pub mean: BySet<Vec<f64>>,
}

impl Pool {
    /// The states of a sample weighed, their cover levels evenly spread. `None` if `work` is to stop.
    pub fn new(sample: &Sample, mut likelihoods: OuterLikelihoods<'_>, work: &dyn Work) -> Option<Self> {
        let (observations, effort) = (likelihoods.observations(), work.effort());
        let mut mean = BySet::new(observations.finds(), |_| 0.0);
        let (mut outer, mut row_of) = (Vec::new(), Vec::new());
        for (k, (state, extent)) in sample.states.iter().enumerate() {
            // Levels by the golden ratio: evenly spread whatever the size of the pool.
            let u = (sample.phase + 0.618_033_988_749_895 * k as f64).fract();
            let level = level_at(&observations.all.levels, u);
            let (weighed, row) = likelihoods.weigh(state.clone(), *extent, level);
            let missed = likelihoods.row(row);
            mean.iter_mut().for_each(|(set, mean)| *mean += missed[set]);
            outer.push(weighed);
            row_of.push(row);
            if !effort.spend(likelihoods.spent() + observations.sets() as u64) || work.stops() {
                return None;
            }
        }
        let count = outer.len().max(1) as f64;
        mean.iter_mut().for_each(|(_, mean)| *mean /= count);
        Some(Self { outer, row_of, rows: likelihoods.into_rows(), mean })
    }

    /// The chances of one state.
    pub fn missed(&self, item: usize) -> BySet<&[f64]> {
        let (sets, row) = (self.mean.values().len(), self.row_of[item] as usize);
        BySet::from_values(&self.rows[row * sets..(row + 1) * sets])
    }

    /// Weight of every state: of each row once, the other systems being known by `others`.
    pub fn weights(&self, others: &BySet<Vec<f64>>) -> Vec<f64> {
        let rows = self.rows.chunks_exact(self.mean.values().len());
        let of_rows: Vec<f64> = rows.map(|row| weight(&BySet::from_values(row), others)).collect();
        self.row_of.iter().map(|&row| of_rows[row as usize]).collect()
    }

    /// About what asking for the weights costs.
    pub fn price(&self) -> u64 {
        (self.rows.len() + 2 * self.row_of.len()) as u64
    }
}

/// Weight of one outer state: the signed sum over sets, the other systems being known by `others`.
fn weight(missed: &BySet<&[f64]>, others: &BySet<Vec<f64>>) -> f64 {
    missed.iter().map(|(set, missed)| missed * others[set]).sum::<f64>().max(0.0)
}

/// A pool with the observations that it was weighed by.
#[derive(Clone)]
pub struct SystemPool {
    /// The observations.
    pub observations: Arc<SystemObservations>,
    /// The outer states.
    pub pool: Arc<Pool>,
}

impl SystemPool {
    /// The states of a sample weighed by these observations. `None` if `work` is to stop.
    pub fn new(
        sample: &Sample,
        observations: Arc<SystemObservations>,
        runs: RunLikelihoods,
        work: &dyn Work,
    ) -> Option<Self> {
        let pool = Pool::new(sample, OuterLikelihoods::new(&observations, runs), work)?;
        Some(Self { pool: Arc::new(pool), observations })
    }

    /// The mean over its states of the chance that nothing is met.
    pub(super) fn missed(&self) -> SystemMissed<'_> {
        SystemMissed { finds: &self.observations.relevant.finds, missed: self.pool.mean.row() }
    }

    /// Means over one in `every` outer states of the chance that set and clear observations meet nothing: as these
    /// observations, fewer than its own, say, and as its own do. `None` if `work` is to stop.
    pub fn means_by(
        &self,
        fewer: &SystemObservations,
        every: usize,
        work: &dyn Work,
    ) -> Option<[BySet<Vec<f64>>; 2]> {
        let effort = work.effort();
        let mut likelihoods = OuterLikelihoods::new(fewer, RunLikelihoods::default());
        let mut means = [(); 2].map(|()| BySet::new(self.observations.finds(), |_| 0.0));
        let items = (0..self.pool.outer.len()).step_by(every);
        let share = 1.0 / items.len().max(1) as f64;
        for item in items {
            let outer = &self.pool.outer[item];
            let (_, row) = likelihoods.weigh(outer.state.clone(), outer.extent, outer.level);
            for (mean, missed) in means.iter_mut().zip([likelihoods.row(row), self.pool.missed(item)]) {
                mean.iter_mut().for_each(|(set, mean)| *mean += share * missed[set]);
            }
            if !effort.spend(likelihoods.spent() + fewer.sets() as u64) || work.stops() {
                return None;
            }
        }
        Some(means)
    }
}
