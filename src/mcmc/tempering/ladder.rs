//! Inverse temperatures, spaced so that every swap is rejected equally often.

use super::{Barrier, Error};

/// Barrier added in proportion to the length of a step, so that a stretch where nothing was rejected still gets a place.
const LEAST_BARRIER: f64 = 1e-3;

/// Inverse temperatures 0 = b0 < ... < bn = 1, n at least 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Ladder {
    betas: Vec<f64>,
}

impl Ladder {
    /// A ladder with these inverse temperatures.
    ///
    /// # Errors
    /// [`Error::BadLadder`] unless they rise strictly from 0 to 1.
    pub fn new(betas: Vec<f64>) -> Result<Self, Error> {
        let ends = betas.len() > 1 && betas[0] == 0.0 && betas[betas.len() - 1] == 1.0;
        if ends && betas.windows(2).all(|pair| pair[0] < pair[1]) {
            Ok(Self { betas })
        } else {
            Err(Error::BadLadder { betas })
        }
    }

    /// Equal steps; two chains at least.
    pub fn even(chains: usize) -> Self {
        let steps = chains.max(2) - 1;
        Self { betas: (0..=steps).map(|k| k as f64 / steps as f64).collect() }
    }

    /// The inverse temperatures.
    pub fn betas(&self) -> &[f64] {
        &self.betas
    }

    /// Number of chains.
    pub fn chains(&self) -> usize {
        self.betas.len()
    }

    /// The ladder on which all pairs would be rejected alike, by inverting the cumulative barrier of `rejections` (one for
    /// each pair of this ladder).
    ///
    /// `excluded` is the share of the reference that the target excludes. Such draws are rejected by the first pair however
    /// small its step, so that no spacing can spread that part of the barrier: it is taken out first.
    pub(super) fn respaced(&self, rejections: &[f64], excluded: f64, chains: usize) -> Self {
        let mut spread = rejections.to_vec();
        spread[0] = 1.0 - ((1.0 - spread[0]) / (1.0 - excluded).max(f64::MIN_POSITIVE)).min(1.0);
        for (rejection, step) in spread.iter_mut().zip(self.betas.windows(2)) {
            *rejection += LEAST_BARRIER * (step[1] - step[0]);
        }
        let barrier = Barrier::new(&self.betas, &spread);
        let steps = chains.max(2) - 1;
        let inner = (1..steps).map(|k| barrier.inverse(barrier.global() * k as f64 / steps as f64));
        let mut betas = vec![0.0];
        for beta in inner {
            // Steps too small for a double are left out: a shorter ladder is still a ladder.
            if beta > betas[betas.len() - 1] && beta < 1.0 {
                betas.push(beta);
            }
        }
        betas.push(1.0);
        Self { betas }
    }
}

/// Chains for a global barrier: 2 Lambda steps make the most round trips for the work (Syed et al. 2022).
/// Two chains where there is no barrier, `most` at most.
pub(super) fn chains_for(barrier: f64, most: usize) -> usize {
    ((2.0 * barrier).ceil() as usize).saturating_add(1).clamp(2, most)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ladder_rises_from_nought_to_one() {
        assert!(Ladder::new(vec![0.0, 0.2, 1.0]).is_ok());
        for wrong in [vec![], vec![0.0], vec![0.0, 0.5], vec![0.1, 1.0], vec![0.0, 0.5, 0.5, 1.0]] {
            assert_eq!(Ladder::new(wrong.clone()), Err(Error::BadLadder { betas: wrong }));
        }
        assert!(Ladder::new(vec![0.0, f64::NAN, 1.0]).is_err());
    }

    /// Barrier sqrt(b): the even spacing of its root is b = (k/n)^2. Interpolation from 65 points is good to 1e-3.
    #[test]
    fn respacing_inverts_a_known_barrier() {
        let fine = Ladder::even(65);
        let rejections: Vec<f64> = fine.betas().windows(2).map(|b| b[1].sqrt() - b[0].sqrt()).collect();
        let spaced = fine.respaced(&rejections, 0.0, 9);
        for (k, beta) in spaced.betas().iter().enumerate() {
            assert!((beta - (k as f64 / 8.0).powi(2)).abs() < 4e-3, "{k}: {beta}");
        }
        assert!((fine.betas()[8] - (1.0f64 / 8.0).powi(2)).abs() > 4e-3, "the tolerance tells the two apart");
    }

    #[test]
    fn no_barrier_gives_equal_steps_and_two_chains() {
        assert_eq!(chains_for(0.0, 64), 2);
        assert_eq!(chains_for(3.2, 64), 8);
        assert_eq!(chains_for(1e9, 64), 64);
        let even = Ladder::even(5).respaced(&[0.0; 4], 0.0, 3);
        assert!((even.betas()[1] - 0.5).abs() < 1e-12);
    }

    /// The target excludes 60 % of the reference: all of the first pair's rejections, none of which a step can spread.
    #[test]
    fn what_the_target_excludes_draws_no_chains() {
        let ladder = Ladder::even(5);
        let spaced = ladder.respaced(&[0.6, 0.0, 0.0, 0.0], 0.6, 5);
        for (was, is) in ladder.betas().iter().zip(spaced.betas()) {
            assert!((was - is).abs() < 1e-12);
        }
        let crowded = ladder.respaced(&[0.6, 0.0, 0.0, 0.0], 0.0, 5);
        assert!(crowded.betas()[3] < 0.25);
    }
}
