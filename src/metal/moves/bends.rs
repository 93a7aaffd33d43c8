//! Where a line bends: kinds of its legs one by one (Gibbs), and all its bends at once, given the order of its items.
//!
//! All bends at once: evidence of every stretch of the order as one leg, prices of bends, summed over the ways to cut the order
//! into legs (change points by dynamic programming: Fearnhead, Stat. Comput. 16 (2006) 203-213), and one way drawn from the
//! last leg back. The sum leaves out where legs meet; Metropolis and Hastings put that right.

use super::accept::{Tried, accept};
use crate::metal::leg::Sums;
use crate::metal::line::{Leg, Line};
use crate::metal::model::{LegKind, Model, Shared, log_sum};
use crate::metal::state::State;
use rand::{Rng, RngExt};

const KINDS: usize = LegKind::ALL.len();

/// Chances that a sweep asks a line for its kinds and for its bends. Numerical choices, by price.
const ASK_KINDS: f64 = 0.3;
const ASK_BENDS: f64 = 0.2;

pub(super) fn kinds(model: &Model, state: &mut State, beta: f64, counts: &mut Tried, rng: &mut impl Rng) {
    for at in 0..state.lines.len() {
        if rng.random::<f64>() >= ASK_KINDS {
            continue;
        }
        for leg in 0..state.lines[at].legs.len() {
            let line = &state.lines[at];
            let kind = LegKind::ALL[rng.random_range(0..KINDS)];
            if kind == line.legs[leg].kind {
                continue;
            }
            let mut legs = line.legs.clone();
            legs[leg].kind = kind;
            let proposed = Line::new(model, legs, state.shared).map(|line| replaced(model, state, at, line));
            accept(state, proposed, 0.0, beta, counts, rng);
        }
    }
}

/// The explanation with a line changed, in its place.
pub(super) fn replaced(model: &Model, state: &State, at: usize, line: Line) -> State {
    let mut lines = state.lines.clone();
    lines[at] = std::sync::Arc::new(line);
    State::new(model, lines, state.shared)
}

pub(super) fn bends(model: &Model, state: &mut State, beta: f64, counts: &mut Tried, rng: &mut impl Rng) {
    for at in 0..state.lines.len() {
        let order: Vec<u16> = state.lines[at].items().collect();
        if rng.random::<f64>() >= ASK_BENDS || order.len() < 2 {
            continue;
        }
        let cuts = Cuts::all(model, state.shared, &order, beta);
        let Some((legs, log_to)) = cuts.draw(&order, rng) else { continue };
        let Some(log_from) = cuts.log_chance(&state.lines[at].legs) else { continue };
        let line = Line::new(model, legs, state.shared).filter(|line| line.items().eq(order.iter().copied()));
        let proposed = line.map(|line| replaced(model, state, at, line));
        accept(state, proposed, log_from - log_to, beta, counts, rng);
    }
}

/// Ways to cut an order of items into legs.
pub(super) struct Cuts {
    /// Places in the order where it may be cut, its start and its end among them.
    bounds: Vec<usize>,
    /// For each pair of bounds and kind of a leg between them: `ln` of its evidence.
    leg: Vec<[f64; KINDS]>,
    /// For each bound and kind of the leg that ends there: `ln` of the sum over all before.
    sum: Vec<[f64; KINDS]>,
    /// For each bound and kind of a leg that starts there: the same up to it, its own price of a bend with it.
    before: Vec<[f64; KINDS]>,
    first: [f64; KINDS],
    last: [f64; KINDS],
    next: [[f64; KINDS]; KINDS],
}

impl Cuts {
    /// Ways to cut an order at these places (ascending, inside it) between legs of these kinds, if there are any.
    pub(super) fn new(
        model: &Model,
        shared: Shared,
        order: &[u16],
        free: &[usize],
        beside: [Option<LegKind>; 2],
        beta: f64,
    ) -> Self {
        let bounds: Vec<usize> = [0].into_iter().chain(free.iter().copied()).chain([order.len()]).collect();
        let bend = model.evidence.law.bends_per_m.ln();
        let turn = |a: LegKind, b: LegKind| beta * (bend + model.log_next(a, b));
        let n = bounds.len();
        let mut cuts = Self {
            leg: vec![[f64::NEG_INFINITY; KINDS]; n * n],
            sum: vec![[f64::NEG_INFINITY; KINDS]; n],
            before: vec![[f64::NEG_INFINITY; KINDS]; n],
            first: LegKind::ALL
                .map(|kind| beside[0].map_or(beta * model.log_first(kind), |before| turn(before, kind))),
            last: LegKind::ALL.map(|kind| beside[1].map_or(0.0, |after| turn(kind, after))),
            next: LegKind::ALL.map(|a| LegKind::ALL.map(|b| turn(a, b))),
            bounds,
        };
        let sums = Sums::new(order.iter().map(|&item| model.weighted(item, shared.scale)));
        let directions = LegKind::ALL.map(|kind| model.direction(kind, shared.bearing));
        cuts.before[0] = cuts.first;
        let mut parts: Vec<f64> = Vec::with_capacity(n);
        for end in 1..n {
            for from in 0..end {
                let scatter = sums.between(cuts.bounds[from], cuts.bounds[end]);
                cuts.leg[from * n + end] = directions.map(|direction| beta * scatter.log_evidence(direction));
            }
            for kind in 0..KINDS {
                parts.clear();
                parts.extend((0..end).map(|from| cuts.before[from][kind] + cuts.leg[from * n + end][kind]));
                cuts.sum[end][kind] = log_sum(&parts);
            }
            for kind in 0..KINDS {
                let ways: [f64; KINDS] = std::array::from_fn(|k| cuts.sum[end][k] + cuts.next[k][kind]);
                cuts.before[end][kind] = log_sum(&ways);
            }
        }
        cuts
    }

    /// `ln` of the sum over all ways.
    pub(super) fn log_total(&self) -> f64 {
        let all: [f64; KINDS] = std::array::from_fn(|k| self.sum[self.bounds.len() - 1][k] + self.last[k]);
        log_sum(&all)
    }

    /// All ways to cut an order of items that are a line by themselves.
    pub(super) fn all(model: &Model, shared: Shared, order: &[u16], beta: f64) -> Self {
        let free: Vec<usize> = (1..order.len()).collect();
        Self::new(model, shared, order, &free, [None; 2], beta)
    }

    /// A way, from the last leg back, with `ln` of its chance.
    pub(super) fn draw(&self, order: &[u16], rng: &mut impl Rng) -> Option<(Vec<Leg>, f64)> {
        let (mut legs, n) = (Vec::new(), self.bounds.len());
        let (mut log, mut end) = (0.0, n - 1);
        let mut on = self.last;
        while end > 0 {
            let ways: Vec<(usize, usize)> =
                (0..KINDS).flat_map(|kind| (0..end).map(move |from| (from, kind))).collect();
            let logs: Vec<f64> = ways
                .iter()
                .map(|&(from, kind)| self.before[from][kind] + self.leg[from * n + end][kind] + on[kind])
                .collect();
            let total = log_sum(&logs);
            if total == f64::NEG_INFINITY {
                return None;
            }
            let shares: Vec<f64> = logs.iter().map(|l| (l - total).exp()).collect();
            let way = crate::layout::pick(&shares, rng);
            let (from, kind) = ways[way];
            log += logs[way] - total;
            legs.push(Leg {
                kind: LegKind::ALL[kind],
                items: order[self.bounds[from]..self.bounds[end]].to_vec(),
            });
            on = std::array::from_fn(|before| self.next[before][kind]);
            end = from;
        }
        legs.reverse();
        Some((legs, log))
    }

    /// `ln` of the chance of a given way; `None` where it cuts elsewhere.
    pub(super) fn log_chance(&self, legs: &[Leg]) -> Option<f64> {
        let kind = |leg: &Leg| LegKind::ALL.iter().position(|k| *k == leg.kind).expect("a kind");
        let n = self.bounds.len();
        let (mut log, mut from, mut at) = (0.0, 0, 0);
        for (k, leg) in legs.iter().enumerate() {
            at += leg.items.len();
            let end = self.bounds.binary_search(&at).ok()?;
            let entry = if k == 0 { self.first[kind(leg)] } else { self.next[kind(&legs[k - 1])][kind(leg)] };
            log += entry + self.leg[from * n + end][kind(leg)];
            from = end;
        }
        Some(log + self.last[kind(legs.last()?)] - self.log_total())
    }
}
