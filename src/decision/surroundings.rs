//! What is known to lie around a place where a tree may stand: buildings, meters, marked and flagged lines.

use crate::geometry::{Point, segment_distance};
use crate::layout::normal_cdf;
use crate::site::document::{ObstacleKind, SourceKind};
use crate::site::{KeepOff, Site};

/// Deeper than any line that is dealt with, metres: setbacks and roots do not ask how deep a line lies.
pub const ANY_DEPTH_M: f64 = 6.0;

/// A building or pool near a tree.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StructureNear {
    /// Index of the obstacle in the document.
    pub obstacle: usize,
    /// What it is.
    pub kind: ObstacleKind,
    /// Distance from the middle of the stem to its footing, metres; zero inside.
    pub distance_m: f64,
}

/// Chance that a known line lies within a distance of a place, all metres: straight, with a Gaussian error sideways,
/// `F((r - d) / sd) - F((-r - d) / sd)`. A path of one point is a line of which no more is known.
pub fn mark_within(path: &[Point], sd_m: f64, at: Point, radius_m: f64) -> f64 {
    let single = path.first().map_or(f64::INFINITY, |first| first.distance(at));
    let d = path.windows(2).map(|leg| segment_distance(at, at, leg[0], leg[1])).fold(single, f64::min);
    if sd_m > 0.0 {
        normal_cdf((radius_m - d) / sd_m) - normal_cdf((-radius_m - d) / sd_m)
    } else {
        f64::from(u8::from(d <= radius_m))
    }
}

/// The building or pool nearest to a place.
pub fn nearest_structure(site: &Site, at: Point) -> Option<StructureNear> {
    let solid = site.obstacles.iter().enumerate().filter(|(_, obstacle)| obstacle.kind.blocks());
    let near = solid.map(|(obstacle, it)| StructureNear {
        obstacle,
        kind: it.kind,
        distance_m: it.outline.distance_to_segment(at, at),
    });
    near.min_by(|a, b| a.distance_m.total_cmp(&b.distance_m))
}

/// Distance to the nearest meter, metres.
pub fn nearest_meter(site: &Site, at: Point) -> Option<f64> {
    let meters = site.sources.iter().filter(|source| source.kind == SourceKind::Meter);
    meters.map(|meter| meter.at.distance(at)).min_by(f64::total_cmp)
}

/// Chance that a flagged line lies within a distance of a place: straight between its flags, with their error sideways.
pub fn metal_within(metal: &KeepOff, at: Point, radius_m: f64) -> f64 {
    let legs = metal.legs.iter().map(|leg| mark_within(leg, metal.sd_m, at, radius_m));
    legs.fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// python/docs/trade-values.md, 8.19: (d, R, sd) = (0, 1, 1), (1, 1, 1), (2, 1, 1), (0.6, 0.6, 0.3), (1.2, 0.6, 0.3).
    #[test]
    fn a_marked_line_meets_the_worked_values() {
        for (d, radius, sd_m, expected) in [
            (0.0, 1.0, 1.0, 0.682_689),
            (1.0, 1.0, 1.0, 0.477_250),
            (2.0, 1.0, 1.0, 0.157_305),
            (0.6, 0.6, 0.3, 0.499_968),
            (1.2, 0.6, 0.3, 0.022_750),
        ] {
            let path = vec![Point::new(-50.0, 0.0), Point::new(50.0, 0.0)];
            let at = Point::new(3.0, d);
            assert_relative_eq!(mark_within(&path, sd_m, at, radius), expected, epsilon = 1e-6);
            assert_relative_eq!(mark_within(&path, 0.0, at, radius), f64::from(u8::from(d <= radius)));
            // Planted fault: a mark of one point, where a probe met a line, had no distance at all and counted for nothing.
            assert_relative_eq!(mark_within(&[at], 0.0, at, radius), 1.0);
        }
    }
}
