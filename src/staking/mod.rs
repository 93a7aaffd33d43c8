//! Staking: where pipe probably runs, as stakes on the ground, and how to find a place with two tapes from named fixed points.

mod fixed_points;
mod likely_lines;
mod ties;

pub use fixed_points::{FixedPoint, fixed_points};
pub use likely_lines::{LikelyLine, LineOptions, Station, likely_lines};
pub use ties::{CROSSING_DEG, PointPair, Tie, Ties, Untied, ties};
