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
    /// What looks say of the candidate runs; `None`: they meet none.
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

/// For each set of finds, the chance that set and the clear looks miss a run; `None` where no look of them can meet it.
pub type BySet = Arc<[Option<Miss>]>;

/// Chances of missing the candidate runs of a state. Most runs are met by no look: they have no row.
pub struct Misses {
    /// For each edge, its row; beyond the last: none.
    place: Vec<u32>,
    rows: Vec<BySet>,
}

impl Misses {
    /// The chance at one level.
    pub fn of(&self, set: usize, edge: usize, level: usize) -> f64 {
        let row = self.rows.get(self.place[edge] as usize);
        row.and_then(|row| row[set].as_ref()).map_or(1.0, |miss| miss[level])
    }
}

/// Chances of missing runs, each run asked once: runs are shared between states. `None`: no look can meet the run.
#[derive(Default)]
pub struct Asked {
    known: HashMap<*const Run, Option<BySet>>,
}

impl Asked {
    /// What is known of these runs already; the rest is asked.
    pub fn knowing(known: HashMap<*const Run, Option<BySet>>) -> Self {
        Self { known }
    }

    /// For each set of finds, the chance of missing a run.
    pub fn run(&mut self, seen: &Seen, run: &Arc<Run>) -> Option<&BySet> {
        let ask = || {
            let by_set = seen.looks.miss_by_set(run, seen.finds);
            by_set.iter().any(Option::is_some).then(|| by_set.into())
        };
        self.known.entry(Arc::as_ptr(run)).or_insert_with(ask).as_ref()
    }

    /// For lines at one level.
    pub fn lines(&mut self, seen: &Seen, lines: &Lines, level: usize) -> Arc<[Vec<f64>]> {
        let at_level = |miss: &Option<Miss>| miss.map_or(1.0, |miss| miss[level]);
        let line = |line| match self.run(seen, line) {
            Some(by_set) => by_set.iter().map(at_level).collect(),
            None => vec![1.0; seen.sets()],
        };
        lines.iter().map(line).collect()
    }

    /// For all candidate runs of a state; `None` if no look can meet any.
    pub fn runs(&mut self, seen: &Seen, state: &OuterState) -> Option<Arc<Misses>> {
        let mut rows: Vec<BySet> = Vec::new();
        let place = |run| {
            let row = self.run(seen, run).cloned();
            let place = row.as_ref().map_or(u32::MAX, |_| rows.len() as u32);
            rows.extend(row);
            place
        };
        let place: Vec<u32> = state.runs.iter().map(place).collect();
        (!rows.is_empty()).then(|| Arc::new(Misses { place, rows }))
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
