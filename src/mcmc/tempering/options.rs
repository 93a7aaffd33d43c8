//! How long to run, how often to keep a state, and from which seed.

use super::Error;

/// Sweeps of the first round of tuning; each later round has twice as many as the one before.
const FIRST_ROUND: usize = 16;

/// Chains of the ladder that tuning starts from. It grows by at most a factor of two a round.
const FIRST_CHAINS: usize = 8;

/// Replicates and chains are packed into 20 bits each of a stream number.
const MOST: usize = 1 << 20;

/// Options of a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Options {
    /// Independent replicates of the whole ladder, at least 1; a standard error needs 2.
    pub replicates: usize,
    /// Sweeps after tuning.
    pub sweeps: usize,
    /// One state in so many sweeps is kept, at least 1.
    pub thin: usize,
    /// Rounds of tuning, 1 to 24, of 16, 32, 64, ... sweeps.
    pub rounds: usize,
    /// Chains of a ladder at most, at least 2.
    pub most_chains: usize,
    /// Seed; results depend on it alone, not on the number of threads.
    pub seed: u64,
}

impl Default for Options {
    fn default() -> Self {
        Self { replicates: 4, sweeps: 2_000, thin: 1, rounds: 7, most_chains: 64, seed: 0 }
    }
}

impl Options {
    pub(super) fn check(&self) -> Result<(), Error> {
        let rules = [
            ("replicates", self.replicates, 1, MOST - 1, "1 to 1,048,575"),
            ("thin", self.thin, 1, usize::MAX, "1 or more"),
            ("rounds", self.rounds, 1, 24, "1 to 24"),
            ("most_chains", self.most_chains, 2, MOST - 1, "2 to 1,048,575"),
        ];
        let broken = rules.into_iter().find(|&(_, value, least, most, _)| value < least || value > most);
        match broken {
            Some((name, value, _, _, allowed)) => Err(Error::BadOption { name, value, allowed }),
            None => Ok(()),
        }
    }

    pub(super) fn first_chains(&self) -> usize {
        FIRST_CHAINS.min(self.most_chains)
    }

    /// Sweeps of tuning round `round`, from 0.
    pub(super) fn round_sweeps(round: usize) -> usize {
        FIRST_ROUND << round
    }

    /// Sweeps of all tuning rounds, if the options are in their ranges.
    pub(super) fn tuning_sweeps(&self) -> Result<usize, Error> {
        self.check()?;
        Ok((0..self.rounds).map(Self::round_sweeps).sum())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bad_option_is_named() {
        assert_eq!(Options::default().check(), Ok(()));
        let broken = Options { thin: 0, ..Options::default() };
        assert_eq!(broken.check(), Err(Error::BadOption { name: "thin", value: 0, allowed: "1 or more" }));
        let broken = Options { most_chains: 1, ..Options::default() };
        assert!(matches!(broken.check(), Err(Error::BadOption { name: "most_chains", value: 1, .. })));
    }

    #[test]
    fn rounds_double() {
        let options = Options { rounds: 3, ..Options::default() };
        assert_eq!(options.tuning_sweeps(), Ok(16 + 32 + 64));
    }
}
