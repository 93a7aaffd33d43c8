//! Levels of quantiles, and the quantile of draws by the rule of the reference implementation: linear between order
//! statistics (type 7 of Hyndman and Fan, The American Statistician 50 (1996) 361-365).

/// A level strictly between 0 and 1.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Level(f64);

/// A number that is no level.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("{value} is no level of a quantile; it must lie between 0 and 1, both excluded")]
pub struct LevelError {
    /// The number given.
    pub value: f64,
}

impl Level {
    /// 5 %: the lower of the two tails that diagnostics look at.
    pub const LOW: Self = Self(0.05);
    /// The median.
    pub const MIDDLE: Self = Self(0.5);
    /// 95 %: the upper of the two tails.
    pub const HIGH: Self = Self(0.95);

    /// Checks a level.
    ///
    /// # Errors
    /// [`LevelError`] unless 0 < `value` < 1.
    pub fn new(value: f64) -> Result<Self, LevelError> {
        if value > 0.0 && value < 1.0 { Ok(Self(value)) } else { Err(LevelError { value }) }
    }

    /// The level as a number.
    #[must_use]
    pub fn value(self) -> f64 {
        self.0
    }

    /// The quantile of values in ascending order.
    ///
    /// Interpolates from the nearer neighbour, as numpy does: the last bit decides which of tied draws lie below.
    pub(super) fn of_sorted(self, sorted: &[f64]) -> f64 {
        let place = (sorted.len() - 1) as f64 * self.0;
        let (below, part) = (place.floor() as usize, place.fract());
        let above = (below + 1).min(sorted.len() - 1);
        let (a, b) = (sorted[below], sorted[above]);
        if part < 0.5 { a + (b - a) * part } else { b - (b - a) * (1.0 - part) }
    }
}

/// The values in ascending order.
pub(super) fn sorted(values: &[f64]) -> Vec<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    sorted
}

/// The median of values: the middle one, or half way between the two in the middle.
pub(super) fn median(values: &[f64]) -> f64 {
    let sorted = sorted(values);
    let middle = sorted.len() / 2;
    if sorted.len() % 2 == 1 { sorted[middle] } else { f64::midpoint(sorted[middle - 1], sorted[middle]) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn type_seven_quantiles() {
        let values = [1.0, 2.0, 4.0, 8.0, 16.0];
        let at = |level| Level::new(level).unwrap().of_sorted(&values);
        assert_relative_eq!(at(0.25), 2.0);
        assert_relative_eq!(at(0.3), 2.4, max_relative = 1e-15); // place 1.2: a fifth of the way from 2 to 4
        assert_relative_eq!(at(0.9), 12.8, max_relative = 1e-15); // place 3.6: from 8 to 16
    }

    #[test]
    fn medians() {
        assert_relative_eq!(median(&[3.0, 1.0, 2.0]), 2.0);
        assert_relative_eq!(median(&[4.0, 1.0, 2.0, 3.0]), 2.5);
    }

    #[test]
    fn levels_lie_inside() {
        for value in [0.0, 1.0, -0.1, f64::NAN] {
            assert!(Level::new(value).is_err());
        }
        let said = Level::new(1.5).unwrap_err().to_string();
        assert_eq!(said, "1.5 is no level of a quantile; it must lie between 0 and 1, both excluded");
    }
}
