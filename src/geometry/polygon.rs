//! Simple polygons of the site plane: measures and membership.
//!
//! How a segment lies to a polygon is in `sections`, its cutting into convex parts in `convex_parts`, the points to
//! walk round it in `offset_corners`.

use super::Point;
use super::bounds::bounds_of;
use super::segment::{segments_meet, squared_distance_to_segment, squared_segment_distance, turn};

/// A simple polygon: its corners in order, either sense, the last not repeated.
#[derive(Clone, Debug, PartialEq)]
pub struct Polygon {
    /// Corners in order, metres.
    pub ring: Vec<Point>,
}

impl Polygon {
    /// The polygon with these corners, in order and in metres; a first corner repeated at the end is dropped.
    /// Simplicity is not checked here: see [`Polygon::crossings_with_itself`].
    pub fn new(mut ring: Vec<Point>) -> Self {
        if ring.len() > 1 && ring.first() == ring.last() {
            ring.pop();
        }
        Self { ring }
    }

    /// Area in square metres, negative when the corners run clockwise.
    pub fn signed_area(&self) -> f64 {
        let Some(&origin) = self.ring.first() else { return 0.0 };
        // Relative to a corner: map coordinates may be millions of metres.
        self.edges().map(|(a, b)| (a - origin).cross(b - origin)).sum::<f64>() / 2.0
    }

    /// Area in square metres.
    pub fn area(&self) -> f64 {
        self.signed_area().abs()
    }

    /// Length of the boundary, in metres.
    pub fn perimeter(&self) -> f64 {
        self.edges().map(|(a, b)| a.distance(b)).sum()
    }

    /// The edges in order; edge `k` runs from corner `k` to the next.
    pub fn edges(&self) -> impl ExactSizeIterator<Item = (Point, Point)> + '_ {
        let n = self.ring.len();
        (0..n).map(move |k| (self.ring[k], self.ring[if k + 1 == n { 0 } else { k + 1 }]))
    }

    /// The least axis-parallel box round the polygon: (lower left, upper right), metres.
    pub fn bounds(&self) -> (Point, Point) {
        bounds_of(self.ring.iter().copied())
    }

    /// Whether `p` lies in the closed polygon; the boundary counts, exactly.
    pub fn contains(&self, p: Point) -> bool {
        let mut inside = false;
        for (a, b) in self.edges() {
            if (a.y > p.y && b.y > p.y) || (a.y < p.y && b.y < p.y) || (a.x < p.x && b.x < p.x) {
                continue; // neither on the boundary here nor crossed by the ray to the east
            }
            let side = turn(a, b, p);
            if side == 0.0 && a.x.min(b.x) <= p.x && p.x <= a.x.max(b.x) {
                return true;
            }
            if (a.y > p.y) != (b.y > p.y) && (side > 0.0) == (b.y > a.y) {
                inside = !inside;
            }
        }
        inside
    }

    /// Pairs of edges `(i, j)`, `i < j`, that have a point in common which a simple polygon forbids: crossings,
    /// touches, folds back on themselves and repeated corners. Empty for a simple polygon.
    pub fn crossings_with_itself(&self) -> Vec<(usize, usize)> {
        let n = self.ring.len();
        let edges: Vec<(Point, Point)> = self.edges().collect();
        let mut pairs = Vec::new();
        for (i, &(a, b)) in edges.iter().enumerate() {
            for (j, &(c, d)) in edges.iter().enumerate().skip(i + 1) {
                let (follows, wraps) = (j == i + 1, i == 0 && j + 1 == n);
                let forbidden = if follows || wraps {
                    // Neighbours share a corner by right; they may not fold back, nor have no length.
                    let (before, corner, after) = if follows { (a, b, d) } else { (c, a, b) };
                    n < 3
                        || before == corner
                        || after == corner
                        || (turn(before, corner, after) == 0.0 && (before - corner).dot(after - corner) > 0.0)
                } else {
                    segments_meet(a, b, c, d)
                };
                if forbidden {
                    pairs.push((i, j));
                }
            }
        }
        pairs
    }

    /// Distance in metres from `p` to the boundary, whether `p` is inside or not.
    pub fn distance_to_boundary(&self, p: Point) -> f64 {
        self.edges().map(|(a, b)| squared_distance_to_segment(p, a, b)).fold(f64::INFINITY, f64::min).sqrt()
    }

    /// The point of the boundary nearest to `p`.
    pub fn nearest_on_boundary(&self, p: Point) -> Point {
        let on_edge = |(a, b): (Point, Point)| {
            let leg = b - a;
            let squared = leg.dot(leg);
            let share = if squared > 0.0 { ((p - a).dot(leg) / squared).clamp(0.0, 1.0) } else { 0.0 };
            a + leg * share
        };
        let nearer = |x: &Point, y: &Point| x.distance(p).total_cmp(&y.distance(p));
        self.edges().map(on_edge).min_by(nearer).unwrap_or(p)
    }

    /// Distance in metres from the closed polygon to the segment a-b; 0 when they meet or the segment is inside.
    pub fn distance_to_segment(&self, a: Point, b: Point) -> f64 {
        if self.contains(a) {
            return 0.0;
        }
        self.edges().map(|(c, d)| squared_segment_distance(a, b, c, d)).fold(f64::INFINITY, f64::min).sqrt()
    }

    /// The corners counter-clockwise, without repeated ones and without those on a straight edge.
    pub(super) fn turning_corners(&self) -> Vec<Point> {
        let mut ring = self.ring.clone();
        if self.signed_area() < 0.0 {
            ring.reverse();
        }
        drop_straight_corners(&mut ring);
        ring
    }
}

/// Removes corners at which the ring does not turn, exactly.
pub(super) fn drop_straight_corners(ring: &mut Vec<Point>) {
    let mut k = 0;
    let mut kept_in_a_row = 0;
    // One round over the ring without a removal ends it: a removal can straighten the corners beside it.
    while ring.len() >= 3 && kept_in_a_row < ring.len() {
        let n = ring.len();
        k %= n;
        if turn(ring[(k + n - 1) % n], ring[k], ring[(k + 1) % n]) == 0.0 {
            ring.remove(k);
            k = k.saturating_sub(1);
            kept_in_a_row = 0;
        } else {
            k += 1;
            kept_in_a_row += 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn polygon(corners: &[[f64; 2]]) -> Polygon {
        Polygon::new(corners.iter().map(|&c| c.into()).collect())
    }

    fn ell() -> Polygon {
        polygon(&[[0., 0.], [4., 0.], [4., 1.], [1., 1.], [1., 3.], [0., 3.]])
    }

    #[test]
    fn measures_of_an_ell_are_those_of_its_rectangles() {
        // Small integers: exact.
        assert_relative_eq!(ell().signed_area(), 6.0);
        assert_relative_eq!(ell().perimeter(), 14.0);
        let mut turned = ell();
        turned.ring.reverse();
        assert_relative_eq!(turned.signed_area(), -6.0);
        assert_eq!(ell().bounds(), (Point::new(0., 0.), Point::new(4., 3.)));
        assert_eq!(polygon(&[[0., 0.], [1., 0.], [0., 1.], [0., 0.]]).ring.len(), 3);
    }

    #[test]
    fn the_nearest_point_of_the_boundary_by_hand() {
        for ((x, y), (u, v)) in [((0.5, 0.2), (0.5, 0.0)), ((3.0, 2.0), (3.0, 1.0)), ((2.0, 2.5), (1.0, 2.5))]
        {
            assert!(ell().nearest_on_boundary(Point::new(x, y)).distance(Point::new(u, v)) < 1e-12);
        }
        assert!(ell().nearest_on_boundary(Point::new(5.0, -1.0)).distance(Point::new(4.0, 0.0)) < 1e-12);
    }

    #[test]
    fn the_closed_polygon_contains_its_boundary() {
        for (x, y, inside) in [
            (0.5, 0.5, true),
            (0.5, 2.5, true),
            (2.0, 2.0, false),
            (1.0, 2.0, true),
            (1.0, 1.0, true),
            (4.0, 0.0, true),
            (2.0, 1.0, true),
            (-0.1, 0.0, false),
            (-1.0, 1.0, false),
            (5.0, 1.0, false),
            (0.0, 3.0, true),
            (0.5, 3.0, true),
            (2.0, 3.0, false),
        ] {
            assert_eq!(ell().contains(Point::new(x, y)), inside, "{x} {y}");
        }
    }

    #[test]
    fn only_simple_rings_have_no_crossings() {
        assert!(ell().crossings_with_itself().is_empty());
        assert!(polygon(&[[0., 0.], [1., 0.], [0., 1.]]).crossings_with_itself().is_empty());
        assert_eq!(
            polygon(&[[0., 0.], [2., 2.], [2., 0.], [0., 2.]]).crossings_with_itself(),
            vec![(0, 2)],
            "bow tie"
        );
        assert!(!polygon(&[[0., 0.], [2., 0.], [2., 0.], [0., 2.]]).crossings_with_itself().is_empty());
        assert!(
            !polygon(&[[0., 0.], [2., 0.], [1., 0.], [0., 2.]]).crossings_with_itself().is_empty(),
            "fold"
        );
        let pinched = polygon(&[[0., 0.], [2., 0.], [1., 1.], [2., 2.], [0., 2.], [1., 1.]]);
        assert!(!pinched.crossings_with_itself().is_empty(), "a corner visited twice");
        assert!(!polygon(&[[0., 0.], [2., 0.]]).crossings_with_itself().is_empty());
    }

    #[test]
    fn distances_are_to_the_boundary_or_to_the_body() {
        let ell = ell();
        assert_relative_eq!(ell.distance_to_boundary(Point::new(0.5, 2.0)), 0.5);
        assert_relative_eq!(ell.distance_to_segment(Point::new(0.5, 2.0), Point::new(0.6, 2.0)), 0.0);
        assert_relative_eq!(ell.distance_to_segment(Point::new(2.0, 2.0), Point::new(3.0, 3.0)), 1.0);
    }
}
