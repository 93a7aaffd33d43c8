//! Which observations bear on a system: one that meets no run of any sampled outer state says nothing of it and is left out
//! of its sums, which changes no weight, since every one of those states misses it.
//!
//! The sampled states of every bearing count, since a run that lies at one grid bearing alone counts as much as any.
//! A run is tried once: states share their runs.

use super::sample::Sample;
use super::system_observations::RelevantObservations;
use crate::effort::{self, Work};
use crate::layout::{Run, System};
use crate::strike::{Findings, Observation, Observations};
use rayon::prelude::*;
use std::sync::atomic::{AtomicBool, Ordering};

/// The observations that meet a run of some sampled state. `None`: no observation does, or `work` is to stop.
pub fn relevant(
    system: &System,
    findings: &Findings,
    samples: &[Sample],
    work: &dyn Work,
) -> Option<RelevantObservations> {
    let all = findings.clear.iter().chain(findings.found.iter().map(|find| &find.look));
    let tried: Vec<Tried> = all.map(|observation| Tried::new(system, observation)).collect();
    samples.par_iter().for_each(|sample| try_runs(sample, &tried, work));
    let met: Vec<bool> = tried.iter().map(|tried| tried.met.load(Ordering::Relaxed)).collect();
    let (clear, finds) = met.split_at(findings.clear.len());
    let places = |met: &[bool]| met.iter().enumerate().filter_map(|(k, met)| met.then_some(k)).collect();
    met.contains(&true).then(|| RelevantObservations { clear: places(clear), finds: places(finds) })
}

/// One observation, and whether a run that it can meet has come up so far: for any thread, in any order, to the same end.
struct Tried {
    observation: Observations,
    met: AtomicBool,
}

impl Tried {
    fn new(system: &System, observation: &Observation) -> Self {
        let observation = Observations::new(system, std::slice::from_ref(observation));
        Self { observation, met: AtomicBool::new(false) }
    }

    fn on(&self, run: &Run) {
        if !self.met.load(Ordering::Relaxed) && self.observation.meets(run) {
            self.met.store(true, Ordering::Relaxed);
        }
    }
}

/// Tries the runs of the sampled states of one bearing. What a run costs is counted as if no other thread had met one.
fn try_runs(sample: &Sample, tried: &[Tried], work: &dyn Work) {
    let effort = work.effort();
    sample.each_run(|run| {
        if effort.spend(effort::LOOK * (run.routes.len() * tried.len()) as u64) {
            tried.iter().for_each(|tried| tried.on(run));
        }
    });
}
