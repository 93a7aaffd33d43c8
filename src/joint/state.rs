//! A state of the joint posterior.

use super::{Joint, Layout, TRIED};
use crate::effort;
use crate::layout::pick;
use crate::moves::Zoning;
use crate::posterior::Held;
use crate::prior::SystemLaw;
use crate::rng::Stream;
use std::sync::Arc;

/// Where lines are drawn several states are built for one that is taken: price for each head, zones that come back among others.
const DRAWN_HEAD: u64 = 20_000;

/// A labelling with what goes with it.
#[derive(Clone)]
pub struct State {
    /// The labelling.
    pub zoning: Zoning,
    /// Index of the grid bearing; of no meaning where nothing was probed.
    pub bearing: usize,
    /// The outer states of all systems, zones first; none where nothing was probed.
    pub(super) held: Vec<Held>,
    /// Log of the chance of all that probes saw.
    pub log_chance: f64,
    /// A whole layout; only where psi is not one.
    pub(super) layout: Option<Layout>,
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
        held: Vec<Held>,
        log_chance: f64,
    ) -> Self {
        let log_chance = if held.is_empty() { log_chance } else { joint.eye.log_chance(held.iter()) };
        Self { zoning, bearing, held, log_chance, layout: None }
    }

    /// Log of psi.
    pub(super) fn log_psi(&self) -> f64 {
        self.layout.as_ref().map_or(0.0, |layout| layout.log_psi)
    }

    /// Log density up to a constant: label law, chance of what was seen, psi.
    pub fn log_density(&self) -> f64 {
        self.zoning.log_density() + self.log_chance + self.log_psi()
    }
}

/// A whole layout, where psi asks for one; `None` if there is none.
pub(super) fn lay(
    joint: &Joint<'_>,
    zoning: &Zoning,
    bearing: usize,
    held: &[Held],
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
) -> Option<Vec<Held>> {
    let zones = zoning.parts.iter().enumerate().map(|(zone, part)| joint.laws.zone(zone, &part.heads));
    let all: Vec<Arc<SystemLaw>> = zones.chain(joint.laws.supplies().iter().cloned()).collect();
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
pub(super) fn hold(joint: &Joint<'_>, law: &SystemLaw, bearing: usize, rng: &mut Stream) -> Option<Held> {
    // Where lines are drawn, states are drawn until one explains them.
    let price = effort::STATE + if law.is_drawn() { DRAWN_HEAD * law.heads().len() as u64 } else { 0 };
    let goes_on = |_: &usize| joint.effort.spend(price);
    let states = (0..joint.held).take_while(goes_on).map(|_| law.draw_state(bearing, rng));
    let states: Vec<_> = states.collect::<Option<_>>()?;
    if joint.effort.is_spent() { None } else { joint.eye.hold(law.system(), states, rng) }
}
