//! The posterior where zones are known: outer states of every system that an observation may meet, with their weights.

use super::attempts::Attempts;
use super::given_bearing::GivenBearing;
use super::given_rest::{self, GivenRest, Means};
use super::observed_system::ObservedSystem;
use super::relevant::relevant;
use super::sample::samples;
use super::sums::{Sums, all_missed, signed};
use super::system_missed::SystemMissed;
use super::system_observations::SystemObservations;
use crate::effort::Work;
use crate::layout::{Draw, OuterPrior, pick};
use crate::strike::Findings;
use rand::Rng;
use rayon::prelude::*;
use std::sync::Arc;

/// Outer states sampled for each system at first, over all bearings. Numerical choice.
const FIRST: usize = 1_000;

/// How much is tried before a posterior makes do with what it has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Outer states weighed for each system, over all bearings.
    pub outer_states: usize,
    /// Attempts to draw the attributes of a run that answer to what was seen of it.
    pub tries: usize,
}

impl Default for Limits {
    /// Numerical choices: 256,000 outer states take seconds and some hundred megabytes; sets of finds less probable than
    /// one in a thousand of what is seen are hardly ever asked for, so 100,000 tries hardly ever fail.
    fn default() -> Self {
        Self { outer_states: 256_000, tries: 100_000 }
    }
}

/// The posterior of a prior of layouts given findings.
pub struct Posterior<'a> {
    prior: &'a dyn OuterPrior,
    sums: Arc<Sums<'a>>,
    systems: Vec<ObservedSystem>,
    bearings: Vec<f64>,
    effective: f64,
    /// Whether more outer states were wanted than the limit allows.
    limited: bool,
    attempts: Attempts,
}

impl<'a> Posterior<'a> {
    /// Weighs outer states so that `draws` draws have at least half as many effective ones, within the usual limits.
    ///
    /// `None` if `work` is to stop.
    pub fn new(
        prior: &'a dyn OuterPrior,
        findings: &'a Findings,
        draws: usize,
        seed: u64,
        work: &dyn Work,
    ) -> Option<Self> {
        let sums = Arc::new(Sums::new(findings, prior.unmapped_lines(), work)?);
        Self::knowing(&sums, Limits::default(), prior, draws, seed, work)
    }

    /// The same within given limits, what findings come to whatever the prior being known: several priors of one site share
    /// it.
    pub fn knowing(
        sums: &Arc<Sums<'a>>,
        limits: Limits,
        prior: &'a dyn OuterPrior,
        draws: usize,
        seed: u64,
        work: &dyn Work,
    ) -> Option<Self> {
        let effort = work.effort();
        let findings = sums.findings;
        let all = if findings.is_empty() { 0 } else { prior.systems().len() };
        let mut numbers: Vec<usize> = (0..all).collect();
        let mut size = FIRST.max(4 * draws).min(limits.outer_states);
        loop {
            let mut systems = Vec::with_capacity(numbers.len());
            for &number in &numbers {
                let system = &prior.systems()[number];
                let samples = samples(prior, number, size, seed, work)?;
                let relevant = relevant(system, findings, &samples, work);
                if work.stops() {
                    return None;
                }
                if let Some(relevant) = relevant {
                    let observations = SystemObservations::new(findings, system, relevant);
                    systems.push(ObservedSystem::new(number, observations, &samples, work)?);
                }
            }
            numbers = systems.iter().map(|observed| observed.system).collect();
            let mut posterior = Self {
                prior,
                sums: sums.clone(),
                systems,
                bearings: Vec::new(),
                effective: 0.0,
                limited: false,
                attempts: Attempts::new(limits.tries, effort.clone()),
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

    /// About what it costs to take the weights of all pools once.
    fn price(&self) -> u64 {
        let pools =
            self.systems.iter().flat_map(|system| &system.pools).map(|pool| pool.price()).sum::<u64>();
        let bearings = self.prior.bearings().len().max(1) as u64;
        let sets = self.sums.coefficients.values().len();
        pools + 4 * (sets * self.systems.len() * self.systems.len()) as u64 * bearings
    }

    /// Whether more outer states were wanted than the limit allows: the draws are worth fewer than half of them.
    pub fn is_limited(&self) -> bool {
        self.limited
    }

    /// Number of lines drawn so far whose attributes do not answer to what was seen, after as many attempts as the limit
    /// allows: they were kept as they came nearest to it.
    pub fn unanswered(&self) -> usize {
        self.attempts.unanswered()
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

    /// For each observed system, the mean over its pool at a bearing of the chance that nothing is met; then the same of metal.
    fn missed(&self, bearing: usize) -> Vec<SystemMissed<'_>> {
        let metal = self.sums.metal.iter().map(|metal| metal.as_system(bearing));
        self.systems.iter().map(|system| system.missed(bearing)).chain(metal).collect()
    }

    /// Bearings by what was seen, and the effective number of outer states.
    fn weigh(&mut self) {
        let coefficients = &self.sums.coefficients;
        let missed: Vec<Vec<SystemMissed<'_>>> =
            (0..self.prior.bearings().len()).map(|bearing| self.missed(bearing)).collect();
        let weigh = |(p, missed): (&f64, &Vec<_>)| p * signed(coefficients, missed).max(0.0);
        let bearings = self.prior.bearings().iter().zip(&missed).map(weigh).collect();
        let mut effective = f64::INFINITY;
        for (k, system) in self.systems.iter().enumerate() {
            let (mut sum, mut squares) = (0.0, 0.0);
            for (bearing, pool) in system.pools.iter().enumerate() {
                let others = || missed[bearing][..k].iter().chain(&missed[bearing][k + 1..]);
                let of_set = |set| coefficients[set] * all_missed(others(), set);
                let others = system.observations.gathered(coefficients.sets(), of_set);
                let share = self.prior.bearings()[bearing] / pool.outer.len().max(1) as f64;
                for weight in pool.weights(&others) {
                    let weight = share * weight;
                    sum += weight;
                    squares += weight * weight;
                }
            }
            effective = effective.min(if squares > 0.0 { sum * sum / squares } else { 0.0 });
        }
        (self.bearings, self.effective) = (bearings, effective);
    }

    /// One draw. `None` if no layout agrees with what was seen, or the effort is spent.
    pub fn draw(&self, rng: &mut impl Rng) -> Option<Draw> {
        if self.bearings.iter().sum::<f64>() <= 0.0 {
            return None;
        }
        let bearing = pick(&self.bearings, rng);
        let systems = self.systems.iter().map(|system| (system.system, system.at(bearing)));
        let (prior, sums, attempts) = (self.prior, &*self.sums, &self.attempts);
        GivenBearing { prior, bearing, sums, systems: systems.collect(), attempts }.draw(rng)
    }

    /// A find given everything else, false finds and unknown lines apart: whether some line of the systems answers to it.
    pub fn find_given_rest(&self, find: usize) -> GivenRest {
        let (mut rest, mut missed) = (0.0, 0.0);
        for (bearing, p) in self.prior.bearings().iter().enumerate() {
            let at = given_rest::find(&self.sums.coefficients, &self.missed(bearing), find);
            rest += p * at.0;
            missed += p * at.1;
        }
        GivenRest { rest, with: rest - missed }
    }

    /// A clear observation given everything else: whether it meets nothing, unknown lines included. One in `every` outer
    /// states is taken. `None` if `work` is to stop.
    pub fn clear_given_rest(&self, clear: usize, every: usize, work: &dyn Work) -> Option<GivenRest> {
        let without = self.sums.without(clear, &work.effort());
        // By system, by bearing.
        let mut means: Vec<Vec<Means>> = Vec::with_capacity(self.systems.len());
        for system in &self.systems {
            let relevant = &system.observations.relevant;
            let fewer = relevant.clear.contains(&clear).then(|| {
                let of = &self.prior.systems()[system.system];
                SystemObservations::new(self.sums.findings, of, relevant.without_clear(clear))
            });
            let at = |bearing| given_rest::means(&system.at(bearing), fewer.as_ref(), every, work);
            means.push((0..system.pools.len()).into_par_iter().map(at).collect::<Option<_>>()?);
        }
        let mut all = GivenRest::default();
        for (bearing, p) in self.prior.bearings().iter().enumerate() {
            let systems = self.systems.iter().zip(&means);
            let systems: Vec<(&SystemObservations, &Means)> =
                systems.map(|(system, means)| (&*system.observations, &means[bearing])).collect();
            let rest = self.sums.summed(&without.coefficients, bearing);
            all = all.plus(*p, given_rest::clear(&rest, self.sums.at(bearing), &systems));
        }
        Some(GivenRest { with: without.unmet * all.with, ..all })
    }
}
