//! Outer states of one system, sampled from the law at each bearing, with the chances of what was seen.

use super::outer::{Misses, Outer, RunLikelihoods, SystemObservations, level_at};
use crate::effort::{self, Work};
use crate::layout::{OuterPrior, OuterState, System, Tree};
use crate::rng;
use crate::spanning_tree::Scratch;
use crate::strike::{BySet, Findings, Observations};
use rand::{Rng, RngExt};
use rayon::prelude::*;
use std::collections::HashMap;
use std::sync::Arc;

/// Outer states sampled for each system at first, over all bearings. Numerical choice.
pub const FIRST: usize = 1_000;

/// Least number of outer states at one bearing.
const LEAST: usize = 32;

/// Streams of the pools lie above those of draws and marks.
const STREAMS: u64 = 1 << 41;

/// What names an outer state but for its cover level: states live as long as their law.
type Name = (*const OuterState, Option<(usize, usize)>);

/// Outer states of a system at one bearing.
#[derive(Default)]
pub struct Pool {
    /// The states.
    pub outer: Vec<Outer>,
    /// For each state, its row among those below: states that are alike share one.
    row_of: Vec<u32>,
    /// For each set of finds, the chance that set and clear looks meet nothing; row after row.
    rows: Vec<f64>,
    /// The mean of that over the states.
    pub mean: Vec<f64>,
}

impl Pool {
    /// The chances of one state.
    pub fn missed(&self, item: usize) -> &[f64] {
        let (sets, row) = (self.mean.len(), self.row_of[item] as usize);
        &self.rows[row * sets..(row + 1) * sets]
    }

    /// Weight of every state: of each row once, the other systems being known by `others`.
    pub fn weights(&self, others: &[f64]) -> Vec<f64> {
        let of_rows: Vec<f64> =
            self.rows.chunks_exact(self.mean.len()).map(|row| weight(row, others)).collect();
        self.row_of.iter().map(|&row| of_rows[row as usize]).collect()
    }

    /// About what asking for the weights costs.
    pub fn price(&self) -> u64 {
        (self.rows.len() + 2 * self.row_of.len()) as u64
    }
}

/// Weight of one outer state: the signed sum over sets, the other systems being known by `others`.
fn weight(missed: &[f64], others: &[f64]) -> f64 {
    missed.iter().zip(others).map(|(m, o)| m * o).sum::<f64>().max(0.0)
}

/// An outer state drawn from the law, and the extent of its header.
pub type Drawn = (Arc<OuterState>, Option<(usize, usize)>);

/// Outer states of a system at one bearing, not yet weighed.
pub struct Sample {
    /// The states.
    pub states: Vec<Drawn>,
    /// Where in their law the cover levels start.
    phase: f64,
}

/// About `size` outer states of a system, spread over the bearings. `None` if `work` is to stop.
pub fn samples(
    law: &dyn OuterPrior,
    system: usize,
    size: usize,
    seed: u64,
    work: &dyn Work,
) -> Option<Vec<Sample>> {
    let at = |bearing: usize| sample(law, bearing, system, size, seed, work);
    (0..law.bearings().len()).into_par_iter().map(at).collect()
}

/// States by their probability, extents by a tree of each.
fn sample(
    law: &dyn OuterPrior,
    bearing: usize,
    system: usize,
    size: usize,
    seed: u64,
    work: &dyn Work,
) -> Option<Sample> {
    let effort = work.effort();
    let rng = &mut rng::stream(seed, STREAMS + ((system as u64) << 20) + bearing as u64);
    let wanted = ((size as f64 * law.bearings()[bearing]) as usize).max(LEAST);
    let goes_on = |_: &usize| effort.spend(effort::STATE) && !work.stops();
    let states = (0..wanted).take_while(goes_on).map_while(|_| law.sample_state(bearing, system, rng));
    let states: Vec<_> = states.collect();
    (!work.stops()).then(|| Sample::new(states, rng))
}

impl Sample {
    /// The states, the extents of their headers by a tree of each.
    pub fn new(states: Vec<Arc<OuterState>>, rng: &mut impl Rng) -> Self {
        let mut extended = |state: Arc<OuterState>| {
            let extent = state.header.as_ref().and_then(|_| Tree::sample(state.clone(), rng).extent);
            (state, extent)
        };
        Self { states: states.into_iter().map(&mut extended).collect(), phase: rng.random() }
    }
}

/// A system's clear looks, then its finds.
pub fn seen(
    findings: &Findings,
    system: &System,
    clear: &[usize],
    finds: &[usize],
) -> Arc<SystemObservations> {
    let looks = clear.iter().map(|&k| &findings.clear[k]);
    let looks = looks.chain(finds.iter().map(|&j| &findings.found[j].look)).cloned();
    Arc::new(SystemObservations {
        looks: Observations::new(system, &looks.collect::<Vec<_>>()),
        finds: finds.len(),
    })
}

/// The pool of one bearing: its states weighed, their cover levels evenly spread. `None` if `work` is to stop.
pub fn pool(sample: &Sample, mut scales: Scales<'_>, work: &dyn Work) -> Option<Pool> {
    let (seen, effort) = (scales.seen, work.effort());
    let levels = &seen.looks.levels;
    let mut pool = Pool { mean: vec![0.0; seen.sets()], ..Pool::default() };
    for (k, (state, extent)) in sample.states.iter().enumerate() {
        // Levels by the golden ratio: evenly spread whatever the size of the pool.
        let level = level_at(levels, (sample.phase + 0.618_033_988_749_895 * k as f64).fract());
        let (outer, row) = scales.weigh(state.clone(), *extent, level);
        pool.mean.iter_mut().zip(scales.row(row)).for_each(|(mean, m)| *mean += *m);
        pool.outer.push(outer);
        pool.row_of.push(row);
        if !effort.spend(scales.spent() + seen.sets() as u64) || work.stops() {
            return None;
        }
    }
    let count = pool.outer.len().max(1) as f64;
    pool.mean.iter_mut().for_each(|mean| *mean /= count);
    pool.rows = scales.rows;
    Some(pool)
}

/// Outer states weighed by the looks of each set of finds; what several states share is worked out once.
pub struct Scales<'a> {
    seen: &'a SystemObservations,
    asked: RunLikelihoods,
    runs: HashMap<*const OuterState, Option<Arc<Misses>>>,
    bases: HashMap<Name, f64>,
    lines: HashMap<Name, Arc<[Option<BySet>]>>,
    /// Rows of what was weighed already.
    known: HashMap<(Name, usize), u32>,
    rows: Vec<f64>,
    scratch: Scratch,
    /// About what weighing has cost and nobody was told yet, asking runs apart.
    spent: u64,
}

impl<'a> Scales<'a> {
    /// Scales that have weighed nothing yet.
    pub fn new(seen: &'a SystemObservations) -> Self {
        Self::knowing(seen, RunLikelihoods::default())
    }

    /// Scales that know of some runs what looks say of them.
    pub fn knowing(seen: &'a SystemObservations, asked: RunLikelihoods) -> Self {
        Self {
            seen,
            asked,
            runs: HashMap::new(),
            bases: HashMap::new(),
            lines: HashMap::new(),
            known: HashMap::new(),
            rows: Vec::new(),
            scratch: Scratch::default(),
            spent: 0,
        }
    }

    /// What was weighed, by its row: for each set of finds, the chance that set and clear looks meet nothing.
    pub fn row(&self, row: u32) -> &[f64] {
        let sets = self.seen.sets();
        &self.rows[row as usize * sets..(row as usize + 1) * sets]
    }

    /// About what weighing has cost since this was asked last.
    pub fn spent(&mut self) -> u64 {
        std::mem::take(&mut self.spent) + std::mem::take(&mut self.asked.work)
    }

    /// An outer state and its row.
    pub fn weigh(
        &mut self,
        state: Arc<OuterState>,
        extent: Option<(usize, usize)>,
        level: usize,
    ) -> (Outer, u32) {
        let Self { seen, asked, runs, bases, lines, known, rows, scratch, spent } = self;
        let runs = runs.entry(Arc::as_ptr(&state)).or_insert_with(|| asked.runs(seen, &state)).clone();
        let name = (Arc::as_ptr(&state), extent);
        let lines = lines.entry(name).or_insert_with(|| {
            let lines = extent.map_or_else(|| state.fixed.clone(), |(first, last)| state.lines(first, last));
            asked.lines(seen, &lines)
        });
        let outer = Outer { state, extent, level, lines: lines.clone(), runs };
        let row = *known.entry((name, level)).or_insert_with(|| {
            let touched = outer.runs.is_some();
            let base = if touched { *bases.entry(name).or_insert_with(|| outer.base(scratch)) } else { 0.0 };
            *spent += outer.price(seen.sets());
            let row = (rows.len() / seen.sets()) as u32;
            rows.extend(outer.missed(seen.sets(), base, scratch));
            row
        });
        (outer, row)
    }
}
