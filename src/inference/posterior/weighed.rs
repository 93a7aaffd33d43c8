//! The posterior: outer states of every system that a look may meet, with their weights.

use super::observed_system::{self, ObservedSystem};
use super::outer::Outer;
use super::sums::Sums;
use super::{pool, relevant};
use crate::effort::{Effort, Work};
use crate::layout::OuterPrior;
use crate::strike::Findings;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

/// How much is tried before a posterior makes do with what it has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Outer states weighed for each system, over all bearings.
    pub outer_states: usize,
    /// Attempts to draw the marks of a run that answer to what was seen of it.
    pub tries: usize,
}

impl Default for Limits {
    /// Numerical choices: 256,000 outer states take seconds and some hundred megabytes; sets of finds less probable than
    /// one in a thousand of what is seen are hardly ever asked for, so 100,000 tries hardly ever fail.
    fn default() -> Self {
        Self { outer_states: 256_000, tries: 100_000 }
    }
}

/// The posterior of a law given findings.
pub struct Posterior<'a> {
    pub(super) law: &'a dyn OuterPrior,
    pub(super) findings: &'a Findings,
    pub(super) sums: Arc<Sums>,
    pub(super) touched: Vec<ObservedSystem>,
    pub(super) bearings: Vec<f64>,
    pub(super) effective: f64,
    pub(super) limits: Limits,
    /// Whether more outer states were wanted than the limit allows.
    pub(super) limited: bool,
    /// Lines drawn so far whose marks do not answer to what was seen.
    pub(super) unanswered: AtomicUsize,
    /// Where work is counted.
    pub(super) effort: Effort,
}

/// One system of a draw in the making.
pub(super) struct Chosen<'p> {
    pub(super) outer: &'p Outer,
    /// For each set of the system's finds, the chance that nothing met: of the outer state, then of its tree.
    pub(super) missed: Vec<f64>,
}

impl<'a> Posterior<'a> {
    /// Weighs outer states so that `draws` draws have at least half as many effective ones, within the usual limits.
    ///
    /// `None` if `work` is to stop.
    pub fn new(
        law: &'a dyn OuterPrior,
        findings: &'a Findings,
        draws: usize,
        seed: u64,
        work: &dyn Work,
    ) -> Option<Self> {
        Self::within(Limits::default(), law, findings, draws, seed, work)
    }

    /// The same within given limits.
    pub fn within(
        limits: Limits,
        law: &'a dyn OuterPrior,
        findings: &'a Findings,
        draws: usize,
        seed: u64,
        work: &dyn Work,
    ) -> Option<Self> {
        let sums = Arc::new(Sums::new(findings, law.unmapped_lines(), work)?);
        Self::knowing(&sums, limits, law, findings, draws, seed, work)
    }

    /// The same, what findings come to whatever the law being known: several laws of one site share it.
    pub fn knowing(
        sums: &Arc<Sums>,
        limits: Limits,
        law: &'a dyn OuterPrior,
        findings: &'a Findings,
        draws: usize,
        seed: u64,
        work: &dyn Work,
    ) -> Option<Self> {
        let effort = work.effort();
        let all = if findings.is_empty() { 0 } else { law.systems().len() };
        let mut systems: Vec<usize> = (0..all).collect();
        let mut size = pool::FIRST.max(4 * draws).min(limits.outer_states);
        loop {
            let mut touched = Vec::with_capacity(systems.len());
            for &system in &systems {
                let samples = pool::samples(law, system, size, seed, work)?;
                let named = (system, &law.systems()[system]);
                let reached = relevant::reached(named.1, findings, &samples, work);
                if work.stops() {
                    return None;
                }
                if let Some(reached) = reached {
                    touched.push(observed_system::touched(named, findings, reached, &samples, work)?);
                }
            }
            systems = touched.iter().map(|touched| touched.system).collect();
            let mut posterior = Self {
                law,
                findings,
                sums: sums.clone(),
                touched,
                bearings: Vec::new(),
                effective: 0.0,
                limits,
                limited: false,
                unanswered: AtomicUsize::new(0),
                effort: effort.clone(),
            };
            if !effort.spend(posterior.price()) {
                return None;
            }
            posterior.weigh();
            let enough = posterior.effective >= draws as f64;
            if enough || size >= limits.outer_states {
                posterior.limited = !enough;
                return Some(posterior);
            }
            size = (2 * size).min(limits.outer_states);
        }
    }

    /// About what one look at the weights of all pools costs.
    fn price(&self) -> u64 {
        let pools =
            self.touched.iter().flat_map(|touched| &touched.pools).map(|pool| pool.price()).sum::<u64>();
        let bearings = self.law.bearings().len().max(1) as u64;
        pools + 4 * (self.sums.coefficients.len() * self.touched.len() * self.touched.len()) as u64 * bearings
    }

    /// Whether more outer states were wanted than the limit allows: the draws are worth fewer than half of them.
    pub fn is_limited(&self) -> bool {
        self.limited
    }

    /// Number of lines drawn so far whose marks do not answer to what was seen, after as many attempts as the limit
    /// allows: they were kept as they came nearest to it.
    pub fn unanswered(&self) -> usize {
        self.unanswered.load(Ordering::Relaxed)
    }

    pub(super) fn count_unanswered(&self) {
        self.unanswered.fetch_add(1, Ordering::Relaxed);
    }

    /// Effective number of outer states behind the draws: the least over systems.
    pub fn effective(&self) -> f64 {
        self.effective
    }

    /// Probability of each grid bearing, given what was seen; zero everywhere where that is impossible.
    pub fn bearings(&self) -> Vec<f64> {
        let total: f64 = self.bearings.iter().sum();
        self.bearings.iter().map(|p| if total > 0.0 { p / total } else { 0.0 }).collect()
    }

    /// Natural logarithm of the chance of all that was seen.
    pub fn log_evidence(&self) -> f64 {
        self.bearings.iter().sum::<f64>().ln()
    }

    /// Mean over the pools at a bearing of the chance that a set and the clear looks meet nothing, one system left out.
    pub(super) fn mean(&self, bearing: usize, set: usize, left_out: usize) -> f64 {
        let others = self.touched.iter().enumerate().filter(|(k, _)| *k != left_out);
        others.map(|(_, touched)| touched.pools[bearing].mean[touched.part_of(set)]).product()
    }

    /// Bearings by what was seen, and the effective number of outer states.
    fn weigh(&mut self) {
        let sets = self.sums.coefficients.len();
        let at = |b: usize| -> f64 {
            (0..sets)
                .map(|set| self.sums.coefficients[set] * self.mean(b, set, usize::MAX))
                .sum::<f64>()
                .max(0.0)
        };
        self.bearings = self.law.bearings().iter().enumerate().map(|(b, p)| p * at(b)).collect();
        let mut effective = f64::INFINITY;
        for (k, touched) in self.touched.iter().enumerate() {
            let (mut sum, mut squares) = (0.0, 0.0);
            for (b, pool) in touched.pools.iter().enumerate() {
                let others = touched.gathered(sets, |set| self.sums.coefficients[set] * self.mean(b, set, k));
                let share = self.law.bearings()[b] / pool.outer.len().max(1) as f64;
                for weight in pool.weights(&others) {
                    let weight = share * weight;
                    sum += weight;
                    squares += weight * weight;
                }
            }
            effective = effective.min(if squares > 0.0 { sum * sum / squares } else { 0.0 });
        }
        self.effective = effective;
    }
}
