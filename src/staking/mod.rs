//! Staking: where pipe probably runs, as stakes on the ground, and how to find a place with two tapes from named fixed points.
//!
//! Lengths and places are metres, angles radians counter-clockwise from x unless a name ends in `_deg`; chances are pure numbers.

mod fixed_points;
mod likely_lines;
mod shut_offs;
mod ties;
mod words;

pub use fixed_points::{FixedPoint, fixed_points};
pub use likely_lines::{LikelyLine, LineOptions, Station, likely_lines};
pub use shut_offs::{ShutOff, shut_offs};
pub use ties::{CROSSING_DEG, PointPair, Tie, Ties, Untied, ties};
