//! Directions: clockwise from north for people, counter-clockwise from x for the engine.
//!
//! North is the y axis unless the frame says otherwise. `y_azimuth_deg` is the azimuth of the y axis (`frame.azimuth_deg`).

use super::checked_site::Site;

/// Angle from x, counter-clockwise in radians, of an azimuth in degrees.
pub fn angle_rad(azimuth_deg: f64, y_azimuth_deg: f64) -> f64 {
    (90.0 + y_azimuth_deg - azimuth_deg).to_radians()
}

/// Periods of azimuths: of a way, of a line that has no forward end, of a grid.
pub const TURN_DEG: f64 = 360.0;
/// See [`TURN_DEG`].
pub const HALF_TURN_DEG: f64 = 180.0;
/// See [`TURN_DEG`].
pub const QUARTER_TURN_DEG: f64 = 90.0;

/// Azimuth in degrees of an angle from x, from 0 to below the period.
pub fn azimuth_deg(angle_rad: f64, y_azimuth_deg: f64, period_deg: f64) -> f64 {
    let azimuth = (90.0 + y_azimuth_deg - angle_rad.to_degrees()).rem_euclid(period_deg);
    // A hair below zero is rounded up to the period itself.
    if azimuth < period_deg { azimuth } else { 0.0 }
}

impl Site {
    /// Azimuth of the y axis, degrees clockwise from north; 0 where the document gives no frame.
    pub fn y_azimuth_deg(&self) -> f64 {
        self.frame.as_ref().and_then(|frame| frame.azimuth_deg).unwrap_or(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Catches a turn the wrong way round, the frame added with the wrong sign, and axes mixed up.
    #[test]
    fn north_east_south_west() {
        for (deg, azimuth) in [(0.0, 90.0), (90.0, 0.0), (180.0, 270.0), (-90.0, 180.0)] {
            assert!((azimuth_deg(f64::to_radians(deg), 0.0, 360.0) - azimuth).abs() < 1e-12);
        }
        // The y axis points east: x points south.
        assert!((azimuth_deg(0.0, 90.0, 360.0) - 180.0).abs() < 1e-12);
        assert!((azimuth_deg(std::f64::consts::FRAC_PI_2, 90.0, 360.0) - 90.0).abs() < 1e-12);
    }

    #[test]
    fn a_hair_below_north_is_north() {
        let hair = std::f64::consts::FRAC_PI_2 * (1.0 + f64::EPSILON);
        assert!((0.0..180.0).contains(&azimuth_deg(hair, 0.0, 180.0)));
    }

    proptest! {
        #[test]
        fn there_and_back_is_the_same_direction(azimuth in 0.0..360.0, turned in -360.0..360.0) {
            let back = azimuth_deg(angle_rad(azimuth, turned), turned, 360.0);
            let off = (back - azimuth + 180.0).rem_euclid(360.0) - 180.0;
            prop_assert!(off.abs() < 1e-10, "{azimuth} came back as {back}");
        }
    }
}
