//! Plans of probes, of passes with a detector and of station tests as columns of tables.

use crate::words::word;
use numpy::IntoPyArray;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use underturf::decision::{
    After, Objective, Plan, PlannedProbe, PlannedSweep, ProbePlan, Question, StationPlan, StationRow,
    SweepFor, SweepOptions, SweepPlan,
};
use underturf::site::direction::{HALF_TURN_DEG, azimuth_deg};
use underturf::site::{Dig, Site};
use underturf::strike::Chance;

/// The objective of that name.
pub fn objective(name: &str) -> PyResult<Objective> {
    word("objective", name, Objective::ALL, Objective::name)
}

/// A slit's length and width in metres, whether a rod is used, the chances to detect and to be wrong.
pub type ProbeTool = (Option<(f64, f64)>, bool, Option<f64>, Option<f64>);

/// Metres: reach, side of a cell, greatest shift of a dig.
pub type Grid = (f64, Option<f64>, f64);

/// What is asked for; the rest as the engine takes it where nothing is said. `costs`: the share for careful hands, and the
/// fixed cost.
pub fn options(
    n: usize,
    radius_m: f64,
    (slit_m, rod, p_detect, p_false): ProbeTool,
    (reach_m, cell_m, shift_m): Grid,
    (careful, probe_cost): (f64, f64),
) -> ProbePlan {
    ProbePlan {
        slit_m,
        rod,
        p_detect,
        p_false,
        reach_m,
        cell_m,
        shift_m,
        careful,
        probe_cost,
        ..ProbePlan::new(n, radius_m)
    }
}

/// A plan of probes: its rows as columns, the outcomes for every dig as columns, and what else is known of it.
pub fn probes<'py>(py: Python<'py>, site: &Site, digs: &[Dig], plan: &Plan) -> PyResult<Bound<'py, PyDict>> {
    let columns = PyDict::new(py);
    let rows = &plan.rows;
    let numbers = |of: fn(&PlannedProbe) -> f64| rows.iter().map(of).collect::<Vec<f64>>().into_pyarray(py);
    columns.set_item("x_m", numbers(|row| row.at.x))?;
    columns.set_item("y_m", numbers(|row| row.at.y))?;
    let turned = site.y_azimuth_deg();
    let azimuth = |row: &PlannedProbe| row.angle_rad.map(|angle| azimuth_deg(angle, turned, HALF_TURN_DEG));
    let azimuths: Vec<f64> = rows.iter().map(|row| azimuth(row).unwrap_or(f64::NAN)).collect();
    columns.set_item("azimuth_deg", azimuths.into_pyarray(py))?;
    columns.set_item("p_found", numbers(|row| row.p_found))?;
    columns.set_item("p_strike", numbers(|row| row.p_strike))?;
    columns.set_item("gain", numbers(|row| row.gain.loss))?;
    columns.set_item("gain_mcse", numbers(|row| row.gain.error))?;
    columns.set_item("variance_gain", numbers(|row| row.variance_gain.loss))?;
    columns.set_item("variance_gain_mcse", numbers(|row| row.variance_gain.error))?;
    columns.set_item("own_cost", numbers(|row| row.own_cost))?;
    columns.set_item("worth", rows.iter().map(|row| row.worth).collect::<Vec<bool>>().into_pyarray(py))?;
    columns.set_item("information_bits", numbers(|row| row.information_bits))?;
    let changed = |row: &PlannedProbe, of: fn(&After) -> bool| -> Vec<String> {
        row.after.iter().filter(|after| of(after)).map(|after| digs[after.dig].id.clone()).collect()
    };
    let lists = |of: fn(&After) -> bool| rows.iter().map(|row| changed(row, of)).collect::<Vec<_>>();
    columns.set_item("changes_if_found", lists(After::changes_if_found))?;
    columns.set_item("changes_if_clear", lists(After::changes_if_clear))?;
    columns.set_item("unsure_if_found", lists(After::unsure_if_found))?;
    columns.set_item("unsure_if_clear", lists(After::unsure_if_clear))?;
    columns.set_item("decides", rows.iter().map(|row| row.decides.clone()).collect::<Vec<_>>())?;
    let found = PyDict::new(py);
    found.set_item("rows", columns)?;
    found.set_item("outcomes", outcomes(py, digs, plan)?)?;
    found.set_item("tool", rows.first().map(|row| row.probe.tool.name()))?;
    found.set_item("p_detect", rows.first().map(|row| row.probe.p_detect))?;
    found.set_item("loss_before", plan.loss_before)?;
    found.set_item("variance_before", plan.variance_before)?;
    found.set_item("candidates", plan.candidates)?;
    found.set_item("cell_m", plan.cell_m)?;
    found.set_item("depth_m", plan.depth_m)?;
    found.set_item("notes", plan.notes.clone())?;
    Ok(found)
}

/// What becomes of every dig by each probe alone.
fn outcomes<'py>(py: Python<'py>, digs: &[Dig], plan: &Plan) -> PyResult<Bound<'py, PyDict>> {
    let each =
        plan.rows.iter().enumerate().flat_map(|(k, row)| row.after.iter().map(move |after| (k, after)));
    let rows: Vec<(usize, &After)> = each.collect();
    let columns = PyDict::new(py);
    let numbers = |of: fn(&After) -> f64| {
        rows.iter().map(|(_, after)| of(after)).collect::<Vec<f64>>().into_pyarray(py)
    };
    let words = |of: fn(&After) -> &'static str| rows.iter().map(|(_, after)| of(after)).collect::<Vec<_>>();
    let order: Vec<i64> = rows.iter().map(|(k, _)| *k as i64 + 1).collect();
    columns.set_item("probe", order.into_pyarray(py))?;
    columns.set_item("dig", rows.iter().map(|(_, after)| digs[after.dig].id.clone()).collect::<Vec<_>>())?;
    type Of = fn(&After) -> Chance;
    let chances: [(&str, Of); 3] = [
        ("now", |after| after.p_now),
        ("if_found", |after| after.p_if_found),
        ("if_clear", |after| after.p_if_clear),
    ];
    for (when, of) in chances {
        let column = |get: fn(Chance) -> f64| {
            rows.iter().map(|(_, after)| get(of(after))).collect::<Vec<f64>>().into_pyarray(py)
        };
        columns.set_item(format!("p_{when}"), column(|chance| chance.p))?;
        columns.set_item(format!("mcse_{when}"), column(|chance| chance.mcse))?;
    }
    columns.set_item("dx_now_m", numbers(|after| after.to_now.x))?;
    columns.set_item("dy_now_m", numbers(|after| after.to_now.y))?;
    columns.set_item("dx_if_found_m", numbers(|after| after.to_if_found.x))?;
    columns.set_item("dy_if_found_m", numbers(|after| after.to_if_found.y))?;
    columns.set_item("dx_if_clear_m", numbers(|after| after.to_if_clear.x))?;
    columns.set_item("dy_if_clear_m", numbers(|after| after.to_if_clear.y))?;
    columns.set_item("verdict_now", words(|after| after.verdict_now.name()))?;
    columns.set_item("verdict_if_found", words(|after| after.verdict_if_found.name()))?;
    columns.set_item("verdict_if_clear", words(|after| after.verdict_if_clear.name()))?;
    Ok(columns)
}

/// Metres: length of a pass, how far to either side a line is heard, spacing.
pub type PassSize = (f64, f64, f64);

/// Chances that a pass sounds: over a line, and over none.
pub type PassChances = (f64, f64);

/// How passes are made and what they are chosen for.
pub fn sweep_options(
    n: usize,
    by: &str,
    (length_m, reach_m, spacing_m): PassSize,
    (p_detect, p_false): PassChances,
) -> PyResult<SweepOptions> {
    let by = word("by", by, SweepFor::ALL, SweepFor::name)?;
    Ok(SweepOptions { n, by, length_m, reach_m, spacing_m, p_detect, p_false })
}

/// A plan of passes as columns, with what else is known of it. Of the question that a pass settles: its name, one or two lines as
/// the engine counts them, the name of a fixture.
pub fn sweeps<'py>(py: Python<'py>, site: &Site, plan: &SweepPlan) -> PyResult<Bound<'py, PyDict>> {
    let (rows, columns) = (&plan.rows, PyDict::new(py));
    let numbers = |of: fn(&PlannedSweep) -> f64| rows.iter().map(of).collect::<Vec<f64>>().into_pyarray(py);
    columns.set_item("x0_m", numbers(|row| row.ends[0].x))?;
    columns.set_item("y0_m", numbers(|row| row.ends[0].y))?;
    columns.set_item("x1_m", numbers(|row| row.ends[1].x))?;
    columns.set_item("y1_m", numbers(|row| row.ends[1].y))?;
    columns.set_item("p_sounds", numbers(|row| row.p_sounds))?;
    columns.set_item("information_bits", numbers(|row| row.information_bits.loss))?;
    columns.set_item("information_bits_mcse", numbers(|row| row.information_bits.error))?;
    columns.set_item("variance_gain", numbers(|row| row.variance_gain.loss))?;
    columns.set_item("variance_gain_mcse", numbers(|row| row.variance_gain.error))?;
    columns.set_item("settles_bits", numbers(|row| row.settles_bits))?;
    let named = |fixture: usize| {
        let sources = site.sources.iter().map(|it| &it.id);
        let outlets = site.outlets.iter().map(|it| &it.id);
        let boxes = site.valve_boxes.iter().map(|it| &it.id);
        sources.chain(outlets).chain(boxes).nth(fixture).cloned().unwrap_or_default()
    };
    let told = |row: &PlannedSweep| match row.settles {
        Question::RunsHere(line) => ("runs_here", line, 0, String::new()),
        Question::LeadsTo(line, fixture) => ("leads_to", line, 0, named(fixture)),
        Question::AreOne(line, other) => ("are_one", line, other, String::new()),
        Question::IsThere(line) => ("is_there", line, 0, String::new()),
        Question::Metal => ("metal", 0, 0, String::new()),
    };
    let told: Vec<_> = rows.iter().map(told).collect();
    columns.set_item("question", told.iter().map(|it| it.0).collect::<Vec<_>>())?;
    columns.set_item("line", told.iter().map(|it| it.1).collect::<Vec<_>>())?;
    columns.set_item("other", told.iter().map(|it| it.2).collect::<Vec<_>>())?;
    columns.set_item("fixture", told.iter().map(|it| it.3.clone()).collect::<Vec<_>>())?;
    let found = PyDict::new(py);
    found.set_item("rows", columns)?;
    found.set_item("variance_before", plan.variance_before)?;
    found.set_item("candidates", plan.candidates)?;
    found.set_item("notes", plan.notes.clone())?;
    Ok(found)
}

/// A plan of station tests as columns, with its notes.
pub fn stations<'py>(py: Python<'py>, site: &Site, plan: &StationPlan) -> PyResult<Bound<'py, PyDict>> {
    let (rows, columns) = (&plan.rows, PyDict::new(py));
    let numbers = |of: fn(&StationRow) -> f64| rows.iter().map(of).collect::<Vec<f64>>().into_pyarray(py);
    let zones = |row: &StationRow| row.zones.iter().map(|&z| site.zones[z].name.clone()).collect::<Vec<_>>();
    let boxes =
        |row: &StationRow| row.boxes.iter().map(|&b| site.valve_boxes[b].id.clone()).collect::<Vec<_>>();
    let named = |row: &StationRow| row.zones.iter().any(|&z| !site.zones[z].nameless);
    columns.set_item("zones", rows.iter().map(zones).collect::<Vec<_>>())?;
    columns.set_item("boxes", rows.iter().map(boxes).collect::<Vec<_>>())?;
    columns.set_item("named", rows.iter().map(named).collect::<Vec<bool>>())?;
    columns.set_item("information_bits", numbers(|row| row.information_bits))?;
    columns.set_item("gain", numbers(|row| row.gain.loss))?;
    columns.set_item("gain_mcse", numbers(|row| row.gain.error))?;
    columns.set_item("variance_gain", numbers(|row| row.variance_gain.loss))?;
    columns.set_item("variance_gain_mcse", numbers(|row| row.variance_gain.error))?;
    columns.set_item("heads_expected", numbers(|row| row.heads))?;
    let unsure =
        |row: &StationRow| row.unsure.iter().map(|&(h, _)| site.heads[h].id.clone()).collect::<Vec<_>>();
    columns.set_item("unsure_heads", rows.iter().map(unsure).collect::<Vec<_>>())?;
    let found = PyDict::new(py);
    found.set_item("rows", columns)?;
    found.set_item("notes", plan.notes.clone())?;
    Ok(found)
}
