//! States in the making: outer states drawn anew for a zoning, and how many of them a state is to hold.

use super::density::Joint;
use super::state::{Layout, State};
use crate::effort;
use crate::inference::posterior::HeldStates;
use crate::inference::proposals::Zoning;
use crate::layout::pick;
use crate::model::SystemPrior;
use crate::rng::Stream;
use std::sync::Arc;

/// Where lines are drawn several states are built for one that is taken: price for each head, zones that come back among
/// others.
const DRAWN_HEAD: u64 = 20_000;

/// Squared relative error of the estimated chance of what was seen at which sampling is cheapest: 1.7 squared where, as here,
/// proposals are far from perfect (Doucet, Pitt, Deligiannidis and Kohn 2015, from memory).
const WORTH: f64 = 2.9;

/// Outer states held for each system, at most, and times that they are held anew to see how many are. Numerical choices.
const MOST_HELD: usize = 8;
const TRIED: usize = 48;

impl Joint<'_> {
    /// The same posterior, its states holding so many outer states for each system as sampling is cheapest with: the more the
    /// chance of what was seen differs between outer states, the more are worth their price. At each of these states of it,
    /// outer states are held anew and the squared relative error of the chance of one for each system is taken; as many are
    /// held as bring its mean down to 2.9 (`WORTH`, which tells where the figure is from).
    pub fn with_pools(mut self, states: &[&State], rng: &mut Stream) -> Self {
        self.held = 1;
        let spread = |state: &&State| spread(&self, state, rng);
        let spreads: Vec<f64> = states.iter().filter_map(spread).collect();
        let mean = spreads.iter().sum::<f64>() / spreads.len().max(1) as f64;
        self.held = ((mean / WORTH).ceil() as usize).clamp(1, MOST_HELD);
        self
    }
}

impl State {
    pub(super) fn start(joint: &Joint<'_>, zoning: Zoning, rng: &mut Stream) -> Self {
        let mut state = Self { zoning, bearing: 0, held: Vec::new(), log_chance: 0.0, layout: None };
        if !joint.eye.is_closed() {
            let bearing = pick(joint.laws.bearings(), rng);
            match hold_all(joint, &state.zoning, bearing, rng) {
                Some(held) => {
                    state.log_chance = joint.eye.log_chance(held.iter());
                    (state.bearing, state.held) = (bearing, held);
                }
                None => state.log_chance = f64::NEG_INFINITY,
            }
        }
        if !joint.psi.is_one() && state.log_chance > f64::NEG_INFINITY {
            state.layout = lay(joint, &state.zoning, state.bearing, &state.held, rng);
            if state.layout.is_none() {
                state.log_chance = f64::NEG_INFINITY;
            }
        }
        state
    }

    /// A state that holds these outer states, without a layout. Where there are none, as before any probe and at a start that
    /// no outer state allows, the chance stays what it was.
    pub(super) fn holding(
        joint: &Joint<'_>,
        zoning: Zoning,
        bearing: usize,
        held: Vec<HeldStates>,
        log_chance: f64,
    ) -> Self {
        let log_chance = if held.is_empty() { log_chance } else { joint.eye.log_chance(held.iter()) };
        Self { zoning, bearing, held, log_chance, layout: None }
    }
}

/// A whole layout, where psi asks for one; `None` if there is none.
pub(super) fn lay(
    joint: &Joint<'_>,
    zoning: &Zoning,
    bearing: usize,
    held: &[HeldStates],
    rng: &mut Stream,
) -> Option<Layout> {
    joint.lay(&joint.laws.assemble(zoning).ok()?, bearing, held, rng)
}

/// Outer states for every system from their law; `None` if a system has none.
pub(super) fn hold_all(
    joint: &Joint<'_>,
    zoning: &Zoning,
    bearing: usize,
    rng: &mut Stream,
) -> Option<Vec<HeldStates>> {
    let zones = zoning.parts.iter().enumerate().map(|(zone, part)| joint.laws.zone(zone, &part.heads));
    let all: Vec<Arc<SystemPrior>> = zones.chain(joint.laws.supplies().iter().cloned()).collect();
    all.iter().map(|law| hold(joint, law, bearing, rng)).collect()
}

/// Squared relative error of the chance of all that was seen, over outer states held anew at a state's labels and bearing.
/// `None` where nothing was probed or nothing agrees with it.
pub(super) fn spread(joint: &Joint<'_>, state: &State, rng: &mut Stream) -> Option<f64> {
    if joint.eye.is_closed() {
        return None;
    }
    let mut log_chance =
        || Some(joint.eye.log_chance(hold_all(joint, &state.zoning, state.bearing, rng)?.iter()));
    let logs: Vec<f64> = (0..TRIED).map(|_| log_chance()).collect::<Option<_>>()?;
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let chances: Vec<f64> = logs.iter().map(|log| (log - top).exp()).collect();
    let (sum, squares) = chances.iter().fold((0.0, 0.0), |(sum, squares), c| (sum + c, squares + c * c));
    (top > f64::NEG_INFINITY).then(|| TRIED as f64 * squares / (sum * sum) - 1.0)
}

/// Outer states of one system from its law.
pub(super) fn hold(
    joint: &Joint<'_>,
    law: &SystemPrior,
    bearing: usize,
    rng: &mut Stream,
) -> Option<HeldStates> {
    // Where lines are drawn, states are drawn until one explains them.
    let price = effort::STATE + if law.has_sketch() { DRAWN_HEAD * law.heads().len() as u64 } else { 0 };
    let goes_on = |_: &usize| joint.effort.spend(price);
    let states = (0..joint.held).take_while(goes_on).map(|_| law.sample_state(bearing, rng));
    let states: Vec<_> = states.collect::<Option<_>>()?;
    if joint.effort.is_spent() { None } else { joint.eye.hold(law.system(), states, rng) }
}
