//! Where a line bends: kinds of its legs one by one (Gibbs), and all its bends at once, given the order of its items.
//!
//! All bends at once: evidence of every stretch of the order as one leg, prices of bends, summed over the ways to cut the order
//! into legs (change points by dynamic programming: Fearnhead, Stat. Comput. 16 (2006) 203-213), and one way drawn from the
//! last leg back. The sum leaves out where legs meet; Metropolis and Hastings put that right.

use super::{Tried, accept};
use crate::metal::leg::Fit;
use crate::metal::line::{Leg, Line};
use crate::metal::model::{LegKind, Model, log_sum};
use crate::metal::state::State;
use rand::{Rng, RngExt};

const KINDS: usize = LegKind::ALL.len();

/// Longer legs are not proposed in one piece. Numerical choice: longer rows are rare, and grow by single items.
const LONGEST: usize = 80;

pub(super) fn kinds(model: &Model, state: &mut State, beta: f64, counts: &mut Tried, rng: &mut impl Rng) {
    for at in 0..state.lines.len() {
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
        if order.len() < 2 {
            continue;
        }
        let cuts = Cuts::new(model, state, &order, beta);
        let Some((legs, log_to)) = cuts.draw(&order, rng) else { continue };
        let Some(log_from) = cuts.log_chance(&state.lines[at].legs) else { continue };
        let line = Line::new(model, legs, state.shared).filter(|line| line.items().eq(order.iter().copied()));
        let proposed = line.map(|line| replaced(model, state, at, line));
        accept(state, proposed, log_from - log_to, beta, counts, rng);
    }
}

/// Ways to cut an order of items into legs.
struct Cuts {
    n: usize,
    /// For each start, length and kind of a leg: `ln` of its evidence.
    leg: Vec<[f64; KINDS]>,
    /// For each end and kind of the last leg: `ln` of the sum over all before.
    sum: Vec<[f64; KINDS]>,
    first: [f64; KINDS],
    next: [[f64; KINDS]; KINDS],
    longest: usize,
}

impl Cuts {
    fn new(model: &Model, state: &State, order: &[u16], beta: f64) -> Self {
        let n = order.len();
        let longest = n.min(LONGEST);
        let bend = model.evidence.law.bends_per_m.ln();
        let first = LegKind::ALL.map(|kind| beta * model.log_first(kind));
        let next = LegKind::ALL.map(|a| LegKind::ALL.map(|b| beta * (bend + model.log_next(a, b))));
        let mut cuts = Self { n, leg: vec![[f64::NEG_INFINITY; KINDS]; n * longest], sum: vec![[f64::NEG_INFINITY; KINDS]; n], first, next, longest };
        let place = |k: usize| {
            let item = order[k];
            (model.evidence.items[item as usize].at, model.sd_m(item, state.shared.scale))
        };
        for from in 0..n {
            for length in 1..=longest.min(n - from) {
                let items = (from..from + length).map(place);
                cuts.leg[from * longest + length - 1] = LegKind::ALL.map(|kind| {
                    beta * Fit::new(items.clone(), model.direction(kind, state.shared.bearing)).log_evidence
                });
            }
        }
        for end in 0..n {
            for kind in 0..KINDS {
                let mut parts = Vec::with_capacity(end + 1);
                for from in (end + 1).saturating_sub(longest)..=end {
                    parts.push(cuts.before(from, kind) + cuts.of(from, end, kind));
                }
                cuts.sum[end][kind] = log_sum(&parts);
            }
        }
        cuts
    }

    fn of(&self, from: usize, end: usize, kind: usize) -> f64 {
        self.leg[from * self.longest + end - from][kind]
    }

    /// `ln` of the sum over all ways up to a leg of this kind that starts here.
    fn before(&self, from: usize, kind: usize) -> f64 {
        if from == 0 {
            return self.first[kind];
        }
        let parts: [f64; KINDS] = std::array::from_fn(|k| self.sum[from - 1][k] + self.next[k][kind]);
        log_sum(&parts)
    }

    /// A way, from the last leg back, with `ln` of its chance.
    fn draw(&self, order: &[u16], rng: &mut impl Rng) -> Option<(Vec<Leg>, f64)> {
        let mut legs = Vec::new();
        let (mut log, mut end) = (0.0, self.n);
        let mut after: Option<usize> = None;
        while end > 0 {
            let last = end - 1;
            let mut ways = Vec::new();
            for kind in 0..KINDS {
                let on = after.map_or(0.0, |after| self.next[kind][after]);
                for from in (last + 1).saturating_sub(self.longest)..=last {
                    ways.push((from, kind, self.before(from, kind) + self.of(from, last, kind) + on));
                }
            }
            let logs: Vec<f64> = ways.iter().map(|way| way.2).collect();
            let total = log_sum(&logs);
            if total == f64::NEG_INFINITY {
                return None;
            }
            let shares: Vec<f64> = logs.iter().map(|l| (l - total).exp()).collect();
            let (from, kind, way) = ways[crate::layout::pick(&shares, rng)];
            log += way - total;
            legs.push(Leg { kind: LegKind::ALL[kind], items: order[from..end].to_vec() });
            (after, end) = (Some(kind), from);
        }
        legs.reverse();
        Some((legs, log))
    }

    /// `ln` of the chance of a given way.
    fn log_chance(&self, legs: &[Leg]) -> Option<f64> {
        let kind = |leg: &Leg| LegKind::ALL.iter().position(|k| *k == leg.kind).expect("a kind");
        let (mut log, mut from) = (0.0, 0);
        for (k, leg) in legs.iter().enumerate() {
            let end = from + leg.items.len() - 1;
            if leg.items.len() > self.longest {
                return None;
            }
            let entry = if k == 0 { self.first[kind(leg)] } else { self.next[kind(&legs[k - 1])][kind(leg)] };
            log += entry + self.of(from, end, kind(leg));
            from = end + 1;
        }
        Some(log - log_sum(&self.sum[self.n - 1]))
    }
}
