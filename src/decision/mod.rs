//! Decisions: what the chances of the proposed digs, the marks and the places around them come to.

mod assess;
mod dig;
mod fixed_points;
mod information;
mod likely_lines;
mod maps;
mod ties;

pub use assess::{Assessment, MarkNear, Nearest, Verdict, assess, marks_near, strike_probability};
pub use dig::{distance_to_mark, footprint, look};
pub use fixed_points::{FixedPoint, fixed_points};
pub use information::{expected_information, information};
pub use likely_lines::{LikelyLine, LineOptions, Station, likely_lines};
pub use maps::{DigMap, Shift, StrikeMap, dig_maps, half_zone_m, strike_map};
pub use ties::{CROSSING_DEG, Pair, Tie, Ties, Untied, ties};
