//! Which looks bear on a system: a look that meets no line of any sampled outer state says nothing of it and is left out
//! of its sums, which changes no weight, since every one of those states misses it.
//!
//! The sampled states of every bearing are asked, since a run that lies at one grid bearing alone counts as much as any.
//! A line is asked once: states share their runs.

use super::pool::Sample;
use crate::effort::{self, Work};
use crate::layout::{OuterState, Run, System};
use crate::strike::{Findings, Observation, Observations};
use rayon::prelude::*;
use std::collections::HashSet;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// The looks that may meet lines of a system, by their places among the findings.
pub struct RelevantObservations {
    /// Clear looks.
    pub clear: Vec<usize>,
    /// Finds.
    pub finds: Vec<usize>,
}

/// The looks that meet a line of some sampled state. `None`: no look does, or `work` is to stop.
pub fn reached(
    system: &System,
    findings: &Findings,
    samples: &[Sample],
    work: &dyn Work,
) -> Option<RelevantObservations> {
    let looks = findings.clear.iter().chain(findings.found.iter().map(|find| &find.look));
    let asked: Vec<AskedLook> = looks.map(|look| AskedLook::new(system, look)).collect();
    samples.par_iter().for_each(|sample| ask(sample, &asked, work));
    let met: Vec<bool> = asked.iter().map(|look| look.met.load(Ordering::Relaxed)).collect();
    let (clear, finds) = met.split_at(findings.clear.len());
    let places = |met: &[bool]| met.iter().enumerate().filter_map(|(k, met)| met.then_some(k)).collect();
    met.contains(&true).then(|| RelevantObservations { clear: places(clear), finds: places(finds) })
}

/// One look, and whether a line that it can meet was seen so far: by any thread, in any order, to the same end.
struct AskedLook {
    look: Observations,
    met: AtomicBool,
}

impl AskedLook {
    fn new(system: &System, look: &Observation) -> Self {
        Self { look: Observations::new(system, std::slice::from_ref(look)), met: AtomicBool::new(false) }
    }

    fn ask(&self, line: &Run) {
        if !self.met.load(Ordering::Relaxed) && self.look.meets(line) {
            self.met.store(true, Ordering::Relaxed);
        }
    }
}

/// Asks the lines of the sampled states of one bearing. What a line costs is counted as if no other thread had met one.
fn ask(sample: &Sample, asked: &[AskedLook], work: &dyn Work) {
    let effort = work.effort();
    each_line(sample, |line| {
        if effort.spend(effort::LOOK * (line.routes.len() * asked.len()) as u64) {
            asked.iter().for_each(|look| look.ask(line));
        }
    });
}

/// Calls on every line of a sample once.
pub fn each_line(sample: &Sample, mut call: impl FnMut(&Arc<Run>)) {
    let mut states: HashSet<*const OuterState> = HashSet::new();
    let mut lines: HashSet<*const Run> = HashSet::new();
    let mut ask = |line: &Arc<Run>| {
        if lines.insert(Arc::as_ptr(line)) {
            call(line);
        }
    };
    for (state, extent) in &sample.states {
        if states.insert(Arc::as_ptr(state)) {
            state.runs.iter().chain(state.fixed.iter()).for_each(&mut ask);
        }
        if let &Some((first, last)) = extent {
            state.lines(first, last).iter().for_each(&mut ask);
        }
    }
}
