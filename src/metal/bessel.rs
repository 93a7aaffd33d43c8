//! The logarithm of the modified Bessel function I0, and draws of the von Mises law that it normalises.

use rand::{Rng, RngExt};
use std::f64::consts::{PI, TAU};
use std::sync::LazyLock;

/// Below this a table of the power series is read, above it the asymptotic series is summed: there its term of this number is below
/// 1e-13.
const LARGE: f64 = 30.0;
const TERMS: usize = 12;

/// Entries of the table for each unit, and the table: `ln I0` from one entry below zero to two beyond `LARGE`.
const EACH: f64 = 64.0;
static TABLE: LazyLock<Vec<f64>> = LazyLock::new(|| {
    let last = (LARGE * EACH) as i32 + 2;
    (-1..=last).map(|k| by_power_series(f64::from(k) / EACH)).collect()
});

/// `ln I0(x)` for `x >= 0`, to about 1e-9 (Abramowitz & Stegun 1964, 9.6.12 and 9.7.1; cubic interpolation of the first by 25.2.13:
/// an error of 3 / 128 h^4 times a fourth derivative below one half).
pub(super) fn ln_i0(x: f64) -> f64 {
    if x < LARGE {
        let at = x * EACH;
        let (k, t) = (at as usize, at.fract());
        let [a, b, c, d] = std::array::from_fn(|j| TABLE[k + j]);
        let (p, q) = (t + 1.0, t - 1.0);
        let r = t - 2.0;
        return -t * q * r / 6.0 * a + p * q * r / 2.0 * b - p * t * r / 2.0 * c + p * t * q / 6.0 * d;
    }
    let by = 1.0 / (8.0 * x);
    let mut sum = 1.0;
    for factor in ASYMPTOTIC.iter().rev() {
        sum = 1.0 + sum * factor * by;
    }
    x + (sum / (TAU * x).sqrt()).ln()
}

/// Ratios of neighbouring terms: (2 k - 1)^2 / k.
const ASYMPTOTIC: [f64; TERMS] = {
    let mut factors = [0.0; TERMS];
    let mut k = 0;
    while k < TERMS {
        let odd = (2 * k + 1) as f64;
        factors[k] = odd * odd / (k + 1) as f64;
        k += 1;
    }
    factors
};

fn by_power_series(x: f64) -> f64 {
    let quarter = 0.25 * x * x;
    let (mut term, mut sum, mut k) = (1.0, 1.0, 1.0);
    while term > sum * 1e-17 {
        term *= quarter / (k * k);
        sum += term;
        k += 1.0;
    }
    sum.ln()
}

/// An angle about zero by the von Mises law of this concentration, radians in (-pi, pi] (Best & Fisher, Appl. Stat. 28
/// (1979) 152-157).
pub(super) fn von_mises(concentration: f64, rng: &mut impl Rng) -> f64 {
    if concentration < 1e-6 {
        return TAU * rng.random::<f64>() - PI;
    }
    let tau = 1.0 + (1.0 + 4.0 * concentration * concentration).sqrt();
    let rho = (tau - (2.0 * tau).sqrt()) / (2.0 * concentration);
    // At great concentrations rho goes to one and the ratio loses its figures: the limit is a normal law.
    if concentration > 1e5 {
        let radius = (-2.0 * (1.0 - rng.random::<f64>()).ln()).sqrt();
        return radius * (TAU * rng.random::<f64>()).cos() / concentration.sqrt();
    }
    let r = (1.0 + rho * rho) / (2.0 * rho);
    loop {
        let z = (PI * rng.random::<f64>()).cos();
        let f = (1.0 + r * z) / (r + z);
        let c = concentration * (r - f);
        let u = 1.0 - rng.random::<f64>();
        if c * (2.0 - c) > u || (c / u).ln() + 1.0 >= c {
            let angle = f.clamp(-1.0, 1.0).acos();
            return if rng.random::<bool>() { angle } else { -angle };
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rng::stream;

    /// Values of I0 from Abramowitz & Stegun, table 9.8 (x <= 20) and the continuity of both series beyond.
    #[test]
    fn i0_equals_the_published_table() {
        for (x, scaled) in
            [(0.0, 1.0), (1.0, 0.465_759_607_6), (5.0, 0.183_540_812_6), (10.0, 0.127_833_337_2)]
        {
            assert!(((ln_i0(x) - x).exp() - scaled).abs() < 1e-9, "{x}");
        }
        let series = |x: f64| {
            let (mut term, mut sum) = (1.0, 1.0);
            for k in 1..400 {
                term *= 0.25 * x * x / f64::from(k * k);
                sum += term;
            }
            f64::ln(sum)
        };
        for x in [0.01, 0.7, 2.3, 6.1, 14.9] {
            assert!((ln_i0(x) - series(x)).abs() < 1e-9, "{x}: {}", ln_i0(x) - series(x));
        }
        for x in [29.9, 30.0, 31.0, 80.0] {
            assert!((ln_i0(x) - series(x)).abs() < 1e-11, "{x}: {}", ln_i0(x) - series(x));
        }
    }

    /// Mean of the cosine is I1 / I0 (Mardia & Jupp 2000, 3.5.4): 0.697_77 at 2, 0.948_60 at 10. n = 40,000, five standard
    /// errors; a law of twice the concentration is caught.
    #[test]
    fn von_mises_has_its_mean_cosine() {
        for (concentration, expected) in [(2.0, 0.697_775), (10.0, 0.948_600)] {
            let mut rng = stream(3, 0);
            let n = 40_000;
            let values: Vec<f64> = (0..n).map(|_| von_mises(concentration, &mut rng).cos()).collect();
            let mean = values.iter().sum::<f64>() / n as f64;
            let sd = (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n as f64).sqrt();
            assert!((mean - expected).abs() < 5.0 * sd / (n as f64).sqrt(), "{concentration}: {mean}");
        }
    }
}
