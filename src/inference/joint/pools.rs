//! States in the making: pools of outer states drawn anew for a zoning, and how large they are to be.

use super::density::Joint;
use super::state::{Layout, State};
use crate::effort;
use crate::inference::posterior::SystemPool;
use crate::inference::proposals::Zoning;
use crate::layout::pick;
use crate::model::SystemPrior;
use crate::rng::Stream;
use std::sync::Arc;

/// Where lines are drawn several states are built for one that is taken: price for each head, zones that come back among
/// others.
const DRAWN_HEAD: u64 = 20_000;

/// Squared relative error of the estimated chance of what was seen at which sampling is cheapest: 1.7 squared where, as
/// here, proposals are far from perfect (Doucet, Pitt, Deligiannidis and Kohn 2015, from memory).
const WORTH: f64 = 2.9;

/// Outer states in a pool, at most, and times that pools are drawn anew to see how large they are to be. Numerical choices.
const LARGEST: usize = 8;
const TRIED: usize = 48;

impl Joint<'_> {
    /// The same posterior, its pools as large as sampling is cheapest with: the more the chance of what was seen differs
    /// between outer states, the more are worth their price. At each of these states of it, pools of one are drawn anew and
    /// the squared relative error of the chance of what was seen is taken; pools are so large as bring its mean down to 2.9
    /// (`WORTH`, which tells where the figure is from).
    pub fn with_pools(mut self, states: &[&State], rng: &mut Stream) -> Self {
        self.pool_size = 1;
        let spread = |state: &&State| spread(&self, state, rng);
        let spreads: Vec<f64> = states.iter().filter_map(spread).collect();
        let mean = spreads.iter().sum::<f64>() / spreads.len().max(1) as f64;
        self.pool_size = ((mean / WORTH).ceil() as usize).clamp(1, LARGEST);
        self
    }
}

impl State {
    pub(super) fn start(joint: &Joint<'_>, zoning: Zoning, rng: &mut Stream) -> Self {
        let mut state = Self { zoning, bearing: 0, pools: Vec::new(), log_chance: 0.0, layout: None };
        if !joint.findings.is_empty() {
            let bearing = pick(joint.system_priors.bearings(), rng);
            match draw_pools(joint, &state.zoning, bearing, rng) {
                Some(pools) => {
                    state.log_chance = joint.findings.log_chance(bearing, &pools);
                    (state.bearing, state.pools) = (bearing, pools);
                }
                None => state.log_chance = f64::NEG_INFINITY,
            }
        }
        if !joint.psi.is_one() && state.log_chance > f64::NEG_INFINITY {
            state.layout = lay(joint, &state.zoning, state.bearing, &state.pools, rng);
            if state.layout.is_none() {
                state.log_chance = f64::NEG_INFINITY;
            }
        }
        state
    }

    /// A state of these pools, without a layout. Where there are none, as before any probe and at a start that no outer
    /// state allows, the chance stays what it was.
    pub(super) fn of_pools(
        joint: &Joint<'_>,
        zoning: Zoning,
        bearing: usize,
        pools: Vec<SystemPool>,
        log_chance: f64,
    ) -> Self {
        let log_chance =
            if pools.is_empty() { log_chance } else { joint.findings.log_chance(bearing, &pools) };
        Self { zoning, bearing, pools, log_chance, layout: None }
    }
}

/// A whole layout, where psi asks for one; `None` if there is none.
pub(super) fn lay(
    joint: &Joint<'_>,
    zoning: &Zoning,
    bearing: usize,
    pools: &[SystemPool],
    rng: &mut Stream,
) -> Option<Layout> {
    joint.lay(&joint.system_priors.assemble(zoning).ok()?, bearing, pools, rng)
}

/// A pool for every system from its prior; `None` if a system has no outer state.
pub(super) fn draw_pools(
    joint: &Joint<'_>,
    zoning: &Zoning,
    bearing: usize,
    rng: &mut Stream,
) -> Option<Vec<SystemPool>> {
    let zones =
        zoning.parts.iter().enumerate().map(|(zone, part)| joint.system_priors.zone(zone, &part.heads));
    let all: Vec<Arc<SystemPrior>> = zones.chain(joint.system_priors.supplies().iter().cloned()).collect();
    all.iter().map(|prior| draw_pool(joint, prior, bearing, rng)).collect()
}

/// Squared relative error of the chance of all that was seen, over pools drawn anew at a state's zoning and bearing.
/// `None` where nothing was probed or nothing agrees with it.
pub(super) fn spread(joint: &Joint<'_>, state: &State, rng: &mut Stream) -> Option<f64> {
    if joint.findings.is_empty() {
        return None;
    }
    let mut log_chance = || {
        Some(joint.findings.log_chance(state.bearing, &draw_pools(joint, &state.zoning, state.bearing, rng)?))
    };
    let logs: Vec<f64> = (0..TRIED).map(|_| log_chance()).collect::<Option<_>>()?;
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let chances: Vec<f64> = logs.iter().map(|log| (log - top).exp()).collect();
    let (sum, squares) = chances.iter().fold((0.0, 0.0), |(sum, squares), c| (sum + c, squares + c * c));
    (top > f64::NEG_INFINITY).then(|| TRIED as f64 * squares / (sum * sum) - 1.0)
}

/// A pool of one system from its prior.
pub(super) fn draw_pool(
    joint: &Joint<'_>,
    prior: &SystemPrior,
    bearing: usize,
    rng: &mut Stream,
) -> Option<SystemPool> {
    // Where lines are drawn, states are drawn until one explains them.
    let price = effort::STATE + if prior.has_sketch() { DRAWN_HEAD * prior.heads().len() as u64 } else { 0 };
    let goes_on = |_: &usize| joint.effort.spend(price);
    let states = (0..joint.pool_size).take_while(goes_on).map(|_| prior.sample_state(bearing, rng));
    let states: Vec<_> = states.collect::<Option<_>>()?;
    if joint.effort.is_spent() { None } else { joint.findings.pool(prior.system(), states, rng) }
}
