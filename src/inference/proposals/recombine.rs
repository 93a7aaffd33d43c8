//! Two zones become one tree and are cut anew.
//!
//! Two heads h and j are drawn without a look at their zones A and B; if these differ, a tree of A, a tree of B and one
//! run between them are drawn by weight: a tree T of all their heads. T is then cut at one of its runs between h and j,
//! and the parts X and Y take the two names either way. Given T and (h, j) the old zoning is one of these options, and
//! the reverse move meets the same options, so drawing among them from the prior given T needs no ratio: the zoning that
//! cuts T into X and Y has the density `tau_X tau_Y rest`, and T given it `w(T) / (tau_X tau_Y w(X, Y))` with w(X, Y) the
//! sum of all runs between X and Y; hence the weight `rest / w(X, Y)`. (Forest recombination, Cannon et al., arXiv
//! 2210.01401, abstract read; the cut drawn from the prior is our own.)

use super::mover::{Proposal, Proposals};
use super::zoning::Zoning;
use super::zoning::{between, cuts_between, draw_tree, pick_log};
use crate::layout::pick;
use rand::Rng;

pub(super) fn propose(
    moves: &Proposals<'_>,
    zoning: &Zoning,
    beta: f64,
    rng: &mut impl Rng,
) -> Option<Proposal> {
    let prior = moves.prior;
    let (h, j) = moves.pair(rng);
    let (first, second) = (zoning.zone_of[h], zoning.zone_of[j]);
    if first == second {
        return None;
    }
    let (some, others) = (&zoning.parts[first].heads, &zoning.parts[second].heads);
    let mut edges = draw_tree(prior, some, rng);
    edges.extend(draw_tree(prior, others, rng));
    let runs: Vec<(usize, usize)> = some.iter().flat_map(|&a| others.iter().map(move |&b| (a, b))).collect();
    let weights: Vec<f64> = runs.iter().map(|&(a, b)| prior.fit.weight(a, b)).collect();
    edges.push(runs[pick(&weights, rng)]);
    let cuts: Vec<(Vec<usize>, Vec<usize>)> = cuts_between(&edges, h, j).collect();
    let names = [[first, second], [second, first]];
    let mut logs = Vec::with_capacity(2 * cuts.len());
    for (near, far) in &cuts {
        let log_between = between(prior, near, far).ln();
        for [x, y] in names {
            let shares = [(x, &prior.share(x, near)), (y, &prior.share(y, far))];
            logs.push(zoning.weight_with(prior, beta, &shares) - log_between);
        }
    }
    let option = pick_log(&logs, rng)?;
    let ((near, far), [x, y]) = (cuts.into_iter().nth(option / 2)?, names[option % 2]);
    let change = vec![(x, near), (y, far)];
    let same = change.iter().all(|(zone, heads)| zoning.parts[*zone].heads == *heads);
    (!same).then_some(Proposal { change, log_ratio: 0.0 })
}
