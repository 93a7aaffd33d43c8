//! A proposed dig as strikes see it, and as the marks around it see it.

use crate::geometry::Footprint;
use crate::site::{Dig, Mark};
use crate::strike::Observation;

/// The ground that a dig takes.
pub fn footprint(dig: &Dig) -> Footprint {
    dig.shape.footprint()
}

/// The dig as a look into the ground.
pub fn look(dig: &Dig) -> Observation {
    Observation::dig(footprint(dig), dig.depth_m)
}

/// Distance from a footprint to a mark's line, metres; zero where they meet.
pub fn distance_to_mark(footprint: &Footprint, mark: &Mark) -> f64 {
    let single = mark.path.first().map_or(f64::INFINITY, |&p| footprint.distance_to_point(p));
    let legs = mark.path.windows(2).map(|leg| footprint.distance_to_segment(leg[0], leg[1]));
    legs.fold(single, f64::min)
}
