//! Straight segments: how far apart, and whether they meet.
//!
//! Whether segments meet is decided with exact orientation signs (Shewchuk 1997, through the `robust` crate), so that
//! outlines drawn on a common grid, where collinear edges are the rule, are never misjudged.

use super::Point;
use super::bounds::apart;
use robust::{Coord, orient2d};

/// Twice the signed area of the triangle a, b, c, in square metres: its sign is exact, positive when they turn left.
pub(super) fn turn(a: Point, b: Point, c: Point) -> f64 {
    let coord = |p: Point| Coord { x: p.x, y: p.y };
    orient2d(coord(a), coord(b), coord(c))
}

/// Squared distance from `p` to the closed segment a-b, in square metres.
pub(super) fn squared_distance_to_segment(p: Point, a: Point, b: Point) -> f64 {
    let along = b - a;
    let from_a = p - a;
    let length_squared = along.dot(along);
    let t = if length_squared > 0.0 { (from_a.dot(along) / length_squared).clamp(0.0, 1.0) } else { 0.0 };
    let gap = from_a - along * t;
    gap.dot(gap)
}

/// Distance in metres from `p` to the closed segment a-b, which may be a single point.
pub fn distance_to_segment(p: Point, a: Point, b: Point) -> f64 {
    squared_distance_to_segment(p, a, b).sqrt()
}

/// Whether the closed segments a-b and c-d have a point in common; touching and collinear overlap count.
pub fn segments_meet(a: Point, b: Point, c: Point, d: Point) -> bool {
    let (low_1, high_1) = (Point::new(a.x.min(b.x), a.y.min(b.y)), Point::new(a.x.max(b.x), a.y.max(b.y)));
    let (low_2, high_2) = (Point::new(c.x.min(d.x), c.y.min(d.y)), Point::new(c.x.max(d.x), c.y.max(d.y)));
    if apart((low_1, high_1), (low_2, high_2)) {
        return false;
    }
    // With overlapping boxes, neither pair strictly on one side of the other's line is also sufficient: on a common
    // line, overlap of the boxes is overlap of the segments.
    let same_side = |s: f64, t: f64| (s > 0.0 && t > 0.0) || (s < 0.0 && t < 0.0);
    !same_side(turn(a, b, c), turn(a, b, d)) && !same_side(turn(c, d, a), turn(c, d, b))
}

/// A point that two segments have in common, for messages; where they do not meet, one near to both.
pub fn segments_meeting((a, b): (Point, Point), (c, d): (Point, Point)) -> Point {
    let (along, other) = (b - a, d - c);
    let turned = along.cross(other);
    let share = (c - a).cross(other) / turned;
    if turned != 0.0 && (0.0..=1.0).contains(&share) {
        return a.towards(b, share);
    }
    let off = |p: &Point| distance_to_segment(*p, a, b) + distance_to_segment(*p, c, d);
    [a, b, c, d].into_iter().min_by(|p, q| off(p).total_cmp(&off(q))).unwrap_or(a)
}

/// Squared distance between the closed segments a-b and c-d, in square metres.
pub(super) fn squared_segment_distance(a: Point, b: Point, c: Point, d: Point) -> f64 {
    if segments_meet(a, b, c, d) {
        return 0.0;
    }
    squared_distance_to_segment(a, c, d)
        .min(squared_distance_to_segment(b, c, d))
        .min(squared_distance_to_segment(c, a, b))
        .min(squared_distance_to_segment(d, a, b))
}

/// Distance in metres between the closed segments a-b and c-d; 0 when they meet.
pub fn segment_distance(a: Point, b: Point, c: Point, d: Point) -> f64 {
    squared_segment_distance(a, b, c, d).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rng::stream;
    use rand::RngExt;

    fn p(x: f64, y: f64) -> Point {
        Point::new(x, y)
    }

    #[test]
    fn touching_and_collinear_segments_meet() {
        assert!(segments_meet(p(0., 0.), p(2., 0.), p(1., 0.), p(3., 0.)));
        assert!(segments_meet(p(0., 0.), p(2., 0.), p(2., 0.), p(3., 0.)));
        assert!(!segments_meet(p(0., 0.), p(2., 0.), p(2.1, 0.), p(3., 0.)));
        assert!(segments_meet(p(0., 0.), p(2., 0.), p(1., 0.), p(1., 5.)));
        assert!(segments_meet(p(0., 0.), p(2., 2.), p(0., 2.), p(2., 0.)));
        assert!(!segments_meet(p(0., 0.), p(2., 2.), p(0., 0.1), p(2., 2.1)));
        assert!(segments_meet(p(1., 1.), p(1., 1.), p(0., 0.), p(2., 2.)));
        assert!(!segments_meet(p(1., 1.1), p(1., 1.1), p(0., 0.), p(2., 2.)));
        assert!(segments_meet(p(1., 1.), p(1., 1.), p(1., 1.), p(1., 1.)));
    }

    #[test]
    fn distance_is_the_least_over_points_of_the_segments() {
        // n = 300 pairs, each against 401 points of one segment; a point grid of step h can only overshoot, by at most h/2.
        let mut rng = stream(11, 0);
        for _ in 0..300 {
            let mut q = || p(rng.random_range(-1.0..1.0), rng.random_range(-1.0..1.0));
            let (a, b, c, d) = (q(), q(), q(), q());
            let sampled = (0..=400)
                .map(|k| distance_to_segment(a.towards(b, f64::from(k) / 400.0), c, d))
                .fold(f64::INFINITY, f64::min);
            let exact = segment_distance(a, b, c, d);
            assert!(exact <= sampled + 1e-12 && sampled - exact <= a.distance(b) / 800.0 + 1e-12);
        }
    }
}
