//! Decisions as columns of a table: rankings, what stands against trees, and the published tables behind them.

use crate::errors::BindingError;
use crate::guard::detached;
use crate::strike::place_of;
use crate::words::word;
use numpy::{IntoPyArray, PyArray1};
use pyo3::prelude::*;
use pyo3::types::PyDict;
use underturf::class::Class;
use underturf::decision::{
    By, Known, MACHINE, Pair, PlaceOptions, Ranked, Ranking, TreeConflict, TreeRules, Weights, Within,
    combined_stem_m, critical_root_zone_m, root_protection_m,
};
use underturf::planting::{
    BallTable, RootBall, Setback, TableError, root_ball_of_caliper, root_ball_of_container,
};
use underturf::site::{Dig, Plant, Site};

/// Consequence weights as Python gives them: names with numbers.
pub type Given = Vec<(String, f64)>;

/// The shipped weights with these replaced.
pub fn weights(given: &Given) -> PyResult<Weights> {
    Ok(Weights::with(given.iter().map(|(name, weight)| (name.as_str(), *weight)))
        .map_err(BindingError::from)?)
}

/// The setback of that name.
pub fn setback(name: &str) -> PyResult<Setback> {
    let known = || Setback::ALL.map(|row| row.name).to_vec();
    let refused = || BindingError::NoSuchName { what: "setback", name: name.to_owned(), known: known() };
    Ok(Setback::named(name).ok_or_else(refused)?)
}

/// What trees ask of their places: the setback for all and the greatest chance of a line within it.
pub fn rules((name, setback_limit): (&str, f64)) -> PyResult<TreeRules> {
    Ok(TreeRules { setback: setback(name)?, setback_limit, ..TreeRules::default() })
}

/// Where a dig may go instead, and by what a place is judged.
pub fn places(
    weights: &Given,
    (name, limit): &(String, f64),
    reach_m: f64,
    cell_m: f64,
) -> PyResult<PlaceOptions> {
    let rules = rules((name, *limit))?;
    Ok(PlaceOptions { weights: self::weights(weights)?, rules, reach_m, cell_m })
}

/// The order of that name.
pub fn by(name: &str) -> PyResult<By> {
    word("by", name, By::ALL, By::name)
}

/// A column of numbers.
pub fn column<'py, T>(py: Python<'py>, rows: &[T], of: impl Fn(&T) -> f64) -> Bound<'py, PyArray1<f64>> {
    rows.iter().map(of).collect::<Vec<_>>().into_pyarray(py)
}

/// A ranking as columns.
pub fn ranking<'py>(py: Python<'py>, digs: &[Dig], found: &Ranking) -> PyResult<Bound<'py, PyDict>> {
    let (rows, columns) = (&found.rows, PyDict::new(py));
    let name = |dig: usize| digs[dig].id.clone();
    let numbers = |of: fn(&Ranked) -> f64| column(py, rows, of);
    let pairs = |of: fn(&Pair) -> f64| column(py, rows, |row| row.next.as_ref().map_or(f64::NAN, of));
    columns.set_item("dig", rows.iter().map(|row| name(row.dig)).collect::<Vec<_>>())?;
    let ranks: Vec<i64> = rows.iter().map(|row| row.rank as i64).collect();
    columns.set_item("rank", ranks.into_pyarray(py))?;
    columns.set_item("p_strike", numbers(|row| row.p.loss.min(1.0 - 1e-9)))?;
    columns.set_item("mcse", numbers(|row| row.p.error))?;
    columns.set_item("loss", numbers(|row| row.loss.loss))?;
    columns.set_item("loss_mcse", numbers(|row| row.loss.error))?;
    columns.set_item("gap_to_next", pairs(|pair| pair.difference))?;
    columns.set_item("gap_mcse", pairs(|pair| pair.error))?;
    let distinct = |row: &Ranked| row.next.as_ref().map(|pair| pair.distinct);
    columns.set_item("distinct_from_next", rows.iter().map(distinct).collect::<Vec<_>>())?;
    columns.set_item("draws_needed", pairs(|pair| pair.draws_needed))?;
    let tied = |row: &Ranked| row.tied_with.iter().map(|&dig| name(dig)).collect::<Vec<_>>();
    columns.set_item("tied_with", rows.iter().map(tied).collect::<Vec<_>>())?;
    let is = |known: Known| rows.iter().map(|row| row.known == Some(known)).collect::<Vec<bool>>();
    columns.set_item("in_tolerance_zone", is(Known::ToleranceZone).into_pyarray(py))?;
    columns.set_item("on_flagged_metal", is(Known::FlaggedMetal).into_pyarray(py))?;
    columns.set_item(
        "blocked_by",
        rows.iter().map(|row| row.bar.map_or_else(String::new, place_of)).collect::<Vec<_>>(),
    )?;
    columns.set_item("draws", found.draws)?;
    columns.set_item("converged", found.converged)?;
    columns.set_item("distinct", found.is_distinct())?;
    Ok(columns)
}

/// The hole that a tree needs, metres: width and depth; none where the tables do not tell.
pub fn needed(plant: &Plant) -> Option<(f64, f64)> {
    plant.hole()?.ok().map(|ball| (ball.hole_width_m, ball.hole_depth_m))
}

/// The lines within one of a tree's distances.
type Reach = fn(&TreeConflict) -> Option<&Within>;

/// What stands against trees, as columns; digs without a tree are left out.
pub fn conflicts<'py, 'a>(
    py: Python<'py>,
    site: &Site,
    digs: &[Dig],
    found: impl Iterator<Item = Option<&'a TreeConflict>>,
) -> PyResult<Bound<'py, PyDict>> {
    let rows: Vec<(&Dig, &TreeConflict)> =
        digs.iter().zip(found).filter_map(|(dig, found)| Some((dig, found?))).collect();
    let columns = PyDict::new(py);
    columns.set_item("dig", rows.iter().map(|(dig, _)| dig.id.clone()).collect::<Vec<_>>())?;
    let parts: [(&str, Reach); 2] =
        [("setback", |tree| tree.setback.as_ref()), ("roots", |tree| tree.roots.as_ref())];
    for (name, of) in parts {
        let number = |get: &dyn Fn(&Within) -> Option<f64>| {
            column(py, &rows, |(_, tree)| of(tree).and_then(get).unwrap_or(f64::NAN))
        };
        columns
            .set_item(format!("{name}_m"), number(&|within| Some(within.radius_m).filter(|r| *r > 0.0)))?;
        columns.set_item(format!("p_{name}"), number(&|within| Some(within.any?.p)))?;
        columns.set_item(format!("mcse_{name}"), number(&|within| Some(within.any?.mcse)))?;
        for class in Class::ALL {
            let chance = |within: &Within| within.by_class[class as usize];
            columns.set_item(format!("p_{name}_{}", class.name()), number(&|w| Some(chance(w)?.p)))?;
            columns.set_item(format!("mcse_{name}_{}", class.name()), number(&|w| Some(chance(w)?.mcse)))?;
        }
    }
    let number = |of: fn(&TreeConflict) -> Option<f64>| column(py, &rows, |(_, t)| of(t).unwrap_or(f64::NAN));
    let flag = |of: fn(&TreeConflict) -> bool| {
        rows.iter().map(|(_, tree)| of(tree)).collect::<Vec<bool>>().into_pyarray(py)
    };
    let word = |of: &dyn Fn(&TreeConflict) -> Option<String>| {
        rows.iter().map(|(_, tree)| of(tree)).collect::<Vec<Option<String>>>()
    };
    columns
        .set_item("structure", word(&|tree| Some(site.obstacles[tree.structure?.obstacle].place.clone())))?;
    columns.set_item("structure_m", number(|tree| Some(tree.structure?.distance_m)))?;
    columns.set_item("structure_in_setback", flag(|tree| tree.structure_in_setback))?;
    columns.set_item("structure_in_roots", flag(|tree| tree.structure_in_roots))?;
    columns.set_item("meter_m", number(|tree| tree.meter_m))?;
    columns.set_item("meter_in_setback", flag(|tree| tree.meter_in_setback))?;
    columns.set_item("hole_width_m", number(|tree| Some(hole_m(tree.hole.as_ref(), |b| b.hole_width_m))))?;
    columns.set_item("hole_depth_m", number(|tree| Some(hole_m(tree.hole.as_ref(), |b| b.hole_depth_m))))?;
    columns.set_item("hole_too_small", flag(|tree| tree.hole_too_small))?;
    columns.set_item("hole_source", word(&|tree| hole_source(tree.hole.as_ref())))?;
    Ok(columns)
}

/// A hole that a ball needs, or why the tables do not tell.
type Hole<'a> = Option<&'a Result<RootBall, TableError>>;

/// A length of the hole that a ball needs, metres; NaN where the tables do not tell.
pub fn hole_m(hole: Hole<'_>, of: fn(&RootBall) -> f64) -> f64 {
    hole.and_then(|hole| hole.as_ref().ok()).map_or(f64::NAN, of)
}

/// Where that hole comes from, or why the tables do not tell.
pub fn hole_source(hole: Hole<'_>) -> Option<String> {
    hole.map(|hole| hole.as_ref().map_or_else(ToString::to_string, |ball| ball.source.clone()))
}

/// Root ball and hole by caliper in inches or container number, of which one is given.
#[pyfunction]
pub fn root_ball<'py>(
    py: Python<'py>,
    caliper_in: Option<f64>,
    container: Option<f64>,
    table: Option<&str>,
    width_factor: f64,
) -> PyResult<Bound<'py, PyDict>> {
    let named = |name: &str| {
        let known = BallTable::ALL.map(BallTable::name).to_vec();
        let found = BallTable::ALL.into_iter().find(|table| table.name() == name);
        found.ok_or(BindingError::NoSuchName { what: "table", name: name.to_owned(), known })
    };
    let table = table.map(named).transpose()?;
    let ball = match (caliper_in, container) {
        (Some(caliper), None) => {
            root_ball_of_caliper(caliper, table.unwrap_or(BallTable::ShadeTree), width_factor)
        }
        (None, Some(number)) => root_ball_of_container(number, table, width_factor),
        _ => return Err(BindingError::NotOneOf(&["caliper_in", "container_gal"]).into()),
    };
    let ball = ball.map_err(BindingError::from)?;
    let found = PyDict::new(py);
    found.set_item("caliper_in", ball.caliper_in)?;
    found.set_item("ball_diameter_m", ball.ball_diameter_m)?;
    found.set_item("ball_depth_m", ball.ball_depth_m)?;
    found.set_item("hole_width_m", ball.hole_width_m)?;
    found.set_item("hole_depth_m", ball.hole_depth_m)?;
    found.set_item("interpolated", ball.interpolated)?;
    found.set_item("source", ball.source)?;
    Ok(found)
}

/// Rows of setbacks: name, distance in metres of each class (None: not spoken of), distance from meters, whether small trees
/// are exempt, as published, source.
#[pyfunction]
#[allow(clippy::type_complexity)] // a row of a table
pub fn setbacks() -> Vec<(&'static str, Vec<Option<f64>>, Option<f64>, bool, &'static str, &'static str)> {
    let row = |row: &Setback| {
        let lines = Class::ALL.map(|class| row.line_m(class)).to_vec();
        (row.name, lines, row.meter_m(), row.exempts_small, row.published, row.source)
    };
    Setback::ALL.iter().map(row).collect()
}

/// The shipped consequence weights by name, the factor for machines last.
#[pyfunction]
pub fn default_weights() -> Vec<(&'static str, f64)> {
    let shipped = Weights::default();
    let classes = Class::ALL.into_iter().map(|class| (class.name(), shipped.by_class[class as usize]));
    classes.chain([(MACHINE, shipped.machine)]).collect()
}

/// Radius of a root protection area, metres.
#[pyfunction]
pub fn root_protection(py: Python<'_>, stem_diameter_m: f64) -> PyResult<f64> {
    detached(py, || root_protection_m(stem_diameter_m).map_err(BindingError::from))
}

/// Diameter of the one stem that stands for several, metres.
#[pyfunction]
pub fn combined_stem(py: Python<'_>, stems_m: Vec<f64>) -> PyResult<f64> {
    detached(py, || combined_stem_m(&stems_m).map_err(BindingError::from))
}

/// Radius of a critical root zone, metres.
#[pyfunction]
pub fn critical_root_zone(py: Python<'_>, stem_diameter_m: f64, feet_per_inch: f64) -> PyResult<f64> {
    detached(py, || critical_root_zone_m(stem_diameter_m, feet_per_inch).map_err(BindingError::from))
}
