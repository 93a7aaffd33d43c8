//! Strike maps as arrays.

use numpy::{IntoPyArray, PyArray2};
use pyo3::prelude::*;
use underturf::decision::StrikeMap;

/// A strike map; row 0 is the north edge.
#[pyclass(name = "StrikeMap", frozen, module = "underturf._core")]
pub struct PyStrikeMap {
    map: StrikeMap,
    classes: Vec<&'static str>,
}

#[pymethods]
impl PyStrikeMap {
    #[getter]
    fn p<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray2<f64>> {
        self.map.p.clone().into_pyarray(py)
    }

    #[getter]
    fn mcse<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray2<f64>> {
        self.map.mcse.clone().into_pyarray(py)
    }

    #[getter]
    fn upper<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray2<f64>> {
        self.map.upper.clone().into_pyarray(py)
    }

    #[getter]
    fn in_tolerance_zone<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray2<bool>> {
        self.map.in_tolerance_zone.clone().into_pyarray(py)
    }

    /// x of the west edge of the grid, metres.
    #[getter]
    fn x0_m(&self) -> f64 {
        self.map.grid.x0 - 0.5 * self.map.grid.cell_m
    }

    /// y of the south edge of the grid, metres.
    #[getter]
    fn y0_m(&self) -> f64 {
        self.map.grid.y0 - 0.5 * self.map.grid.cell_m
    }

    #[getter]
    fn cell_m(&self) -> f64 {
        self.map.grid.cell_m
    }

    #[getter]
    fn classes(&self) -> Vec<&'static str> {
        self.classes.clone()
    }
}

impl PyStrikeMap {
    pub fn wrap(map: StrikeMap, classes: Vec<&'static str>) -> Self {
        Self { map, classes }
    }
}
