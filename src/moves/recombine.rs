//! Two zones become one tree and are cut anew.
//!
//! Two heads h and j are drawn without a look at their zones A and B; if these differ, a tree of A, a tree of B and one
//! run between them are drawn by weight: a tree T of all their heads. T is then cut at one of its runs between h and j,
//! and the parts X and Y take the two names either way. Given T and (h, j) the old labelling is one of these options, and
//! the reverse move meets the same options, so drawing among them from the law given T needs no ratio: the labelling that
//! cuts T into X and Y has the density `tau_X tau_Y rest`, and T given it `w(T) / (tau_X tau_Y w(X, Y))` with w(X, Y) the
//! sum of all runs between X and Y; hence the weight `rest / w(X, Y)`. (Forest recombination, Cannon et al., arXiv
//! 2210.01401, abstract read; the cut drawn from the law is our own.)

use super::zoning::{between, draw_tree, pick_log, side, without};
use super::{Moves, Proposal, Zoning};
use crate::layout::pick;
use rand::Rng;

pub(super) fn propose(moves: &Moves<'_>, zoning: &Zoning, beta: f64, rng: &mut impl Rng) -> Option<Proposal> {
    let law = moves.law;
    let (h, j) = moves.pair(rng);
    let (first, second) = (zoning.zone_of[h], zoning.zone_of[j]);
    if first == second {
        return None;
    }
    let (some, others) = (&zoning.parts[first].heads, &zoning.parts[second].heads);
    let mut edges = draw_tree(law, some, rng);
    edges.extend(draw_tree(law, others, rng));
    let runs: Vec<(usize, usize)> = some.iter().flat_map(|&a| others.iter().map(move |&b| (a, b))).collect();
    let weights: Vec<f64> = runs.iter().map(|&(a, b)| law.fit.weight(a, b)).collect();
    edges.push(runs[pick(&weights, rng)]);
    let all = super::zoning::joined(some, others);
    let (mut options, mut logs) = (Vec::new(), Vec::new());
    for cut in path(&edges, h, j)? {
        let near = side(&edges, cut, h);
        let far = without(&all, &near);
        let log_between = between(law, &near, &far).ln();
        for (x, y) in [(first, second), (second, first)] {
            let shares = [(x, &law.share(x, &near)), (y, &law.share(y, &far))];
            logs.push(zoning.weight_with(law, beta, &shares) - log_between);
            options.push(vec![(x, near.clone()), (y, far.clone())]);
        }
    }
    let change = options.swap_remove(pick_log(&logs, rng)?);
    let same = change.iter().all(|(zone, heads)| zoning.parts[*zone].heads == *heads);
    (!same).then_some(Proposal { change, log_ratio: 0.0 })
}

/// The edges of a tree between two of its nodes.
pub(super) fn path(edges: &[(usize, usize)], from: usize, to: usize) -> Option<Vec<usize>> {
    let mut reached: Vec<(usize, Option<(usize, usize)>)> = vec![(from, None)]; // node, (place before it, edge)
    let mut next = 0;
    while next < reached.len() {
        let node = reached[next].0;
        if node == to {
            let mut edges = Vec::new();
            let mut place = next;
            while let Some((before, edge)) = reached[place].1 {
                edges.push(edge);
                place = before;
            }
            return Some(edges);
        }
        for (edge, &(a, b)) in edges.iter().enumerate() {
            let other = if a == node { b } else { a };
            if (a == node || b == node) && !reached.iter().any(|(known, _)| *known == other) {
                reached.push((other, Some((next, edge))));
            }
        }
        next += 1;
    }
    None
}
