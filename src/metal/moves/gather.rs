//! Several stray flags at once become a line, or a leg at an end of one, and back.
//!
//! One by one they would have to pass through lines of one and two flags, which are rare. Seeds are drawn by nearness; each other
//! stray joins by how near it lies to the course that the seeds tell of. On the way back seeds are drawn from what is given up, all
//! alike, so that the ratio of Metropolis and Hastings is that of this one way.

use super::accept::{Tried, accept};
use crate::geometry::Point;
use crate::metal::leg::Fit;
use crate::metal::line::{Leg, Line, fit};
use crate::metal::model::{LegKind, Model};
use crate::metal::state::State;
use rand::{Rng, RngExt};

/// Seeds this far apart are e times rarer than seeds that meet; strays this far along from the seeds hardly join, metres.
/// Numerical choices.
const NEAR_M: f64 = 4.0;
const REACH_M: f64 = 12.0;

/// Least and greatest chance that a stray joins. Numerical choices.
const RARELY: f64 = 0.01;
const OFTEN: f64 = 0.97;

pub(super) fn gather(model: &Model, state: &mut State, beta: f64, counts: &mut Tried, rng: &mut impl Rng) {
    let proposed = match (rng.random::<bool>(), rng.random::<bool>()) {
        (true, true) => line_of_strays(model, state, rng),
        (true, false) => strays_of_line(model, state, rng),
        (false, true) => leg_of_strays(model, state, rng),
        (false, false) => strays_of_leg(model, state, rng),
    };
    match proposed {
        Some((to, log_ratio)) => accept(state, Some(to), log_ratio, beta, counts, rng),
        None => counts.count(false),
    }
}

fn strays(model: &Model, state: &State) -> Vec<u16> {
    let places = state.places(model.evidence.items.len());
    (0..model.evidence.flags).filter(|k| places[*k].is_none()).map(|k| k as u16).collect()
}

fn at(model: &Model, item: u16) -> Point {
    model.evidence.items[item as usize].at
}

/// Chances of each stray as the seed that goes with a place.
fn by_nearness(model: &Model, from: Point, strays: &[u16]) -> Vec<f64> {
    let near = |item: &u16| (-at(model, *item).distance(from) / NEAR_M).exp().max(1e-9);
    let shares: Vec<f64> = strays.iter().map(near).collect();
    let total: f64 = shares.iter().sum();
    shares.into_iter().map(|share| share / total).collect()
}

/// Chance that a pair is drawn from the strays, either first.
fn log_pair(model: &Model, strays: &[u16], pair: [u16; 2]) -> f64 {
    let one = |first: u16, second: u16| {
        let others: Vec<u16> = strays.iter().copied().filter(|item| *item != first).collect();
        let place = others.iter().position(|item| *item == second).expect("the second is another");
        by_nearness(model, at(model, first), &others)[place]
    };
    ((one(pair[0], pair[1]) + one(pair[1], pair[0])) / strays.len() as f64).ln()
}

/// Chance that a stray joins seeds.
fn joins(model: &Model, fit: &Fit, seeds: &[u16], item: u16, scale: usize) -> f64 {
    let place = at(model, item);
    let nearest = seeds.iter().map(|seed| at(model, *seed).distance(place)).fold(f64::INFINITY, f64::min);
    if nearest > REACH_M {
        return RARELY;
    }
    let to = place - fit.centre;
    let (t, aside) = (to.dot(fit.along()), fit.along().cross(to));
    let variance = fit.variance_m2(t) + model.sd_m(item, scale).powi(2);
    let density = (-0.5 * aside * aside / variance).exp() / (variance * std::f64::consts::TAU).sqrt();
    (density / (density + 1.0)).clamp(RARELY, OFTEN)
}

/// `ln` of the chance that of these strays those in `joined` join the seeds and the others do not.
fn log_joined(model: &Model, fit: &Fit, seeds: &[u16], strays: &[u16], joined: &[u16], scale: usize) -> f64 {
    let of = |item: &u16| {
        let p = joins(model, fit, seeds, *item, scale);
        if joined.contains(item) { p.ln() } else { (1.0 - p).ln() }
    };
    strays.iter().filter(|item| !seeds.contains(item)).map(of).sum()
}

/// Seeds with the strays that join them.
fn draw_joined(
    model: &Model,
    fit: &Fit,
    seeds: &[u16],
    strays: &[u16],
    scale: usize,
    rng: &mut impl Rng,
) -> Vec<u16> {
    let others = strays.iter().filter(|item| !seeds.contains(item));
    let mut items = seeds.to_vec();
    for item in others {
        if rng.random::<f64>() < joins(model, fit, seeds, *item, scale) {
            items.push(*item);
        }
    }
    items
}

fn seeded(model: &Model, state: &State, kind: LegKind, seeds: &[u16]) -> Fit {
    fit(model, &Leg { kind, items: seeds.to_vec() }, state.shared)
}

/// Lines of two flags or more and nothing else on one leg.
fn given_up(state: &State) -> Vec<usize> {
    let may = |line: &Line| line.legs.len() == 1 && line.flags == line.len() && line.len() > 1;
    (0..state.lines.len()).filter(|k| may(&state.lines[*k])).collect()
}

fn pairs_of(count: usize) -> f64 {
    (count * (count - 1) / 2) as f64
}

fn line_of_strays(model: &Model, state: &State, rng: &mut impl Rng) -> Option<(State, f64)> {
    let strays = strays(model, state);
    if strays.len() < 2 {
        return None;
    }
    let first = strays[rng.random_range(0..strays.len())];
    let others: Vec<u16> = strays.iter().copied().filter(|item| *item != first).collect();
    let second = others[crate::layout::pick(&by_nearness(model, at(model, first), &others), rng)];
    let seeds = [first, second];
    let kind = LegKind::ALL[rng.random_range(0..LegKind::ALL.len())];
    let fit = seeded(model, state, kind, &seeds);
    let items = draw_joined(model, &fit, &seeds, &strays, state.shared.scale, rng);
    let count = items.len();
    let log_to = log_pair(model, &strays, seeds) - (LegKind::ALL.len() as f64).ln()
        + log_joined(model, &fit, &seeds, &strays, &items, state.shared.scale);
    let to = state.with(model, &[], [Line::new(model, vec![Leg { kind, items }], state.shared)?]);
    let log_back = -(given_up(&to).len() as f64).ln() - pairs_of(count).ln();
    Some((to, log_back - log_to))
}

fn strays_of_line(model: &Model, state: &State, rng: &mut impl Rng) -> Option<(State, f64)> {
    let may = given_up(state);
    if may.is_empty() {
        return None;
    }
    let chosen = may[rng.random_range(0..may.len())];
    let leg = state.lines[chosen].legs[0].clone();
    let count = leg.items.len();
    let first = rng.random_range(0..count);
    let second = (first + rng.random_range(1..count)) % count;
    let seeds = [leg.items[first], leg.items[second]];
    let to = state.with(model, &[chosen], []);
    let strays = strays(model, &to);
    let fit = seeded(model, state, leg.kind, &seeds);
    let log_back = log_pair(model, &strays, seeds) - (LegKind::ALL.len() as f64).ln()
        + log_joined(model, &fit, &seeds, &strays, &leg.items, state.shared.scale);
    let log_to = -(may.len() as f64).ln() - pairs_of(count).ln();
    Some((to, log_back - log_to))
}

/// Ends of lines: the line, and whether it is the first leg's; an only leg has one, at its last item, and one at its first.
fn ends(state: &State) -> Vec<(usize, bool)> {
    (0..state.lines.len()).flat_map(|k| [(k, true), (k, false)]).collect()
}

/// End legs of flags only, on lines of several legs.
fn end_legs(model: &Model, state: &State) -> Vec<(usize, bool)> {
    let may = |&(k, front): &(usize, bool)| {
        let line = &state.lines[k];
        let leg = if front { 0 } else { line.legs.len() - 1 };
        line.legs.len() > 1 && line.legs[leg].items.iter().all(|item| (*item as usize) < model.evidence.flags)
    };
    ends(state).into_iter().filter(may).collect()
}

/// `ln` of the chance that these strays become a leg of that kind beside a line, whichever of its ends is asked.
fn log_leg(
    model: &Model,
    state: &State,
    line: &Line,
    front: bool,
    leg: &Leg,
    strays: &[u16],
    seed: u16,
) -> f64 {
    let fit = seeded(model, state, leg.kind, &[seed]);
    let joined = log_joined(model, &fit, &[seed], strays, &leg.items, state.shared.scale);
    let place = strays.iter().position(|item| *item == seed).expect("a seed is a stray");
    let near = |front: bool| by_nearness(model, end_of(model, line, front), strays)[place];
    // A leg at either end of an only leg makes the same line.
    let seeds = if line.legs.len() == 1 { near(true) + near(false) } else { near(front) };
    seeds.ln() + joined - (ends(state).len() as f64).ln() - (LegKind::ALL.len() as f64).ln()
}

fn end_of(model: &Model, line: &Line, front: bool) -> Point {
    let leg = if front { &line.legs[0] } else { &line.legs[line.legs.len() - 1] };
    at(model, if front { leg.items[0] } else { leg.items[leg.items.len() - 1] })
}

fn leg_of_strays(model: &Model, state: &State, rng: &mut impl Rng) -> Option<(State, f64)> {
    let (strays, ends) = (strays(model, state), ends(state));
    if strays.is_empty() || ends.is_empty() {
        return None;
    }
    let (k, front) = ends[rng.random_range(0..ends.len())];
    let line = &state.lines[k];
    let seed = strays[crate::layout::pick(&by_nearness(model, end_of(model, line, front), &strays), rng)];
    let kind = LegKind::ALL[rng.random_range(0..LegKind::ALL.len())];
    let fit = seeded(model, state, kind, &[seed]);
    let items = draw_joined(model, &fit, &[seed], &strays, state.shared.scale, rng);
    let leg = Leg { kind, items };
    let log_to = log_leg(model, state, line, front, &leg, &strays, seed);
    let count = leg.items.len();
    let mut legs = line.legs.clone();
    if front {
        legs.insert(0, leg)
    } else {
        legs.push(leg)
    }
    let to = state.with(model, &[k], [Line::new(model, legs, state.shared)?]);
    let log_back = -(end_legs(model, &to).len() as f64).ln() - (count as f64).ln();
    Some((to, log_back - log_to))
}

fn strays_of_leg(model: &Model, state: &State, rng: &mut impl Rng) -> Option<(State, f64)> {
    let may = end_legs(model, state);
    if may.is_empty() {
        return None;
    }
    let (k, front) = may[rng.random_range(0..may.len())];
    let mut legs = state.lines[k].legs.clone();
    let leg = if front { legs.remove(0) } else { legs.pop()? };
    let seed = leg.items[rng.random_range(0..leg.items.len())];
    let to = state.with(model, &[k], [Line::new(model, legs, state.shared)?]);
    let line = &to.lines[to.lines.len() - 1];
    let log_back = log_leg(model, &to, line, front, &leg, &strays(model, &to), seed);
    let log_to = -(may.len() as f64).ln() - (leg.items.len() as f64).ln();
    Some((to, log_back - log_to))
}
