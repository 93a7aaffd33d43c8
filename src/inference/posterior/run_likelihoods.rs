//! Run likelihoods of one system, each run worked out once: outer states share their runs.

use super::system_observations::SystemObservations;
use crate::effort;
use crate::layout::{Lines, OuterState, Run, RunId};
use crate::strike::{FindSet, RunLikelihood};
use std::collections::HashMap;
use std::sync::Arc;

/// Likelihoods of the runs that came up so far. `None`: no observation can meet the run.
#[derive(Default)]
pub struct RunLikelihoods {
    known: HashMap<RunId, Option<RunLikelihood>>,
    /// About what was worked out so far has cost.
    pub work: u64,
}

impl RunLikelihoods {
    /// What is known of some runs already; the rest is worked out.
    pub fn knowing(known: HashMap<RunId, Option<RunLikelihood>>) -> Self {
        Self { known, work: 0 }
    }

    /// The likelihood of a run.
    pub fn run(&mut self, observations: &SystemObservations, run: &Arc<Run>) -> Option<&RunLikelihood> {
        let work = &mut self.work;
        let work_out = || {
            let likelihood = observations.all.run_likelihood(run, observations.finds());
            *work += likelihood.work;
            likelihood.is_met().then_some(likelihood)
        };
        self.known.entry(run.id()).or_insert_with(work_out).as_ref()
    }

    /// Those of lines beside a tree.
    pub fn lines(
        &mut self,
        observations: &SystemObservations,
        lines: &Lines,
    ) -> Arc<[Option<RunLikelihood>]> {
        lines.iter().map(|line| self.run(observations, line).cloned()).collect()
    }

    /// Those of all candidate runs of a state; `None` if no observation can meet any.
    pub fn candidates(
        &mut self,
        observations: &SystemObservations,
        state: &OuterState,
    ) -> Option<Arc<CandidateLikelihoods>> {
        let mut rows: Vec<RunLikelihood> = Vec::new();
        let row_of = |run| {
            let row = self.run(observations, run).cloned();
            let place = row.as_ref().map_or(u32::MAX, |_| rows.len() as u32);
            rows.extend(row);
            place
        };
        let row_of: Vec<u32> = state.runs.iter().map(row_of).collect();
        self.work += effort::BUILT_RUN * state.runs.len() as u64;
        let finds = rows.iter().map(RunLikelihood::finds).fold(FindSet::NONE, FindSet::union);
        (!rows.is_empty()).then(|| Arc::new(CandidateLikelihoods { row_of, rows, finds }))
    }
}

/// Likelihoods of the candidate runs of a state. Most runs are met by no observation: they have no row.
pub struct CandidateLikelihoods {
    /// For each edge, its row; beyond the last: none.
    row_of: Vec<u32>,
    rows: Vec<RunLikelihood>,
    /// The finds that can meet some run: others tell no sets apart.
    finds: FindSet,
}

impl CandidateLikelihoods {
    fn row(&self, edge: usize) -> Option<&RunLikelihood> {
        self.rows.get(self.row_of[edge] as usize)
    }

    /// Whether some observation can meet a run.
    pub fn is_met(&self, edge: usize) -> bool {
        self.row(edge).is_some()
    }

    /// The chance that a set and the clear observations miss a run, at one level.
    pub fn missed(&self, set: FindSet, edge: usize, level: usize) -> f64 {
        self.row(edge).and_then(|row| row.missed(set)).map_or(1.0, |miss| miss[level])
    }

    /// Whether that chance differs between sets.
    pub fn differs(&self, edge: usize, level: usize) -> bool {
        let Some(row) = self.row(edge) else { return false };
        let missed = |set: FindSet| row.missed(set).map_or(1.0, |miss| miss[level]);
        let none = missed(FindSet::NONE);
        row.finds().subsets().any(|set| missed(set) != none)
    }

    /// The finds that can meet some run.
    pub fn finds(&self) -> FindSet {
        self.finds
    }
}
