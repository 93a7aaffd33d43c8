//! Shortest pipe from head to head, but with detours round trees, walls and walks, and with lengths judged by eye
//! (python/docs/trade-values.md, 3.18b, 3.19, 3.20). The tree lies inside the family `direct`; its bends do not.

use super::{Pipe, Zone, shortest_tree};
use crate::installer::dice::Dice;
use crate::plane::length;

pub fn pipe(zone: &Zone, dice: &mut Dice) -> Option<Vec<Pipe>> {
    let mut nodes = vec![zone.valve];
    nodes.extend(&zone.taps);
    let n = nodes.len();
    let by_eye: Vec<f64> = (0..n * n).map(|_| dice.gamma_about_one(0.12)).collect();
    let judged = |i: usize, j: usize| {
        let (a, b) = (i.min(j), i.max(j));
        length(&zone.ways.route(nodes[a], nodes[b])) * by_eye[a * n + b]
    };
    Some(shortest_tree(n, judged).into_iter().map(|(i, j)| zone.trench(nodes[i], nodes[j], dice)).collect())
}
