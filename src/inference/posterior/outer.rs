//! One outer state with what belongs to it: extent, cover level, and the chance that looks meet nothing.

use crate::effort;
use crate::layout::{LEVELS, Lines, OuterState, Run};
use crate::spanning_tree::Scratch;
use crate::strike::{BySet, Miss, Observations};
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
    /// For each line beside the tree, the chance that sets of finds and the clear looks miss it; `None`: no look can meet it.
    pub lines: Arc<[Option<BySet>]>,
    /// What looks say of the candidate runs; `None`: they meet none.
    pub runs: Option<Arc<Misses>>,
}

/// The looks that bear on a system, the clear ones first.
pub struct SystemObservations {
    /// The looks.
    pub looks: Observations,
    /// How many of them, the last, are finds.
    pub finds: usize,
}

impl SystemObservations {
    /// Number of sets of the finds.
    pub fn sets(&self) -> usize {
        1 << self.finds
    }
}

/// Chances of missing the candidate runs of a state. Most runs are met by no look: they have no row.
pub struct Misses {
    /// For each edge, its row; beyond the last: none.
    place: Vec<u32>,
    rows: Vec<BySet>,
    /// The finds that can meet some run, as a set: others tell no sets apart.
    finds: usize,
}

impl Misses {
    fn row(&self, edge: usize) -> Option<&BySet> {
        self.rows.get(self.place[edge] as usize)
    }

    /// Whether some look can meet a run.
    pub fn meets(&self, edge: usize) -> bool {
        self.row(edge).is_some()
    }

    /// The chance at one level.
    pub fn of(&self, set: usize, edge: usize, level: usize) -> f64 {
        self.row(edge).and_then(|row| row.of(set)).map_or(1.0, |miss| miss[level])
    }

    /// Whether the chance at one level differs between sets.
    pub fn differs(&self, edge: usize, level: usize) -> bool {
        let Some(row) = self.row(edge) else { return false };
        let own = row.finds();
        let sets = (1..=own).filter(|set| set & own == *set);
        let (at, none) =
            (|set| row.of(set).map_or(1.0, |miss| miss[level]), row.of(0).map_or(1.0, |m| m[level]));
        sets.into_iter().any(|set| at(set) != none)
    }

    /// The finds that can meet some run, as a set.
    pub fn finds(&self) -> usize {
        self.finds
    }
}

/// Chances of missing runs, each run asked once: runs are shared between states. `None`: no look can meet the run.
#[derive(Default)]
pub struct RunLikelihoods {
    known: HashMap<*const Run, Option<BySet>>,
    /// About what was asked so far has cost.
    pub work: u64,
}

impl RunLikelihoods {
    /// What is known of these runs already; the rest is asked.
    pub fn knowing(known: HashMap<*const Run, Option<BySet>>) -> Self {
        Self { known, work: 0 }
    }

    /// For each set of finds, the chance of missing a run.
    pub fn run(&mut self, seen: &SystemObservations, run: &Arc<Run>) -> Option<&BySet> {
        let work = &mut self.work;
        let ask = || {
            let by_set = seen.looks.miss_by_set(run, seen.finds);
            *work += by_set.work;
            by_set.is_met().then_some(by_set)
        };
        self.known.entry(Arc::as_ptr(run)).or_insert_with(ask).as_ref()
    }

    /// For lines.
    pub fn lines(&mut self, seen: &SystemObservations, lines: &Lines) -> Arc<[Option<BySet>]> {
        lines.iter().map(|line| self.run(seen, line).cloned()).collect()
    }

    /// For all candidate runs of a state; `None` if no look can meet any.
    pub fn runs(&mut self, seen: &SystemObservations, state: &OuterState) -> Option<Arc<Misses>> {
        let mut rows: Vec<BySet> = Vec::new();
        let place = |run| {
            let row = self.run(seen, run).cloned();
            let place = row.as_ref().map_or(u32::MAX, |_| rows.len() as u32);
            rows.extend(row);
            place
        };
        let place: Vec<u32> = state.runs.iter().map(place).collect();
        self.work += effort::BUILT_RUN * state.runs.len() as u64;
        let finds = rows.iter().fold(0, |all, row| all | row.finds());
        (!rows.is_empty()).then(|| Arc::new(Misses { place, rows, finds }))
    }
}

impl Outer {
    /// Chance that a set of finds and the clear looks miss one of the lines beside the tree.
    pub fn line_missed(&self, line: usize, set: usize) -> f64 {
        self.lines[line].as_ref().and_then(|by_set| by_set.of(set)).map_or(1.0, |miss| miss[self.level])
    }

    /// The same for all of them.
    pub fn lines_missed(&self, set: usize) -> f64 {
        (0..self.lines.len()).map(|line| self.line_missed(line, set)).product()
    }

    /// For each set of finds, the chance that set and clear looks meet nothing: Z(C + S) / Z(0), trees summed over.
    /// `base` is the log sum over the trees of this state and extent before any look. Sets that differ in finds which no run
    /// can be share their sum.
    pub fn missed(&self, sets: usize, base: f64, scratch: &mut Scratch) -> Vec<f64> {
        let mut lines: Vec<f64> = (0..sets).map(|set| self.lines_missed(set)).collect();
        let Some(runs) = &self.runs else { return lines };
        let network = &self.state.network;
        let mut known: HashMap<usize, f64> = HashMap::new();
        for (set, product) in lines.iter_mut().enumerate().filter(|(_, product)| **product > 0.0) {
            let set = set & runs.finds();
            let weight = |edge: usize| network.edges()[edge].weight * runs.of(set, edge, self.level);
            *product *= *known.entry(set).or_insert_with(|| (self.log_z(weight, scratch) - base).exp());
        }
        lines
    }

    /// About what [`Self::missed`] costs.
    pub fn price(&self, sets: usize) -> u64 {
        let all = (sets * (1 + self.lines.len())) as u64 * 8;
        let Some(runs) = &self.runs else { return all };
        let network = &self.state.network;
        let sums = 1u64 << runs.finds().count_ones();
        all + sums
            * (effort::elimination(network.nodes(), network.edges().len())
                + 12 * network.edges().len() as u64)
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
