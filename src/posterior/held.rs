//! Outer states held one at a time, for samplers that go from one labelling to another: what looks say of each, of all
//! together, and layouts that agree with them.
//!
//! Where labels are known outer states are sampled in pools; where they are not, each state of the sampler holds one
//! outer state for each system. The chance of all that was seen is the same signed sum, trees and marks summed over.

use super::outer::{Asked, Outer, level_at};
use super::pool::{Pool, looks};
use super::{Limits, Posterior, Touched};
use crate::forest::Scratch;
use crate::layout::{Draw, Floor, OuterLaw, OuterState, System, Tree};
use crate::strike::{Findings, Look, Looks};
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
