//! Draws that are sets of identifiers, by several chains: the runs of a tree, the pairs of heads on one zone.

use super::chains::LEAST_DRAWS;

/// Draws of a set: chains of equal length, every set in ascending order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SetChains {
    sets: Vec<Vec<u64>>,
    draws: usize,
}

/// Why some sets are no chains.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum SetChainsError {
    /// Nothing was given.
    #[error("there is no chain; at least one is needed")]
    NoChain,
    /// Chains are too short to be halved.
    #[error("chains have {draws} draws; at least {LEAST_DRAWS} are needed")]
    TooFewDraws {
        /// Draws in each chain.
        draws: usize,
    },
    /// Chains differ in length.
    #[error("chain {chain} has {draws} draws and chain 0 has {expected}; all chains need the same number")]
    Ragged {
        /// Index of the first chain that differs.
        chain: usize,
        /// Its draws.
        draws: usize,
        /// Draws of chain 0.
        expected: usize,
    },
    /// A set is not in ascending order, or names an identifier twice.
    #[error("draw {draw} of chain {chain} has {identifier} out of order; identifiers must ascend, each once")]
    Unsorted {
        /// Index of the chain.
        chain: usize,
        /// Index of the draw in it.
        draw: usize,
        /// The first identifier that is not above the one before it.
        identifier: u64,
    },
}

impl SetChains {
    /// Checks and keeps the draws of each chain.
    ///
    /// # Errors
    /// Each rule of [`SetChainsError`]; of several faults the first in the order of its variants.
    pub fn new(chains: Vec<Vec<Vec<u64>>>) -> Result<Self, SetChainsError> {
        let expected = chains.first().ok_or(SetChainsError::NoChain)?.len();
        if expected < LEAST_DRAWS {
            return Err(SetChainsError::TooFewDraws { draws: expected });
        }
        if let Some((chain, row)) = chains.iter().enumerate().find(|(_, row)| row.len() != expected) {
            return Err(SetChainsError::Ragged { chain, draws: row.len(), expected });
        }
        for (chain, row) in chains.iter().enumerate() {
            for (draw, set) in row.iter().enumerate() {
                if let Some(pair) = set.windows(2).find(|pair| pair[0] >= pair[1]) {
                    return Err(SetChainsError::Unsorted { chain, draw, identifier: pair[1] });
                }
            }
        }
        Ok(Self { sets: chains.into_iter().flatten().collect(), draws: expected })
    }

    /// Number of chains.
    #[must_use]
    pub fn chains(&self) -> usize {
        self.sets.len() / self.draws
    }

    /// Number of draws in each chain.
    #[must_use]
    pub fn draws(&self) -> usize {
        self.draws
    }

    /// All draws, chain after chain.
    #[must_use]
    pub fn sets(&self) -> &[Vec<u64>] {
        &self.sets
    }

    /// Both halves of each chain; the middle draw of an odd number is left out.
    pub(super) fn halves(&self) -> Vec<&[Vec<u64>]> {
        let half = self.draws / 2;
        let cut = |row| -> [&[Vec<u64>]; 2] {
            let row: &[Vec<u64>] = row;
            [&row[..half], &row[row.len() - half..]]
        };
        self.sets.chunks_exact(self.draws).flat_map(cut).collect()
    }
}

/// How many identifiers are in one of two sets but not in both.
pub(super) fn unshared(a: &[u64], b: &[u64]) -> usize {
    let (mut i, mut j, mut shared) = (0, 0, 0);
    while i < a.len() && j < b.len() {
        shared += usize::from(a[i] == b[j]);
        let (step_i, step_j) = (a[i] <= b[j], b[j] <= a[i]);
        i += usize::from(step_i);
        j += usize::from(step_j);
    }
    a.len() + b.len() - 2 * shared
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_what_is_not_shared() {
        assert_eq!(unshared(&[1, 2, 5], &[2, 3, 5, 9]), 3);
        assert_eq!(unshared(&[], &[4, 7]), 2);
        assert_eq!(unshared(&[4, 7], &[4, 7]), 0);
    }

    #[test]
    fn faults_come_with_their_value() {
        let row = |sets: &[&[u64]]| sets.iter().map(|set| set.to_vec()).collect::<Vec<_>>();
        assert_eq!(SetChains::new(vec![]), Err(SetChainsError::NoChain));
        assert_eq!(SetChains::new(vec![vec![vec![1]; 3]]), Err(SetChainsError::TooFewDraws { draws: 3 }));
        let ragged = SetChains::new(vec![vec![vec![1]; 4], vec![vec![1]; 5]]);
        assert_eq!(ragged, Err(SetChainsError::Ragged { chain: 1, draws: 5, expected: 4 }));
        for identifier in [2, 3] {
            let unsorted = SetChains::new(vec![row(&[&[1], &[1], &[1, 3, identifier], &[1]])]);
            assert_eq!(unsorted, Err(SetChainsError::Unsorted { chain: 0, draw: 2, identifier }));
        }
    }

    #[test]
    fn halves_leave_the_middle_out() {
        let chains =
            SetChains::new(vec![(0..5).map(|k| vec![k]).collect(), (5..10).map(|k| vec![k]).collect()]);
        let chains = chains.unwrap();
        let heads: Vec<u64> = chains.halves().iter().map(|half| half[0][0]).collect();
        assert_eq!((chains.chains(), chains.draws()), (2, 5));
        assert_eq!(heads, [0, 3, 5, 8]);
    }
}
