//! Sites: read and written as text; all checks are the engine's.

use crate::digs::PyDig;
use crate::errors::BindingError;
use crate::guard::detached;
use crate::node::node_of;
use crate::stakes;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use std::sync::Arc;
use underturf::geometry::Point;
use underturf::inference;
use underturf::model::house_fed_chances;
use underturf::settings::Settings;
use underturf::site::io::{self, ReadError};
use underturf::site::plausible::{self, Rule};
use underturf::site::spelling::folded;
use underturf::site::{KeepOff, Note, Outlet, Site};
use underturf::staking;

/// A checked site.
#[pyclass(name = "Site", module = "underturf._core", frozen)]
pub struct PySite(pub Arc<Site>);

#[pymethods]
impl PySite {
    /// Reads TOML text.
    #[staticmethod]
    fn from_toml(py: Python<'_>, text: &str) -> PyResult<Self> {
        detached(py, || io::parse_toml(text).map(wrap).map_err(BindingError::from))
    }

    /// Reads JSON text.
    #[staticmethod]
    fn from_json(py: Python<'_>, text: &str) -> PyResult<Self> {
        detached(py, || io::parse_json(text).map(wrap).map_err(BindingError::from))
    }

    /// Reads a document as Python holds it.
    #[staticmethod]
    fn from_object(py: Python<'_>, document: &Bound<'_, PyAny>) -> PyResult<Self> {
        let node = node_of(document)?;
        detached(py, || io::from_node(&node).map(wrap).map_err(ReadError::from).map_err(BindingError::from))
    }

    /// The site with one more probe, given as documents write it.
    fn with_probe(&self, py: Python<'_>, probe: &Bound<'_, PyAny>) -> PyResult<Self> {
        let (node, site) = (node_of(probe)?, &self.0);
        let added = || io::with_probe(site, &node).map(wrap).map_err(ReadError::from);
        detached(py, || added().map_err(BindingError::from))
    }

    /// The document as TOML text.
    fn to_toml(&self, py: Python<'_>) -> PyResult<String> {
        detached(py, || io::to_toml(&self.0.document).map_err(BindingError::from))
    }

    /// The document as JSON text.
    fn to_json(&self, py: Python<'_>) -> PyResult<String> {
        detached(py, || io::to_json(&self.0.document).map_err(BindingError::from))
    }

    /// The document as JSON text, every length a number in the document's unit.
    fn to_plain_json(&self, py: Python<'_>) -> PyResult<String> {
        detached(py, || io::to_plain_json(&self.0.document).map_err(BindingError::from))
    }

    #[getter]
    fn name(&self) -> Option<&str> {
        self.0.name.as_deref()
    }

    #[getter]
    fn units(&self) -> &'static str {
        self.0.units.name()
    }

    #[getter]
    fn unit_m(&self) -> f64 {
        self.0.units.metres_per_unit()
    }

    /// Ground to keep off along flagged metal: its name, paths of its middle in metres, half of its width in metres.
    #[allow(clippy::type_complexity)] // a row of a table
    fn keep_offs(&self) -> Vec<(String, Vec<Vec<(f64, f64)>>, f64)> {
        let at = |p: &Point| (p.x, p.y);
        let row = |it: &KeepOff| {
            let paths = it.paths().iter().map(|path| path.iter().map(at).collect()).collect();
            (it.name.clone(), paths, it.half_width_m)
        };
        self.0.keep_offs.iter().map(row).collect()
    }

    /// Azimuth of the plan's y axis, degrees clockwise from north.
    #[getter]
    fn y_azimuth_deg(&self) -> f64 {
        self.0.y_azimuth_deg()
    }

    /// Half width of the tolerance zone of a mark that names none, metres.
    #[getter]
    fn half_zone_m(&self) -> f64 {
        self.0.settings.tolerance_half_zone_m
    }

    /// Chance that labels and other tests contradict a station test by so much or more, or, if less, that it raised none or
    /// all heads.
    fn chance_of_contradictions(&self, test: usize) -> PyResult<f64> {
        let known = self.0.station_tests.len();
        if test >= known {
            return Err(BindingError::NoSuchNumber { what: "station test", number: test, known }.into());
        }
        Ok(inference::chance_of_contradictions(&self.0, test))
    }

    /// Every sentence about the document.
    #[getter]
    fn warnings(&self) -> Vec<String> {
        inference::warnings(&self.0)
    }

    /// The notes of the document: place, kind, sentence.
    #[getter]
    fn notes(&self) -> Vec<(String, &'static str, String)> {
        let note = |note: &Note| (note.place.clone(), note.what.name(), note.to_string());
        self.0.notes().iter().map(note).collect()
    }

    /// Ties of points to fixed points of the site.
    fn ties<'py>(&self, py: Python<'py>, points_m: Vec<(f64, f64)>) -> PyResult<Bound<'py, PyDict>> {
        let points: Vec<Point> = points_m.into_iter().map(|(x, y)| Point::new(x, y)).collect();
        let found = detached(py, || Ok::<_, BindingError>(staking::ties(&self.0, &points)))?;
        stakes::ties(py, &found)
    }

    /// Where water can be closed: words, metres east, metres north, whether it is at a source.
    fn shut_offs(&self) -> Vec<(String, f64, f64, bool)> {
        let row = |shut: staking::ShutOff| (shut.words, shut.at.x, shut.at.y, shut.of_source);
        staking::shut_offs(&self.0).into_iter().map(row).collect()
    }

    /// Outlets that their building may feed: id, kind, the chance of that before any probe.
    fn house_fed(&self) -> Vec<(String, &'static str, f64)> {
        let outlets = self.0.outlets.iter().zip(house_fed_chances(&self.0));
        let row = |(it, chance): (&Outlet, f64)| (it.id.clone(), it.kind.name(), chance);
        outlets.filter(|(_, chance)| *chance > 0.0).map(row).collect()
    }

    /// The digs that the document proposes.
    fn digs(&self) -> Vec<PyDig> {
        self.0.digs.iter().cloned().map(PyDig).collect()
    }

    /// The dig of that name.
    fn dig(&self, id: &str) -> PyResult<PyDig> {
        let id = folded(id);
        let found = self.0.digs.iter().find(|dig| dig.id == id);
        let known = || self.0.digs.iter().map(|dig| dig.id.clone()).collect();
        Ok(found
            .cloned()
            .map(PyDig)
            .ok_or_else(|| BindingError::NoSuchDig { id: id.clone(), known: known() })?)
    }
}

fn wrap(site: Site) -> PySite {
    PySite(Arc::new(site))
}

/// The table of settings: name, default, least, greatest, unit, meaning.
#[pyfunction]
pub fn settings_table() -> Vec<(&'static str, f64, f64, f64, &'static str, &'static str)> {
    let row = |f: &underturf::settings::Field| (f.name, f.default, f.least, f.greatest, f.unit, f.meaning);
    Settings::FIELDS.iter().map(row).collect()
}

/// A row of the table of plausibility: name, what is asked, least, greatest, unit, whether it refuses, reason.
type RuleRow = (&'static str, &'static str, Option<f64>, Option<f64>, &'static str, bool, &'static str);

/// The table of plausibility.
#[pyfunction]
pub fn plausibility_table() -> Vec<RuleRow> {
    let row = |r: &Rule| (r.name, r.asks, r.least, r.greatest, r.unit, r.refuses, r.reason);
    plausible::RULES.iter().map(row).collect()
}
