//! Lines cut in two, two lines made one, and tails of two lines exchanged where they pass near each other.
//!
//! A cut lies after an item of a line's order. Two parts are joined as one leg where both legs at the joint are of one kind on
//! an axis, as a bend where kinds differ, and either way by the toss of a coin where both run in any direction: so the way back
//! from a cut is always known, and with it the ratio of Metropolis and Hastings.

use super::{Tried, accept};
use crate::geometry::Point;
use crate::metal::line::{Leg, Line};
use crate::metal::model::{LegKind, Model};
use crate::metal::state::State;
use rand::{Rng, RngExt};

/// Ends this far apart are joined e times less often than ends that meet, metres. Numerical choice.
const NEAR_M: f64 = 3.0;

/// Joins and cuts of an explanation are tried as often as each other.
const JOIN: f64 = 0.5;

pub(super) fn split_or_merge(
    model: &Model,
    state: &mut State,
    beta: f64,
    counts: &mut Tried,
    rng: &mut impl Rng,
) {
    if rng.random::<f64>() < JOIN {
        merge(model, state, beta, counts, rng);
    } else {
        split(model, state, beta, counts, rng);
    }
}

/// Number of places where a line may be cut.
fn cuts(state: &State) -> usize {
    state.lines.iter().map(|line| line.len() - 1).sum()
}

fn split(model: &Model, state: &mut State, beta: f64, counts: &mut Tried, rng: &mut impl Rng) {
    let all = cuts(state);
    if all == 0 {
        return;
    }
    let mut left = rng.random_range(0..all);
    let at = state
        .lines
        .iter()
        .position(|line| {
            let own = line.len() - 1;
            let here = left < own;
            if !here {
                left -= own;
            }
            here
        })
        .expect("a line has the cut");
    let line = &state.lines[at];
    let (head, tail, coin) = cut(&line.legs, left + 1);
    let proposed = lines(model, state, [head, tail]).map(|lines| state.with(model, &[at], lines));
    let Some(to) = &proposed else { return counts.count(false) };
    let n = to.lines.len();
    let side = if to.lines[n - 2].len() == 1 { Side::First } else { Side::Last };
    let back = pairs(model, to).share(n - 2, side, n - 1, Side::First);
    // The parts must be told apart by the order that they are written in.
    let kept = to.lines[n - 2].items().chain(to.lines[n - 1].items()).eq(line.items());
    let log_ratio = (back * coin).ln() - (1.0 / all as f64).ln();
    let proposed = if kept { proposed } else { None };
    accept(state, proposed, log_ratio, beta, counts, rng);
}

fn merge(model: &Model, state: &mut State, beta: f64, counts: &mut Tried, rng: &mut impl Rng) {
    if state.lines.len() < 2 {
        return;
    }
    let (share, (a, side_a), (b, side_b)) = pairs(model, state).draw(rng);
    let head = oriented(&state.lines[a].legs, side_a == Side::First);
    let tail = oriented(&state.lines[b].legs, side_b == Side::Last);
    let order: Vec<u16> = head.iter().chain(&tail).flat_map(|leg| leg.items.iter().copied()).collect();
    let Some((legs, coin)) = joined(head, tail, rng) else { return counts.count(false) };
    let line = Line::new(model, legs, state.shared).filter(|line| line.items().eq(order.iter().copied()));
    let proposed = line.map(|line| state.with(model, &[a.min(b), a.max(b)], [line]));
    let Some(to) = &proposed else { return counts.count(false) };
    let log_ratio = (1.0 / cuts(to) as f64).ln() - (share * coin).ln();
    accept(state, proposed, log_ratio, beta, counts, rng);
}

pub(super) fn tails(model: &Model, state: &mut State, beta: f64, counts: &mut Tried, rng: &mut impl Rng) {
    if state.lines.len() < 2 {
        return;
    }
    let total: usize = state.lines.iter().map(|line| line.len()).sum();
    let mut left = rng.random_range(0..total);
    let a = state.lines.iter().position(|line| {
        let here = left < line.len();
        if !here {
            left -= line.len();
        }
        here
    });
    let (a, cut_a) = (a.expect("a line has the cut"), left + 1);
    let here = middle(model, &state.lines[a], cut_a);
    let near = |k: usize, cut: usize| (-here.distance(middle(model, &state.lines[k], cut)) / NEAR_M).exp();
    let mut others: Vec<(usize, usize, f64)> = Vec::new();
    for (k, line) in state.lines.iter().enumerate().filter(|(k, _)| *k != a) {
        others.extend((1..=line.len()).map(|cut| (k, cut, near(k, cut))));
    }
    let shares: Vec<f64> = others.iter().map(|other| other.2).collect();
    let (b, cut_b, share) = others[crate::layout::pick(&shares, rng)];
    let forward = share / shares.iter().sum::<f64>();
    let (whole_a, whole_b) = (cut_a == state.lines[a].len(), cut_b == state.lines[b].len());
    if whole_a && whole_b {
        return;
    }
    let (head_a, tail_a, coin_a) = cut(&state.lines[a].legs, cut_a);
    let (head_b, tail_b, coin_b) = cut(&state.lines[b].legs, cut_b);
    let crossed = rng.random::<bool>();
    if !crossed && (whole_a || whole_b) {
        return;
    }
    let (one, two) = if crossed {
        (joined(head_a, tail_b, rng), joined(head_b, tail_a, rng))
    } else {
        (joined(head_a, oriented(&head_b, true), rng), joined(oriented(&tail_a, true), tail_b, rng))
    };
    let (Some((one, coin_one)), Some((two, coin_two))) = (one, two) else { return counts.count(false) };
    let orders: [Vec<u16>; 2] =
        [&one, &two].map(|legs| legs.iter().flat_map(|leg| leg.items.iter().copied()).collect());
    let Some(made) = lines(model, state, [one, two]) else { return counts.count(false) };
    if made.iter().zip(&orders).any(|(line, order)| !line.items().eq(order.iter().copied())) {
        return counts.count(false);
    }
    let to = state.with(model, &[a.min(b), a.max(b)], made);
    let n = to.lines.len();
    // The same two cuts lead back: after the first head, and after what now precedes the second tail.
    let cut_one = cut_a;
    let cut_two = if crossed { cut_b } else { state.lines[a].len() - cut_a };
    let from = middle(model, &to.lines[n - 2], cut_one);
    let mut sum = 0.0;
    for (k, line) in to.lines.iter().enumerate().filter(|(k, _)| *k != n - 2) {
        let of = |cut: usize| (-from.distance(middle(model, &to.lines[k], cut)) / NEAR_M).exp();
        sum += (1..=line.len()).map(of).sum::<f64>();
    }
    let back = (-from.distance(middle(model, &to.lines[n - 1], cut_two)) / NEAR_M).exp() / sum;
    let log_ratio = (back * coin_a * coin_b).ln() - (forward * coin_one * coin_two).ln();
    accept(state, Some(to), log_ratio, beta, counts, rng);
}

/// The middle of the stretch that a cut lies in; the last item where it lies behind all.
fn middle(model: &Model, line: &Line, cut: usize) -> Point {
    let at = |k: usize| line.items().nth(k).map(|item| model.evidence.items[item as usize].at);
    let before = at(cut - 1).expect("a cut lies after an item");
    at(cut).map_or(before, |after| before.towards(after, 0.5))
}

/// Both parts of a line cut after so many items, and the chance of the coin that would join them so again.
fn cut(legs: &[Leg], after: usize) -> (Vec<Leg>, Vec<Leg>, f64) {
    let (mut head, mut tail): (Vec<Leg>, Vec<Leg>) = (Vec::new(), Vec::new());
    let mut left = after;
    let mut coin = 1.0;
    for leg in legs {
        let here = left.min(leg.items.len());
        if here > 0 {
            head.push(Leg { kind: leg.kind, items: leg.items[..here].to_vec() });
        }
        if here < leg.items.len() {
            if tail.is_empty()
                && leg.kind == LegKind::Any
                && head.last().is_some_and(|before| before.kind == LegKind::Any)
            {
                coin = 0.5;
            }
            tail.push(Leg { kind: leg.kind, items: leg.items[here..].to_vec() });
        }
        left -= here;
    }
    (head, tail, coin)
}

/// Two parts as one line, with the chance of the coin that was tossed; `None` where nothing is left.
fn joined(mut head: Vec<Leg>, mut tail: Vec<Leg>, rng: &mut impl Rng) -> Option<(Vec<Leg>, f64)> {
    let (Some(before), Some(after)) = (head.last_mut(), tail.first_mut()) else {
        head.append(&mut tail);
        return (!head.is_empty()).then_some((head, 1.0));
    };
    let (one_leg, coin) = match (before.kind, after.kind) {
        (LegKind::Any, LegKind::Any) => (rng.random::<bool>(), 0.5),
        (a, b) => (a == b, 1.0),
    };
    if one_leg {
        before.items.append(&mut after.items);
        tail.remove(0);
    }
    head.append(&mut tail);
    Some((head, coin))
}

fn lines(model: &Model, state: &State, parts: [Vec<Leg>; 2]) -> Option<Vec<Line>> {
    parts.into_iter().map(|legs| Line::new(model, legs, state.shared)).collect()
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
    let mut ends = Vec::new();
    let mut at = Vec::new();
    for (k, line) in state.lines.iter().enumerate() {
        let items: Vec<u16> = line.items().collect();
        let place = |item: u16| model.evidence.items[item as usize].at;
        ends.push((k, Side::First));
        at.push(place(items[0]));
        // A line of one item has one end: joined at the other it would be the same.
        if items.len() > 1 {
            ends.push((k, Side::Last));
            at.push(place(items[items.len() - 1]));
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_of_a_cut_line_join_to_the_same() {
        let leg = |kind, items: &[u16]| Leg { kind, items: items.to_vec() };
        let legs = [leg(LegKind::First, &[0, 1, 2]), leg(LegKind::Any, &[3, 4]), leg(LegKind::Any, &[5])];
        let mut rng = crate::rng::stream(1, 0);
        for after in 1..6 {
            let (head, tail, coin) = cut(&legs, after);
            assert_eq!(coin, if after >= 4 { 0.5 } else { 1.0 }, "{after}");
            let back = (0..64).find(|_| joined(head.clone(), tail.clone(), &mut rng).unwrap().0 == legs);
            assert!(back.is_some(), "{after}");
        }
    }
}
