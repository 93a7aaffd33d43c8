//! Every explanation of a few items, one by one, weighed by the engine's own density: what a sampler is held against. Which
//! explanations there are is said here anew, from python/docs/model.md, 14.2 and 14.4.

use std::sync::Arc;
use underturf::metal::{Leg, LegKind, Line, Model, Shared, State};

/// Steps that a walk may have, and factors on the flags' scatter (python/docs/model.md, 14.1 and 14.2).
pub const STEPS: usize = 7;
pub const SCALES: usize = 5;

/// Items as bits.
type Set = usize;

/// Every way to lay lines through some items: for each set of them the rows of legs, up to the way round.
pub struct Courses {
    items: usize,
    by_set: Vec<Vec<Vec<Leg>>>,
}

impl Courses {
    pub fn of(items: usize) -> Self {
        let of = |set| {
            let mut rows = Vec::new();
            grow(set, &mut Vec::new(), &mut rows);
            rows
        };
        Self { items, by_set: (0..1 << items).map(of).collect() }
    }

    /// Each explanation of the items of a site, with whatever lines may share.
    pub fn every(&self, model: &Model, mut see: impl FnMut(State)) {
        assert_eq!(model.evidence.items.len(), self.items);
        for bearing in 0..model.evidence.bearings.len() {
            for k in 0..STEPS * SCALES {
                let shared = Shared { bearing, step: k / SCALES, scale: k % SCALES };
                let of = |rows: &Vec<Vec<Leg>>| -> Vec<Arc<Line>> {
                    rows.iter()
                        .filter_map(|legs| Line::new(model, legs.clone(), shared))
                        .map(Arc::new)
                        .collect()
                };
                let lines = self.by_set.iter().map(of).collect();
                let all = (1 << self.items) - 1;
                Explained { model, shared, lines, chosen: Vec::new() }.every(all, &mut see);
            }
        }
    }
}

/// Rows of legs that hold all of `left`. After a bend no leg lies along the same axis, and between two bends lie two items or
/// more.
fn grow(left: Set, legs: &mut Vec<(Set, LegKind)>, rows: &mut Vec<Vec<Leg>>) {
    if left == 0 {
        if !legs.is_empty() && legs.iter().le(legs.iter().rev()) {
            let leg = |&(set, kind): &(Set, LegKind)| Leg { kind, items: members(set) };
            rows.push(legs.iter().map(leg).collect());
        }
        return;
    }
    let (first, before) = (legs.is_empty(), legs.last().map(|leg| leg.1));
    for set in subsets(left).filter(|set| *set != 0) {
        if !first && set != left && set.count_ones() < 2 {
            continue;
        }
        for kind in LegKind::ALL {
            if kind == LegKind::Any || before != Some(kind) {
                legs.push((set, kind));
                grow(left & !set, legs, rows);
                legs.pop();
            }
        }
    }
}

fn subsets(of: Set) -> impl Iterator<Item = Set> {
    (0..=of).filter(move |set| set & !of == 0)
}

fn members(set: Set) -> Vec<u16> {
    (0..Set::BITS as u16).filter(|k| set >> k & 1 == 1).collect()
}

struct Explained<'a> {
    model: &'a Model,
    shared: Shared,
    lines: Vec<Vec<Arc<Line>>>,
    chosen: Vec<Arc<Line>>,
}

impl Explained<'_> {
    fn every(&mut self, left: Set, see: &mut impl FnMut(State)) {
        if left == 0 {
            return see(State::new(self.model, self.chosen.clone(), self.shared));
        }
        let first = left.trailing_zeros() as usize;
        let rest = left & !(1 << first);
        if self.model.evidence.items[first].is_flag() {
            self.every(rest, see);
        }
        for set in subsets(rest) {
            for k in 0..self.lines[set | 1 << first].len() {
                self.chosen.push(self.lines[set | 1 << first][k].clone());
                self.every(rest & !set, see);
                self.chosen.pop();
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two items: one leg of three kinds, or two legs whose kinds are not one axis twice, seven ways up to the way round. Three: 3
    /// and 3 x 7. Four: 3; 4 x 7 with one item apart and 3 x 7 in pairs; and a pair between two, 6 x 2 x 17 / 2.
    #[test]
    fn courses_by_hand() {
        let courses = Courses::of(4);
        let count = |set: Set| courses.by_set[set].len();
        assert_eq!([count(0), count(1), count(0b11), count(0b111)], [0, 3, 10, 24]);
        assert_eq!(count(0b1111), 3 + 28 + 21 + 102);
    }
}
