//! Decisions: what the chances of the proposed digs, the marks and the places around them come to.

mod assess;
mod dig;
mod information;
mod maps;

pub use assess::{Assessment, MarkNear, Nearest, Verdict, assess, marks_near, strike_probability};
pub use dig::{distance_to_mark, footprint, look};
pub use information::{expected_information, information};
pub use maps::{DigMap, Shift, StrikeMap, dig_maps, half_zone_m, strike_map};
