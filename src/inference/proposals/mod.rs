//! Proposals over zonings: which head is on which zone. Each keeps the zoning prior at an inverse temperature; each file
//! states its reverse and its ratio.
//!
//! The density that a move keeps is `trees * notes * prior^beta`: weighted trees of every zone and what was written and
//! noted count in full, the rest of the prior (ways to valves, flows, kinds, uncounted valves) as far as beta says. What
//! a move proposes is accepted by its `log_ratio` and whatever else depends on the zoning.

mod exchange;
mod mover;
mod recombine;
mod regroup;
mod rename;
mod single;
mod tail;
mod zoning;

use crate::spanning_tree::Scratch;
pub use mover::{Proposal, ProposalKind, Proposals};
use rand::Rng;
pub use zoning::{Change, Zoning};

impl Proposals<'_> {
    /// A proposal of one kind; `None` where the move that was drawn changes nothing: tried, and not made.
    pub fn propose(
        &self,
        kind: ProposalKind,
        zoning: &Zoning,
        beta: f64,
        scratch: &mut Scratch,
        rng: &mut impl Rng,
    ) -> Option<Proposal> {
        // One head alone changes its zone only by name, where zones may be bare because nobody saw their heads.
        let alone = self.near.len() < 2 && !(kind == ProposalKind::Rename && self.prior.has_unseen());
        if alone || zoning.parts.len() < 2 {
            return None;
        }
        match kind {
            ProposalKind::Recombine => recombine::propose(self, zoning, beta, rng),
            ProposalKind::Tail => tail::propose(self, zoning, beta, rng),
            ProposalKind::Single => single::propose(self, zoning, beta, scratch, rng),
            ProposalKind::Exchange => exchange::propose(self, zoning, beta, scratch, rng),
            ProposalKind::Rename => rename::propose(self, zoning, beta, rng),
            ProposalKind::Regroup => regroup::propose(self, zoning, beta, rng),
        }
    }
}
