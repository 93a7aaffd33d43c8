//! Pieces of sampled layouts as columns.

use numpy::{IntoPyArray, PyArray1};
use pyo3::prelude::*;
use pyo3::types::PyDict;
use underturf::inference::Layouts;
use underturf::layout::Piece;

/// Every piece of every draw; zone, class and kind as codes.
pub fn columns<'py>(py: Python<'py>, layouts: &Layouts) -> PyResult<Bound<'py, PyDict>> {
    let pieces = layouts.pieces();
    let all = pieces.all();
    let draw = (0..pieces.draws()).flat_map(|k| std::iter::repeat_n(k as i64, pieces.draw(k).len()));
    let columns = PyDict::new(py);
    columns.set_item("draw", draw.collect::<Vec<_>>().into_pyarray(py))?;
    columns.set_item("zone", column(py, all, |piece| i16::try_from(piece.system).unwrap_or(i16::MAX)))?;
    columns.set_item("class", column(py, all, |piece| piece.class as i8))?;
    columns.set_item("kind", column(py, all, |piece| piece.kind as i8))?;
    columns.set_item("x0_m", column(py, all, |piece| piece.a.x))?;
    columns.set_item("y0_m", column(py, all, |piece| piece.a.y))?;
    columns.set_item("x1_m", column(py, all, |piece| piece.b.x))?;
    columns.set_item("y1_m", column(py, all, |piece| piece.b.y))?;
    columns.set_item("cover_m", column(py, all, |piece| f64::from(piece.cover_m)))?;
    columns.set_item("diameter_m", column(py, all, |piece| 2.0 * f64::from(piece.radius_m)))?;
    columns.set_item("wire", column(py, all, |piece| piece.wire))?;
    Ok(columns)
}

fn column<'py, T: numpy::Element>(
    py: Python<'py>,
    pieces: &[Piece],
    of: impl Fn(&Piece) -> T,
) -> Bound<'py, PyArray1<T>> {
    pieces.iter().map(of).collect::<Vec<T>>().into_pyarray(py)
}
