//! Simultaneous bands for the distribution function of ranks (Säilynoja, Bürkner & Vehtari, Statistics and Computing 32
//! (2022) 32; python/docs/model.md, 9.1): at every place z the count of ranks below it is Binomial(n, z) if the ranks are
//! uniform. Bands of one pointwise level gamma hold everywhere at once with the chance wanted; gamma is found by simulation.

use crate::installer::Dice;
use statrs::distribution::{Binomial, DiscreteCDF};

/// Samples of uniform ranks by which the level is found, at least: at 1 % its chance is known to 0.0007.
const SAMPLES: usize = 20_000;
/// So many samples stray further than the level, at least: its chance is known to a fifth.
const BEYOND: f64 = 20.0;

/// Bands for `n` ranks on `0..places`.
pub struct Bands {
    n: usize,
    places: usize,
    /// For each inner place `i + 1` and count: twice the smaller tail of Binomial(n, (i + 1) / places).
    tails: Vec<Vec<f64>>,
    /// Levels of uniform samples, ascending.
    levels: Vec<f64>,
    gamma: f64,
}

/// Where a sample of ranks strays furthest.
#[derive(Clone, Copy, Debug)]
pub struct Verdict {
    /// Chance that uniform ranks stray as far, by simulation.
    pub p: f64,
    /// Whether all of the sample lies within the bands.
    pub within: bool,
    /// The place where it strays furthest, the share of ranks below it, and the band there.
    pub z: f64,
    pub share: f64,
    pub band: (f64, f64),
}

impl Bands {
    /// Bands that `n` uniform ranks on `0..places` leave anywhere with chance `alpha`.
    pub fn new(n: usize, places: usize, alpha: f64, seed: u64) -> Self {
        let tails = (1..places)
            .map(|i| {
                let law = Binomial::new(i as f64 / places as f64, n as u64).expect("0 < z < 1");
                let below = |r: u64| law.cdf(r);
                let above = |r: u64| if r == 0 { 1.0 } else { law.sf(r - 1) };
                (0..=n as u64).map(|r| 2.0 * below(r).min(above(r))).collect()
            })
            .collect();
        let mut bands = Self { n, places, tails, levels: Vec::new(), gamma: 0.0 };
        let mut dice = Dice::new(seed);
        let samples = SAMPLES.max((BEYOND / alpha).ceil() as usize);
        let mut levels: Vec<f64> = (0..samples)
            .map(|_| {
                let ranks: Vec<usize> = (0..n).map(|_| dice.whole(0, places - 1)).collect();
                bands.furthest(&ranks).1
            })
            .collect();
        levels.sort_by(f64::total_cmp);
        bands.gamma = levels[(alpha * samples as f64) as usize];
        bands.levels = levels;
        bands
    }

    /// The pointwise level of the bands.
    pub fn gamma(&self) -> f64 {
        self.gamma
    }

    pub fn judge(&self, ranks: &[usize]) -> Verdict {
        assert_eq!(ranks.len(), self.n, "the bands are for {} ranks", self.n);
        assert!(ranks.iter().all(|&r| r < self.places), "a rank beyond {}", self.places - 1);
        let (i, level) = self.furthest(ranks);
        let n = self.n as f64;
        let tails = &self.tails[i];
        let low = tails.iter().position(|&t| t >= self.gamma).expect("the middle is within");
        let high = tails.iter().rposition(|&t| t >= self.gamma).expect("the middle is within");
        Verdict {
            p: self.levels.partition_point(|&l| l <= level) as f64 / self.levels.len() as f64,
            within: level >= self.gamma,
            z: (i + 1) as f64 / self.places as f64,
            share: ranks.iter().filter(|&&r| r <= i).count() as f64 / n,
            band: (low as f64 / n, high as f64 / n),
        }
    }

    /// The place where the ranks stray furthest, and how improbable the count there is.
    fn furthest(&self, ranks: &[usize]) -> (usize, f64) {
        let mut counts = vec![0; self.places];
        ranks.iter().for_each(|&r| counts[r] += 1);
        let mut below = 0;
        let levels = self.tails.iter().zip(counts).map(|(tails, count)| {
            below += count;
            tails[below]
        });
        levels.enumerate().min_by(|a, b| a.1.total_cmp(&b.1)).expect("two places or more")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use statrs::distribution::{ContinuousCDF, Normal};

    #[test]
    fn levels_by_hand() {
        // two ranks on two places: the count below 1/2 is Binomial(2, 1/2), 0 or 2 with chance 1/4, so twice the tail is 1/2
        let bands = Bands::new(2, 2, 0.01, 1);
        assert!((bands.furthest(&[0, 0]).1 - 0.5).abs() < 1e-12);
        assert!((bands.furthest(&[0, 1]).1 - 1.5).abs() < 1e-12);
        assert!((bands.furthest(&[1, 1]).1 - 0.5).abs() < 1e-12);
        // half of all samples of two are one of the extreme ones
        assert!((bands.judge(&[1, 1]).p - 0.5).abs() < 4.5 * 0.5 / (SAMPLES as f64).sqrt());
    }

    /// 4,000 samples of 300 uniform ranks against bands at 99 %: 40 outside are expected, sd 6.9 with the error of gamma;
    /// |z| < 4.5 (false alarm 7e-6). Planted: gamma taken for alpha, so pointwise bands, lets 10 times as many out.
    #[test]
    fn uniform_ranks_stay_within_and_pointwise_bands_would_not_do() {
        let (n, places, alpha) = (300, 100, 0.01);
        let bands = Bands::new(n, places, alpha, 2);
        let mut dice = Dice::new(3);
        let (mut outside, mut pointwise) = (0, 0);
        for _ in 0..4_000 {
            let ranks: Vec<usize> = (0..n).map(|_| dice.whole(0, places - 1)).collect();
            outside += usize::from(!bands.judge(&ranks).within);
            pointwise += usize::from(bands.furthest(&ranks).1 < alpha);
        }
        assert!((9..=71).contains(&outside), "{outside} of 4,000 outside; gamma {}", bands.gamma());
        assert!(pointwise > 200, "{pointwise} of 4,000 outside pointwise bands");
    }

    /// 300 ranks each of three faulty posteriors: the distribution function is 0.15 to 0.17 off at its worst, the bands
    /// there are 0.10 wide on either side at most, so each is missed with chance below 1e-2; the seed is fixed.
    #[test]
    fn biased_ranks_leave_the_bands() {
        let (n, places) = (300, 100);
        let bands = Bands::new(n, places, 0.01, 4);
        let normal = Normal::standard();
        let faults: [(&str, &dyn Fn(f64) -> f64); 3] = [
            ("biased", &|u: f64| u.powf(0.65)),
            ("too sure", &|u: f64| normal.cdf(2.0 * normal.inverse_cdf(u))),
            ("too timid", &|u: f64| normal.cdf(0.5 * normal.inverse_cdf(u))),
        ];
        for (name, warp) in faults {
            let mut dice = Dice::new(5);
            let rank = |u: f64| ((places as f64 * u) as usize).min(places - 1);
            let ranks: Vec<usize> = (0..n).map(|_| rank(warp(dice.uniform(1e-12, 1.0 - 1e-12)))).collect();
            let verdict = bands.judge(&ranks);
            assert!(!verdict.within, "{name}: {verdict:?}");
            assert!(!(verdict.band.0..=verdict.band.1).contains(&verdict.share), "{name}: {verdict:?}");
        }
    }
}
