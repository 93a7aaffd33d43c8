//! Axis-parallel boxes: the cheap test that spares nearly all exact ones.

use super::Point;

/// A closed box, (lower left, upper right), metres.
pub(super) type Bounds = (Point, Point);

/// The least box round the points; the box of no points is apart from every other.
pub(super) fn bounds_of(points: impl IntoIterator<Item = Point>) -> Bounds {
    let nothing =
        (Point::new(f64::INFINITY, f64::INFINITY), Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY));
    points.into_iter().fold(nothing, |(low, high), p| {
        (Point::new(low.x.min(p.x), low.y.min(p.y)), Point::new(high.x.max(p.x), high.y.max(p.y)))
    })
}

/// The box grown by `margin` metres on every side.
pub(super) fn grown((low, high): Bounds, margin: f64) -> Bounds {
    let by = Point::new(margin, margin);
    (low - by, high + by)
}

/// Whether the closed boxes have no point in common.
pub(super) fn apart((low_1, high_1): Bounds, (low_2, high_2): Bounds) -> bool {
    low_1.x > high_2.x || low_2.x > high_1.x || low_1.y > high_2.y || low_2.y > high_1.y
}
