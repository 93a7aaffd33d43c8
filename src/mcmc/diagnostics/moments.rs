//! Means and variances, exact where all values are equal.
//!
//! The sum of n equal numbers is rounded, so a plain variance of a stuck chain is some 1e-33 and not zero, and whether
//! R-hat is infinite, undefined or 1e16 would hang on that rounding.

/// Whether all values are the same number.
pub fn is_constant(values: &[f64]) -> bool {
    values.windows(2).all(|pair| pair[0] == pair[1])
}

/// Mean of at least one value.
pub fn mean(values: &[f64]) -> f64 {
    if is_constant(values) { values[0] } else { values.iter().sum::<f64>() / values.len() as f64 }
}

/// Variance of at least two values, with divisor n - 1.
pub fn variance(values: &[f64]) -> f64 {
    let mean = mean(values);
    values.iter().map(|value| (value - mean).powi(2)).sum::<f64>() / (values.len() - 1) as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_moments() {
        assert_eq!(mean(&[1.0, 2.0, 6.0]).to_bits(), 3.0_f64.to_bits());
        assert_eq!(variance(&[1.0, 2.0, 6.0]).to_bits(), 7.0_f64.to_bits());
    }

    #[test]
    fn equal_values_have_no_variance() {
        let plain = [0.1; 6].iter().sum::<f64>() / 6.0;
        assert_ne!(plain.to_bits(), 0.1_f64.to_bits(), "the rounding that this file is about");
        assert_eq!(mean(&[0.1; 6]).to_bits(), 0.1_f64.to_bits());
        assert_eq!(variance(&[0.1; 6]).to_bits(), 0.0_f64.to_bits());
    }
}
