//! Draws of one scalar by several chains, checked once so that no diagnostic has to.

use super::moments;

/// Fewest draws in a chain: each half needs two for a variance.
pub const LEAST_DRAWS: usize = 4;

/// Draws of one scalar: chains of equal length, every value finite.
#[derive(Clone, Debug, PartialEq)]
pub struct Chains {
    values: Vec<f64>,
    draws: usize,
}

/// Why some numbers are no chains.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ChainsError {
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
    /// A draw is not finite.
    #[error("draw {draw} of chain {chain} is {value}; every draw must be a finite number")]
    NotFinite {
        /// Index of the chain.
        chain: usize,
        /// Index of the draw in it.
        draw: usize,
        /// The value.
        value: f64,
    },
}

impl Chains {
    /// Checks and keeps the draws of each chain.
    ///
    /// # Errors
    /// Each rule of [`ChainsError`]; of several faults the first in the order of its variants.
    pub fn new<C: AsRef<[f64]>>(chains: &[C]) -> Result<Self, ChainsError> {
        let expected = chains.first().ok_or(ChainsError::NoChain)?.as_ref().len();
        if expected < LEAST_DRAWS {
            return Err(ChainsError::TooFewDraws { draws: expected });
        }
        let rows = || chains.iter().map(AsRef::as_ref).enumerate();
        if let Some((chain, row)) = rows().find(|(_, row)| row.len() != expected) {
            return Err(ChainsError::Ragged { chain, draws: row.len(), expected });
        }
        for (chain, row) in rows() {
            if let Some(draw) = row.iter().position(|value| !value.is_finite()) {
                return Err(ChainsError::NotFinite { chain, draw, value: row[draw] });
            }
        }
        Ok(Self { values: rows().flat_map(|(_, row)| row.iter().copied()).collect(), draws: expected })
    }

    /// Number of chains.
    #[must_use]
    pub fn chains(&self) -> usize {
        self.values.len() / self.draws
    }

    /// Number of draws in each chain.
    #[must_use]
    pub fn draws(&self) -> usize {
        self.draws
    }

    /// All draws, chain after chain.
    #[must_use]
    pub fn values(&self) -> &[f64] {
        &self.values
    }

    /// The draws of each chain.
    pub fn rows(&self) -> impl ExactSizeIterator<Item = &[f64]> {
        self.values.chunks_exact(self.draws)
    }

    /// Mean of all draws.
    #[must_use]
    pub fn mean(&self) -> f64 {
        moments::mean(&self.values)
    }

    /// Whether every draw is the same number. R-hat is then undefined, and an effective size equals the number of draws
    /// by convention alone: it says nothing about mixing.
    #[must_use]
    pub fn is_constant(&self) -> bool {
        moments::is_constant(&self.values)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keeps_chains_apart() {
        let chains = Chains::new(&[[1.0, 2.0, 3.0, 4.0], [5.0, 6.0, 7.0, 8.0]]).unwrap();
        assert_eq!((chains.chains(), chains.draws()), (2, 4));
        assert_eq!(chains.rows().nth(1), Some(&[5.0, 6.0, 7.0, 8.0][..]));
        assert_eq!(chains.mean().to_bits(), 4.5_f64.to_bits());
        assert!(!chains.is_constant());
        assert!(Chains::new(&[[0.1; 7]; 3]).unwrap().is_constant());
    }

    #[test]
    fn faults_come_with_their_value() {
        let none: [Vec<f64>; 0] = [];
        assert_eq!(Chains::new(&none), Err(ChainsError::NoChain));
        assert_eq!(Chains::new(&[[1.0, 2.0, 3.0]]), Err(ChainsError::TooFewDraws { draws: 3 }));
        let ragged = Chains::new(&[vec![0.0; 5], vec![0.0; 5], vec![0.0; 4]]);
        assert_eq!(ragged, Err(ChainsError::Ragged { chain: 2, draws: 4, expected: 5 }));
        let infinite = Chains::new(&[[0.0; 4], [0.0, 1.0, f64::INFINITY, 2.0]]).unwrap_err();
        assert_eq!(infinite, ChainsError::NotFinite { chain: 1, draw: 2, value: f64::INFINITY });
        assert_eq!(infinite.to_string(), "draw 2 of chain 1 is inf; every draw must be a finite number");
        assert!(matches!(Chains::new(&[[f64::NAN; 4]]), Err(ChainsError::NotFinite { draw: 0, .. })));
    }
}
