//! A convex polygon grown by a radius: the one convex shape that holes, trenches and pits are made of.

use super::bounds::{Bounds, bounds_of, grown};
use super::segment::{squared_distance_to_segment, squared_segment_distance, turn};
use super::{Point, Polygon};

/// All points within `radius` of a convex core.
#[derive(Clone, Debug, PartialEq)]
pub struct Rounded {
    /// Corners of the core, metres: convex and counter-clockwise; one makes a disc, two a capsule.
    pub corners: Vec<Point>,
    /// Metres; 0 for the core itself.
    pub radius: f64,
}

/// Contacts within this are touches, metres: see `sections`.
const TOUCH_M: f64 = 1e-9;

impl Rounded {
    /// The least axis-parallel box round the shape: (lower left, upper right), metres.
    pub fn bounds(&self) -> Bounds {
        grown(bounds_of(self.corners.iter().copied()), self.radius)
    }

    /// The edges of the core; none for a disc, there and back for a capsule.
    fn edges(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        let n = self.corners.len();
        let count = if n < 2 { 0 } else { n };
        (0..count).map(move |k| (self.corners[k], self.corners[if k + 1 == n { 0 } else { k + 1 }]))
    }

    fn core_contains(&self, p: Point) -> bool {
        self.corners.len() >= 3 && self.edges().all(|(a, b)| turn(a, b, p) >= 0.0)
    }

    fn squared_core_distance_to_point(&self, p: Point) -> f64 {
        match self.corners[..] {
            [] => f64::INFINITY,
            [c] => (p - c).dot(p - c),
            [c, d] => squared_distance_to_segment(p, c, d),
            _ if self.core_contains(p) => 0.0,
            _ => {
                self.edges().map(|(c, d)| squared_distance_to_segment(p, c, d)).fold(f64::INFINITY, f64::min)
            }
        }
    }

    /// Squared distance from the core to the closed segment a-b, in square metres.
    pub(super) fn squared_core_distance(&self, a: Point, b: Point) -> f64 {
        match self.corners[..] {
            [] => f64::INFINITY,
            [c] => squared_distance_to_segment(c, a, b),
            [c, d] => squared_segment_distance(c, d, a, b),
            _ if self.core_contains(a) => 0.0,
            _ => {
                self.edges().map(|(c, d)| squared_segment_distance(c, d, a, b)).fold(f64::INFINITY, f64::min)
            }
        }
    }

    /// Distance in metres from the shape to `p`; 0 inside.
    pub fn distance_to_point(&self, p: Point) -> f64 {
        (self.squared_core_distance_to_point(p).sqrt() - self.radius).max(0.0)
    }

    /// Distance in metres from the shape to the closed segment a-b; 0 when they meet.
    pub fn distance_to_segment(&self, a: Point, b: Point) -> f64 {
        (self.squared_core_distance(a, b).sqrt() - self.radius).max(0.0)
    }

    /// Whether `p` lies in the closed shape.
    pub fn contains(&self, p: Point) -> bool {
        self.squared_core_distance_to_point(p) <= self.radius * self.radius
    }

    /// Whether the closed shape and the closed segment a-b have a point in common.
    pub fn meets_segment(&self, a: Point, b: Point) -> bool {
        self.squared_core_distance(a, b) <= self.radius * self.radius
    }

    /// A point of the core, in its interior if it has one.
    fn middle(&self) -> Point {
        self.corners.iter().fold(Point::default(), |sum, &c| sum + c) * (1.0 / self.corners.len() as f64)
    }

    /// Whether an edge of `polygon` runs through the core's interior.
    fn core_cut_by(&self, polygon: &Polygon) -> bool {
        // Only an outline needs a polygon of its own, and only shapes of radius 0 ask.
        let core = Polygon { ring: self.corners.clone() };
        self.corners.len() >= 3 && polygon.edges().any(|(a, b)| core.blocks(a, b))
    }

    /// Whether the shape reaches into the interior of `polygon` by more than a touch.
    pub(super) fn meets_interior_of(&self, polygon: &Polygon) -> bool {
        if self.corners.is_empty() {
            return false;
        }
        let deep_inside = |p: Point| polygon.contains(p) && polygon.distance_to_boundary(p) > TOUCH_M;
        if self.radius <= TOUCH_M {
            return deep_inside(self.middle())
                || self.edges().any(|(a, b)| polygon.blocks(a, b))
                || self.core_cut_by(polygon);
        }
        let reach = self.radius - TOUCH_M;
        self.corners.iter().any(|&c| polygon.contains(c))
            || polygon.edges().any(|(a, b)| self.squared_core_distance(a, b) < reach * reach)
    }

    /// Whether the whole shape lies in the closed `polygon`, up to a touch.
    pub(super) fn within(&self, polygon: &Polygon) -> bool {
        if self.corners.is_empty() {
            return true;
        }
        if self.radius <= TOUCH_M {
            let inside = |p: Point| polygon.contains(p) || polygon.distance_to_boundary(p) <= TOUCH_M;
            return inside(self.middle())
                && self.corners.iter().all(|&c| inside(c))
                && self.edges().all(|(a, b)| polygon.covers(a, b))
                && !self.core_cut_by(polygon);
        }
        let reach = self.radius - TOUCH_M;
        polygon.contains(self.middle())
            && polygon.edges().all(|(a, b)| self.squared_core_distance(a, b) >= reach * reach)
    }
}
