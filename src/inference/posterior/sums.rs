//! Signed sums over find sets. What findings come to whatever the prior of lines is dear, summed over sets of finds and
//! directions, so priors of one site share it: coefficients, and chances of unknown lines.

use super::metal_finds::MetalFinds;
use super::system_missed::SystemMissed;
use crate::effort::{Effort, Work};
use crate::layout::UnmappedLines;
use crate::strike::{BySet, Find, FindSet, Findings, Observation, mean_beyond};
use std::sync::{Arc, OnceLock};

/// Findings among unmapped lines.
pub struct Sums<'a> {
    /// What probes found.
    pub(super) findings: &'a Findings,
    unmapped: UnmappedLines,
    /// For each set its coefficient (`Findings::coefficients`).
    pub(super) coefficients: BySet<Vec<f64>>,
    /// For each find, the chance that it is an unknown line where no run explains it.
    pub(super) unknown: Vec<f64>,
    /// For each clear observation, the sums without it; worked out where they are asked for.
    without: Vec<OnceLock<Without>>,
    /// Metal lines that finds may have met.
    pub(super) metal: Option<Arc<MetalFinds>>,
    /// With metal, for each bearing the coefficients times the chance that its lines are missed; else empty.
    with_metal: Vec<BySet<Vec<f64>>>,
}

/// The sums without one clear observation.
pub(super) struct Without {
    /// For each set its coefficient.
    pub coefficients: BySet<Vec<f64>>,
    /// The chance that the observation meets no unknown line, given that the other clear ones meet none.
    pub unmet: f64,
}

impl<'a> Sums<'a> {
    /// The sums of findings among these unknown lines. `None` if `work` is to stop.
    pub fn new(findings: &'a Findings, unmapped: &UnmappedLines, work: &dyn Work) -> Option<Self> {
        if !work.effort().spend(findings.price(unmapped)) || work.stops() {
            return None;
        }
        Some(Self::uncounted(findings, unmapped))
    }

    /// The same, counted nowhere.
    pub(super) fn uncounted(findings: &'a Findings, unmapped: &UnmappedLines) -> Self {
        Self {
            findings,
            unmapped: *unmapped,
            coefficients: findings.coefficients(unmapped),
            unknown: unknown(unmapped, findings),
            without: findings.clear.iter().map(|_| OnceLock::new()).collect(),
            metal: None,
            with_metal: Vec::new(),
        }
    }

    /// The same where finds may have met metal lines, at so many bearings.
    pub fn with_metal(mut self, metal: Option<Arc<MetalFinds>>, bearings: usize) -> Self {
        self.with_metal = match &metal {
            Some(metal) => (0..bearings).map(|b| times(&self.coefficients, &metal.as_system(b))).collect(),
            None => Vec::new(),
        };
        Self { metal, ..self }
    }

    /// For each set its coefficient at a bearing, metal lines summed over.
    pub(super) fn at(&self, bearing: usize) -> &BySet<Vec<f64>> {
        self.with_metal.get(bearing).unwrap_or(&self.coefficients)
    }

    /// The coefficients of others, metal lines summed over.
    pub(super) fn summed(&self, coefficients: &BySet<Vec<f64>>, bearing: usize) -> BySet<Vec<f64>> {
        match &self.metal {
            Some(metal) => times(coefficients, &metal.as_system(bearing)),
            None => coefficients.clone(),
        }
    }

    /// The sums without a clear observation; what they cost is spent where they are not known yet.
    pub(super) fn without(&self, clear: usize, effort: &Effort) -> &Without {
        self.without[clear].get_or_init(|| {
            let mut others = self.findings.clone();
            let one = others.clear.remove(clear);
            effort.spend(others.price(&self.unmapped));
            let before: Vec<&Observation> = others.clear.iter().collect();
            Without {
                coefficients: others.coefficients(&self.unmapped),
                unmet: (-mean_beyond(&self.unmapped, &one, &before)).exp(),
            }
        })
    }
}

fn times(coefficients: &BySet<Vec<f64>>, system: &SystemMissed<'_>) -> BySet<Vec<f64>> {
    BySet::new(coefficients.finds(), |set| coefficients[set] * system.of(set))
}

/// The chance of what was seen where systems are missed so: the signed sum over find sets.
pub(super) fn signed(coefficients: &BySet<Vec<f64>>, systems: &[SystemMissed<'_>]) -> f64 {
    coefficients.iter().map(|(set, coefficient)| coefficient * all_missed(systems, set)).sum()
}

/// The chance that a set and the clear observations meet no line of any of these systems.
pub(super) fn all_missed<'m>(systems: impl IntoIterator<Item = &'m SystemMissed<'m>>, set: FindSet) -> f64 {
    systems.into_iter().map(|system| system.of(set)).product()
}

/// For each find, the chance that it is an unknown line where no run explains it: else it is false.
fn unknown(unmapped: &UnmappedLines, findings: &Findings) -> Vec<f64> {
    let clear: Vec<&Observation> = findings.clear.iter().collect();
    let of = |find: &Find| {
        let met = -(-mean_beyond(unmapped, &find.look, &clear)).exp_m1();
        met / (met + (1.0 - met) * find.false_find)
    };
    findings.found.iter().map(of).collect()
}
