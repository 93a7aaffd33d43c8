//! Maps: the engine's arrays move into numpy without a copy.

use crate::errors::BindingError;
use numpy::{IntoPyArray, PyArray2};
use pyo3::prelude::*;
use underturf::class::Class;
use underturf::decision::{Better, DigMap, Shift, StrikeMap};
use underturf::strike::raster::ClassMask;

/// A shift as Python sees it: metres east, metres north, chance and expected loss there, chance of a line within the setback.
pub type ShiftParts = (f64, f64, f64, f64, Option<f64>);

/// One map a dig, with its best shift, and whether the dig should go elsewhere and has nowhere to go.
pub type DigMaps = Vec<(PyStrikeMap, Option<ShiftParts>, bool)>;

/// A map of strike chances; row 0 is north.
#[pyclass(name = "StrikeMap", module = "underturf._core", frozen)]
pub struct PyStrikeMap {
    p: Py<PyArray2<f64>>,
    mcse: Py<PyArray2<f64>>,
    upper: Py<PyArray2<f64>>,
    in_tolerance_zone: Py<PyArray2<bool>>,
    on_flagged_metal: Py<PyArray2<bool>>,
    p_setback: Option<Py<PyArray2<f64>>>,
    /// Centre of the south-west cell, metres east.
    #[pyo3(get)]
    x0_m: f64,
    /// Centre of the south-west cell, metres north.
    #[pyo3(get)]
    y0_m: f64,
    /// Side of a cell, metres.
    #[pyo3(get)]
    cell_m: f64,
}

impl PyStrikeMap {
    pub fn new(py: Python<'_>, map: StrikeMap) -> Self {
        Self {
            p: map.p.into_pyarray(py).unbind(),
            mcse: map.mcse.into_pyarray(py).unbind(),
            upper: map.upper.into_pyarray(py).unbind(),
            in_tolerance_zone: map.in_tolerance_zone.into_pyarray(py).unbind(),
            on_flagged_metal: map.on_flagged_metal.into_pyarray(py).unbind(),
            p_setback: None,
            x0_m: map.grid.x0,
            y0_m: map.grid.y0,
            cell_m: map.grid.cell_m,
        }
    }

    pub fn with_shift(py: Python<'_>, found: DigMap) -> (Self, Option<ShiftParts>, bool) {
        let parts = |Shift { dx_m, dy_m, p, loss, p_setback }| (dx_m, dy_m, p, loss, p_setback);
        let p_setback = found.p_setback.map(|p| p.into_pyarray(py).unbind());
        let map = Self { p_setback, ..Self::new(py, found.map) };
        (map, found.better.shift().map(parts), found.better == Better::Nowhere)
    }
}

#[pymethods]
impl PyStrikeMap {
    #[getter]
    fn p<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray2<f64>> {
        self.p.bind(py).clone()
    }

    #[getter]
    fn mcse<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray2<f64>> {
        self.mcse.bind(py).clone()
    }

    #[getter]
    fn upper<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray2<f64>> {
        self.upper.bind(py).clone()
    }

    #[getter]
    fn on_flagged_metal<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray2<bool>> {
        self.on_flagged_metal.bind(py).clone()
    }

    /// Chance of a line within the setback of the dig's tree; none where none counts.
    #[getter]
    fn p_setback<'py>(&self, py: Python<'py>) -> Option<Bound<'py, PyArray2<f64>>> {
        self.p_setback.as_ref().map(|p| p.bind(py).clone())
    }

    #[getter]
    fn in_tolerance_zone<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray2<bool>> {
        self.in_tolerance_zone.bind(py).clone()
    }
}

/// The set of the classes of those names.
pub fn class_mask(names: &[String]) -> PyResult<ClassMask> {
    let known = || Class::ALL.map(Class::name).to_vec();
    let refused =
        |name: &String| BindingError::NoSuchName { what: "class", name: name.clone(), known: known() };
    let class = |name: &String| Class::from_name(name).ok_or_else(|| refused(name));
    Ok(names.iter().map(class).collect::<Result<_, _>>()?)
}
