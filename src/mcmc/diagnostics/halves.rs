//! Each chain cut in two, so that a trend within a chain shows as a difference between chains.
//!
//! The middle draw of an odd number is left out, as the reference implementation does.

use super::chains::Chains;

/// Half chains: the first halves of all chains, then their second halves.
#[derive(Clone, Debug, PartialEq)]
pub struct Halves {
    values: Vec<f64>,
    length: usize,
}

impl Halves {
    /// The half chains of some chains.
    pub fn new(chains: &Chains) -> Self {
        let length = chains.draws() / 2;
        let first = chains.rows().flat_map(|row| &row[..length]);
        let second = chains.rows().flat_map(|row| &row[row.len() - length..]);
        Self { values: first.chain(second).copied().collect(), length }
    }

    /// Draws in each half.
    pub fn length(&self) -> usize {
        self.length
    }

    /// All draws, half after half.
    pub fn values(&self) -> &[f64] {
        &self.values
    }

    /// The draws of each half.
    pub fn rows(&self) -> impl ExactSizeIterator<Item = &[f64]> {
        self.values.chunks_exact(self.length)
    }

    /// The same halves of other numbers, in the same order.
    pub fn with(&self, values: Vec<f64>) -> Self {
        assert_eq!(values.len(), self.values.len(), "one number for each draw");
        Self { values, length: self.length }
    }

    /// Each draw put through `change`.
    pub fn map(&self, change: impl FnMut(f64) -> f64) -> Self {
        self.with(self.values.iter().copied().map(change).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_middle_draw_is_left_out() {
        let chains = Chains::new(&[[1.0, 2.0, 3.0, 4.0, 5.0], [6.0, 7.0, 8.0, 9.0, 10.0]]).unwrap();
        let halves = Halves::new(&chains);
        let rows: Vec<&[f64]> = halves.rows().collect();
        assert_eq!(rows, [[1.0, 2.0], [6.0, 7.0], [4.0, 5.0], [9.0, 10.0]]);
    }
}
