//! Logarithm of the mean of exponentials, one term at a time.

/// A running log mean exp. Terms are scaled by the largest so far, so that none overflows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct LogMean {
    peak: f64,
    sum: f64,
    count: u64,
}

impl LogMean {
    pub(super) const EMPTY: Self = Self { peak: f64::NEG_INFINITY, sum: 0.0, count: 0 };

    /// Adds exp(`term`); minus infinity adds nought.
    pub(super) fn add(&mut self, term: f64) {
        self.count += 1;
        if term > self.peak {
            self.sum = self.sum * (self.peak - term).exp() + 1.0;
            self.peak = term;
        } else if term > f64::NEG_INFINITY {
            self.sum += (term - self.peak).exp();
        }
    }

    /// Log of the mean; none before the first term.
    pub(super) fn value(&self) -> Option<f64> {
        (self.count > 0).then(|| self.peak + (self.sum / self.count as f64).ln())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn terms_of_any_size_are_averaged() {
        let mean = |terms: &[f64]| {
            let mut mean = LogMean::EMPTY;
            terms.iter().for_each(|&term| mean.add(term));
            mean.value()
        };
        assert_eq!(mean(&[]), None);
        assert_eq!(mean(&[f64::NEG_INFINITY]), Some(f64::NEG_INFINITY));
        let plain = ((1.0f64.exp() + 3.0f64.exp() + 2.0f64.exp()) / 4.0).ln();
        assert!((mean(&[1.0, f64::NEG_INFINITY, 3.0, 2.0]).expect("terms") - plain).abs() < 1e-14);
        assert!((mean(&[-2000.0, 1000.0]).expect("terms") - (1000.0 - 2.0f64.ln())).abs() < 1e-12);
    }
}
