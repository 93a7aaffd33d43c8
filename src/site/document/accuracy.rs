//! How good a place is, as documents say it: a standard deviation, or what surveys state.

/// Horizontal accuracy at 95 % in standard deviations of x: Accuracy_r = 2.4477 RMSE_x where x and y are equally good (National
/// Standard for Spatial Data Accuracy, FGDC-STD-007.3-1998, part 3, appendix 3-A). It is sqrt(-2 ln 0.05), the radius about a normal
/// place that holds 95 %.
pub const SDS_OF_ACCURACY_95: f64 = 2.447_746_830_680_816;

/// Keys of which an entry gives one at most.
pub const ACCURACY_KEYS: &[&str] = &["sd", "accuracy_95"];

/// The standard deviation of x and of y, in the unit of both; `None` where an entry gives neither.
pub fn standard_deviation(sd: Option<f64>, accuracy_95: Option<f64>) -> Option<f64> {
    sd.or(accuracy_95.map(|accuracy| accuracy / SDS_OF_ACCURACY_95))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Of places off by normal errors in x and y, 95 % lie within the accuracy. Planted fault: 1.96, that of one axis, holds 85 %.
    #[test]
    fn accuracy_holds_19_places_in_20() {
        let held = |radius: f64| 1.0 - (-0.5 * radius * radius).exp();
        assert_relative_eq!(held(SDS_OF_ACCURACY_95), 0.95, epsilon = 1e-15);
        assert!(held(1.96) < 0.86);
        assert_relative_eq!(standard_deviation(None, Some(2.4477)).unwrap_or(0.0), 1.0, epsilon = 2e-5);
        assert_eq!([standard_deviation(Some(0.2), None), standard_deviation(None, None)], [Some(0.2), None]);
    }
}
