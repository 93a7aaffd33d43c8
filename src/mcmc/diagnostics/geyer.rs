//! Geyer's initial monotone sequence (Statistical Science 7 (1992) 473-483): where the noise of autocorrelations begins.
//!
//! Sums of neighbouring autocorrelations (lags 2k, 2k + 1) of a reversible chain are positive and fall. So pairs are
//! summed until one is not positive, and none counts more than the one before it. Details (the even half of the last
//! pair, the greatest effective size) are those of the reference implementation of Vehtari et al. (2021).

/// Effective size of `count` draws in chains of `length`, from their autocorrelations `rho(lag)`, lag 1 on.
///
/// At most count * log10(count): antithetic chains may do better than independent draws, but no estimate can prove by
/// how much. Not a number if an autocorrelation that is asked for is not.
pub fn effective_size(count: usize, length: usize, rho: impl FnMut(usize) -> f64) -> f64 {
    let count = count as f64;
    let time = autocorrelation_time(length, rho);
    if time.is_nan() { f64::NAN } else { count / time.max(1.0 / count.log10()) }
}

fn autocorrelation_time(length: usize, mut rho: impl FnMut(usize) -> f64) -> f64 {
    let (mut even, mut odd) = (1.0, rho(1));
    let mut least = f64::INFINITY;
    let mut pairs = 0.0;
    let mut lag = 1;
    while lag + 3 < length && even + odd > 0.0 {
        least = least.min(even + odd);
        pairs += least;
        (even, odd) = (rho(lag + 1), rho(lag + 2));
        lag += 2;
    }
    let last = if even > 0.0 || even + odd >= 0.0 { even } else { 0.0 };
    if (even + odd).is_nan() { f64::NAN } else { -1.0 + 2.0 * pairs + last }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn of(rho: &[f64], length: usize) -> f64 {
        autocorrelation_time(length, |lag| rho.get(lag - 1).copied().unwrap_or(-1.0))
    }

    /// Pairs 1.4 and 0.2 count; the next, 0.1 - 0.3, is not positive, but its even half is.
    #[test]
    fn stops_at_the_first_pair_that_is_not_positive() {
        assert_relative_eq!(
            of(&[0.4, 0.15, 0.05, 0.1, -0.3], 100),
            -1.0 + 2.0 * 1.6 + 0.1,
            max_relative = 1e-15
        );
    }

    /// The pair 0.5 after 0.2 counts 0.2 only.
    #[test]
    fn no_pair_counts_more_than_the_one_before() {
        assert_relative_eq!(
            of(&[0.4, 0.1, 0.1, 0.3, 0.2, -0.2, -0.1], 100),
            -1.0 + 2.0 * (1.4 + 0.2 + 0.2),
            max_relative = 1e-14
        );
    }

    /// A geometric sequence sums to (1 + a) / (1 - a) if nothing is cut off.
    #[test]
    fn geometric() {
        let time = autocorrelation_time(1001, |lag| 0.8_f64.powf(lag as f64));
        assert_relative_eq!(time, 9.0, max_relative = 1e-12);
    }

    #[test]
    fn antithetic_chains_gain_no_more_than_the_logarithm() {
        let size = effective_size(1000, 500, |lag| if lag % 2 == 1 { -0.99 } else { 0.98 });
        assert_relative_eq!(size, 3000.0);
    }

    #[test]
    fn what_is_no_number_stays_none() {
        assert!(effective_size(100, 50, |_| f64::NAN).is_nan());
    }
}
