//! Unknown zones as Python sees them: how the chains went, which zones there are, and the zone of every head by draw.

use numpy::ndarray::Array2;
use numpy::{IntoPyArray, PyArray1, PyArray2};
use pyo3::prelude::*;
use pyo3::types::PyDict;
use std::collections::HashSet;
use underturf::decision;
use underturf::inference::{Convergence, Layouts, Watched};
use underturf::mcmc::diagnostics::{Kind, Row};

/// A convergence as a dictionary; what is undefined is NaN in columns and None elsewhere.
pub fn convergence<'py>(py: Python<'py>, of: &Convergence) -> PyResult<Bound<'py, PyDict>> {
    let found = PyDict::new(py);
    found.set_item("failures", of.checked.failures.iter().map(ToString::to_string).collect::<Vec<_>>())?;
    found.set_item("diagnostics", diagnostics(py, of)?)?;
    found.set_item("moves", moves(py, of)?)?;
    found.set_item("chains", of.watched.iter().map(|watched| matrix(py, watched)).collect::<Vec<_>>())?;
    found.set_item("sweeps", of.sweeps)?;
    found.set_item("betas", of.betas.clone())?;
    found.set_item("barrier", of.barrier)?;
    found.set_item("round_trips", of.round_trips)?;
    found.set_item("zoning_ess", of.zoning_ess)?;
    found.set_item("tree_ess", of.tree_ess)?;
    found.set_item("efficiency", of.efficiency())?;
    Ok(found)
}

/// One row for each quantity that was watched, as columns.
fn diagnostics<'py>(py: Python<'py>, of: &Convergence) -> PyResult<Bound<'py, PyDict>> {
    let (rows, columns) = (&of.checked.rows, PyDict::new(py));
    let failed: HashSet<&str> = of.checked.failures.iter().map(|failure| failure.quantity()).collect();
    let numbers =
        |of: fn(&Row) -> Option<f64>| rows.iter().map(|row| of(row).unwrap_or(f64::NAN)).collect::<Vec<_>>();
    columns.set_item("quantity", rows.iter().map(|row| row.name.as_str()).collect::<Vec<_>>())?;
    columns.set_item("kind", rows.iter().map(|row| kind(row.kind)).collect::<Vec<_>>())?;
    columns.set_item("mean", numbers(|row| Some(row.mean)).into_pyarray(py))?;
    columns.set_item("mcse", numbers(|row| row.mcse).into_pyarray(py))?;
    columns.set_item("r_hat", numbers(|row| row.r_hat).into_pyarray(py))?;
    columns.set_item("ess_bulk", numbers(|row| row.ess_bulk).into_pyarray(py))?;
    columns.set_item("ess_tail", numbers(|row| row.ess_tail).into_pyarray(py))?;
    let passed: Vec<bool> = rows.iter().map(|row| !failed.contains(row.name.as_str())).collect();
    columns.set_item("passed", passed.into_pyarray(py))?;
    Ok(columns)
}

pub const fn kind(kind: Kind) -> &'static str {
    match kind {
        Kind::Scalar => "scalar",
        Kind::Probability => "probability",
    }
}

/// Proposals of each kind, tried and made, as columns.
fn moves<'py>(py: Python<'py>, of: &Convergence) -> PyResult<Bound<'py, PyDict>> {
    let columns = PyDict::new(py);
    columns.set_item("move", of.moves.iter().map(|moved| moved.name.clone()).collect::<Vec<_>>())?;
    columns
        .set_item("tried", of.moves.iter().map(|moved| moved.tried).collect::<Vec<_>>().into_pyarray(py))?;
    columns.set_item("made", of.moves.iter().map(|moved| moved.made).collect::<Vec<_>>().into_pyarray(py))?;
    Ok(columns)
}

/// Draws of one quantity, shape (chains, draws).
pub fn matrix<'py>(py: Python<'py>, watched: &Watched) -> Bound<'py, PyArray2<f64>> {
    let length = watched.chains.first().map_or(0, Vec::len);
    Array2::from_shape_fn((watched.chains.len(), length), |(chain, draw)| watched.chains[chain][draw])
        .into_pyarray(py)
}

/// The zone of every head in each zoning, shape (zonings, heads), and the shares of these.
#[cfg(feature = "test-hooks")]
pub fn zonings<'py>(
    py: Python<'py>,
    layouts: &Layouts,
) -> (Bound<'py, PyArray2<i64>>, Bound<'py, PyArray1<f64>>) {
    let (zonings, heads) = (layouts.zonings(), layouts.site().heads.len());
    let zone_of = Array2::from_shape_fn((zonings.len(), heads), |(k, head)| zonings[k][head] as i64);
    (zone_of.into_pyarray(py), layouts.zoning_shares().to_vec().into_pyarray(py))
}

/// Names of zones that cannot be told apart, two or more each.
pub fn exchangeable(layouts: &Layouts) -> Vec<Vec<String>> {
    let zones = &layouts.site().zones;
    let names = |alike: Vec<usize>| alike.into_iter().map(|zone| zones[zone].name.clone()).collect();
    decision::exchangeable_zones(layouts.site()).into_iter().map(names).collect()
}

/// A square or oblong of chances, one row a head.
pub fn chances<'py>(py: Python<'py>, rows: &[Vec<f64>], columns: usize) -> Bound<'py, PyArray2<f64>> {
    Array2::from_shape_fn((rows.len(), columns), |(row, column)| rows[row][column]).into_pyarray(py)
}

/// For each head, the name of its group and how sure it is in it.
pub fn groups<'py>(py: Python<'py>, layouts: &Layouts) -> (Vec<String>, Bound<'py, PyArray1<f64>>) {
    let found = decision::likely_groups(layouts);
    (found.names, found.probability.into_pyarray(py))
}
