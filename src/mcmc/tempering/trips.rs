//! Travels of a replica between the ends of the ladder.

/// Where a replica stands in its travels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Journey {
    /// It has not been at the reference yet.
    Fresh,
    /// It was last at the reference.
    Up,
    /// It has come from the reference and was last at the target.
    Down,
}

/// Journeys completed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Trips {
    /// Arrivals at the target from the reference.
    pub(super) restarts: u64,
    /// Returns to the reference by way of the target.
    pub(super) round_trips: u64,
}

impl Trips {
    /// A replica is at the reference.
    pub(super) fn at_reference(&mut self, journey: &mut Journey) {
        self.round_trips += u64::from(*journey == Journey::Down);
        *journey = Journey::Up;
    }

    /// A replica is at the target.
    pub(super) fn at_target(&mut self, journey: &mut Journey) {
        if *journey == Journey::Up {
            self.restarts += 1;
            *journey = Journey::Down;
        }
    }
}

/// Round trips per sweep to expect from rejection rates when every exploration forgets where it began:
/// 1 / (2 + 2 sum r/(1-r)) (Syed et al. 2022). Far fewer were made? Then exploration is what is slow.
pub fn round_trip_rate(rejections: &[f64]) -> f64 {
    1.0 / (2.0 + 2.0 * rejections.iter().map(|r| r / (1.0 - r)).sum::<f64>())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_round_trip_starts_and_ends_at_the_reference() {
        let mut trips = Trips::default();
        let mut journey = Journey::Fresh;
        trips.at_target(&mut journey); // it started there: no restart
        trips.at_reference(&mut journey); // half a trip
        trips.at_reference(&mut journey);
        assert_eq!(trips, Trips::default());
        trips.at_target(&mut journey);
        trips.at_target(&mut journey);
        assert_eq!(trips, Trips { restarts: 1, round_trips: 0 });
        trips.at_reference(&mut journey);
        assert_eq!(trips, Trips { restarts: 1, round_trips: 1 });
    }

    #[test]
    fn rate_is_a_half_without_rejections_and_nought_with_a_wall() {
        assert!((round_trip_rate(&[0.0]) - 0.5).abs() < 1e-15);
        assert!((round_trip_rate(&[0.5, 0.5]) - 1.0 / 6.0).abs() < 1e-15);
        assert!(round_trip_rate(&[0.1, 1.0]).abs() < 1e-15);
    }
}
