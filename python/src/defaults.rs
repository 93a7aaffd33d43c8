//! What the engine knows and the face must not write again: options where nothing is said, limits, and the words that arguments
//! take.

use underturf::decision::{
    By, Objective, PlaceOptions, ProbePlan, SpotOptions, SweepFor, SweepOptions, TreeRules, UNSEEN_VALVE,
    VALVE_OF,
};
use underturf::inference::{RunBudget, SURPRISE, SampleOptions};
use underturf::site::document::{Method, Tool};
use underturf::staking::LineOptions;
use underturf::strike::Form;

/// By name; lengths in metres.
pub fn defaults() -> [(&'static str, f64); 22] {
    let (rules, places, lines) = (TreeRules::default(), PlaceOptions::default(), LineOptions::default());
    let (probes, spots) = (ProbePlan::new(1, 0.25), SpotOptions::new(1, 0.3, 0.4));
    let sweeps = SweepOptions::new(1);
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
        ("sweep_length_m", sweeps.length_m),
        ("sweep_reach_m", sweeps.reach_m),
        ("sweep_spacing_m", sweeps.spacing_m),
        ("sweep_p_detect", sweeps.p_detect),
        ("sweep_p_false", sweeps.p_false),
        ("longest", RunBudget::default().longest as f64),
        ("least_draws", SampleOptions::LEAST_DRAWS as f64),
        ("surprise", SURPRISE),
    ]
}

/// The words that an argument takes, by its name, and how valves are called that nobody has named.
pub fn words() -> [(&'static str, Vec<&'static str>); 7] {
    [
        ("by", By::ALL.map(By::name).to_vec()),
        ("form", Form::ALL.map(Form::name).to_vec()),
        ("method", Method::ALL.map(Method::name).to_vec()),
        ("objective", Objective::ALL.map(Objective::name).to_vec()),
        ("sweep_for", SweepFor::ALL.map(SweepFor::name).to_vec()),
        ("tool", Tool::ALL.map(Tool::name).to_vec()),
        ("nameless_valve", vec![VALVE_OF, UNSEEN_VALVE]),
    ]
}
