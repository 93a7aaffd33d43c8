//! What looks say of each run, kept for as long as a sampler goes on: zones that it comes to share their runs.
//!
//! A run is asked about the looks that can meet it alone, so that what was worked out for it holds whichever other looks
//! bear on its system.

use super::outer::SystemObservations;
use crate::layout::{Run, System};
use crate::strike::{BySet, Findings, Observations};
use std::collections::HashMap;
use std::sync::{Arc, OnceLock, PoisonError, RwLock};

/// Runs kept, at most. Numerical choice: about a kilobyte each with what is said of them.
const MOST_KEPT: usize = 100_000;

/// What looks say of one run.
pub struct RunLikelihood {
    /// The clear looks that can meet it.
    pub clear: Vec<usize>,
    /// The finds that may be it.
    pub finds: Vec<usize>,
    /// By set of those finds.
    by_set: BySet,
}

/// A run, kept so that its address stays its own, and what is said of it; `None`: no look can meet it.
type Kept = (Arc<Run>, Option<Arc<RunLikelihood>>);

/// By clear looks and finds.
type Known = HashMap<(Vec<usize>, Vec<usize>), Arc<SystemObservations>>;

/// Observations as one class of line meets them. Systems of one class have the same pipe and the same law of cover.
#[derive(Default)]
pub struct OfClass {
    all: OnceLock<Observations>,
    seen: RwLock<Known>,
    /// By the address of the run.
    runs: RwLock<HashMap<usize, Kept>>,
}

impl RunLikelihood {
    /// By set of these finds, which those of the run are among, both ascending.
    pub fn by_set_of(&self, finds: &[usize]) -> BySet {
        if self.finds == finds {
            return self.by_set.clone();
        }
        let own = |place: &usize| finds.iter().position(|find| find == place);
        self.by_set.among(&self.finds.iter().filter_map(own).collect::<Vec<usize>>())
    }
}

impl OfClass {
    /// What looks say of runs of a system of this class.
    pub fn runs(
        &self,
        findings: &Findings,
        system: &System,
        runs: &[Arc<Run>],
    ) -> Vec<Option<Arc<RunLikelihood>>> {
        let address = |run: &Arc<Run>| Arc::as_ptr(run).addr();
        let known = self.runs.read().unwrap_or_else(PoisonError::into_inner);
        let told = runs.iter().map(|run| known.get(&address(run)).map(|(_, told)| told.clone()));
        let mut told: Vec<Option<Option<Arc<RunLikelihood>>>> = told.collect();
        drop(known);
        let fresh = || runs.iter().zip(&told).enumerate().filter(|(_, (_, told))| told.is_none());
        let fresh: Vec<_> =
            fresh().map(|(place, (run, _))| (place, run, self.ask(findings, system, run))).collect();
        if !fresh.is_empty() {
            let mut known = self.runs.write().unwrap_or_else(PoisonError::into_inner);
            if known.len() >= MOST_KEPT {
                known.retain(|_, (run, _)| Arc::strong_count(run) > 1);
                if known.len() >= MOST_KEPT / 2 {
                    known.clear();
                }
            }
            for (place, run, asked) in fresh {
                known.entry(address(run)).or_insert_with(|| (run.clone(), asked.clone()));
                told[place] = Some(asked);
            }
        }
        told.into_iter().map(Option::flatten).collect()
    }

    fn ask(&self, findings: &Findings, system: &System, run: &Run) -> Option<Arc<RunLikelihood>> {
        let all = self.all.get_or_init(|| Observations::new(system, &looks(findings)));
        let met = all.meeting(run);
        if met.is_empty() {
            return None;
        }
        let first = findings.clear.len();
        let (clear, finds): (Vec<usize>, Vec<usize>) = met.into_iter().partition(|&look| look < first);
        let finds: Vec<usize> = finds.into_iter().map(|look| look - first).collect();
        let by_set = self.seen(findings, system, &clear, &finds).looks.miss_by_set(run, finds.len());
        Some(Arc::new(RunLikelihood { clear, finds, by_set }))
    }

    /// These clear looks and finds, as the class meets them.
    pub fn seen(
        &self,
        findings: &Findings,
        system: &System,
        clear: &[usize],
        finds: &[usize],
    ) -> Arc<SystemObservations> {
        let key = (clear.to_vec(), finds.to_vec());
        if let Some(seen) = self.seen.read().unwrap_or_else(PoisonError::into_inner).get(&key) {
            return seen.clone();
        }
        let seen = super::pool::seen(findings, system, clear, finds);
        self.seen.write().unwrap_or_else(PoisonError::into_inner).entry(key).or_insert(seen).clone()
    }
}

/// All looks, the clear ones first.
fn looks(findings: &Findings) -> Vec<crate::strike::Observation> {
    findings.clear.iter().chain(findings.found.iter().map(|find| &find.look)).cloned().collect()
}
