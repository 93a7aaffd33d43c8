//! Plane geometry of sites and digs: no heads, no pipes, no probability.

mod bounds;
mod hull;
mod intervals;
mod point;
mod polygon;
mod sections;
mod segment;

pub use hull::convex_hull;
pub use intervals::merge_intervals;
pub use point::Point;
pub use polygon::Polygon;
pub use segment::{distance_to_segment, segment_distance, segments_meet};
