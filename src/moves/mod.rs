//! Moves over labellings: which head is on which zone. Each keeps the label law at an inverse temperature; each file
//! states its reverse and its ratio.
//!
//! The density that a move keeps is `trees * notes * prior^beta`: weighted trees of every zone and what was written and
//! noted count in full, the rest of the prior (ways to valves, flows, kinds, uncounted valves) as far as beta says. What
//! a move proposes is accepted by its `log_ratio` and whatever else depends on the labels.

mod exchange;
mod recombine;
mod regroup;
mod rename;
mod single;
mod tail;
mod zoning;

use crate::forest::Scratch;
use crate::geometry::{Point, nearest};
use crate::prior::LabelLaw;
use rand::{Rng, RngExt};
pub use zoning::{Change, Zoning};

/// Pairs of heads are looked for among this many nearest heads. Numerical choice: on a square grid, every head within
/// two spacings.
const NEAR: usize = 12;

/// Share of pairs that are any two heads. Numerical choice: enough that no labelling is out of reach.
const FAR_SHARE: f64 = 0.1;

/// The kinds of moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Move {
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

impl Move {
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
    /// Log of the ratio by which the label law accepts; zero where the move draws from the law itself.
    pub log_ratio: f64,
}

/// What moves need to know of a site.
pub struct Moves<'a> {
    law: &'a LabelLaw,
    /// For each head, its nearest heads.
    near: Vec<Vec<usize>>,
}

impl<'a> Moves<'a> {
    /// The moves on a site with heads at these places.
    pub fn new(law: &'a LabelLaw, at: &[Point]) -> Self {
        Self { law, near: nearest(at, NEAR) }
    }

    /// A proposal of one kind; `None` where the move that was drawn changes nothing: tried, and not made.
    pub fn propose(
        &self,
        kind: Move,
        zoning: &Zoning,
        beta: f64,
        scratch: &mut Scratch,
        rng: &mut impl Rng,
    ) -> Option<Proposal> {
        // One head alone changes its zone only by name, where zones may be bare because nobody saw their heads.
        let alone = self.near.len() < 2 && !(kind == Move::Rename && self.law.has_unseen());
        if alone || zoning.parts.len() < 2 {
            return None;
        }
        match kind {
            Move::Recombine => recombine::propose(self, zoning, beta, rng),
            Move::Tail => tail::propose(self, zoning, beta, rng),
            Move::Single => single::propose(self, zoning, beta, scratch, rng),
            Move::Exchange => exchange::propose(self, zoning, beta, scratch, rng),
            Move::Rename => rename::propose(self, zoning, beta, rng),
            Move::Regroup => regroup::propose(self, zoning, beta, rng),
        }
    }

    /// The zones of heads that are near to some of these heads and not among them.
    fn beside(&self, part: &[usize], zoning: &Zoning) -> Vec<usize> {
        let near =
            part.iter().flat_map(|&head| &self.near[head]).filter(|head| part.binary_search(head).is_err());
        let mut zones: Vec<usize> = near.map(|&head| zoning.zone_of[head]).collect();
        zones.sort_unstable();
        zones.dedup();
        zones
    }

    /// Two different heads, drawn without a look at their zones.
    fn pair(&self, rng: &mut impl Rng) -> (usize, usize) {
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
