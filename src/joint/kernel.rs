//! One sweep of the joint posterior at an inverse temperature: label moves, outer states drawn anew, bearing drawn anew.
//!
//! Labels walk by the label law alone, many moves for the price of one look at the ground; where the walk ends the zones
//! that changed get outer states from their law, and all of it is accepted by the ratio of the chances of what was seen
//! (surrogate transitions: Liu 2001, Monte Carlo Strategies, from memory). The walk is a power of one mixture of reversible
//! kernels, hence itself reversible for the label law, and needs no ratio of its own.

use super::laws::possible_state;
use super::state::{hold, hold_all};
use super::{Joint, State, prior_beta};
use crate::forest::Scratch;
use crate::layout::pick;
use crate::moves::{Move, Zoning};
use crate::posterior::Held;
use crate::rng::Stream;
use crate::temper::Counts;
use rand::RngExt;

/// Shares of the kinds of moves, in the order of [`Move::ALL`]. Numerical choice.
const SHARES: [f64; 5] = [0.3, 0.3, 0.2, 0.1, 0.1];

/// Label moves of a sweep: so many, and so many for each zone. Numerical choice.
const FEW: usize = 4;
const PER_ZONE: usize = 12;

/// Shares of the sweeps in which an outer state, and the bearing with all outer states, are drawn anew. Numerical choice.
const OUTER_SHARE: f64 = 0.3;
const BEARING_SHARE: f64 = 0.15;

const WALK: &str = "walk over labels";
const OUTER: &str = "redraw an outer state";
const BEARING: &str = "redraw the bearing";

pub(super) fn sweep(joint: &Joint<'_>, state: &mut State, beta: f64, rng: &mut Stream, counts: &mut Counts) {
    let scratch = &mut Scratch::default();
    let moves = FEW + PER_ZONE * joint.law.zones();
    if joint.eye.is_closed() || beta == 0.0 {
        let zoning = walk(joint, state.zoning.clone(), moves, beta, scratch, rng, counts);
        *state = State::start(joint, zoning, rng);
        return;
    }
    // Long walks go far where little was seen, short ones get through where much was.
    for length in [moves, moves / 16] {
        let made = label_walk(joint, state, length.max(1), beta, scratch, rng, counts);
        counts.note(WALK, made);
    }
    for system in 0..state.held.len() {
        if rng.random::<f64>() < OUTER_SHARE {
            counts.note(OUTER, redraw_outer(joint, state, system, beta, scratch, rng));
        }
    }
    if rng.random::<f64>() < BEARING_SHARE {
        counts.note(BEARING, redraw_bearing(joint, state, beta, rng));
    }
}

/// So many label moves that look at the label law alone.
fn walk(
    joint: &Joint<'_>,
    mut zoning: Zoning,
    moves: usize,
    beta: f64,
    scratch: &mut Scratch,
    rng: &mut Stream,
    counts: &mut Counts,
) -> Zoning {
    let beta = prior_beta(beta);
    for _ in 0..moves {
        let kind = Move::ALL[pick(&SHARES, rng)];
        let Some(proposal) = joint.moves.propose(kind, &zoning, beta, scratch, rng) else { continue };
        let made = accepted(proposal.log_ratio, rng);
        counts.note(kind.name(), made);
        if made {
            zoning.change(joint.law, proposal.change, scratch);
        }
    }
    zoning
}

/// A walk over labellings, accepted as a whole by the chance of what was seen.
fn label_walk(
    joint: &Joint<'_>,
    state: &mut State,
    moves: usize,
    beta: f64,
    scratch: &mut Scratch,
    rng: &mut Stream,
    counts: &mut Counts,
) -> bool {
    let zoning = walk(joint, state.zoning.clone(), moves, beta, scratch, rng, counts);
    if state.held.is_empty() {
        state.zoning = zoning; // out of a start that no outer state allows, which has no chance anyway
        return true;
    }
    let changed = (0..zoning.parts.len()).filter(|&z| zoning.parts[z].heads != state.zoning.parts[z].heads);
    let mut fresh: Vec<(usize, Held)> = Vec::new();
    for zone in changed {
        let law = joint.laws.zone(zone, &zoning.parts[zone].heads);
        let Some(held) = hold(joint, &law, state.bearing, scratch, rng) else { return false };
        fresh.push((zone, held));
    }
    let log_chance = chance_with(joint, state, &fresh);
    let made = accepted(beta * gain(log_chance, state.log_chance), rng);
    if made {
        state.zoning = zoning;
        replace(state, fresh, log_chance);
    }
    made
}

fn redraw_outer(
    joint: &Joint<'_>,
    state: &mut State,
    system: usize,
    beta: f64,
    scratch: &mut Scratch,
    rng: &mut Stream,
) -> bool {
    let zones = state.zoning.parts.len();
    let law = if system < zones {
        joint.laws.zone(system, &state.zoning.parts[system].heads)
    } else {
        joint.laws.supplies()[system - zones].clone()
    };
    let Some(outer) = possible_state(&law, state.bearing, rng) else { return false };
    let fresh = vec![(system, joint.eye.hold(law.system(), outer, scratch, rng))];
    let log_chance = chance_with(joint, state, &fresh);
    let made = accepted(beta * gain(log_chance, state.log_chance), rng);
    if made {
        replace(state, fresh, log_chance);
    }
    made
}

fn redraw_bearing(joint: &Joint<'_>, state: &mut State, beta: f64, rng: &mut Stream) -> bool {
    let bearing = pick(joint.laws.bearings(), rng);
    let Some(held) = hold_all(joint, &state.zoning, bearing, rng) else { return false };
    let log_chance = joint.eye.log_chance(held.iter());
    let made = accepted(beta * gain(log_chance, state.log_chance), rng);
    if made {
        (state.bearing, state.held, state.log_chance) = (bearing, held, log_chance);
    }
    made
}

/// The chance of all that was seen with these systems' states in place of theirs.
fn chance_with(joint: &Joint<'_>, state: &State, fresh: &[(usize, Held)]) -> f64 {
    if joint.eye.is_closed() {
        return 0.0;
    }
    let held = state.held.iter().enumerate().map(|(system, held)| {
        fresh.iter().find(|(changed, _)| *changed == system).map_or(held, |(_, fresh)| fresh)
    });
    joint.eye.log_chance(held)
}

fn replace(state: &mut State, fresh: Vec<(usize, Held)>, log_chance: f64) {
    for (system, held) in fresh {
        state.held[system] = held;
    }
    state.log_chance = log_chance;
}

/// A gain in log chance; out of the impossible everything is gained, and nothing within it.
fn gain(after: f64, before: f64) -> f64 {
    if before == f64::NEG_INFINITY { 0.0 } else { after - before }
}

fn accepted(log_ratio: f64, rng: &mut Stream) -> bool {
    log_ratio >= 0.0 || rng.random::<f64>() < log_ratio.exp()
}
