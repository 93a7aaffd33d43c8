//! Sites: read from text, written back, asked for their digs.

use crate::digs::PyDig;
use crate::errors::{DigError, InternalError, from_read};
use crate::guard::detached;
use pyo3::prelude::*;
use std::sync::Arc;
use underturf::evidence::Site;
use underturf::io;
use underturf::settings::Settings;

/// A checked site.
#[pyclass(name = "Site", frozen, module = "underturf._core")]
pub struct PySite {
    pub site: Arc<Site>,
}

#[pymethods]
impl PySite {
    #[staticmethod]
    fn from_json(py: Python<'_>, text: &str) -> PyResult<Self> {
        detached(py, || io::parse_json(text).map_err(|error| from_read(&error))).map(Self::wrap)
    }

    #[staticmethod]
    fn from_toml(py: Python<'_>, text: &str) -> PyResult<Self> {
        detached(py, || io::parse_toml(text).map_err(|error| from_read(&error))).map(Self::wrap)
    }

    fn to_json(&self) -> PyResult<String> {
        io::to_json(&self.site.document).map_err(|error| InternalError::new_err(error.to_string()))
    }

    fn to_toml(&self) -> PyResult<String> {
        io::to_toml(&self.site.document).map_err(|error| InternalError::new_err(error.to_string()))
    }

    #[getter]
    fn name(&self) -> Option<String> {
        self.site.name.clone()
    }

    #[getter]
    fn units(&self) -> &'static str {
        self.site.units.name()
    }

    #[getter]
    fn warnings(&self) -> Vec<String> {
        self.site.warning().into_iter().collect()
    }

    fn digs(&self) -> Vec<PyDig> {
        self.site.digs.iter().cloned().map(PyDig::wrap).collect()
    }

    fn dig(&self, name: &str) -> PyResult<PyDig> {
        let found = self.site.digs.iter().find(|dig| dig.id == name).cloned().map(PyDig::wrap);
        found.ok_or_else(|| {
            let known: Vec<&str> = self.site.digs.iter().map(|dig| dig.id.as_str()).collect();
            DigError::new_err(format!("the site has no dig {name:?}; it has {}", known.join(", ")))
        })
    }
}

impl PySite {
    fn wrap(site: Site) -> Self {
        Self { site: Arc::new(site) }
    }
}

/// Name, default, least, greatest, unit and meaning of every setting.
#[pyfunction]
pub fn settings_table() -> Vec<(&'static str, f64, f64, f64, &'static str, &'static str)> {
    Settings::FIELDS.iter().map(|f| (f.name, f.default, f.least, f.greatest, f.unit, f.meaning)).collect()
}
