//! One outer state with what belongs to it: extent, cover level, and the chance that observations meet nothing.

use super::run_likelihoods::CandidateLikelihoods;
use crate::effort;
use crate::layout::{LEVELS, OuterState};
use crate::spanning_tree::Scratch;
use crate::strike::{BySet, FindSet, Miss, RunLikelihood};
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
    /// The likelihood of each line beside the tree; `None`: no observation can meet it.
    pub lines: Arc<[Option<RunLikelihood>]>,
    /// The likelihoods of the candidate runs; `None`: no observation can meet any.
    pub candidates: Option<Arc<CandidateLikelihoods>>,
}

impl Outer {
    /// Chance that a set of finds and the clear observations miss a candidate run.
    pub fn candidate_missed(&self, edge: usize, set: FindSet) -> f64 {
        self.candidates.as_ref().map_or(1.0, |candidates| candidates.missed(set, edge, self.level))
    }

    /// The same of a line beside the tree.
    pub fn line_missed(&self, line: usize, set: FindSet) -> f64 {
        self.lines[line].as_ref().and_then(|line| line.missed(set)).map_or(1.0, |miss| miss[self.level])
    }

    /// The same of all of these.
    pub fn lines_missed(&self, set: FindSet) -> f64 {
        (0..self.lines.len()).map(|line| self.line_missed(line, set)).product()
    }

    /// For each set of so many finds, the chance that set and clear observations meet nothing: Z(C + S) / Z(0), trees summed
    /// over. `base` is the log sum over the trees of this state and extent before any observation. Sets that differ in finds
    /// which no candidate can be share their sum.
    pub fn missed(&self, finds: usize, base: f64, scratch: &mut Scratch) -> BySet<Vec<f64>> {
        let mut missed = BySet::new(finds, |set| self.lines_missed(set));
        let Some(candidates) = &self.candidates else { return missed };
        let network = &self.state.network;
        let mut known: HashMap<FindSet, f64> = HashMap::new();
        for (set, product) in missed.iter_mut().filter(|(_, product)| **product > 0.0) {
            let set = set.intersection(candidates.finds());
            let weight =
                |edge: usize| network.edges()[edge].weight * candidates.missed(set, edge, self.level);
            *product *= *known.entry(set).or_insert_with(|| (self.log_z(weight, scratch) - base).exp());
        }
        missed
    }

    /// About what [`Self::missed`] costs.
    pub fn price(&self, finds: usize) -> u64 {
        let all = (FindSet::count(finds) * (1 + self.lines.len())) as u64 * 8;
        let Some(candidates) = &self.candidates else { return all };
        let network = &self.state.network;
        let sums = FindSet::count(candidates.finds().len()) as u64;
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

    /// The same before any observation.
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
