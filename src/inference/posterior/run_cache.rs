//! Run likelihoods kept for as long as a sampler goes on: zones that it comes to share their runs.
//!
//! A run is held against the observations that can meet it alone, so that what was worked out for it holds whichever other
//! observations bear on its system.

use super::system_observations::{RelevantObservations, SystemObservations};
use crate::layout::{Run, RunId, System};
use crate::strike::{Findings, Observation, Observations, RunLikelihood};
use std::collections::HashMap;
use std::sync::{Arc, OnceLock, PoisonError, RwLock};

/// Runs kept, at most. Numerical choice: about a kilobyte each with what is said of them.
const MOST_KEPT: usize = 100_000;

/// The observations that can meet a run, and what they say of it.
pub struct ObservedRun {
    /// Which these are.
    pub relevant: RelevantObservations,
    /// By set of these finds.
    likelihood: RunLikelihood,
}

/// A run, kept so that zones that come back have the very same, and what is said of it; `None`: no observation can meet it.
type Kept = (Arc<Run>, Option<Arc<ObservedRun>>);

/// What one class of line was held against so far. Systems of one class have the same pipe and the same prior of cover.
#[derive(Default)]
pub struct RunCache {
    /// All observations, the clear ones first.
    all: OnceLock<Observations>,
    systems: RwLock<HashMap<RelevantObservations, Arc<SystemObservations>>>,
    runs: RwLock<HashMap<RunId, Kept>>,
}

impl ObservedRun {
    /// The likelihood by set of these finds, which those of the run are among, both ascending.
    pub fn likelihood(&self, finds: &[usize]) -> RunLikelihood {
        let place = |own: usize| finds.partition_point(|&find| find < self.relevant.finds[own]);
        self.likelihood.renamed(place)
    }
}

impl RunCache {
    /// What observations say of runs of a system of this class.
    pub fn runs(
        &self,
        findings: &Findings,
        system: &System,
        runs: &[Arc<Run>],
    ) -> Vec<Option<Arc<ObservedRun>>> {
        let known = self.runs.read().unwrap_or_else(PoisonError::into_inner);
        let kept = |run: &Arc<Run>| known.get(&run.id()).map(|(_, observed)| observed.clone());
        let mut observed: Vec<Option<Option<Arc<ObservedRun>>>> = runs.iter().map(kept).collect();
        drop(known);
        let new = |(_, (_, observed)): &(usize, (&Arc<Run>, &Option<_>))| observed.is_none();
        let new = runs.iter().zip(&observed).enumerate().filter(new);
        let new: Vec<_> = new.map(|(k, (run, _))| (k, run, self.observe(findings, system, run))).collect();
        if !new.is_empty() {
            let mut known = self.runs.write().unwrap_or_else(PoisonError::into_inner);
            if known.len() >= MOST_KEPT {
                known.retain(|_, (run, _)| Arc::strong_count(run) > 1);
                if known.len() >= MOST_KEPT / 2 {
                    known.clear();
                }
            }
            for (k, run, now) in new {
                known.entry(run.id()).or_insert_with(|| (run.clone(), now.clone()));
                observed[k] = Some(now);
            }
        }
        observed.into_iter().map(Option::flatten).collect()
    }

    fn observe(&self, findings: &Findings, system: &System, run: &Run) -> Option<Arc<ObservedRun>> {
        let all = self.all.get_or_init(|| Observations::new(system, &all(findings)));
        let met = all.meeting(run);
        if met.is_empty() {
            return None;
        }
        let first = findings.clear.len();
        let (clear, finds): (Vec<usize>, Vec<usize>) = met.into_iter().partition(|&met| met < first);
        let finds: Vec<usize> = finds.into_iter().map(|met| met - first).collect();
        let relevant = RelevantObservations { clear, finds };
        let observations = self.system(findings, system, &relevant);
        let likelihood = observations.all.run_likelihood(run, observations.finds());
        Some(Arc::new(ObservedRun { relevant, likelihood }))
    }

    /// These observations, as the class meets them.
    pub fn system(
        &self,
        findings: &Findings,
        system: &System,
        relevant: &RelevantObservations,
    ) -> Arc<SystemObservations> {
        if let Some(known) = self.systems.read().unwrap_or_else(PoisonError::into_inner).get(relevant) {
            return known.clone();
        }
        let made = Arc::new(SystemObservations::new(findings, system, relevant.clone()));
        let mut known = self.systems.write().unwrap_or_else(PoisonError::into_inner);
        known.entry(relevant.clone()).or_insert(made).clone()
    }
}

/// All observations, the clear ones first.
fn all(findings: &Findings) -> Vec<Observation> {
    findings.clear.iter().chain(findings.found.iter().map(|find| &find.look)).cloned().collect()
}
