//! How explanations change: each kernel leaves the law, raised to a power for annealing, as it is.

mod accept;
mod bends;
mod cuts;
mod exchange;
mod gather;
mod guess;
mod join;
mod learnt;
mod left;
mod part;
mod place;
mod rates;
mod several;
mod shared;
mod tails;

use super::model::Model;
use super::state::State;
pub use accept::Tried;
pub use exchange::exchange;
use rand::{Rng, RngExt};
pub use rates::Rates;

/// Names of the proposals, in the order of the tallies.
pub const NAMES: [&str; 9] =
    ["place", "several", "kind", "bends", "split or merge", "tails", "gather", "shared", "exchange"];

/// A kind of proposal, in the order of the tallies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Move {
    Place,
    OffOrOn,
    Several,
    Kinds,
    Bends,
    Join,
    Tails,
    Gather,
    Shared,
}

impl Move {
    /// Every kind, each of which leaves the law as it is by itself.
    pub(super) const ALL: [Self; 9] = [
        Self::Place,
        Self::OffOrOn,
        Self::Several,
        Self::Kinds,
        Self::Bends,
        Self::Join,
        Self::Tails,
        Self::Gather,
        Self::Shared,
    ];

    /// Proposals of this kind, taken or left.
    pub(super) fn make(
        self,
        model: &Model,
        state: &mut State,
        beta: f64,
        rates: &mut Rates,
        counts: &mut [Tried; NAMES.len()],
        rng: &mut impl Rng,
    ) {
        let [placed, several, kinds, bends, joined, tails, gathered, shared, _] = counts;
        match self {
            Self::Place => place::items(model, state, beta, rates, placed, rng),
            Self::OffOrOn => place::off_or_on(model, state, beta, placed, rng),
            Self::Several => several::several(model, state, beta, rates, several, rng),
            Self::Kinds => bends::kinds(model, state, beta, kinds, rng),
            Self::Bends => bends::bends(model, state, beta, bends, rng),
            Self::Join => join::split_or_merge(model, state, beta, &mut rates.joints, joined, rng),
            Self::Tails => tails::tails(model, state, beta, tails, rng),
            Self::Gather => gather::gather(model, state, beta, gathered, rng),
            Self::Shared => shared::shared(model, state, beta, shared, rng),
        }
    }

    /// How often a sweep makes it; a part is the chance of one. Numerical choices.
    fn often(self) -> (usize, f64) {
        match self {
            Self::Tails => (0, 0.05),
            Self::OffOrOn => (2, 0.0),
            Self::Several => (1, 0.0),
            Self::Gather => (4, 0.0),
            _ => (1, 0.0),
        }
    }
}

/// One sweep: items placed anew, kinds and bends of lines, joins, strays gathered, what is shared. `beta` flattens the law where it
/// is below one.
pub fn sweep(
    model: &Model,
    state: &mut State,
    beta: f64,
    rates: &mut Rates,
    counts: &mut [Tried; NAMES.len()],
    rng: &mut impl Rng,
) {
    for kind in Move::ALL {
        let (times, chance) = kind.often();
        let more = usize::from(chance > 0.0 && rng.random::<f64>() < chance);
        for _ in 0..times + more {
            kind.make(model, state, beta, rates, counts, rng);
        }
    }
}
