//! Layouts given what probes found: outer states with exact weights, then trees and marks, draw after draw independent.
//!
//! `P(bearing, outer states | seen) ~ p sum_S c_S prod_k Z_k(C + S) / Z_k(0)` with the signed sum of `strike::Findings`
//! over sets S of finds taken as missed; finds couple the systems, which are else independent given the bearing. Outer
//! states are sampled from the law, many more than are used, and weighted by that ratio: trees and marks are summed over
//! exactly, so the weights vary little (a fixed set of full draws would collapse; design section 4). Given its outer
//! state a tree is drawn edge by edge (`tree`), the marks of the runs that a look may meet by rejection (`marks`).

mod given_rest;
mod held;
mod marks;
mod outer;
mod pool;
mod reach;
mod sums;
mod told;
mod tree;

use crate::effort::{Effort, Work};
use crate::layout::{Draw, OuterLaw, Tree, pick};
use crate::strike::Findings;
pub use given_rest::GivenRest;
pub use held::{Eye, Held};
use outer::{Outer, Seen};
use pool::Pool;
use rand::Rng;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
pub use sums::Sums;

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

/// A system that some look may meet.
struct Touched {
    /// Index of the system.
    system: usize,
    /// The clear looks that may have met its lines, by their places.
    clear: Vec<usize>,
    /// The finds that may be lines of this system, by their places.
    finds: Vec<usize>,
    /// These looks.
    seen: Arc<Seen>,
    /// Outer states, for each bearing.
    pools: Vec<Arc<Pool>>,
}

impl Touched {
    /// For each set of this system's finds, the sum of a value over the sets of all finds that it is part of.
    fn gathered(&self, sets: usize, value: impl Fn(usize) -> f64) -> Vec<f64> {
        let mut sums = vec![0.0; 1 << self.finds.len()];
        (0..sets).for_each(|set| sums[self.part_of(set)] += value(set));
        sums
    }

    /// The set of this system's finds that is part of a set of all finds.
    fn part_of(&self, set: usize) -> usize {
        self.finds.iter().enumerate().map(|(place, &find)| (set >> find & 1) << place).sum()
    }
}

/// The posterior of a law given findings.
pub struct Posterior<'a> {
    law: &'a dyn OuterLaw,
    findings: &'a Findings,
    sums: Arc<Sums>,
    touched: Vec<Touched>,
    bearings: Vec<f64>,
    effective: f64,
    limits: Limits,
    /// Whether more outer states were wanted than the limit allows.
    limited: bool,
    /// Lines drawn so far whose marks do not answer to what was seen.
    unanswered: AtomicUsize,
    /// Where work is counted.
    effort: Effort,
}

/// One system of a draw in the making.
struct Chosen<'p> {
    outer: &'p Outer,
    /// For each set of the system's finds, the chance that nothing met: of the outer state, then of its tree.
    missed: Vec<f64>,
}

impl<'a> Posterior<'a> {
    /// Weighs outer states so that `draws` draws have at least half as many effective ones, within the usual limits.
    ///
    /// `None` if `work` is to stop.
    pub fn new(
        law: &'a dyn OuterLaw,
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
        law: &'a dyn OuterLaw,
        findings: &'a Findings,
        draws: usize,
        seed: u64,
        work: &dyn Work,
    ) -> Option<Self> {
        let sums = Arc::new(Sums::new(findings, law.floor(), work)?);
        Self::knowing(&sums, limits, law, findings, draws, seed, work)
    }

    /// The same, what findings come to whatever the law being known: several laws of one site share it.
    pub fn knowing(
        sums: &Arc<Sums>,
        limits: Limits,
        law: &'a dyn OuterLaw,
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
                let reached = reach::reached(named.1, findings, &samples, work);
                if work.stops() {
                    return None;
                }
                if let Some(reached) = reached {
                    touched.push(pool::touched(named, findings, reached, &samples, work)?);
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

    fn count_unanswered(&self) {
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
    fn mean(&self, bearing: usize, set: usize, left_out: usize) -> f64 {
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

    /// One draw; its touched runs have their marks known. `None` if no layout agrees with what was seen, or the effort is spent.
    pub fn sample(&self, rng: &mut impl Rng) -> Option<Draw> {
        if self.bearings.iter().sum::<f64>() <= 0.0 {
            return None;
        }
        let bearing = pick(&self.bearings, rng);
        let mut chosen: Vec<Chosen<'_>> = Vec::with_capacity(self.touched.len());
        for (k, touched) in self.touched.iter().enumerate() {
            let others = |set: usize| -> f64 {
                let later: f64 = self.touched[k + 1..]
                    .iter()
                    .map(|touched| touched.pools[bearing].mean[touched.part_of(set)])
                    .product();
                self.sums.coefficients[set] * self.product(&chosen, set, usize::MAX) * later
            };
            let others = touched.gathered(self.sums.coefficients.len(), others);
            let pool = &touched.pools[bearing];
            if !self.effort.spend(pool.price() + 4 * self.sums.coefficients.len() as u64) {
                return None;
            }
            let weights = pool.weights(&others);
            if weights.iter().sum::<f64>() <= 0.0 {
                return None;
            }
            let item = pick(&weights, rng);
            chosen.push(Chosen { outer: &pool.outer[item], missed: pool.missed(item).to_vec() });
        }
        let mut trees: Vec<Option<Tree>> = (0..self.law.systems().len()).map(|_| None).collect();
        for (k, touched) in self.touched.iter().enumerate() {
            let others = |set: usize| self.sums.coefficients[set] * self.product(&chosen, set, k);
            let signed = touched.gathered(self.sums.coefficients.len(), others);
            let (tree, missed) = tree::draw(chosen[k].outer, &signed, &self.effort, rng);
            chosen[k].missed = missed;
            trees[touched.system] = Some(tree);
        }
        let unknown = marks::draw(self, &chosen, &mut trees, rng);
        if self.effort.is_spent() {
            return None;
        }
        for (system, tree) in trees.iter_mut().enumerate().filter(|(_, tree)| tree.is_none()) {
            *tree = Some(Tree::sample(self.law.draw_state(bearing, system, rng)?, rng));
        }
        Some(Draw { bearing, trees: trees.into_iter().collect::<Option<_>>()?, unknown })
    }

    /// Product over the systems chosen so far, one left out.
    fn product(&self, chosen: &[Chosen<'_>], set: usize, left_out: usize) -> f64 {
        let of = |(k, (c, touched)): (usize, (&Chosen<'_>, &Touched))| {
            if k == left_out { 1.0 } else { c.missed[touched.part_of(set)] }
        };
        chosen.iter().zip(&self.touched).enumerate().map(of).product()
    }
}
