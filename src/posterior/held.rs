//! Outer states held one at a time, for samplers that go from one labelling to another: what looks say of each, of all
//! together, and layouts that agree with them.
//!
//! Where labels are known outer states are sampled in pools; where they are not, each state of the sampler holds one
//! outer state for each system. The chance of all that was seen is the same signed sum, trees and marks summed over.

use super::outer::{Asked, Outer, level_at};
use super::pool::{Pool, looks};
use super::{GivenRest, Limits, Posterior, Touched, marks};
use crate::forest::Scratch;
use crate::layout::{Draw, Floor, Lines, OuterLaw, OuterState, System, Tree};
use crate::strike::{Findings, Look, Looks, mean_beyond};
use rand::{Rng, RngExt};
use std::collections::HashMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, PoisonError, RwLock};

/// Looks by class of line, with the clear ones and the finds among them as bits.
type Known = HashMap<(usize, u64, u64), Arc<[Looks]>>;

/// What probes found, ready to be held against outer states.
pub struct Eye<'a> {
    findings: &'a Findings,
    coefficients: Vec<f64>,
    /// For each find, the chance that it is an unknown line where no run explains it.
    unknown: Vec<f64>,
    known: RwLock<Known>,
    unanswered: AtomicUsize,
}

/// One outer state of a system, with the looks that bear on it.
#[derive(Clone)]
pub struct Held {
    outer: Outer,
    /// The clear looks that bear on it.
    clear: Vec<usize>,
    /// The finds that may be lines of it, by their places.
    finds: Vec<usize>,
    looks: Arc<[Looks]>,
    /// For each set of those finds, the chance that set and clear looks meet nothing.
    missed: Vec<f64>,
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

    /// Holds an outer state, its header's extent and its cover level drawn from their law.
    pub fn hold(
        &self,
        system: &System,
        state: Arc<OuterState>,
        scratch: &mut Scratch,
        rng: &mut impl Rng,
    ) -> Held {
        let (extent, lines) = if state.header.is_some() {
            let tree = Tree::sample(state.clone(), rng);
            (tree.extent, tree.lines)
        } else {
            (None, state.fixed.clone())
        };
        let meets = |look: &Look| -> bool {
            let alone = self.alone(system, look);
            state.runs.iter().chain(lines.iter()).any(|run| alone[alone.len() - 1].miss(run).is_some())
        };
        let clear: Vec<usize> =
            (0..self.findings.clear.len()).filter(|&k| meets(&self.findings.clear[k])).collect();
        let finds: Vec<usize> =
            (0..self.findings.found.len()).filter(|&k| meets(&self.findings.found[k].look)).collect();
        let looks = self.looks(system, &clear, &finds);
        let level = level_at(&looks[0].levels, rng.random::<f64>());
        let mut asked = Asked::default();
        let runs = asked.runs(&looks, &state);
        let lines_missed = asked.lines(&looks, &lines, level);
        let outer = Outer { state, extent, level, lines_missed, runs };
        let base = if outer.runs.is_some() { outer.base(scratch) } else { 0.0 };
        let missed = outer.missed(looks.len(), base, scratch);
        Held { outer, clear, finds, looks, missed }
    }

    /// Log of the chance of all that was seen, given the states held for all systems.
    pub fn log_chance<'h>(&self, held: impl Iterator<Item = &'h Held> + Clone) -> f64 {
        let of_set = |set: usize| -> f64 {
            self.coefficients[set] * held.clone().map(|held| held.missed[held.part_of(set)]).product::<f64>()
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
            coefficient * held.clone().map(|held| held.missed[held.part_of(set)]).product::<f64>()
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
        scratch: &mut Scratch,
    ) -> Option<GivenRest> {
        let mut others = self.findings.clone();
        let look = others.clear.remove(clear);
        let unmet = (-mean_beyond(floor, &look, &others.clear.iter().collect::<Vec<_>>())).exp();
        let blind: Vec<Held> =
            held.iter().zip(systems).map(|(held, system)| self.blind(system, held, clear, scratch)).collect();
        let sum = |coefficients: &[f64], held: &[Held]| -> f64 {
            let of_set = |(set, coefficient): (usize, &f64)| {
                coefficient * held.iter().map(|held| held.missed[held.part_of(set)]).product::<f64>()
            };
            coefficients.iter().enumerate().map(of_set).sum()
        };
        let all = unmet * sum(&self.coefficients, held);
        (all > 0.0).then(|| GivenRest { rest: sum(&others.coefficients(floor), &blind) / all, with: 1.0 })
    }

    /// The same outer state to eyes that lack one clear look.
    fn blind(&self, system: &System, held: &Held, clear: usize, scratch: &mut Scratch) -> Held {
        if !held.clear.contains(&clear) {
            return held.clone();
        }
        let clear: Vec<usize> = held.clear.iter().copied().filter(|&k| k != clear).collect();
        let looks = self.looks(system, &clear, &held.finds);
        let mut asked = Asked::default();
        let state = held.outer.state.clone();
        let lines: Lines = match (&state.header, held.outer.extent) {
            (Some(_), Some((first, last))) => state.lines(first, last),
            _ => state.fixed.clone(),
        };
        let runs = asked.runs(&looks, &state);
        let lines_missed = asked.lines(&looks, &lines, held.outer.level);
        let outer = Outer { runs, lines_missed, ..held.outer.clone() };
        let base = if outer.runs.is_some() { outer.base(scratch) } else { 0.0 };
        let missed = outer.missed(looks.len(), base, scratch);
        Held { outer, clear, finds: held.finds.clone(), looks, missed }
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
            let mut pools: Vec<Pool> = (0..law.bearings().len()).map(|_| Pool::default()).collect();
            pools[bearing] = Pool::of_one(held.outer.clone(), &held.missed);
            let (clear, finds, looks) = (held.clear.clone(), held.finds.clone(), held.looks.clone());
            Touched { system, clear, finds, looks, pools }
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
    fn alone(&self, system: &System, look: &Look) -> Arc<[Looks]> {
        let clear = self.findings.clear.iter().position(|other| std::ptr::eq(other, look));
        let found = self.findings.found.iter().position(|other| std::ptr::eq(&raw const other.look, look));
        self.looks(system, clear.as_slice(), found.as_slice())
    }

    /// The looks of each set of these finds, with these clear ones.
    fn looks(&self, system: &System, clear: &[usize], finds: &[usize]) -> Arc<[Looks]> {
        let bits = |places: &[usize]| places.iter().fold(0u64, |bits, &k| bits | 1 << k.min(63));
        let key = (system.class as usize, bits(clear), bits(finds));
        let kept = clear.iter().all(|&k| k < 63);
        let known = self.known.read().unwrap_or_else(PoisonError::into_inner).get(&key).cloned();
        if let (Some(known), true) = (known, kept) {
            return known;
        }
        let looks = looks(self.findings, system, clear, finds);
        if kept {
            self.known.write().unwrap_or_else(PoisonError::into_inner).insert(key, looks.clone());
        }
        looks
    }
}

impl Held {
    /// The outer state.
    pub fn state(&self) -> &Arc<OuterState> {
        &self.outer.state
    }

    /// The set of this state's finds that is part of a set of all finds.
    fn part_of(&self, set: usize) -> usize {
        self.finds.iter().enumerate().map(|(place, &find)| (set >> find & 1) << place).sum()
    }
}
