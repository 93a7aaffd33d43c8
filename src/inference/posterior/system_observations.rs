//! The observations that bear on one system, as its lines meet them.

use crate::layout::System;
use crate::strike::{BySet, FindSet, Findings, Observations};

/// Some of the observations of a site, by their places among its findings, each list ascending.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct RelevantObservations {
    /// Clear observations.
    pub clear: Vec<usize>,
    /// Finds.
    pub finds: Vec<usize>,
}

impl RelevantObservations {
    /// The same without a clear observation.
    pub fn without_clear(&self, clear: usize) -> Self {
        let left = self.clear.iter().copied().filter(|&other| other != clear);
        Self { clear: left.collect(), finds: self.finds.clone() }
    }
}

/// The observations that bear on a system.
pub struct SystemObservations {
    /// Which these are. The finds go by their places here: a set of all finds by its part ([`Self::part`]).
    pub relevant: RelevantObservations,
    /// The observations, the clear ones first.
    pub all: Observations,
}

impl SystemObservations {
    /// These observations as a system meets them.
    pub fn new(findings: &Findings, system: &System, relevant: RelevantObservations) -> Self {
        let clear = relevant.clear.iter().map(|&clear| &findings.clear[clear]);
        let finds = relevant.finds.iter().map(|&find| &findings.found[find].look);
        let all = Observations::new(system, &clear.chain(finds).cloned().collect::<Vec<_>>());
        Self { relevant, all }
    }

    /// Number of finds.
    pub fn finds(&self) -> usize {
        self.relevant.finds.len()
    }

    /// Number of sets of finds.
    pub fn sets(&self) -> usize {
        FindSet::count(self.finds())
    }

    /// The part of a set of all finds that bears on the system.
    pub fn part(&self, set: FindSet) -> FindSet {
        set.among(&self.relevant.finds)
    }

    /// For each set of the system's finds, the sum of a value over the sets of all finds that it is part of.
    pub fn gathered(
        &self,
        sets: impl Iterator<Item = FindSet>,
        value: impl Fn(FindSet) -> f64,
    ) -> BySet<Vec<f64>> {
        let mut sums = BySet::new(self.finds(), |_| 0.0);
        sets.for_each(|set| sums[self.part(set)] += value(set));
        sums
    }
}
