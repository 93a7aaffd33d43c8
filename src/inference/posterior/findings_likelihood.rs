//! The likelihood of findings where zones are not known: pools of a few outer states each, for samplers that go from one
//! zoning to another, and layouts that agree with what was seen.
//!
//! Where zones are known outer states are sampled in large pools; where they are not, each state of the sampler carries a
//! small pool for each system. The signed sum over the means of the pools estimates the chance of all that was seen, trees
//! and run attributes summed over, without bias and never below zero, since it is the mean over all ways to take one state
//! of each pool. A sampler that carries its pools along is therefore exact (pseudo-marginal: Andrieu and Roberts 2009), and
//! a layout takes one state of each pool by what was seen.

use super::attempts::Attempts;
use super::given_bearing::GivenBearing;
use super::given_rest::{self, GivenRest, Means};
use super::metal_finds::MetalFinds;
use super::pool::SystemPool;
use super::run_cache::{ObservedRun, RunCache};
use super::run_likelihoods::RunLikelihoods;
use super::sample::Sample;
use super::sums::{Sums, signed};
use super::system_missed::SystemMissed;
use super::system_observations::{RelevantObservations, SystemObservations};
use super::weighed::Limits;
use crate::class::Class;
use crate::effort::{self, Effort};
use crate::layout::{Draw, OuterPrior, OuterState, Run, System, UnmappedLines};
use crate::strike::Findings;
use rand::{Rng, RngExt};
use std::sync::Arc;

/// One run in so many is taken to be new to what is kept of them, and the price of a new one for each observation and of a
/// known one. Numerical choices, about as measured.
const NEW_SHARE: usize = 6;
const NEW_RUN: u64 = 6 * effort::LOOK;
const KNOWN_RUN: u64 = 60;

/// What probes found, to weigh outer states by.
pub struct FindingsLikelihood<'a> {
    sums: Sums<'a>,
    /// By class of line.
    caches: [RunCache; Class::ALL.len()],
    attempts: Attempts,
}

impl<'a> FindingsLikelihood<'a> {
    /// The findings among these unknown lines.
    pub fn new(findings: &'a Findings, unmapped: &UnmappedLines) -> Self {
        Self {
            sums: Sums::uncounted(findings, unmapped),
            caches: Default::default(),
            attempts: Attempts::new(Limits::default().tries, Effort::unlimited()),
        }
    }

    /// The same where finds may have met metal lines, at so many bearings.
    pub fn with_metal(self, metal: Option<Arc<MetalFinds>>, bearings: usize) -> Self {
        Self { sums: self.sums.with_metal(metal, bearings), ..self }
    }

    /// The same, its work counted there.
    pub fn counting(self, effort: Effort, unmapped: &UnmappedLines) -> Self {
        effort.spend(self.sums.findings.price(unmapped));
        Self { attempts: Attempts::new(self.attempts.most, effort), ..self }
    }

    /// Lines drawn so far whose attributes do not answer to what was seen.
    pub fn unanswered(&self) -> usize {
        self.attempts.unanswered()
    }

    /// Whether nothing was probed.
    pub fn is_empty(&self) -> bool {
        self.sums.findings.is_empty()
    }

    /// A pool of outer states that were drawn from their prior; extents of headers and cover levels are drawn from theirs.
    /// `None` if the effort is spent.
    ///
    /// What observations say of a run is kept and shared by threads; it is counted as if a share of the runs were new, which
    /// does not depend on who met them first.
    pub fn pool(
        &self,
        system: &System,
        states: Vec<Arc<OuterState>>,
        rng: &mut impl Rng,
    ) -> Option<SystemPool> {
        let findings = self.sums.findings;
        let sample = Sample::new(states, rng);
        let mut runs: Vec<Arc<Run>> = Vec::new();
        sample.each_run(|run| runs.push(run.clone()));
        let observations = findings.clear.len() + findings.found.len();
        let new = runs.len().div_ceil(NEW_SHARE) as u64;
        let price = runs.len() as u64 * KNOWN_RUN + new * NEW_RUN * observations as u64;
        if !self.attempts.effort.spend(price) {
            return None;
        }
        let observed = self.cache(system).runs(findings, system, &runs);
        let places = |of: &dyn Fn(&RelevantObservations) -> &Vec<usize>| {
            let observed = observed.iter().flatten().map(|run| &run.relevant);
            let mut places: Vec<usize> = observed.flat_map(|run| of(run).iter().copied()).collect();
            places.sort_unstable();
            places.dedup();
            places
        };
        let relevant =
            RelevantObservations { clear: places(&|of| &of.clear), finds: places(&|of| &of.finds) };
        let likelihood = |run: Option<Arc<ObservedRun>>| run.map(|run| run.likelihood(&relevant.finds));
        let known = runs.iter().map(|run| run.id()).zip(observed.into_iter().map(likelihood)).collect();
        let observations = self.cache(system).system(findings, system, &relevant);
        SystemPool::new(&sample, observations, RunLikelihoods::knowing(known), &self.attempts.effort)
    }

    fn cache(&self, system: &System) -> &RunCache {
        &self.caches[system.class as usize]
    }

    /// Log of the chance of all that was seen, given the bearing and a pool of every system.
    pub fn log_chance(&self, bearing: usize, pools: &[SystemPool]) -> f64 {
        signed(self.sums.at(bearing), &missed(pools)).max(0.0).ln()
    }

    /// A find given everything else, false finds and unknown lines apart, at these pools. Both chances are shares of the
    /// chance of all that was seen, so that means over sampled states are shares of its evidence.
    pub fn find_given_rest(&self, bearing: usize, pools: &[SystemPool], find: usize) -> Option<GivenRest> {
        let mut missed = missed(pools);
        missed.extend(self.sums.metal.iter().map(|metal| metal.as_system(bearing)));
        let all = signed(&self.sums.coefficients, &missed);
        let (rest, unmet) = given_rest::find(&self.sums.coefficients, &missed, find);
        (all > 0.0).then(|| GivenRest { rest: rest / all, with: (rest - unmet).max(0.0) / all })
    }

    /// A clear observation given everything else, unknown lines included, at these pools of these systems; shares as above.
    pub fn clear_given_rest(
        &self,
        bearing: usize,
        systems: &[System],
        pools: &[SystemPool],
        clear: usize,
    ) -> Option<GivenRest> {
        let without = self.sums.without(clear, &Effort::unlimited()); // once for all chains: not counted
        let means = |(pool, system): (&SystemPool, &System)| {
            let relevant = &pool.observations.relevant;
            let fewer = relevant.clear.contains(&clear).then(|| {
                self.cache(system).system(self.sums.findings, system, &relevant.without_clear(clear))
            });
            given_rest::means(pool, fewer.as_deref(), 1, &self.attempts.effort)
        };
        let means: Vec<Means> = pools.iter().zip(systems).map(means).collect::<Option<_>>()?;
        let systems: Vec<(&SystemObservations, &Means)> =
            pools.iter().map(|pool| &*pool.observations).zip(&means).collect();
        let GivenRest { rest, with } = given_rest::clear(
            &self.sums.summed(&without.coefficients, bearing),
            self.sums.at(bearing),
            &systems,
        );
        let all = without.unmet * with;
        (all > 0.0).then(|| GivenRest { rest: rest / all, with: 1.0 })
    }

    /// A layout from pools of all systems of a prior at a bearing. `None` if none agrees with what was seen.
    pub fn draw(
        &self,
        prior: &dyn OuterPrior,
        bearing: usize,
        pools: &[SystemPool],
        rng: &mut impl Rng,
    ) -> Option<Draw> {
        let _: f64 = rng.random(); // where zones are known it picks the bearing: draws stay what they were
        let systems = pools.iter().cloned().enumerate().collect();
        GivenBearing { prior, bearing, sums: &self.sums, systems, attempts: &self.attempts }.draw(rng)
    }
}

fn missed(pools: &[SystemPool]) -> Vec<SystemMissed<'_>> {
    pools.iter().map(SystemPool::missed).collect()
}
