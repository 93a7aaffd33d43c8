//! Outer states of one system as they are drawn from the prior, before any observation.

use crate::effort::{self, Work};
use crate::layout::{OuterPrior, OuterState, Run, RunId, StateId, Tree};
use crate::rng;
use rand::{Rng, RngExt};
use rayon::prelude::*;
use std::collections::HashSet;
use std::sync::Arc;

/// Least number of outer states at one bearing.
const LEAST: usize = 32;

/// Streams of the samples lie above those of draws and run attributes.
const STREAMS: u64 = 1 << 41;

/// An outer state drawn from the prior, and the extent of its header.
pub type Drawn = (Arc<OuterState>, Option<(usize, usize)>);

/// Outer states of a system at one bearing, not yet weighed.
pub struct Sample {
    /// The states.
    pub states: Vec<Drawn>,
    /// Where in their prior the cover levels start.
    pub phase: f64,
}

/// About `size` outer states of a system, spread over the bearings. `None` if `work` is to stop.
pub fn samples(
    prior: &dyn OuterPrior,
    system: usize,
    size: usize,
    seed: u64,
    work: &dyn Work,
) -> Option<Vec<Sample>> {
    let at = |bearing: usize| sample(prior, bearing, system, size, seed, work);
    (0..prior.bearings().len()).into_par_iter().map(at).collect()
}

/// States by their probability, extents by a tree of each.
fn sample(
    prior: &dyn OuterPrior,
    bearing: usize,
    system: usize,
    size: usize,
    seed: u64,
    work: &dyn Work,
) -> Option<Sample> {
    let effort = work.effort();
    let rng = &mut rng::stream(seed, STREAMS + ((system as u64) << 20) + bearing as u64);
    let wanted = ((size as f64 * prior.bearings()[bearing]) as usize).max(LEAST);
    let goes_on = |_: &usize| effort.spend(effort::STATE) && !work.stops();
    let states = (0..wanted).take_while(goes_on).map_while(|_| prior.sample_state(bearing, system, rng));
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

    /// Calls on every run of the states once: states share their runs.
    pub fn each_run(&self, mut call: impl FnMut(&Arc<Run>)) {
        let mut states: HashSet<StateId> = HashSet::new();
        let mut runs: HashSet<RunId> = HashSet::new();
        let mut once = |run: &Arc<Run>| {
            if runs.insert(run.id()) {
                call(run);
            }
        };
        for (state, extent) in &self.states {
            if states.insert(state.id()) {
                state.runs.iter().chain(state.fixed.iter()).for_each(&mut once);
            }
            if let &Some((first, last)) = extent {
                state.lines(first, last).iter().for_each(&mut once);
            }
        }
    }
}
