//! Lines cut in two, two lines made one, and tails of two lines exchanged where they pass near each other.
//!
//! A cut lies behind an item of a line's order. What is proposed is orders of items; the legs near a joint are then drawn from
//! all ways to cut the new order, so that bends come and go with the joint. The chance of the legs as they were is worked out
//! alike, and with it the ratio of Metropolis and Hastings.

use super::accept::{Tried, accept};
use super::part::{Joint, Part};
use crate::geometry::Point;
use crate::metal::line::{Leg, Line};
use crate::metal::model::Model;
use crate::metal::state::State;
use rand::{Rng, RngExt};

/// Ends this far apart are joined e times less often than ends that meet, metres. Numerical choice.
const NEAR_M: f64 = 3.0;

pub(super) fn split_or_merge(
    model: &Model,
    state: &mut State,
    beta: f64,
    counts: &mut Tried,
    rng: &mut impl Rng,
) {
    let proposed =
        if rng.random::<bool>() { merge(model, state, beta, rng) } else { split(model, state, beta, rng) };
    match proposed {
        Some((to, log_ratio)) => accept(state, Some(to), log_ratio, beta, counts, rng),
        None => counts.count(false),
    }
}

/// Number of places where a line may be cut.
fn cuts(state: &State) -> usize {
    state.lines.iter().map(|line| line.len() - 1).sum()
}

fn split(model: &Model, state: &State, beta: f64, rng: &mut impl Rng) -> Option<(State, f64)> {
    let all = cuts(state);
    if all == 0 {
        return None;
    }
    let (at, after) = nth(state, rng.random_range(0..all), |line| line.len() - 1);
    let (head, tail, inside) = cut(&state.lines[at].legs, after);
    let nothing = Part::default();
    let shared = state.shared;
    let (one, log_one) = Joint::new(model, shared, &head, &nothing, beta)?.draw(rng)?;
    let (two, log_two) = Joint::new(model, shared, &nothing, &tail, beta)?.draw(rng)?;
    let log_back = Joint::new(model, shared, &head, &tail, beta)?.log_chance(inside)?;
    let made = [in_order(model, state, one)?, in_order(model, state, two)?];
    let to = state.with(model, &[at], made);
    let n = to.lines.len();
    let side = if to.lines[n - 2].len() == 1 { Side::First } else { Side::Last };
    let back = pairs(model, &to).share(n - 2, side, n - 1, Side::First);
    let log_ratio = back.ln() + log_back - (1.0 / all as f64).ln() - log_one - log_two;
    Some((to, log_ratio))
}

fn merge(model: &Model, state: &State, beta: f64, rng: &mut impl Rng) -> Option<(State, f64)> {
    if state.lines.len() < 2 {
        return None;
    }
    let (share, (a, side_a), (b, side_b)) = pairs(model, state).draw(rng);
    let head = Part::head(oriented(&state.lines[a].legs, side_a == Side::First));
    let tail = Part::tail(oriented(&state.lines[b].legs, side_b == Side::Last));
    let (nothing, shared) = (Part::default(), state.shared);
    let (legs, log_to) = Joint::new(model, shared, &head, &tail, beta)?.draw(rng)?;
    let log_one = Joint::new(model, shared, &head, &nothing, beta)?.log_chance(false)?;
    let log_two = Joint::new(model, shared, &nothing, &tail, beta)?.log_chance(false)?;
    let to = state.with(model, &[a.min(b), a.max(b)], [in_order(model, state, legs)?]);
    let log_ratio = (1.0 / cuts(&to) as f64).ln() + log_one + log_two - share.ln() - log_to;
    Some((to, log_ratio))
}

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
    let made = [in_order(model, state, one)?, in_order(model, state, two)?];
    let to = state.with(model, &[a.min(b), a.max(b)], made);
    let n = to.lines.len();
    // The same two cuts lead back: behind the first head, and behind what now precedes the second tail.
    let cut_two = if crossed { cut_b } else { state.lines[a].len() - cut_a };
    let back = Near::to(model, &to, n - 2, cut_a).share(n - 1, cut_two);
    Some((to, back.ln() + log_a + log_b - forward.ln() - log_one - log_two))
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

/// A line of these legs, if its items lie along it in the order in which they are written.
fn in_order(model: &Model, state: &State, legs: Vec<Leg>) -> Option<Line> {
    let order: Vec<u16> = legs.iter().flat_map(|leg| leg.items.iter().copied()).collect();
    Line::new(model, legs, state.shared).filter(|line| line.items().eq(order))
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

/// Both parts of a line cut behind so many items, and whether the cut lies inside a leg.
fn cut(legs: &[Leg], after: usize) -> (Part, Part, bool) {
    let (mut head, mut tail): (Vec<Leg>, Vec<Leg>) = (Vec::new(), Vec::new());
    let (mut left, mut inside) = (after, false);
    for leg in legs {
        let here = left.min(leg.items.len());
        if here > 0 {
            head.push(Leg { kind: leg.kind, items: leg.items[..here].to_vec() });
        }
        if here < leg.items.len() {
            inside |= here > 0;
            tail.push(Leg { kind: leg.kind, items: leg.items[here..].to_vec() });
        }
        left -= here;
    }
    (Part::head(head), Part::tail(tail), inside)
}

/// The legs as they are, or from the other end.
fn oriented(legs: &[Leg], reversed: bool) -> Vec<Leg> {
    if !reversed {
        return legs.to_vec();
    }
    let turned = |leg: &Leg| Leg { kind: leg.kind, items: leg.items.iter().rev().copied().collect() };
    legs.iter().rev().map(turned).collect()
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Side {
    First,
    Last,
}

/// Pairs of ends of different lines, by how near they lie.
struct Pairs {
    ends: Vec<(usize, Side)>,
    pairs: Vec<(usize, usize)>,
    shares: Vec<f64>,
    total: f64,
}

fn pairs(model: &Model, state: &State) -> Pairs {
    let (mut ends, mut at) = (Vec::new(), Vec::new());
    for (k, line) in state.lines.iter().enumerate() {
        let place = |item: u16| model.evidence.items[item as usize].at;
        let (first, last) = (&line.legs[0].items, &line.legs[line.legs.len() - 1].items);
        ends.push((k, Side::First));
        at.push(place(first[0]));
        // A line of one item has one end: joined at the other it would be the same.
        if line.len() > 1 {
            ends.push((k, Side::Last));
            at.push(place(last[last.len() - 1]));
        }
    }
    let (mut pairs, mut shares) = (Vec::new(), Vec::new());
    for i in 0..ends.len() {
        for j in i + 1..ends.len() {
            if ends[i].0 != ends[j].0 {
                pairs.push((i, j));
                shares.push((-at[i].distance(at[j]) / NEAR_M).exp().max(1e-12));
            }
        }
    }
    let total = shares.iter().sum();
    Pairs { ends, pairs, shares, total }
}

impl Pairs {
    fn draw(&self, rng: &mut impl Rng) -> (f64, (usize, Side), (usize, Side)) {
        let k = crate::layout::pick(&self.shares, rng);
        let (i, j) = self.pairs[k];
        (self.shares[k] / self.total, self.ends[i], self.ends[j])
    }

    fn share(&self, a: usize, side_a: Side, b: usize, side_b: Side) -> f64 {
        let is = |k: usize, line: usize, side: Side| self.ends[k] == (line, side);
        let found = self.pairs.iter().position(|&(i, j)| is(i, a, side_a) && is(j, b, side_b));
        found.map_or(0.0, |k| self.shares[k] / self.total)
    }
}
