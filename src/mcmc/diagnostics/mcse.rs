//! Monte Carlo standard errors: how far an estimate would move with other seeds (Vehtari et al. 2021, section 4.4 and
//! appendix A).

use super::chains::Chains;
use super::ess;
use super::level::{Level, sorted};
use super::moments::variance;
use statrs::distribution::{Beta, ContinuousCDF};

/// One standard deviation on either side of a normal mean, as probabilities.
const BAND: [f64; 2] = [0.158_655_3, 0.841_344_7];

/// Standard error of the mean; zero for constant chains, which proves nothing.
#[must_use]
pub fn mean(chains: &Chains) -> f64 {
    mean_with(chains, ess::mean(chains))
}

/// Standard error of the standard deviation; `None` for constant chains.
#[must_use]
pub fn sd(chains: &Chains) -> Option<f64> {
    sd_with(chains, ess::mean(chains))
}

/// Standard error of a quantile: half the gap between the order statistics one standard deviation below and above it,
/// by the Beta law of the level that the effective draws leave open.
#[must_use]
pub fn quantile(chains: &Chains, level: Level) -> f64 {
    let p = level.value();
    let size = ess::quantile(chains, level);
    let beta = Beta::new(size * p + 1.0, size * (1.0 - p) + 1.0).expect("shapes above one");
    let [low, high] = BAND.map(|level| beta.inverse_cdf(level));
    let sorted = sorted(chains.values());
    let count = sorted.len() as f64;
    let low = (low * count - 1.0).max(0.0).floor() as usize;
    let high = (high * count - 1.0).min(count - 1.0).ceil() as usize;
    (sorted[high] - sorted[low]) / 2.0
}

/// Standard error of the mean, given its effective size.
pub(super) fn mean_with(chains: &Chains, ess: f64) -> f64 {
    (variance(chains.values()) / ess).sqrt()
}

/// By the delta method from the variance of the squared deviations, given the effective size of the mean.
pub(super) fn sd_with(chains: &Chains, ess: f64) -> Option<f64> {
    let mean = chains.mean();
    let count = chains.values().len() as f64;
    let squares = || chains.values().iter().map(|value| (value - mean).powi(2));
    let centre = squares().sum::<f64>() / count;
    let spread = squares().map(|square| (square - centre).powi(2)).sum::<f64>() / count;
    (centre > 0.0).then(|| (spread / ess / centre / 4.0).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn by_hand_from_a_given_size() {
        let chains = Chains::new(&[[1.0, 2.0, 3.0, 6.0]]).unwrap();
        // Deviations -2, -1, 0, 3: variance 14 / 3; squares 4, 1, 0, 9 about 3.5 have mean square 12.25.
        assert_relative_eq!(mean_with(&chains, 2.0), (14.0_f64 / 6.0).sqrt(), max_relative = 1e-15);
        assert_relative_eq!(
            sd_with(&chains, 2.0).unwrap(),
            (12.25_f64 / 2.0 / 3.5 / 4.0).sqrt(),
            max_relative = 1e-15
        );
    }

    #[test]
    fn constants() {
        let chains = Chains::new(&[[0.1; 8]; 2]).unwrap();
        assert_relative_eq!(mean(&chains), 0.0);
        assert_eq!(sd(&chains), None);
        assert_relative_eq!(quantile(&chains, Level::MIDDLE), 0.0);
    }
}
