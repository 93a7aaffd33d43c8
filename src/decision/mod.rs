//! Decisions: what the chances of the proposed digs, the marks and the places around them come to.
//!
//! # Units
//! Lengths and places are metres: `_m` where a name does not say that it is a place. Chances, shares, weights, expected losses and
//! their errors are pure numbers; information is in bits. Angles are radians counter-clockwise from x.

mod assess;
mod bars;
mod dig;
mod fields;
mod information;
mod known;
mod loss;
mod maps;
mod near;
mod probing;
mod rank;
mod roots;
mod shift;
mod sizes;
mod spots;
mod stations;
mod strike_map;
mod surroundings;
mod sweeping;
mod tree_conflicts;
mod tree_rules;
mod valves;
mod verdict;
mod zones;

pub use assess::{Assessment, assess, assess_by, strike_probability};
pub use bars::{Bar, bar, half_zone_m};
pub use dig::{distance_to_mark, footprint, look};
pub use information::{expected_information, information};
pub use known::{FlagNear, Known, MarkNear, flags_near, known, marks_near};
pub use loss::{Loss, MACHINE, Weights, loss_by_draw};
pub use maps::{DigMap, dig_maps, shifted, strike_map};
pub use near::Nearest;
pub use probing::{After, Change, Objective, Plan, PlannedProbe, ProbePlan, plan_probes};
pub use rank::{By, Pair, RankOptions, Ranked, Ranking, rank, rank_until_distinct};
pub use roots::{
    TreeNear, combined_stem_m, critical_root_zone_m, mature_root_zone_m, root_protection_m, standing_tree,
};
pub use shift::{Better, PlaceOptions, Shift};
pub use spots::{Spot, SpotHole, SpotOptions, Spots, best_spots};
pub use stations::{StationPlan, StationRow, plan_station_tests};
pub use strike_map::StrikeMap;
pub use surroundings::StructureNear;
pub use sweeping::{PlannedSweep, Question, SweepFor, SweepOptions, SweepPlan, plan_sweeps};
pub use tree_conflicts::{TreeConflict, Within, tree_conflict, tree_conflicts};
pub use tree_rules::TreeRules;
pub use valves::{UNSEEN_VALVE, VALVE_OF, exchangeable_zones, group_names, telling_names};
pub use verdict::Verdict;
pub use zones::{LikelyGroups, likely_groups, same_zone_chances, zone_chances};
