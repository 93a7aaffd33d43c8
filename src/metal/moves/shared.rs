//! What all lines share: bearing, step of the walk, scatter of the flags; each by a step to a neighbour or anywhere. With the
//! bearing all legs are drawn anew between along an axis and in any direction.

use super::accept::{Tried, accept};
use super::cuts::Cuts;
use crate::metal::law::{SCALES, STEPS_M};
use crate::metal::line::Line;
use crate::metal::model::{Model, Shared};
use crate::metal::state::State;
use rand::{Rng, RngExt};
use std::sync::Arc;

pub(super) fn shared(model: &Model, state: &mut State, beta: f64, counts: &mut Tried, rng: &mut impl Rng) {
    let bearings = model.evidence.bearings.len();
    let now = state.shared;
    let anywhere = rng.random::<f64>() < 0.25;
    let bearing =
        if anywhere { rng.random_range(0..bearings) } else { beside(now.bearing, bearings, true, rng) };
    turn(model, state, Shared { bearing, ..now }, beta, counts, rng);
    let now = state.shared;
    // These two soon find their place.
    let to = if rng.random::<bool>() {
        Shared { step: beside(now.step, STEPS_M.len(), false, rng), ..now }
    } else {
        Shared { scale: beside(now.scale, SCALES.len(), false, rng), ..now }
    };
    propose(model, state, to, beta, counts, rng);
}

fn propose(model: &Model, state: &mut State, to: Shared, beta: f64, counts: &mut Tried, rng: &mut impl Rng) {
    if to != state.shared {
        let proposed = state.at(model, to);
        accept(state, proposed, 0.0, beta, counts, rng);
    }
}

/// Another bearing, each line's legs drawn by how they may run there.
fn turn(model: &Model, state: &mut State, to: Shared, beta: f64, counts: &mut Tried, rng: &mut impl Rng) {
    if to == state.shared {
        return;
    }
    let mut log_ratio = 0.0;
    let mut turned = |line: &Arc<Line>| {
        log_ratio += Cuts::kinds(model, state.shared, &line.legs, beta).1.log_chance(&line.legs)?;
        let (order, cuts) = Cuts::kinds(model, to, &line.legs, beta);
        let (legs, log_to) = cuts.draw(&order, rng)?;
        log_ratio -= log_to;
        Line::new(model, legs, to).map(Arc::new)
    };
    let lines = state.lines.iter().map(&mut turned).collect::<Option<Vec<_>>>();
    let proposed = lines.map(|lines| State::new(model, lines, to));
    accept(state, proposed, log_ratio, beta, counts, rng);
}

/// The place before or after; round the circle, or none beyond the ends.
fn beside(at: usize, count: usize, circle: bool, rng: &mut impl Rng) -> usize {
    let up = rng.random::<bool>();
    match (up, circle) {
        (true, true) => (at + 1) % count,
        (false, true) => (at + count - 1) % count,
        (true, false) => (at + 1).min(count - 1),
        (false, false) => at.saturating_sub(1),
    }
}
