//! What all proposals share: which there are, what one holds, and who is near whom.

use super::zoning::{Change, Zoning};
use crate::geometry::{Point, nearest};
use crate::model::ZoningPrior;
use rand::{Rng, RngExt};

/// Pairs of heads are looked for among this many nearest heads. Numerical choice: on a square grid, every head within
/// two spacings.
pub(super) const NEAR: usize = 12;

/// Share of pairs that are any two heads. Numerical choice: enough that no zoning is out of reach.
pub(super) const FAR_SHARE: f64 = 0.1;

/// The kinds of moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ProposalKind {
    /// Two zones become one tree, cut anew.
    Recombine,
    /// A part of a zone's tree joins another zone, or becomes one, or a zone joins another.
    Tail,
    /// One head changes its zone.
    Single,
    /// Two heads change places.
    Exchange,
    /// Two zones change all their heads.
    Rename,
    /// One zone is cut in two and two others become one.
    Regroup,
}

impl ProposalKind {
    /// All kinds.
    pub const ALL: [Self; 6] =
        [Self::Recombine, Self::Tail, Self::Single, Self::Exchange, Self::Rename, Self::Regroup];

    /// Name for tables.
    pub fn name(self) -> &'static str {
        match self {
            Self::Recombine => "recombine two zones",
            Self::Tail => "move a tail",
            Self::Single => "move a head",
            Self::Exchange => "exchange two heads",
            Self::Rename => "rename two zones",
            Self::Regroup => "cut a zone and join two",
        }
    }
}

/// What a move proposes.
#[derive(Debug)]
pub struct Proposal {
    /// The zones that change, with their new heads.
    pub change: Change,
    /// Log of the ratio by which the zoning prior accepts; zero where the move draws from the prior itself.
    pub log_ratio: f64,
}

/// What moves need to know of a site.
pub struct Proposals<'a> {
    pub(super) prior: &'a ZoningPrior,
    /// For each head, its nearest heads.
    pub(super) near: Vec<Vec<usize>>,
}

impl<'a> Proposals<'a> {
    /// The moves on a site with heads at these places.
    pub fn new(prior: &'a ZoningPrior, at: &[Point]) -> Self {
        Self { prior, near: nearest(at, NEAR) }
    }

    /// The zones of heads that are near to some of these heads and not among them.
    pub(super) fn beside(&self, part: &[usize], zoning: &Zoning) -> Vec<usize> {
        let near =
            part.iter().flat_map(|&head| &self.near[head]).filter(|head| part.binary_search(head).is_err());
        let mut zones: Vec<usize> = near.map(|&head| zoning.zone_of[head]).collect();
        zones.sort_unstable();
        zones.dedup();
        zones
    }

    /// Two different heads, drawn without a look at their zones.
    pub(super) fn pair(&self, rng: &mut impl Rng) -> (usize, usize) {
        let heads = self.near.len();
        let first = rng.random_range(0..heads);
        let second = if rng.random::<f64>() < FAR_SHARE {
            (first + rng.random_range(1..heads)) % heads
        } else {
            self.near[first][rng.random_range(0..self.near[first].len())]
        };
        (first, second)
    }
}
