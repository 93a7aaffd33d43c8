//! Diagnostics of Markov chain output: an array in, a dictionary of numbers out.

use crate::errors::{Array, BindingError};
use crate::guard::detached;
use numpy::{PyReadonlyArray2, PyUntypedArrayMethods};
use pyo3::prelude::*;
use pyo3::types::PyDict;
use underturf::mcmc::diagnostics::{Chains, Diagnosis};

/// Diagnostics of one scalar, from draws of shape (chains, draws); NaN where one is undefined.
#[pyfunction]
#[pyo3(signature = (chains: "numpy.typing.NDArray[numpy.float64]"))]
pub fn diagnose<'py>(py: Python<'py>, chains: PyReadonlyArray2<'py, f64>) -> PyResult<Bound<'py, PyDict>> {
    // Arrays that came from another process may be misaligned, and reading those is undefined.
    if !chains.is_aligned() {
        return Err(BindingError::Misaligned(Array::Draws).into());
    }
    let rows: Vec<Vec<f64>> = chains.as_array().rows().into_iter().map(|row| row.to_vec()).collect();
    let found = detached(py, || {
        Chains::new(&rows).map(|chains| Diagnosis::new(&chains)).map_err(BindingError::from)
    })?;
    let numbers = PyDict::new(py);
    numbers.set_item("r_hat", found.r_hat.unwrap_or(f64::NAN))?;
    numbers.set_item("ess_bulk", found.ess_bulk)?;
    numbers.set_item("ess_tail", found.ess_tail)?;
    numbers.set_item("ess_mean", found.ess_mean)?;
    numbers.set_item("mcse_mean", found.mcse_mean)?;
    numbers.set_item("mcse_sd", found.mcse_sd.unwrap_or(f64::NAN))?;
    Ok(numbers)
}
