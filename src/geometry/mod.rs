//! Plane geometry of sites and digs: no heads, no pipes, no probability.

mod point;
mod polygon;

pub use point::Point;
pub use polygon::Polygon;
