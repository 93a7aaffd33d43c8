//! One item is taken out and put back anywhere it may lie, each place by its share of the law (Gibbs).
//!
//! Places are worked out from what is left when the item is gone, so that they are the same whichever place it came from: it
//! may be stray, a line of its own, on a leg that runs near it, or on a new leg at an end of a line near it. An item alone on a
//! leg between two others stays: without it those would have to meet.

use super::Tried;
use crate::metal::line::{Leg, Line};
use crate::metal::model::{LegKind, Model};
use crate::metal::state::State;
use rand::{Rng, RngExt};

/// A leg is asked where the item lies no further aside than so many metres and standard deviations, or beyond its ends than
/// so many metres. Numerical choices: what lies further has a chance below exp(-8).
const ASIDE_M: f64 = 1.0;
const ASIDE_SD: f64 = 6.0;
const BEYOND_M: f64 = 20.0;
const NEAR_ENDS_M: f64 = 15.0;

pub(super) fn items(model: &Model, state: &mut State, beta: f64, counts: &mut Tried, rng: &mut impl Rng) {
    for item in 0..model.evidence.items.len() as u16 {
        place(model, state, item, beta, counts, rng);
    }
}

fn place(model: &Model, state: &mut State, item: u16, beta: f64, counts: &mut Tried, rng: &mut impl Rng) {
    let Some(left) = without(model, state, item) else { return };
    let mut places: Vec<State> = Vec::new();
    if model.evidence.items[item as usize].is_flag() {
        places.push(left.clone());
    }
    for kind in LegKind::ALL {
        let alone = vec![Leg { kind, items: vec![item] }];
        if let Some(line) = Line::new(model, alone, left.shared) {
            places.push(left.with(model, &[], [line]));
        }
    }
    for (k, line) in left.lines.iter().enumerate() {
        for legs in with(model, line, item, left.shared.scale) {
            if let Some(line) = Line::new(model, legs, left.shared) {
                places.push(left.with(model, &[k], [line]));
            }
        }
    }
    // The place that it came from must be among them, else the way back would be missing.
    let here = places.iter().position(|place| (place.log_density - state.log_density).abs() < 1e-7 * (1.0 + state.log_density.abs()) && same(place, state));
    let Some(here) = here else { return };
    let top = places.iter().map(|place| place.log_density).fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = places.iter().map(|place| (beta * (place.log_density - top)).exp()).collect();
    let mut drawn = rng.random::<f64>() * weights.iter().sum::<f64>();
    let chosen = weights.iter().position(|w| {
        drawn -= w;
        drawn < 0.0
    });
    let chosen = chosen.unwrap_or(here);
    counts.count(chosen != here);
    if chosen != here {
        *state = places.swap_remove(chosen);
    }
}

/// Whether two explanations are the same, whatever the order of their lines and which way round each is written.
pub(in crate::metal) fn same(a: &State, b: &State) -> bool {
    a.shared == b.shared
        && a.lines.len() == b.lines.len()
        && a.lines.iter().all(|line| {
            let legs: Vec<&Leg> = line.legs.iter().collect();
            b.lines.iter().any(|other| equal(&legs, &other.legs))
        })
}

fn equal(a: &[&Leg], b: &[Leg]) -> bool {
    let set = |leg: &Leg| {
        let mut items = leg.items.clone();
        items.sort_unstable();
        items
    };
    let alike = |(x, y): (&&Leg, &Leg)| x.kind == y.kind && set(x) == set(y);
    a.len() == b.len() && (a.iter().zip(b).all(alike) || a.iter().zip(b.iter().rev()).all(alike))
}

/// The explanation without an item; `None` where it is alone on a leg between two others, or the rest is no line.
fn without(model: &Model, state: &State, item: u16) -> Option<State> {
    let Some(at) = state.lines.iter().position(|line| line.items().any(|other| other == item)) else {
        return Some(state.clone());
    };
    let mut legs = state.lines[at].legs.clone();
    let leg = legs.iter().position(|leg| leg.items.contains(&item)).expect("it is on the line");
    legs[leg].items.retain(|other| *other != item);
    if legs[leg].items.is_empty() {
        if leg != 0 && leg + 1 != legs.len() {
            return None;
        }
        legs.remove(leg);
    }
    if legs.is_empty() {
        return Some(state.with(model, &[at], []));
    }
    let line = Line::new(model, legs, state.shared)?;
    Some(state.with(model, &[at], [line]))
}

/// The ways to put an item on a line.
fn with(model: &Model, line: &Line, item: u16, scale: usize) -> Vec<Vec<Leg>> {
    let at = model.evidence.items[item as usize].at;
    let sd = model.sd_m(item, scale);
    let mut ways = Vec::new();
    for (k, leg) in line.legs.iter().enumerate() {
        let (fit, along) = (&line.fits[k], line.fits[k].along());
        let to = at - fit.centre;
        let (t, aside) = (to.dot(along), along.cross(to).abs());
        let place = |item: &u16| (model.evidence.items[*item as usize].at - fit.centre).dot(along);
        let (low, high) = leg
            .items
            .iter()
            .map(place)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
        let reach = ASIDE_M + ASIDE_SD * (fit.variance_m2(t) + sd * sd).sqrt();
        if aside <= reach && t > low - BEYOND_M && t < high + BEYOND_M {
            let mut legs = line.legs.clone();
            legs[k].items.push(item);
            ways.push(legs);
        }
    }
    let (first, last) = (&line.legs[0], &line.legs[line.legs.len() - 1]);
    let ends = [(first.items[0], first.kind, true), (last.items[last.items.len() - 1], last.kind, false)];
    let near = |end: u16| model.evidence.items[end as usize].at.distance(at) <= NEAR_ENDS_M;
    for (end, kind, front) in ends {
        // A new leg before an only leg is the same line as one behind it, written the other way round.
        let only = line.legs.len() == 1;
        if (only && front) || !(near(end) || only && near(first.items[0])) {
            continue;
        }
        for turned in LegKind::ALL {
            if turned == kind && kind != LegKind::Any {
                continue;
            }
            let new = Leg { kind: turned, items: vec![item] };
            let mut legs = line.legs.clone();
            if front { legs.insert(0, new) } else { legs.push(new) }
            ways.push(legs);
        }
    }
    ways
}
