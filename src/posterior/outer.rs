//! One outer state with what belongs to it: extent, cover level, and the chance that looks meet nothing.

use crate::forest::Scratch;
use crate::layout::{LEVELS, Lines, OuterState, Run};
use crate::strike::{Looks, Miss};
use std::collections::HashMap;
use std::sync::Arc;

/// An outer state of one system, its header's extent and its cover level known.
#[derive(Clone)]
pub struct Outer {
    /// The state.
    pub state: Arc<OuterState>,
    /// Places of the outermost drops in the order along the header, in header states.
    pub extent: Option<(usize, usize)>,
    /// The cover level, as a node of the quadrature.
    pub level: usize,
    /// For each line beside the tree and each set of finds, the chance that set and clear looks miss it.
    pub lines_missed: Arc<[Vec<f64>]>,
    /// For each set of finds and each candidate run, the chance that set and clear looks miss it; `None`: none touched.
    pub runs: Option<Arc<Misses>>,
}

/// The looks that bear on a system, the clear ones first.
pub struct Seen {
    /// The looks.
    pub looks: Looks,
    /// How many of them, the last, are finds.
    pub finds: usize,
}

impl Seen {
    /// Number of sets of the finds.
    pub fn sets(&self) -> usize {
        1 << self.finds
    }
}

/// Chances of missing the candidate runs of a state: `at[set][edge]`; `None` where no look can meet the run.
pub struct Misses {
    /// By set of finds, by edge.
    pub at: Vec<Vec<Option<Miss>>>,
}

impl Misses {
    /// The chance at one level.
    pub fn of(&self, set: usize, edge: usize, level: usize) -> f64 {
        self.at[set][edge].map_or(1.0, |miss| miss[level])
    }
}

/// Chances of missing runs, each run asked once: runs are shared between states.
#[derive(Default)]
pub struct Asked {
    known: HashMap<*const Run, Vec<Option<Miss>>>,
}

impl Asked {
    /// For each set of finds, the chance of missing a run.
    pub fn run(&mut self, seen: &Seen, run: &Arc<Run>) -> &[Option<Miss>] {
        let ask = || seen.looks.miss_by_set(run, seen.finds);
        self.known.entry(Arc::as_ptr(run)).or_insert_with(ask)
    }

    /// For lines at one level.
    pub fn lines(&mut self, seen: &Seen, lines: &Lines, level: usize) -> Arc<[Vec<f64>]> {
        let at_level = |miss: &Option<Miss>| miss.map_or(1.0, |miss| miss[level]);
        lines.iter().map(|line| self.run(seen, line).iter().map(at_level).collect()).collect()
    }

    /// For all candidate runs of a state; `None` if no look can meet any.
    pub fn runs(&mut self, seen: &Seen, state: &OuterState) -> Option<Arc<Misses>> {
        let mut at = vec![Vec::with_capacity(state.runs.len()); seen.sets()];
        let mut touched = false;
        for run in &state.runs {
            for (row, miss) in at.iter_mut().zip(self.run(seen, run)) {
                touched |= miss.is_some();
                row.push(*miss);
            }
        }
        touched.then(|| Arc::new(Misses { at }))
    }
}

impl Outer {
    /// For each set of finds, the chance that set and clear looks meet nothing: Z(C + S) / Z(0), trees summed over.
    /// `base` is the log sum over the trees of this state and extent before any look.
    pub fn missed(&self, sets: usize, base: f64, scratch: &mut Scratch) -> Vec<f64> {
        let of_set = |set: usize| self.lines_missed.iter().map(|line| line[set]).product();
        let mut lines: Vec<f64> = (0..sets).map(of_set).collect();
        let Some(runs) = &self.runs else { return lines };
        let network = &self.state.network;
        for (set, product) in lines.iter_mut().enumerate().filter(|(_, product)| **product > 0.0) {
            let weight = |edge: usize| network.edges()[edge].weight * runs.of(set, edge, self.level);
            *product *= (self.log_z(weight, scratch) - base).exp();
        }
        lines
    }

    /// Log sum over the trees of this state and extent, with these edge weights.
    pub fn log_z(&self, weight: impl Fn(usize) -> f64, scratch: &mut Scratch) -> f64 {
        match (&self.state.header, self.extent) {
            (Some(header), Some((first, last))) => {
                self.state.log_z_at_extent(header.drops(), first, last, weight, scratch)
            }
            _ => self.state.network.log_z_where(weight, &[], scratch),
        }
    }

    /// The same before any look.
    pub fn base(&self, scratch: &mut Scratch) -> f64 {
        match self.extent {
            None => self.state.log_z(),
            Some(_) => self.log_z(|edge| self.state.network.edges()[edge].weight, scratch),
        }
    }
}

/// The level of a quadrature at which `u` of its probability lies below, 0 <= u < 1.
pub fn level_at(levels: &Miss, u: f64) -> usize {
    let mut left = u;
    levels
        .iter()
        .position(|p| {
            left -= p;
            left < 0.0
        })
        .unwrap_or(LEVELS - 1)
}
