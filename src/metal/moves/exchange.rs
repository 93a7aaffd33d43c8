//! Two explanations at different powers of the law exchange a part of theirs: items that both put on lines among themselves.
//!
//! Parts of a site that have nothing to do with each other are exchanged one by one, so that few powers do for large sites (as
//! whole states are in parallel tempering: Geyer, Proc. 23rd Symp. Interface (1991) 156-163). The parts and which of them differ
//! are the same before and after, so the choice of one is the same both ways.

use super::accept::Tried;
use crate::metal::line::{Leg, Line};
use crate::metal::model::Model;
use crate::metal::state::State;
use rand::{Rng, RngExt};
use std::sync::Arc;

/// Exchanges one part in which the two differ, if any; `betas` are the powers.
pub fn exchange(
    model: &Model,
    [a, b]: [&mut State; 2],
    betas: [f64; 2],
    counts: &mut Tried,
    rng: &mut impl Rng,
) {
    let parts = differing(model, a, b);
    if parts.is_empty() {
        return;
    }
    let part = &parts[rng.random_range(0..parts.len())];
    let made = || Some((with(model, a, b, part)?, with(model, b, a, part)?));
    let taken = made().filter(|(to_a, to_b)| {
        let log =
            betas[0] * (to_a.log_density - a.log_density) + betas[1] * (to_b.log_density - b.log_density);
        log >= 0.0 || rng.random::<f64>() < log.exp()
    });
    counts.count(taken.is_some());
    if let Some((to_a, to_b)) = taken {
        (*a, *b) = (to_a, to_b);
    }
}

/// For each item, whether it belongs to a part.
type Part = Vec<bool>;

/// The least sets of items that both explanations divide into lines and strays of their own, where these differ.
fn differing(model: &Model, a: &State, b: &State) -> Vec<Part> {
    let n = model.evidence.items.len();
    let mut root: Vec<usize> = (0..n).collect();
    for line in a.lines.iter().chain(&b.lines) {
        let mut items = line.items().map(usize::from);
        let first = find(&mut root, items.next().expect("a line has items"));
        for item in items {
            let own = find(&mut root, item);
            root[own] = first;
        }
    }
    let roots: Vec<usize> = (0..n).map(|item| find(&mut root, item)).collect();
    let keys = [a, b].map(|state| {
        let mut keys: Vec<Vec<Key>> = vec![Vec::new(); n];
        for line in &state.lines {
            let first = line.items().next().expect("a line has items");
            keys[roots[usize::from(first)]].push(key(line));
        }
        keys.iter_mut().for_each(|keys| keys.sort_unstable());
        keys
    });
    let of = |at: usize| roots.iter().map(|root| *root == at).collect();
    (0..n).filter(|at| keys[0][*at] != keys[1][*at]).map(of).collect()
}

fn find(root: &mut [usize], mut at: usize) -> usize {
    while root[at] != at {
        root[at] = root[root[at]];
        at = root[at];
    }
    at
}

/// A line told apart from others: kinds and items of its legs, whichever way round it is written.
type Key = Vec<(usize, Vec<u16>)>;

fn key(line: &Line) -> Key {
    let leg = |leg: &Leg| {
        let mut items = leg.items.clone();
        items.sort_unstable();
        (leg.kind as usize, items)
    };
    let there: Key = line.legs.iter().map(leg).collect();
    let back: Key = there.iter().rev().cloned().collect();
    there.min(back)
}

/// The first explanation with the second one's lines on a part; `None` where these are no lines under what the first shares.
fn with(model: &Model, first: &State, second: &State, part: &Part) -> Option<State> {
    let inside = |line: &Arc<Line>| line.items().next().is_some_and(|item| part[usize::from(item)]);
    let mut lines: Vec<Arc<Line>> = first.lines.iter().filter(|line| !inside(line)).cloned().collect();
    let brought = second.lines.iter().filter(|line| inside(line));
    if first.shared == second.shared {
        lines.extend(brought.cloned());
    } else {
        for line in brought {
            lines.push(Arc::new(Line::new(model, line.legs.clone(), first.shared)?));
        }
    }
    Some(State::new(model, lines, first.shared))
}
