//! Two heads on different zones change places.
//!
//! The pair is drawn without a look at the zones, so the reverse is as likely: `log_ratio` is that of the densities.

use super::mover::{Proposal, Proposals};
use super::zoning::{Change, Zoning};
use super::zoning::{joined, without};
use crate::model::{Share, ZoningPrior};
use crate::spanning_tree::Scratch;
use rand::Rng;

pub(super) fn propose(
    moves: &Proposals<'_>,
    zoning: &Zoning,
    beta: f64,
    scratch: &mut Scratch,
    rng: &mut impl Rng,
) -> Option<Proposal> {
    let (h, j) = moves.pair(rng);
    let (first, second) = (zoning.zone_of[h], zoning.zone_of[j]);
    if first == second {
        return None;
    }
    let swapped =
        |zone: usize, gone: usize, come: usize| joined(&without(&zoning.parts[zone].heads, &[gone]), &[come]);
    let change = vec![(first, swapped(first, h, j)), (second, swapped(second, j, h))];
    let log_ratio = gain(moves.prior, zoning, &change, beta, scratch);
    Some(Proposal { change, log_ratio })
}

/// What a change adds to the log of `trees * notes * prior^beta`.
pub(super) fn gain(
    prior: &ZoningPrior,
    zoning: &Zoning,
    change: &Change,
    beta: f64,
    scratch: &mut Scratch,
) -> f64 {
    let trees: f64 = change
        .iter()
        .map(|(zone, heads)| prior.fit.log_trees(heads, scratch) - zoning.parts[*zone].log_trees)
        .sum();
    let shares: Vec<Share> = change.iter().map(|(zone, heads)| prior.share(*zone, heads)).collect();
    let shares: Vec<(usize, &Share)> = change.iter().map(|(zone, _)| *zone).zip(&shares).collect();
    trees + zoning.weight_with(prior, beta, &shares) - (zoning.log_notes + beta * zoning.log_prior)
}
