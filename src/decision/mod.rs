//! Decisions: what the chances of the proposed digs, the marks and the places around them come to.

mod assess;
mod bars;
mod dig;
mod fields;
mod fixed_points;
mod information;
mod likely_lines;
mod loss;
mod maps;
mod near;
mod probing;
mod rank;
mod root_ball;
mod roots;
mod setbacks;
mod spots;
mod stations;
mod ties;
mod trees;

pub use assess::{
    AssessOptions, Assessment, MarkNear, Verdict, assess, assess_by, marks_near, strike_probability,
};
pub use bars::{Bar, bar, half_zone_m};
pub use dig::{distance_to_mark, footprint, look};
pub use fixed_points::{FixedPoint, fixed_points};
pub use information::{expected_information, information};
pub use likely_lines::{LikelyLine, LineOptions, Station, likely_lines};
pub use loss::{Loss, MACHINE, Weights, loss_by_draw};
pub use maps::{DigMap, Shift, StrikeMap, dig_maps, dig_maps_weighing, shifted, strike_map};
pub use near::Nearest;
pub use probing::{After, Change, Objective, Plan, PlannedProbe, ProbePlan, plan_probes};
pub use rank::{By, Pair, RankOptions, Ranked, Ranking, rank, rank_until_distinct};
pub use root_ball::{BallTable, RootBall, root_ball_of_caliper, root_ball_of_container};
pub use roots::{
    TreeNear, combined_stem_m, critical_root_zone_m, mature_root_zone_m, root_protection_m, standing_tree,
};
pub use setbacks::Setback;
pub use spots::{Spot, SpotOptions, Spots, best_spots};
pub use stations::{StationPlan, StationRow, plan_station_tests};
pub use ties::{CROSSING_DEG, PointPair, Tie, Ties, Untied, ties};
pub use trees::{StructureNear, TreeConflict, Within, tree_conflict, tree_conflicts};
