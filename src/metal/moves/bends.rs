//! Where a line bends: how its legs run, each with the items that it has, and all its bends near a place at once, given the order of its items
//! (`cuts`). Metropolis and Hastings put right what the sum over bends leaves out.

use super::accept::{Tried, accept};
use super::cuts::Cuts;
use super::part::{Joint, cut, in_order};
use crate::metal::line::Line;
use crate::metal::model::Model;
use crate::metal::state::State;
use rand::{Rng, RngExt};

/// Chances that a sweep asks a line for its kinds and for its bends. Numerical choices, by price.
const ASK_KINDS: f64 = 0.3;
const ASK_BENDS: f64 = 0.2;

pub(super) fn kinds(model: &Model, state: &mut State, beta: f64, counts: &mut Tried, rng: &mut impl Rng) {
    for at in 0..state.lines.len() {
        if rng.random::<f64>() >= ASK_KINDS {
            continue;
        }
        let legs = &state.lines[at].legs;
        let (order, cuts) = Cuts::kinds(model, state.shared, legs, beta);
        let Some(log_from) = cuts.log_chance(legs) else { continue };
        let Some((to, log_to)) = cuts.draw(&order, rng) else { continue };
        if to.iter().zip(legs).any(|(to, leg)| to.kind != leg.kind) {
            let line = Line::new(model, to, state.shared);
            let proposed = line.map(|line| replaced(model, state, at, line));
            accept(state, proposed, log_from - log_to, beta, counts, rng);
        }
    }
}

/// The explanation with a line changed, in its place.
pub(super) fn replaced(model: &Model, state: &State, at: usize, line: Line) -> State {
    let mut lines = state.lines.clone();
    lines[at] = std::sync::Arc::new(line);
    State::new(model, lines, state.shared)
}

/// Lines cut anew about an item drawn from each.
pub(super) fn bends(model: &Model, state: &mut State, beta: f64, counts: &mut Tried, rng: &mut impl Rng) {
    for at in 0..state.lines.len() {
        let items = state.lines[at].len();
        if rng.random::<f64>() >= ASK_BENDS || items < 2 {
            continue;
        }
        match recut(model, state, at, rng.random_range(1..items), beta, rng) {
            Some((line, log_ratio)) => {
                let proposed = Some(replaced(model, state, at, line));
                accept(state, proposed, log_ratio, beta, counts, rng);
            }
            None => counts.count(false),
        }
    }
}

fn recut(
    model: &Model,
    state: &State,
    at: usize,
    after: usize,
    beta: f64,
    rng: &mut impl Rng,
) -> Option<(Line, f64)> {
    let (head, tail, inside) = cut(&state.lines[at].legs, after);
    let joint = Joint::new(model, state.shared, &head, &tail, beta)?;
    let log_from = joint.log_chance(inside)?;
    let (legs, log_to) = joint.draw(rng)?;
    Some((in_order(model, state.shared, legs)?, log_from - log_to))
}
