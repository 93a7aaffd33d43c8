//! Tails of two lines exchanged where they pass near each other.
//!
//! A cut lies behind an item of a line's order. What is proposed is orders of items; the legs near a joint are then drawn from
//! all ways to cut the new order (`part`).

use super::accept::{Tried, accept};
use super::part::{Joint, cut, in_order};
use crate::geometry::Point;
use crate::metal::line::Line;
use crate::metal::model::Model;
use crate::metal::state::State;
use rand::{Rng, RngExt};

/// Cuts this far apart are tried together e times less often than cuts that meet, metres. Numerical choice.
const NEAR_M: f64 = 3.0;

pub(super) fn tails(model: &Model, state: &mut State, beta: f64, counts: &mut Tried, rng: &mut impl Rng) {
    if state.lines.len() < 2 {
        return;
    }
    match exchanged(model, state, beta, rng) {
        Some((to, log_ratio)) => accept(state, Some(to), log_ratio, beta, counts, rng),
        None => counts.count(false),
    }
}

fn exchanged(model: &Model, state: &State, beta: f64, rng: &mut impl Rng) -> Option<(State, f64)> {
    let total: usize = state.lines.iter().map(|line| line.len()).sum();
    let (a, cut_a) = nth(state, rng.random_range(0..total), Line::len);
    let near = Near::to(model, state, a, cut_a);
    let (b, cut_b) = near.draw(rng);
    let forward = near.share(b, cut_b);
    let crossed = rng.random::<bool>();
    let (whole_a, whole_b) = (cut_a == state.lines[a].len(), cut_b == state.lines[b].len());
    if whole_a && whole_b || !crossed && (whole_a || whole_b) {
        return None;
    }
    let (head_a, tail_a, inside_a) = cut(&state.lines[a].legs, cut_a);
    let (head_b, tail_b, inside_b) = cut(&state.lines[b].legs, cut_b);
    let shared = state.shared;
    let log_a = Joint::new(model, shared, &head_a, &tail_a, beta)?.log_chance(inside_a)?;
    let log_b = Joint::new(model, shared, &head_b, &tail_b, beta)?.log_chance(inside_b)?;
    let ((one, log_one), (two, log_two)) = if crossed {
        (
            Joint::new(model, shared, &head_a, &tail_b, beta)?.draw(rng)?,
            Joint::new(model, shared, &head_b, &tail_a, beta)?.draw(rng)?,
        )
    } else {
        (
            Joint::new(model, shared, &head_a, &head_b.reversed(), beta)?.draw(rng)?,
            Joint::new(model, shared, &tail_a.reversed(), &tail_b, beta)?.draw(rng)?,
        )
    };
    let made = [in_order(model, shared, one)?, in_order(model, shared, two)?];
    // A cut is told from one end, so each way round that a line may be written counts half; one item has one way.
    let ways = |lines: [&Line; 2]| lines.into_iter().filter(|line| line.len() > 1).count() as f64;
    let log_ways =
        (ways([&state.lines[a], &state.lines[b]]) - ways([&made[0], &made[1]])) * std::f64::consts::LN_2;
    let to = state.with(model, &[a.min(b), a.max(b)], made);
    let n = to.lines.len();
    // The same two cuts lead back: behind the first head, and behind what now precedes the second tail.
    let cut_two = if crossed { cut_b } else { state.lines[a].len() - cut_a };
    let back = Near::to(model, &to, n - 2, cut_a).share(n - 1, cut_two);
    Some((to, log_ways + back.ln() + log_a + log_b - forward.ln() - log_one - log_two))
}

/// The line and the place in it that a number counts to, lines counting so much each.
fn nth(state: &State, mut left: usize, count: impl Fn(&Line) -> usize) -> (usize, usize) {
    for (k, line) in state.lines.iter().enumerate() {
        let own = count(line);
        if left < own {
            return (k, left + 1);
        }
        left -= own;
    }
    unreachable!("the number is below the sum of the counts")
}

/// Cuts of the other lines, by how near they lie to one cut.
struct Near {
    cuts: Vec<(usize, usize)>,
    shares: Vec<f64>,
    total: f64,
}

impl Near {
    fn to(model: &Model, state: &State, line: usize, cut: usize) -> Self {
        let here = middles(model, &state.lines[line])[cut - 1];
        let (mut cuts, mut shares) = (Vec::new(), Vec::new());
        for (k, other) in state.lines.iter().enumerate().filter(|(k, _)| *k != line) {
            for (before, at) in middles(model, other).into_iter().enumerate() {
                cuts.push((k, before + 1));
                shares.push((-here.distance(at) / NEAR_M).exp().max(1e-12));
            }
        }
        let total = shares.iter().sum();
        Self { cuts, shares, total }
    }

    fn draw(&self, rng: &mut impl Rng) -> (usize, usize) {
        self.cuts[crate::layout::pick(&self.shares, rng)]
    }

    fn share(&self, line: usize, cut: usize) -> f64 {
        let k = self.cuts.iter().position(|known| *known == (line, cut)).expect("every cut is listed");
        self.shares[k] / self.total
    }
}

/// The middle of the stretch behind each item; the item's own place behind the last.
fn middles(model: &Model, line: &Line) -> Vec<Point> {
    let places: Vec<Point> = line.items().map(|item| model.evidence.items[item as usize].at).collect();
    let middle = |k: usize| places.get(k + 1).map_or(places[k], |next| places[k].towards(*next, 0.5));
    (0..places.len()).map(middle).collect()
}
