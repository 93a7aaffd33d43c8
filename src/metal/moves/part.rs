//! Parts of lines at a joint: legs far from it stay as they are, those near it are cut anew.

use super::cuts::{Cuts, Order};
use crate::metal::line::{Leg, Line};
use crate::metal::model::{Model, Shared};
use rand::Rng;

/// Legs are cut anew so many items to either side of a joint. Numerical choice: a bend is told by fewer.
const WINDOW: usize = 7;

/// What lies before a joint, or behind it. The open legs begin at the last bend that lies a window or more away, and may only be
/// cut nearer than that: so whatever is drawn there, the way back finds the same legs open.
#[derive(Clone, Debug, Default)]
pub(super) struct Part {
    /// Legs that stay, in the order of the line.
    fixed: Vec<Leg>,
    /// Legs near the joint as they are, in order.
    open: Vec<Leg>,
    /// Places where the open items may be cut, counted from the far end for a head and from the joint for a tail.
    free: Vec<usize>,
}

impl Part {
    fn len(&self) -> usize {
        self.open.iter().map(|leg| leg.items.len()).sum()
    }

    fn order(&self) -> impl Iterator<Item = u16> + '_ {
        self.open.iter().flat_map(|leg| leg.items.iter().copied())
    }

    /// Whether it holds nothing.
    pub(super) fn is_empty(&self) -> bool {
        self.fixed.is_empty() && self.open.is_empty()
    }

    /// Legs before a joint that lies behind their last item.
    pub(super) fn head(legs: Vec<Leg>) -> Self {
        let mut part = Self { fixed: legs, ..Self::default() };
        let mut near = 0;
        while near < WINDOW {
            let Some(leg) = part.fixed.pop() else { break };
            near += leg.items.len();
            part.open.insert(0, leg);
        }
        let n = part.len();
        part.free = (n.saturating_sub(WINDOW) + 1..n).collect();
        part
    }

    /// Legs behind a joint that lies before their first item.
    pub(super) fn tail(legs: Vec<Leg>) -> Self {
        let mut part = Self { fixed: legs, ..Self::default() };
        let mut near = 0;
        while near < WINDOW && !part.fixed.is_empty() {
            let leg = part.fixed.remove(0);
            near += leg.items.len();
            part.open.push(leg);
        }
        let n = part.len();
        part.free = (1..n.min(WINDOW)).collect();
        part
    }

    /// The same from the other end: a head becomes a tail.
    pub(super) fn reversed(self) -> Self {
        let back = |legs: Vec<Leg>| -> Vec<Leg> {
            let turned = |leg: Leg| Leg { kind: leg.kind, items: leg.items.into_iter().rev().collect() };
            legs.into_iter().rev().map(turned).collect()
        };
        let n = self.len();
        let free = self.free.iter().rev().map(|k| n - k).collect();
        Self { fixed: back(self.fixed), open: back(self.open), free }
    }
}

/// A head and a tail as one line whose legs near the joint may be cut anew.
pub(super) struct Joint<'a> {
    head: &'a Part,
    tail: &'a Part,
    order: Vec<u16>,
    cuts: Cuts,
}

impl<'a> Joint<'a> {
    /// `None` where both parts are empty.
    pub(super) fn new(
        model: &Model,
        shared: Shared,
        head: &'a Part,
        tail: &'a Part,
        beta: f64,
    ) -> Option<Self> {
        if head.is_empty() && tail.is_empty() {
            return None;
        }
        let n = head.len();
        let joint = if head.open.is_empty() || tail.open.is_empty() { None } else { Some(n) };
        let free: Vec<usize> =
            head.free.iter().copied().chain(joint).chain(tail.free.iter().map(|k| n + k)).collect();
        let order: Vec<u16> = head.order().chain(tail.order()).collect();
        let beside = [head.fixed.last(), tail.fixed.first()];
        let free = Order { items: &order, free: &free, beside, at_all: false };
        let cuts = Cuts::new(model, shared, &free, beta);
        Some(Self { head, tail, order, cuts })
    }

    /// Legs of the whole line, and `ln` of their chance.
    pub(super) fn draw(&self, rng: &mut impl Rng) -> Option<(Vec<Leg>, f64)> {
        let (mut open, log) = self.cuts.draw(&self.order, rng)?;
        let mut legs = self.head.fixed.clone();
        legs.append(&mut open);
        legs.extend(self.tail.fixed.iter().cloned());
        Some((legs, log))
    }

    /// `ln` of the chance of the legs of the line that both parts were cut from, the cut inside a leg or between two.
    pub(super) fn log_chance(&self, inside: bool) -> Option<f64> {
        let mut open = self.head.open.clone();
        let mut tail = self.tail.open.clone();
        if inside {
            let first = tail.remove(0);
            open.last_mut()?.items.extend(first.items);
        }
        open.append(&mut tail);
        self.cuts.log_chance(&open)
    }
}

/// Both parts of a line cut behind so many items, and whether the cut lies inside a leg.
pub(super) fn cut(legs: &[Leg], after: usize) -> (Part, Part, bool) {
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

/// A line of these legs, if its items lie along it in the order in which they are written.
pub(super) fn in_order(model: &Model, shared: Shared, legs: Vec<Leg>) -> Option<Line> {
    let order: Vec<u16> = legs.iter().flat_map(|leg| leg.items.iter().copied()).collect();
    Line::new(model, legs, shared).filter(|line| line.items().eq(order))
}

/// The legs as they are, or from the other end.
pub(super) fn oriented(legs: &[Leg], reversed: bool) -> Vec<Leg> {
    if !reversed {
        return legs.to_vec();
    }
    let turned = |leg: &Leg| Leg { kind: leg.kind, items: leg.items.iter().rev().copied().collect() };
    legs.iter().rev().map(turned).collect()
}
