//! A system that some look may meet: its looks, and its outer states weighed by them.

use super::outer::SystemObservations;
use super::pool::{Pool, Sample, Scales, pool, seen};
use super::relevant::RelevantObservations;
use crate::effort::Work;
use crate::layout::System;
use crate::strike::Findings;
use rayon::prelude::*;
use std::sync::Arc;

/// A system that some look may meet.
pub struct ObservedSystem {
    /// Index of the system.
    pub system: usize,
    /// The clear looks that may have met its lines, by their places.
    pub clear: Vec<usize>,
    /// The finds that may be lines of this system, by their places.
    pub finds: Vec<usize>,
    /// These looks.
    pub seen: Arc<SystemObservations>,
    /// Outer states, for each bearing.
    pub pools: Vec<Arc<Pool>>,
}

impl ObservedSystem {
    /// For each set of this system's finds, the sum of a value over the sets of all finds that it is part of.
    pub fn gathered(&self, sets: usize, value: impl Fn(usize) -> f64) -> Vec<f64> {
        let mut sums = vec![0.0; 1 << self.finds.len()];
        (0..sets).for_each(|set| sums[self.part_of(set)] += value(set));
        sums
    }

    /// The set of this system's finds that is part of a set of all finds.
    pub fn part_of(&self, set: usize) -> usize {
        self.finds.iter().enumerate().map(|(place, &find)| (set >> find & 1) << place).sum()
    }
}

/// What findings have to do with one system, whose sampled lines these looks reach: its pools. `None` if `work` is to stop.
pub fn touched(
    system: (usize, &System),
    findings: &Findings,
    RelevantObservations { clear, finds }: RelevantObservations,
    samples: &[Sample],
    work: &dyn Work,
) -> Option<ObservedSystem> {
    let seen = seen(findings, system.1, &clear, &finds);
    let weighed = |sample: &Sample| pool(sample, Scales::new(&seen), work).map(Arc::new);
    let pools: Option<Vec<Arc<Pool>>> = samples.par_iter().map(weighed).collect();
    Some(ObservedSystem { system: system.0, clear, finds, seen, pools: pools? })
}
