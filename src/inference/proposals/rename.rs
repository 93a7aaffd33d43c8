//! Two zones change all their heads with each other: the same pipes on other valves.
//!
//! The two are drawn from all zones alike, one that is not there included, so the reverse is as likely; the trees stay, so
//! `log_ratio` is that of notes and prior. A zone that must be there is not emptied.

use super::mover::{Proposal, Proposals};
use super::zoning::Zoning;
use rand::{Rng, RngExt};

pub(super) fn propose(
    moves: &Proposals<'_>,
    zoning: &Zoning,
    beta: f64,
    rng: &mut impl Rng,
) -> Option<Proposal> {
    let prior = moves.prior;
    let zones = prior.zones();
    let first = rng.random_range(0..zones);
    let second = (first + rng.random_range(1..zones)) % zones;
    let (some, others) = (&zoning.parts[first].heads, &zoning.parts[second].heads);
    let emptied = |zone: usize, heads: &[usize]| heads.is_empty() && !prior.may_be_bare(zone);
    if (some.is_empty() && others.is_empty()) || emptied(first, others) || emptied(second, some) {
        return None;
    }
    let shares = [(first, &prior.share(first, others)), (second, &prior.share(second, some))];
    let log_ratio = zoning.weight_with(prior, beta, &shares) - (zoning.log_notes + beta * zoning.log_prior);
    Some(Proposal { change: vec![(first, others.clone()), (second, some.clone())], log_ratio })
}
