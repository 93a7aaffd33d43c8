//! What a crew stakes out: likely lines and ties, as columns of tables.

use numpy::{IntoPyArray, PyArray1};
use pyo3::prelude::*;
use pyo3::types::PyDict;
use underturf::decision::telling_names;
use underturf::inference::Layouts;
use underturf::site::direction::{HALF_TURN_DEG, azimuth_deg};
use underturf::staking::{LikelyLine, Station, Tie, Ties};

/// Stations of likely lines, one row each; `line` counts from 0.
pub fn lines<'py>(py: Python<'py>, layouts: &Layouts, lines: &[LikelyLine]) -> PyResult<Bound<'py, PyDict>> {
    let rows: Vec<(usize, &LikelyLine, &Station)> = lines
        .iter()
        .enumerate()
        .flat_map(|(k, line)| line.stations.iter().map(move |station| (k, line, station)))
        .collect();
    let names = telling_names(layouts);
    let numbers = |of: &dyn Fn(&LikelyLine, &Station) -> f64| {
        rows.iter().map(|(_, line, station)| of(line, station)).collect::<Vec<_>>().into_pyarray(py)
    };
    let columns = PyDict::new(py);
    columns.set_item("line", rows.iter().map(|(k, ..)| *k as i64).collect::<Vec<_>>().into_pyarray(py))?;
    columns.set_item("class", rows.iter().map(|(_, line, _)| line.class.name()).collect::<Vec<_>>())?;
    columns
        .set_item("zone", rows.iter().map(|(_, line, _)| names[line.system].as_str()).collect::<Vec<_>>())?;
    columns.set_item("zone_share", numbers(&|line, _| line.system_share))?;
    columns.set_item("p_line", numbers(&|line, _| line.chance))?;
    columns.set_item("x_m", numbers(&|_, station| station.at.x))?;
    columns.set_item("y_m", numbers(&|_, station| station.at.y))?;
    columns.set_item("half_width_m", numbers(&|_, station| station.half_width_m))?;
    let turned = layouts.site().y_azimuth_deg();
    columns.set_item(
        "azimuth_deg",
        numbers(&|_, station| azimuth_deg(station.angle_rad, turned, HALF_TURN_DEG)),
    )?;
    columns.set_item("span_m", numbers(&|_, station| station.span_m))?;
    columns.set_item("p_here", numbers(&|_, station| station.chance))?;
    Ok(columns)
}

/// Ties of points: the fixed points (name, x, y), the pairs (two indices and their distance), and one row a point.
pub fn ties<'py>(py: Python<'py>, found: &Ties) -> PyResult<Bound<'py, PyDict>> {
    let result = PyDict::new(py);
    let fixed = found.fixed.iter().map(|point| (point.name.as_str(), point.at.x, point.at.y));
    result.set_item("fixed", fixed.collect::<Vec<_>>())?;
    let pairs = found.pairs.iter().map(|pair| (pair.a, pair.b, pair.length_m));
    result.set_item("pairs", pairs.collect::<Vec<_>>())?;
    let columns = PyDict::new(py);
    columns
        .set_item("pair", found.ties.iter().map(|tie| tie.ok().map(|tie| tie.pair)).collect::<Vec<_>>())?;
    columns.set_item("to_a_m", numbers(py, found, |tie| tie.to_a_m))?;
    columns.set_item("to_b_m", numbers(py, found, |tie| tie.to_b_m))?;
    columns.set_item("along_m", numbers(py, found, |tie| tie.along_m))?;
    columns.set_item("left_m", numbers(py, found, |tie| tie.left_m))?;
    let free = found.ties.iter().map(|tie| tie.is_ok_and(|tie| tie.square_is_free));
    columns.set_item("square_is_free", free.collect::<Vec<_>>().into_pyarray(py))?;
    columns.set_item("error_m", numbers(py, found, |tie| tie.error.greater_m))?;
    columns.set_item("crossing_deg", numbers(py, found, |tie| tie.crossing_deg))?;
    let reasons = found.ties.iter().map(|tie| tie.err().map(underturf::staking::Untied::sentence));
    columns.set_item("refused", reasons.collect::<Vec<_>>())?;
    result.set_item("ties", columns)?;
    Ok(result)
}

fn numbers<'py>(py: Python<'py>, found: &Ties, of: fn(&Tie) -> f64) -> Bound<'py, PyArray1<f64>> {
    found.ties.iter().map(|tie| tie.as_ref().map_or(f64::NAN, of)).collect::<Vec<_>>().into_pyarray(py)
}
