//! Simple polygons of the site plane.

use super::Point;

/// A simple polygon: its corners in order, either sense, the last not repeated.
#[derive(Clone, Debug, PartialEq)]
pub struct Polygon {
    /// Corners in order, metres.
    pub ring: Vec<Point>,
}
