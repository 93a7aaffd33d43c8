//! What findings come to whatever the law of lines: coefficients of the signed sum, and chances of unknown lines. Summed over
//! sets of finds and directions they are dear, so laws of one site share them.

use crate::effort::Work;
use crate::layout::UnmappedLines;
use crate::strike::{Find, Findings, Observation, mean_beyond};
use std::sync::OnceLock;

/// Sums over sets of finds.
pub struct Sums {
    /// For each set its coefficient (`Findings::coefficients`).
    pub(super) coefficients: Vec<f64>,
    /// For each find, the chance that it is an unknown line where no run explains it.
    pub(super) unknown: Vec<f64>,
    /// For each clear look, the coefficients without it; worked out where they are asked for.
    pub(super) others: Vec<OnceLock<Vec<f64>>>,
}

impl Sums {
    /// The sums of findings among these unknown lines. `None` if `work` is to stop.
    pub fn new(findings: &Findings, unmapped: &UnmappedLines, work: &dyn Work) -> Option<Self> {
        if !work.effort().spend(findings.price(unmapped)) || work.stops() {
            return None;
        }
        Some(Self::of(findings, unmapped))
    }

    /// The same, counted nowhere.
    pub(super) fn of(findings: &Findings, unmapped: &UnmappedLines) -> Self {
        Self {
            coefficients: findings.coefficients(unmapped),
            unknown: unknown(unmapped, findings),
            others: findings.clear.iter().map(|_| OnceLock::new()).collect(),
        }
    }
}

/// For each find, the chance that it is an unknown line where no run of the law explains it: else it is false.
fn unknown(unmapped: &UnmappedLines, findings: &Findings) -> Vec<f64> {
    let clear: Vec<&Observation> = findings.clear.iter().collect();
    let of = |find: &Find| {
        let met = -(-mean_beyond(unmapped, &find.look, &clear)).exp_m1();
        met / (met + (1.0 - met) * find.false_find)
    };
    findings.found.iter().map(of).collect()
}
