//! Outer states held a few at a time, for samplers that go from one labelling to another: what looks say of all together,
//! and layouts that agree with them.
//!
//! Where labels are known outer states are sampled in large pools; where they are not, each state of the sampler holds a
//! small pool for each system. The signed sum over the means of the pools estimates the chance of all that was seen, trees
//! and marks summed over, without bias and never below zero, since it is the mean over all ways to take one state of each
//! pool. A sampler that carries its pools along is therefore exact (pseudo-marginal: Andrieu and Roberts 2009), and a layout
//! takes one state of each pool by what was seen.

use super::outer::Seen;
use super::pool::{Pool, Sample, pool, seen};
use super::reach::{Reached, each_line};
use super::{GivenRest, Limits, Posterior, Touched, marks};
use crate::layout::{Draw, Floor, OuterLaw, OuterState, System};
use crate::strike::{Findings, Look, mean_beyond};
use rand::Rng;
use std::collections::HashMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, PoisonError, RwLock};

/// Looks by class of line, the clear ones and the finds among them as bits.
type Known = HashMap<(usize, u64, u64), Arc<Seen>>;

/// What probes found, ready to be held against outer states.
pub struct Eye<'a> {
    findings: &'a Findings,
    coefficients: Vec<f64>,
    /// For each find, the chance that it is an unknown line where no run explains it.
    unknown: Vec<f64>,
    known: RwLock<Known>,
    unanswered: AtomicUsize,
}

/// A few outer states of a system, with the looks that bear on them.
#[derive(Clone)]
pub struct Held {
    sample: Arc<Sample>,
    /// The clear looks that bear on some of them.
    clear: Vec<usize>,
    /// The finds that may be lines of some of them, by their places.
    finds: Vec<usize>,
    seen: Arc<Seen>,
    pool: Arc<Pool>,
}

impl<'a> Eye<'a> {
    /// The findings among these unknown lines.
    pub fn new(findings: &'a Findings, floor: &Floor) -> Self {
        Self {
            findings,
            coefficients: findings.coefficients(floor),
            unknown: marks::unknown(floor, findings),
            known: RwLock::default(),
            unanswered: AtomicUsize::new(0),
        }
    }

    /// Lines drawn so far whose marks do not answer to what was seen.
    pub fn unanswered(&self) -> usize {
        self.unanswered.load(Ordering::Relaxed)
    }

    /// Whether there is nothing to see.
    pub fn is_closed(&self) -> bool {
        self.findings.is_empty()
    }

    /// Holds outer states, drawn from their law; extents of headers and cover levels are drawn from theirs.
    pub fn hold(&self, system: &System, states: Vec<Arc<OuterState>>, rng: &mut impl Rng) -> Held {
        let sample = Arc::new(Sample::new(states, rng));
        let alone: Vec<Arc<Seen>> = self.each().map(|look| self.alone(system, look)).collect();
        let mut met = vec![false; alone.len()];
        each_line(&sample, |line| {
            for (met, alone) in met.iter_mut().zip(&alone) {
                *met = *met || alone.looks.meets(line);
            }
        });
        self.weigh(system, sample, Reached::of(&met, self.findings))
    }

    /// All looks, the clear ones first.
    fn each(&self) -> impl Iterator<Item = &Look> {
        self.findings.clear.iter().chain(self.findings.found.iter().map(|find| &find.look))
    }

    fn weigh(&self, system: &System, sample: Arc<Sample>, reached: Reached) -> Held {
        let Reached { clear, finds } = reached;
        let seen = self.seen(system, &clear, &finds);
        let pool = Arc::new(pool(&sample, &seen));
        Held { sample, clear, finds, seen, pool }
    }

    /// Log of the chance of all that was seen, given the states held for all systems.
    pub fn log_chance<'h>(&self, held: impl Iterator<Item = &'h Held> + Clone) -> f64 {
        let of_set = |set: usize| -> f64 {
            self.coefficients[set] * held.clone().map(|held| held.missed(set)).product::<f64>()
        };
        (0..self.coefficients.len()).map(of_set).sum::<f64>().max(0.0).ln()
    }

    /// A find given everything else, false finds and unknown lines apart, at these states. Both chances are shares of the
    /// chance of all that was seen, so that means over sampled states are shares of its evidence.
    pub fn find_given_rest<'h>(
        &self,
        held: impl Iterator<Item = &'h Held> + Clone,
        find: usize,
    ) -> Option<GivenRest> {
        let of_set = |set: usize, coefficient: f64| -> f64 {
            coefficient * held.clone().map(|held| held.missed(set)).product::<f64>()
        };
        let sum = |wanted: &dyn Fn(usize) -> f64| (0..self.coefficients.len()).map(wanted).sum::<f64>();
        let all = sum(&|set| of_set(set, self.coefficients[set]));
        let is_in = |set: usize| set >> find & 1 == 1;
        let rest = sum(&|set| if is_in(set) { 0.0 } else { of_set(set, self.coefficients[set]) });
        let missed =
            sum(&|set| if is_in(set) { of_set(set, self.coefficients[set & !(1 << find)]) } else { 0.0 });
        (all > 0.0).then(|| GivenRest { rest: rest / all, with: (rest - missed).max(0.0) / all })
    }

    /// A clear look given everything else, unknown lines included, at these states; shares as above.
    pub fn clear_given_rest(
        &self,
        systems: &[System],
        floor: &Floor,
        held: &[Held],
        clear: usize,
    ) -> Option<GivenRest> {
        let mut others = self.findings.clone();
        let look = others.clear.remove(clear);
        let unmet = (-mean_beyond(floor, &look, &others.clear.iter().collect::<Vec<_>>())).exp();
        let blind: Vec<Held> =
            held.iter().zip(systems).map(|(held, system)| self.blind(system, held, clear)).collect();
        let sum = |coefficients: &[f64], held: &[Held]| -> f64 {
            let of_set = |(set, coefficient): (usize, &f64)| {
                coefficient * held.iter().map(|held| held.missed(set)).product::<f64>()
            };
            coefficients.iter().enumerate().map(of_set).sum()
        };
        let all = unmet * sum(&self.coefficients, held);
        (all > 0.0).then(|| GivenRest { rest: sum(&others.coefficients(floor), &blind) / all, with: 1.0 })
    }

    /// The same outer states to eyes that lack one clear look.
    fn blind(&self, system: &System, held: &Held, clear: usize) -> Held {
        if !held.clear.contains(&clear) {
            return held.clone();
        }
        let clear = held.clear.iter().copied().filter(|&k| k != clear).collect();
        self.weigh(system, held.sample.clone(), Reached { clear, finds: held.finds.clone() })
    }

    /// A layout from the states held for the systems of a law at a bearing. `None` if none agrees with what was seen.
    pub fn draw(
        &self,
        law: &dyn OuterLaw,
        bearing: usize,
        held: &[Held],
        rng: &mut impl Rng,
    ) -> Option<Draw> {
        let touched = held.iter().enumerate().map(|(system, held)| {
            let nothing = Arc::new(Pool::default());
            let mut pools = vec![nothing; law.bearings().len()];
            pools[bearing] = held.pool.clone();
            let (clear, finds, seen) = (held.clear.clone(), held.finds.clone(), held.seen.clone());
            Touched { system, clear, finds, seen, pools }
        });
        let mut bearings = vec![0.0; law.bearings().len()];
        bearings[bearing] = 1.0;
        let posterior = Posterior {
            law,
            findings: self.findings,
            coefficients: self.coefficients.clone(),
            unknown: self.unknown.clone(),
            touched: touched.collect(),
            bearings,
            effective: 1.0,
            limits: Limits::default(),
            limited: false,
            unanswered: AtomicUsize::new(0),
        };
        let draw = posterior.sample(rng);
        self.unanswered.fetch_add(posterior.unanswered.into_inner(), Ordering::Relaxed);
        draw
    }

    /// One look alone.
    fn alone(&self, system: &System, look: &Look) -> Arc<Seen> {
        let clear = self.findings.clear.iter().position(|other| std::ptr::eq(other, look));
        let found = self.findings.found.iter().position(|other| std::ptr::eq(&raw const other.look, look));
        self.seen(system, clear.as_slice(), found.as_slice())
    }

    /// These clear looks and finds.
    fn seen(&self, system: &System, clear: &[usize], finds: &[usize]) -> Arc<Seen> {
        let bits = |places: &[usize]| places.iter().fold(0u64, |bits, &k| bits | 1 << k.min(63));
        let key = (system.class as usize, bits(clear), bits(finds));
        let kept = clear.iter().all(|&k| k < 63);
        let known = self.known.read().unwrap_or_else(PoisonError::into_inner).get(&key).cloned();
        if let (Some(known), true) = (known, kept) {
            return known;
        }
        let seen = seen(self.findings, system, clear, finds);
        if kept {
            self.known.write().unwrap_or_else(PoisonError::into_inner).insert(key, seen.clone());
        }
        seen
    }
}

impl Held {
    /// Mean over its states of the chance that a set of all finds and the clear looks meet nothing.
    fn missed(&self, set: usize) -> f64 {
        let part: usize =
            self.finds.iter().enumerate().map(|(place, &find)| (set >> find & 1) << place).sum();
        self.pool.mean[part]
    }
}
