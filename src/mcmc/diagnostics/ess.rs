//! Effective sample sizes of scalars (Vehtari et al. 2021, sections 3 and 4): how many independent draws would tell as much.
//!
//! All of them halve the chains first. Where all draws that enter are equal, the size equals their number by convention of
//! the reference implementation; [`Chains::is_constant`] and [`r_hat`](super::r_hat()) tell the two apart.

use super::autocovariance::Autocovariance;
use super::chains::Chains;
use super::geyer::effective_size;
use super::halves::Halves;
use super::level::{Level, sorted};
use super::moments::{mean as mean_of, variance};
use super::rank::normal_scores;

/// Draws within this of each other are one value: the decimal resolution of a double, as the reference implementation
/// has it.
const RESOLUTION: f64 = 1e-15;

/// Effective size for the bulk: that of the mean of the normal scores, which exists for any tails.
#[must_use]
pub fn bulk(chains: &Chains) -> f64 {
    of_halves(&normal_scores(&Halves::new(chains)))
}

/// Effective size for the tails: the lesser of those of the 5 % and the 95 % quantile.
#[must_use]
pub fn tail(chains: &Chains) -> f64 {
    let sorted = sorted(chains.values());
    let at = |level: Level| below(chains, level.of_sorted(&sorted));
    at(Level::LOW).min(at(Level::HIGH))
}

/// Effective size for the mean of the draws as they are.
#[must_use]
pub fn mean(chains: &Chains) -> f64 {
    of_halves(&Halves::new(chains))
}

/// Effective size for a quantile: that of the indicator of the draws at or below it.
#[must_use]
pub fn quantile(chains: &Chains, level: Level) -> f64 {
    below(chains, level.of_sorted(&sorted(chains.values())))
}

fn below(chains: &Chains, quantile: f64) -> f64 {
    of_halves(&Halves::new(chains).map(|value| f64::from(u8::from(value <= quantile))))
}

/// count / (-1 + 2 * sum of autocorrelations), each 1 - (W - autocovariance) / variance of all chains together.
fn of_halves(halves: &Halves) -> f64 {
    let values = halves.values();
    let least = values.iter().copied().fold(f64::INFINITY, f64::min);
    let greatest = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if greatest - least < RESOLUTION {
        return values.len() as f64;
    }
    let n = halves.length() as f64;
    let autocovariance = Autocovariance::new(halves);
    let lag_zero = autocovariance.at(0);
    let within = lag_zero * n / (n - 1.0);
    let means: Vec<f64> = halves.rows().map(mean_of).collect();
    let total = lag_zero + variance(&means);
    effective_size(values.len(), halves.length(), |lag| 1.0 - (within - autocovariance.at(lag)) / total)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rng::{Stream, stream};
    use approx::assert_relative_eq;
    use rand_distr::{Distribution, StandardNormal};

    fn normal(stream: &mut Stream) -> f64 {
        StandardNormal.sample(stream)
    }

    /// x' = a x + sqrt(1 - a^2) e, started in its own law: effective size S (1 - a) / (1 + a).
    fn first_order(a: f64, chains: usize, draws: usize) -> Chains {
        let rows: Vec<Vec<f64>> = (0..chains as u64)
            .map(|chain| {
                let mut stream = stream(41, chain);
                let mut x = normal(&mut stream);
                let mut step = || {
                    x = a * x + (1.0 - a * a).sqrt() * normal(&mut stream);
                    x
                };
                (0..draws).map(|_| step()).collect()
            })
            .collect();
        Chains::new(&rows).unwrap()
    }

    /// n = 4 chains of 10,000 draws, fixed seed. Bands are four standard deviations of the estimate over 200 other seeds
    /// (1.5, 2.4, 6.5 and 3.3 %), so a fresh seed would give a false alarm less than once in 10,000. Catches sums cut too
    /// early or too late and a wrong sign; the planted fault is the size of another chain.
    #[test]
    fn known_autocorrelation_gives_known_size() {
        let off = |a: f64, truth: f64| {
            let expected = 40_000.0 * (1.0 - truth) / (1.0 + truth);
            (mean(&first_order(a, 4, 10_000)) / expected - 1.0).abs()
        };
        for (a, band) in [(0.0, 0.06), (0.3, 0.10), (0.9, 0.26), (-0.5, 0.14)] {
            assert!(off(a, a) < band, "{a}: {}", off(a, a));
        }
        assert!(off(0.9, 0.8) > 0.26);
    }

    #[test]
    fn constants_count_as_they_are() {
        let chains = Chains::new(&[[0.1; 7]; 3]).unwrap();
        assert_relative_eq!(mean(&chains), 18.0); // the middle draw of each chain is left out
        assert_relative_eq!(bulk(&chains), 18.0);
        assert_relative_eq!(tail(&chains), 18.0);
        assert!(chains.is_constant());
    }

    /// Planted fault: four chains that sit at four values move as little as four draws.
    #[test]
    fn stuck_chains_are_worth_one_draw_each() {
        let rows: Vec<Vec<f64>> = (0..4)
            .map(|chain| (0..400).map(|k| f64::from(chain) + 1e-3 * f64::from(k * 7 % 13)).collect())
            .collect();
        let chains = Chains::new(&rows).unwrap();
        assert!(mean(&chains) < 8.0);
        assert!(bulk(&chains) < 8.0);
    }

    #[test]
    fn tail_is_the_worse_of_two_quantiles() {
        let chains = first_order(0.6, 2, 500);
        let lesser = quantile(&chains, Level::LOW).min(quantile(&chains, Level::HIGH));
        assert_relative_eq!(tail(&chains), lesser);
    }

    #[test]
    fn numbers_too_large_to_square_give_no_size() {
        let chains = Chains::new(&[[1e200, -1e200, 2e200, 3e200, -5e200, 1e200]]).unwrap();
        assert!(mean(&chains).is_nan());
        assert!(bulk(&chains) > 0.0);
    }
}
