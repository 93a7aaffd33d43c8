//! Outer states held a few at a time, for samplers that go from one zoning to another: what looks say of all together,
//! and layouts that agree with them.
//!
//! Where labels are known outer states are sampled in large pools; where they are not, each state of the sampler holds a
//! small pool for each system. The signed sum over the means of the pools estimates the chance of all that was seen, trees
//! and marks summed over, without bias and never below zero, since it is the mean over all ways to take one state of each
//! pool. A sampler that carries its pools along is therefore exact (pseudo-marginal: Andrieu and Roberts 2009), and a layout
//! takes one state of each pool by what was seen.

use super::given_rest::GivenRest;
use super::observed_system::ObservedSystem;
use super::outer::{RunLikelihoods, SystemObservations};
use super::pool::{Pool, Sample, Scales, pool};
use super::relevant::{RelevantObservations, each_line};
use super::run_likelihood::{OfClass, RunLikelihood};
use super::sums::Sums;
use super::weighed::{Limits, Posterior};
use crate::class::Class;
use crate::effort::{self, Effort};
use crate::layout::{Draw, OuterPrior, OuterState, Run, System, UnmappedLines};
use crate::strike::{Findings, mean_beyond};
use rand::Rng;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

/// One run in so many is taken to be new to what is kept of them, and the price of each look at a new one and of a known one.
/// Numerical choices, about as measured.
const NEW_SHARE: usize = 6;
const NEW_RUN: u64 = 6 * effort::LOOK;
const KNOWN_RUN: u64 = 60;

/// What probes found, ready to be held against outer states.
pub struct FindingsLikelihood<'a> {
    findings: &'a Findings,
    sums: Arc<Sums>,
    classes: [OfClass; Class::ALL.len()],
    unanswered: AtomicUsize,
    effort: Effort,
}

/// A few outer states of a system, with the looks that bear on them.
#[derive(Clone)]
pub struct HeldStates {
    sample: Arc<Sample>,
    /// The clear looks that bear on some of them.
    clear: Vec<usize>,
    /// The finds that may be lines of some of them, by their places.
    finds: Vec<usize>,
    seen: Arc<SystemObservations>,
    pool: Arc<Pool>,
}

impl<'a> FindingsLikelihood<'a> {
    /// The findings among these unknown lines.
    pub fn new(findings: &'a Findings, unmapped: &UnmappedLines) -> Self {
        Self {
            findings,
            sums: Arc::new(Sums::of(findings, unmapped)),
            classes: Default::default(),
            unanswered: AtomicUsize::new(0),
            effort: Effort::unlimited(),
        }
    }

    /// The same, its work counted there.
    pub fn counting(self, effort: Effort, unmapped: &UnmappedLines) -> Self {
        effort.spend(self.findings.price(unmapped));
        Self { effort, ..self }
    }

    /// Lines drawn so far whose marks do not answer to what was seen.
    pub fn unanswered(&self) -> usize {
        self.unanswered.load(Ordering::Relaxed)
    }

    /// Whether there is nothing to see.
    pub fn is_closed(&self) -> bool {
        self.findings.is_empty()
    }

    /// Holds outer states, drawn from their law; extents of headers and cover levels are drawn from theirs. `None` if the
    /// effort is spent.
    ///
    /// What looks say of a run is kept and shared by threads; it is counted as if a share of the runs were new, which does not
    /// depend on who met them first.
    pub fn hold(
        &self,
        system: &System,
        states: Vec<Arc<OuterState>>,
        rng: &mut impl Rng,
    ) -> Option<HeldStates> {
        let sample = Arc::new(Sample::new(states, rng));
        let class = &self.classes[system.class as usize];
        let mut runs: Vec<Arc<Run>> = Vec::new();
        each_line(&sample, |run| runs.push(run.clone()));
        let looks = self.findings.clear.len() + self.findings.found.len();
        let new = runs.len().div_ceil(NEW_SHARE) as u64;
        if !self.effort.spend(runs.len() as u64 * KNOWN_RUN + new * NEW_RUN * looks as u64) {
            return None;
        }
        let told = class.runs(self.findings, system, &runs);
        let reached = |places: &dyn Fn(&RunLikelihood) -> &Vec<usize>| {
            let told = told.iter().filter_map(Option::as_deref);
            let mut places: Vec<usize> = told.flat_map(|told| places(told).iter().copied()).collect();
            places.sort_unstable();
            places.dedup();
            places
        };
        let reached =
            RelevantObservations { clear: reached(&|told| &told.clear), finds: reached(&|told| &told.finds) };
        let by_set = |told: Option<Arc<RunLikelihood>>| told.map(|told| told.by_set_of(&reached.finds));
        let known = runs.iter().map(Arc::as_ptr).zip(told.into_iter().map(by_set)).collect();
        self.weigh(system, sample, reached, RunLikelihoods::knowing(known))
    }

    fn weigh(
        &self,
        system: &System,
        sample: Arc<Sample>,
        reached: RelevantObservations,
        asked: RunLikelihoods,
    ) -> Option<HeldStates> {
        let RelevantObservations { clear, finds } = reached;
        let seen = self.classes[system.class as usize].seen(self.findings, system, &clear, &finds);
        let pool = Arc::new(pool(&sample, Scales::knowing(&seen, asked), &self.effort)?);
        Some(HeldStates { sample, clear, finds, seen, pool })
    }

    /// Log of the chance of all that was seen, given the states held for all systems.
    pub fn log_chance<'h>(&self, held: impl Iterator<Item = &'h HeldStates> + Clone) -> f64 {
        let of_set = |set: usize| -> f64 {
            self.sums.coefficients[set] * held.clone().map(|held| held.missed(set)).product::<f64>()
        };
        (0..self.sums.coefficients.len()).map(of_set).sum::<f64>().max(0.0).ln()
    }

    /// A find given everything else, false finds and unknown lines apart, at these states. Both chances are shares of the
    /// chance of all that was seen, so that means over sampled states are shares of its evidence.
    pub fn find_given_rest<'h>(
        &self,
        held: impl Iterator<Item = &'h HeldStates> + Clone,
        find: usize,
    ) -> Option<GivenRest> {
        let of_set = |set: usize, coefficient: f64| -> f64 {
            coefficient * held.clone().map(|held| held.missed(set)).product::<f64>()
        };
        let sum = |wanted: &dyn Fn(usize) -> f64| (0..self.sums.coefficients.len()).map(wanted).sum::<f64>();
        let all = sum(&|set| of_set(set, self.sums.coefficients[set]));
        let is_in = |set: usize| set >> find & 1 == 1;
        let rest = sum(&|set| if is_in(set) { 0.0 } else { of_set(set, self.sums.coefficients[set]) });
        let missed = sum(&|set| {
            if is_in(set) { of_set(set, self.sums.coefficients[set & !(1 << find)]) } else { 0.0 }
        });
        (all > 0.0).then(|| GivenRest { rest: rest / all, with: (rest - missed).max(0.0) / all })
    }

    /// A clear look given everything else, unknown lines included, at these states; shares as above.
    pub fn clear_given_rest(
        &self,
        systems: &[System],
        unmapped: &UnmappedLines,
        held: &[HeldStates],
        clear: usize,
    ) -> Option<GivenRest> {
        let mut others = self.findings.clone();
        let look = others.clear.remove(clear);
        let unmet = (-mean_beyond(unmapped, &look, &others.clear.iter().collect::<Vec<_>>())).exp();
        let blind = held.iter().zip(systems).map(|(held, system)| self.blind(system, held, clear));
        let blind: Vec<HeldStates> = blind.collect::<Option<_>>()?;
        let sum = |coefficients: &[f64], held: &[HeldStates]| -> f64 {
            let of_set = |(set, coefficient): (usize, &f64)| {
                coefficient * held.iter().map(|held| held.missed(set)).product::<f64>()
            };
            coefficients.iter().enumerate().map(of_set).sum()
        };
        let all = unmet * sum(&self.sums.coefficients, held);
        (all > 0.0).then(|| GivenRest { rest: sum(&others.coefficients(unmapped), &blind) / all, with: 1.0 })
    }

    /// The same outer states to eyes that lack one clear look.
    fn blind(&self, system: &System, held: &HeldStates, clear: usize) -> Option<HeldStates> {
        if !held.clear.contains(&clear) {
            return Some(held.clone());
        }
        let clear = held.clear.iter().copied().filter(|&k| k != clear).collect();
        let reached = RelevantObservations { clear, finds: held.finds.clone() };
        self.weigh(system, held.sample.clone(), reached, RunLikelihoods::default())
    }

    /// A layout from the states held for the systems of a law at a bearing. `None` if none agrees with what was seen.
    pub fn draw(
        &self,
        law: &dyn OuterPrior,
        bearing: usize,
        held: &[HeldStates],
        rng: &mut impl Rng,
    ) -> Option<Draw> {
        let touched = held.iter().enumerate().map(|(system, held)| {
            let nothing = Arc::new(Pool::default());
            let mut pools = vec![nothing; law.bearings().len()];
            pools[bearing] = held.pool.clone();
            let (clear, finds, seen) = (held.clear.clone(), held.finds.clone(), held.seen.clone());
            ObservedSystem { system, clear, finds, seen, pools }
        });
        let mut bearings = vec![0.0; law.bearings().len()];
        bearings[bearing] = 1.0;
        let posterior = Posterior {
            law,
            findings: self.findings,
            sums: self.sums.clone(),
            touched: touched.collect(),
            bearings,
            effective: 1.0,
            limits: Limits::default(),
            limited: false,
            unanswered: AtomicUsize::new(0),
            effort: self.effort.clone(),
        };
        let draw = posterior.sample(rng);
        self.unanswered.fetch_add(posterior.unanswered(), Ordering::Relaxed);
        draw
    }
}

impl HeldStates {
    /// Mean over its states of the chance that a set of all finds and the clear looks meet nothing.
    fn missed(&self, set: usize) -> f64 {
        let part: usize =
            self.finds.iter().enumerate().map(|(place, &find)| (set >> find & 1) << place).sum();
        self.pool.mean[part]
    }
}
