//! Layouts as columns for files, and back.

use crate::errors::BindingError;
use crate::guard::detached;
use crate::site::PySite;
use numpy::{IntoPyArray, PyReadonlyArray1};
use pyo3::prelude::*;
use pyo3::types::PyDict;
use underturf::inference::{Column, Columns, Layouts, Watched};

/// Every column by its name: an array, or a list of texts.
pub fn kept<'py>(py: Python<'py>, layouts: &Layouts) -> PyResult<Bound<'py, PyDict>> {
    let columns = detached(py, || Ok::<_, BindingError>(layouts.keep()))?;
    let found = PyDict::new(py);
    for (name, column) in columns.iter() {
        match column {
            Column::Float(rows) => found.set_item(name, rows.clone().into_pyarray(py))?,
            Column::Single(rows) => found.set_item(name, rows.clone().into_pyarray(py))?,
            Column::Whole(rows) => found.set_item(name, rows.clone().into_pyarray(py))?,
            Column::Text(rows) => found.set_item(name, rows.clone())?,
        }
    }
    Ok(found)
}

/// Layouts of a site from columns as [`kept`] gives them.
pub fn taken_up(py: Python<'_>, site: &PySite, columns: &Bound<'_, PyDict>) -> PyResult<Layouts> {
    let mut read = Columns::default();
    for (name, column) in columns {
        let name: String = name.extract()?;
        if let Ok(rows) = column.extract::<PyReadonlyArray1<'_, f64>>() {
            read.put(name, rows.as_array().to_vec());
        } else if let Ok(rows) = column.extract::<PyReadonlyArray1<'_, f32>>() {
            read.put(name, rows.as_array().to_vec());
        } else if let Ok(rows) = column.extract::<PyReadonlyArray1<'_, i64>>() {
            read.put(name, rows.as_array().to_vec());
        } else {
            read.put(name, column.extract::<Vec<String>>()?);
        }
    }
    let site = site.0.clone();
    detached(py, || Layouts::take_up(&site, &read).map_err(BindingError::from))
}

/// Numbers of every draw by their names: kind, and an array of shape (chains, draws).
pub fn quantities<'py>(py: Python<'py>, layouts: &Layouts) -> PyResult<Bound<'py, PyDict>> {
    let watched = detached(py, || Ok::<_, BindingError>(layouts.quantities()))?;
    let found = PyDict::new(py);
    for quantity in &watched {
        let Watched { name, kind, .. } = quantity;
        found.set_item(name, (crate::zones::kind(*kind), crate::zones::matrix(py, quantity)))?;
    }
    Ok(found)
}
