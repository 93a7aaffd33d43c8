//! One head changes its zone.
//!
//! A head h is drawn, then another head by the distribution of pairs of the proposals (near ones mostly): its zone is where
//! h goes. The chance to name a zone is the share of such heads on it, h itself not among them, so the reverse is named by
//! the heads that stay behind: `log_ratio` holds the density and both chances. A head that is alone on its zone stays.

use super::mover::{FAR_SHARE, Proposal, Proposals};
use super::zoning::Zoning;
use super::zoning::{joined, without};
use crate::spanning_tree::Scratch;
use rand::Rng;

pub(super) fn propose(
    moves: &Proposals<'_>,
    zoning: &Zoning,
    beta: f64,
    scratch: &mut Scratch,
    rng: &mut impl Rng,
) -> Option<Proposal> {
    let prior = moves.prior;
    let (head, other) = moves.pair(rng);
    let (from, to) = (zoning.zone_of[head], zoning.zone_of[other]);
    if from == to || zoning.parts[from].heads.len() < 2 {
        return None;
    }
    let near = &moves.near[head];
    let chance = |zone: usize| {
        let close = near.iter().filter(|&&other| zoning.zone_of[other] == zone).count() as f64;
        let all = zoning.parts[zone].heads.iter().filter(|&&other| other != head).count() as f64;
        (1.0 - FAR_SHARE) * close / near.len() as f64 + FAR_SHARE * all / (moves.near.len() - 1) as f64
    };
    let change = vec![
        (from, without(&zoning.parts[from].heads, &[head])),
        (to, joined(&zoning.parts[to].heads, &[head])),
    ];
    let log_ratio =
        super::exchange::gain(prior, zoning, &change, beta, scratch) + (chance(from) / chance(to)).ln();
    Some(Proposal { change, log_ratio })
}
