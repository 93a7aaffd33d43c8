//! One zone is cut in two and two others become one, the number of zones kept.
//!
//! Heads h and h', near each other, and j and j', near each other, are drawn without a look at their zones. If one pair lies on
//! one zone and the other on two more, the tree of the first, S, and the trees of the other two joined by one run, T, are
//! drawn by weight. Then either S is cut at a run between its pair or T at a run between its own, and the three parts take
//! the three names in any order. Given S, T and the heads, the old zoning is one of these options and the reverse move
//! meets the same ones, so drawing among them from the prior given the trees needs no ratio: with X and Y the parts of the
//! tree that was cut and Z the other tree, the zoning has the density `tau_X tau_Y tau_Z rest` and S and T given it
//! `w(S) w(T) / (tau_X tau_Y tau_Z w(X, Y))`; hence the weight `rest / w(X, Y)`, as where two zones are recombined.

use super::mover::{Proposal, Proposals};
use super::zoning::{Change, Zoning};
use super::zoning::{between, cuts_between, draw_tree, joined, pick_log};
use crate::layout::pick;
use crate::model::Share;
use rand::{Rng, RngExt};

/// The ways to give three names to three parts.
const ORDERS: [[usize; 3]; 6] = [[0, 1, 2], [0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]];

pub(super) fn propose(
    moves: &Proposals<'_>,
    zoning: &Zoning,
    beta: f64,
    rng: &mut impl Rng,
) -> Option<Proposal> {
    let prior = moves.prior;
    let (h, h2) = moves.pair(rng);
    let j = moves.near[h][rng.random_range(0..moves.near[h].len())];
    let j2 = moves.near[j][rng.random_range(0..moves.near[j].len())];
    let zone = |head: usize| zoning.zone_of[head];
    // The pair on one zone, then the pair on two.
    let (whole, apart) = match (zone(h) == zone(h2), zone(j) == zone(j2)) {
        (true, false) => ([h, h2], [j, j2]),
        (false, true) => ([j, j2], [h, h2]),
        _ => return None,
    };
    let names = [zone(whole[0]), zone(apart[0]), zone(apart[1])];
    if names[1] == names[0] || names[2] == names[0] {
        return None;
    }
    let heads = names.map(|name| zoning.parts[name].heads.as_slice());
    let single = draw_tree(prior, heads[0], rng);
    let mut double = draw_tree(prior, heads[1], rng);
    double.extend(draw_tree(prior, heads[2], rng));
    let runs: Vec<(usize, usize)> =
        heads[1].iter().flat_map(|&a| heads[2].iter().map(move |&b| (a, b))).collect();
    let weights: Vec<f64> = runs.iter().map(|&(a, b)| prior.fit.weight(a, b)).collect();
    double.push(runs[pick(&weights, rng)]);
    let both = joined(heads[1], heads[2]);
    let first = cuts_between(&single, whole[0], whole[1]).map(|(near, far)| [near, far, both.clone()]);
    let second = cuts_between(&double, apart[0], apart[1]).map(|(near, far)| [near, far, heads[0].to_vec()]);
    let cuts: Vec<[Vec<usize>; 3]> = first.chain(second).collect();
    let mut logs = Vec::with_capacity(ORDERS.len() * cuts.len());
    for parts in &cuts {
        let log_between = between(prior, &parts[0], &parts[1]).ln();
        let shares: [[Share; 3]; 3] = parts.each_ref().map(|part| names.map(|name| prior.share(name, part)));
        for order in ORDERS {
            let named: [(usize, &Share); 3] = [0, 1, 2].map(|k| (names[order[k]], &shares[k][order[k]]));
            logs.push(zoning.weight_with(prior, beta, &named) - log_between);
        }
    }
    let option = pick_log(&logs, rng)?;
    let (parts, order) = (cuts.into_iter().nth(option / ORDERS.len())?, ORDERS[option % ORDERS.len()]);
    let change: Change = order.iter().map(|&k| names[k]).zip(parts).collect();
    let same = change.iter().all(|(zone, heads)| zoning.parts[*zone].heads == *heads);
    (!same).then_some(Proposal { change, log_ratio: 0.0 })
}
