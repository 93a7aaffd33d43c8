//! Outer likelihoods of one system: what observations say of outer states, runs and trees summed over. What several states
//! share is worked out once.

use super::outer::Outer;
use super::run_likelihoods::{CandidateLikelihoods, RunLikelihoods};
use super::system_observations::SystemObservations;
use crate::layout::{OuterState, StateId};
use crate::spanning_tree::Scratch;
use crate::strike::{BySet, RunLikelihood};
use std::collections::HashMap;
use std::sync::Arc;

/// What names an outer state but for its cover level.
type Name = (StateId, Option<(usize, usize)>);

/// Likelihoods of the outer states that came up so far, by set of finds.
pub struct OuterLikelihoods<'a> {
    observations: &'a SystemObservations,
    runs: RunLikelihoods,
    candidates: HashMap<StateId, Option<Arc<CandidateLikelihoods>>>,
    bases: HashMap<Name, f64>,
    lines: HashMap<Name, Arc<[Option<RunLikelihood>]>>,
    /// The row of each state and level.
    known: HashMap<(Name, usize), u32>,
    /// For each set of finds, the chance that set and clear observations meet nothing; row after row.
    rows: Vec<f64>,
    scratch: Scratch,
    /// About what was spent and nobody was told yet, runs apart.
    spent: u64,
}

impl<'a> OuterLikelihoods<'a> {
    /// None yet; of some runs it may be known what observations say.
    pub fn new(observations: &'a SystemObservations, runs: RunLikelihoods) -> Self {
        Self {
            observations,
            runs,
            candidates: HashMap::new(),
            bases: HashMap::new(),
            lines: HashMap::new(),
            known: HashMap::new(),
            rows: Vec::new(),
            scratch: Scratch::default(),
            spent: 0,
        }
    }

    /// The observations.
    pub fn observations(&self) -> &'a SystemObservations {
        self.observations
    }

    /// For each set of finds, the chance that set and clear observations meet nothing: one row.
    pub fn row(&self, row: u32) -> BySet<&[f64]> {
        let sets = self.observations.sets();
        BySet::from_values(&self.rows[row as usize * sets..(row as usize + 1) * sets])
    }

    /// All rows, one after the other.
    pub fn into_rows(self) -> Vec<f64> {
        self.rows
    }

    /// About what was spent since this was asked last.
    pub fn spent(&mut self) -> u64 {
        std::mem::take(&mut self.spent) + std::mem::take(&mut self.runs.work)
    }

    /// An outer state and its row.
    pub fn weigh(
        &mut self,
        state: Arc<OuterState>,
        extent: Option<(usize, usize)>,
        level: usize,
    ) -> (Outer, u32) {
        let Self { observations, runs, candidates, bases, lines, known, rows, scratch, spent } = self;
        let candidates = candidates.entry(state.id());
        let candidates = candidates.or_insert_with(|| runs.candidates(observations, &state)).clone();
        let name = (state.id(), extent);
        let lines = lines.entry(name).or_insert_with(|| {
            let lines = extent.map_or_else(|| state.fixed.clone(), |(first, last)| state.lines(first, last));
            runs.lines(observations, &lines)
        });
        let outer = Outer { state, extent, level, lines: lines.clone(), candidates };
        let row = *known.entry((name, level)).or_insert_with(|| {
            let is_met = outer.candidates.is_some();
            let base = if is_met { *bases.entry(name).or_insert_with(|| outer.base(scratch)) } else { 0.0 };
            *spent += outer.price(observations.finds());
            let row = (rows.len() / observations.sets()) as u32;
            rows.extend(outer.missed(observations.finds(), base, scratch).values());
            row
        });
        (outer, row)
    }
}
