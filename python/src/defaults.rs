//! What options are where nothing is said: the engine's own values, so that they stand in one place.

use underturf::decision::{PlaceOptions, ProbePlan, SpotOptions, TreeRules};
use underturf::inference::RunBudget;
use underturf::staking::LineOptions;

/// By name; lengths in metres.
pub fn defaults() -> [(&'static str, f64); 15] {
    let (rules, places, lines) = (TreeRules::default(), PlaceOptions::default(), LineOptions::default());
    let (probes, spots) = (ProbePlan::new(1, 0.25), SpotOptions::new(1, 0.3, 0.4));
    [
        ("setback_limit", rules.setback_limit),
        ("setback_share", rules.setback_share),
        ("roots_share", rules.roots_share),
        ("from_building_m", rules.from_building_m),
        ("reach_m", places.reach_m),
        ("shift_cell_m", places.cell_m),
        ("least_chance", lines.least_chance),
        ("step_m", lines.step_m),
        ("line_reach_m", lines.reach_m),
        ("probe_reach_m", probes.reach_m),
        ("shift_m", probes.shift_m),
        ("careful", probes.careful),
        ("probe_cost", probes.probe_cost),
        ("spot_cell_m", spots.cell_m),
        ("longest", RunBudget::default().longest as f64),
    ]
}
