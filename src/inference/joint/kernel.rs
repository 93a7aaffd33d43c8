//! One sweep of the joint posterior at an inverse temperature: moves over zonings, outer states drawn anew, bearing drawn
//! anew.
//!
//! Zonings walk by the zoning prior alone, many moves for the price of one look at the ground; where the walk ends the zones
//! that changed get outer states from their prior, and all of it is accepted by the ratio of the chances of what was seen
//! (surrogate transitions: Liu 2001, Monte Carlo Strategies, from memory). The walk is a power of one mixture of reversible
//! kernels, hence itself reversible for the zoning prior, and needs no ratio of its own.

use super::density::{Joint, prior_beta};
use super::pools::{draw_pool, draw_pools, lay};
use super::state::State;
use crate::effort;
use crate::inference::proposals::{ProposalKind, Zoning};
use crate::layout::pick;
use crate::mcmc::tempering::{Counts, accepted};
use crate::rng::Stream;
use crate::spanning_tree::Scratch;
use rand::RngExt;

/// Shares of the kinds of moves, in the order of [`ProposalKind::ALL`]. Numerical choice.
const SHARES: [f64; 6] = [0.25, 0.25, 0.2, 0.1, 0.1, 0.1];

/// Moves over zonings in a sweep: so many, and so many for each zone. Numerical choice.
const FEW: usize = 4;
const PER_ZONE: usize = 12;

/// Walks of a sweep, as parts of that: long ones go far where little was seen, short ones get through where much was.
const LENGTHS: [usize; 4] = [1, 16, 16, 16];

/// Shares of the sweeps in which an outer state, and the bearing with all outer states, are drawn anew. Numerical choice.
const OUTER_SHARE: f64 = 0.6;
const BEARING_SHARE: f64 = 0.15;

/// Price of a move over zonings, the trees of the zones that it changes apart: about as measured.
const MOVE: u64 = 4_000;

const WALK: &str = "walk over zonings";
const OUTER: &str = "redraw an outer state";
const BEARING: &str = "redraw the bearing";
const LAYOUT: &str = "redraw trees and run attributes";

pub(super) fn sweep(joint: &Joint<'_>, state: &mut State, beta: f64, rng: &mut Stream, counts: &mut Counts) {
    let scratch = &mut Scratch::default();
    let moves = FEW + PER_ZONE * joint.zoning_prior.zones();
    if beta == 0.0 || (joint.findings.is_empty() && joint.psi.is_one()) {
        let zoning = walk(joint, state.zoning.clone(), moves, beta, scratch, rng, counts);
        *state = State::start(joint, zoning, rng);
        return;
    }
    for length in LENGTHS.map(|share| moves / share) {
        let next = walk_and_draw(joint, state, length.max(1), beta, scratch, rng, counts);
        counts.note(WALK, offer(joint, state, next, beta, rng));
    }
    for system in 0..state.pools.len() {
        if rng.random::<f64>() < OUTER_SHARE {
            let next = redraw_outer(joint, state, system, rng);
            counts.note(OUTER, offer(joint, state, next, beta, rng));
        }
    }
    if !joint.findings.is_empty() && rng.random::<f64>() < BEARING_SHARE {
        let next = redraw_bearing(joint, state, rng);
        counts.note(BEARING, offer(joint, state, next, beta, rng));
    }
    if !joint.psi.is_one() {
        let next = State { layout: None, ..state.clone() };
        counts.note(LAYOUT, offer(joint, state, Some(next), beta, rng));
    }
}

/// Accepts what was proposed from the prior of zonings and outer states: by the chance of what was seen, then, trees and run
/// attributes drawn, by psi.
fn offer(joint: &Joint<'_>, state: &mut State, next: Option<State>, beta: f64, rng: &mut Stream) -> bool {
    let Some(mut next) = next else { return false };
    if !accepted(beta * gain(next.log_chance, state.log_chance), rng) {
        return false;
    }
    if !joint.psi.is_one() && next.log_chance > f64::NEG_INFINITY {
        next.layout = lay(joint, &next.zoning, next.bearing, &next.pools, rng);
        if next.layout.is_none() || !accepted(beta * (next.log_psi() - state.log_psi()), rng) {
            return false;
        }
    }
    *state = next;
    true
}

/// So many moves over zonings that heed the zoning prior alone.
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
    let heads: usize = zoning.parts.iter().map(|part| part.heads.len()).sum();
    let price = MOVE + effort::elimination(2 * heads / zoning.parts.len().max(1), 0);
    for _ in 0..moves {
        if !joint.effort.spend(price) {
            return zoning;
        }
        let kind = ProposalKind::ALL[pick(&SHARES, rng)];
        let Some(proposal) = joint.proposals.propose(kind, &zoning, beta, scratch, rng) else {
            counts.note(kind.name(), false);
            continue;
        };
        let made = accepted(proposal.log_ratio, rng);
        counts.note(kind.name(), made);
        if made {
            zoning.change(joint.zoning_prior, proposal.change, scratch);
        }
    }
    zoning
}

/// A walk over zonings, and outer states for the zones that it changes.
fn walk_and_draw(
    joint: &Joint<'_>,
    state: &State,
    moves: usize,
    beta: f64,
    scratch: &mut Scratch,
    rng: &mut Stream,
    counts: &mut Counts,
) -> Option<State> {
    let zoning = walk(joint, state.zoning.clone(), moves, beta, scratch, rng, counts);
    let mut pools = state.pools.clone();
    for (zone, pool) in pools.iter_mut().enumerate().take(zoning.parts.len()) {
        if zoning.parts[zone].heads != state.zoning.parts[zone].heads {
            let prior = joint.system_priors.zone(zone, &zoning.parts[zone].heads);
            *pool = draw_pool(joint, &prior, state.bearing, rng)?;
        }
    }
    Some(State::of_pools(joint, zoning, state.bearing, pools, state.log_chance))
}

fn redraw_outer(joint: &Joint<'_>, state: &State, system: usize, rng: &mut Stream) -> Option<State> {
    let zones = state.zoning.parts.len();
    let prior = if system < zones {
        joint.system_priors.zone(system, &state.zoning.parts[system].heads)
    } else {
        joint.system_priors.supplies()[system - zones].clone()
    };
    let mut pools = state.pools.clone();
    pools[system] = draw_pool(joint, &prior, state.bearing, rng)?;
    Some(State::of_pools(joint, state.zoning.clone(), state.bearing, pools, state.log_chance))
}

fn redraw_bearing(joint: &Joint<'_>, state: &State, rng: &mut Stream) -> Option<State> {
    let bearing = pick(joint.system_priors.bearings(), rng);
    let pools = draw_pools(joint, &state.zoning, bearing, rng)?;
    Some(State::of_pools(joint, state.zoning.clone(), bearing, pools, state.log_chance))
}

/// A gain in log chance; out of the impossible everything is gained, and nothing within it.
fn gain(after: f64, before: f64) -> f64 {
    if before == f64::NEG_INFINITY { 0.0 } else { after - before }
}

#[cfg(test)]
mod tests;
