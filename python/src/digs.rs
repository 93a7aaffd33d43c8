//! Digs: made in Python in metres, checked by the same rules as those of a document.

use crate::decisions::needed;
use crate::errors::{Array, BindingError};
use crate::guard::detached;
use numpy::{IntoPyArray, PyArray2, PyReadonlyArray2, PyUntypedArrayMethods, ndarray::Array2};
use pyo3::prelude::*;
use underturf::site::document::{DigEntry, Method, PlantEntry, PlantTable, TreeSize, Vigour};
use underturf::site::spelling::folded;
use underturf::site::{Dig, DigShape, Document, Site, Units};

/// A tree as Python hands it over: size, vigour, caliper in metres, container, root radius in metres, name of its setback.
pub type TreeParts = (String, Option<String>, Option<f64>, Option<f64>, Option<f64>, Option<String>);

/// A footprint and a depth, in metres.
#[pyclass(name = "Dig", module = "underturf._core", frozen)]
pub struct PyDig(pub Dig);

#[pymethods]
impl PyDig {
    /// A round hole.
    #[staticmethod]
    #[pyo3(signature = (x_m, y_m, radius_m, depth_m, id, method, tree=None))]
    #[allow(clippy::too_many_arguments)] // the arguments of the Python call
    fn hole(
        py: Python<'_>,
        x_m: f64,
        y_m: f64,
        radius_m: f64,
        depth_m: f64,
        id: String,
        method: &str,
        tree: Option<TreeParts>,
    ) -> PyResult<Self> {
        let entry = DigEntry {
            x: Some(x_m),
            y: Some(y_m),
            radius: Some(radius_m),
            ..empty(id, depth_m, method, tree)?
        };
        checked(py, entry)
    }

    /// A pit of any outline.
    #[staticmethod]
    #[pyo3(signature = (outline_m: "numpy.typing.NDArray[numpy.float64]", depth_m, id, method, tree=None))]
    fn pit(
        py: Python<'_>,
        outline_m: PyReadonlyArray2<'_, f64>,
        depth_m: f64,
        id: String,
        method: &str,
        tree: Option<TreeParts>,
    ) -> PyResult<Self> {
        let entry = DigEntry { outline: Some(points(&outline_m)?), ..empty(id, depth_m, method, tree)? };
        checked(py, entry)
    }

    /// A trench along a line.
    #[staticmethod]
    #[pyo3(signature = (path_m: "numpy.typing.NDArray[numpy.float64]", width_m, depth_m, id, method, tree=None))]
    fn trench(
        py: Python<'_>,
        path_m: PyReadonlyArray2<'_, f64>,
        width_m: f64,
        depth_m: f64,
        id: String,
        method: &str,
        tree: Option<TreeParts>,
    ) -> PyResult<Self> {
        let path = Some(points(&path_m)?);
        checked(py, DigEntry { path, width: Some(width_m), ..empty(id, depth_m, method, tree)? })
    }

    #[getter]
    fn id(&self) -> &str {
        &self.0.id
    }

    #[getter]
    fn kind(&self) -> &'static str {
        match self.0.shape {
            DigShape::Disc { .. } => "hole",
            DigShape::Trench { .. } => "trench",
            DigShape::Pit { .. } => "pit",
        }
    }

    #[getter]
    fn depth_m(&self) -> f64 {
        self.0.depth_m
    }

    #[getter]
    fn method(&self) -> &'static str {
        self.0.method.name()
    }

    /// The tree it is dug for, as it is handed over.
    #[getter]
    fn tree(&self) -> Option<TreeParts> {
        let plant = self.0.tree?;
        let size = plant.size.name().to_owned();
        let vigour = Some(plant.vigour.name().to_owned());
        let setback = plant.setback.map(|setback| setback.name.to_owned());
        Some((size, vigour, plant.caliper_m, plant.container, plant.root_radius_m, setback))
    }

    /// The dig as it was drawn, where the ball of its tree needs a larger hole than that; none where it is dug as drawn.
    #[getter]
    fn drawn(&self) -> Option<PyDig> {
        self.0.drawn.is_some().then(|| PyDig(self.0.as_drawn()))
    }

    /// Width and depth of the hole that the ball of its tree needs, metres; none without a tree, or where tables do not tell.
    #[getter]
    fn needed_m(&self) -> Option<(f64, f64)> {
        self.0.tree.as_ref().and_then(needed)
    }

    /// Radius of a hole, half the width of a trench, zero for a pit.
    #[getter]
    fn half_width_m(&self) -> f64 {
        match &self.0.shape {
            DigShape::Disc { radius_m, .. } => *radius_m,
            DigShape::Trench { width_m, .. } => width_m / 2.0,
            DigShape::Pit { .. } => 0.0,
        }
    }

    /// Centre, middle line or corners, shape (n, 2).
    #[getter]
    fn points_m<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray2<f64>> {
        let points = match &self.0.shape {
            DigShape::Disc { centre, .. } => std::slice::from_ref(centre),
            DigShape::Trench { path, .. } => path,
            DigShape::Pit { outline } => &outline.ring,
        };
        Array2::from_shape_fn(
            (points.len(), 2),
            |(k, axis)| if axis == 0 { points[k].x } else { points[k].y },
        )
        .into_pyarray(py)
    }
}

/// Who digs, by that word.
pub fn method_of(word: &str) -> PyResult<Method> {
    let refused = || BindingError::NoSuchMethod {
        word: word.to_owned(),
        known: Method::ALL.map(Method::name).to_vec(),
    };
    Ok(Method::ALL.into_iter().find(|method| method.name() == word).ok_or_else(refused)?)
}

/// An entry without a shape yet.
fn empty(id: String, depth: f64, method: &str, tree: Option<TreeParts>) -> PyResult<DigEntry> {
    let method = method_of(method)?;
    Ok(DigEntry {
        id: Some(folded(&id)),
        x: None,
        y: None,
        radius: None,
        path: None,
        width: None,
        outline: None,
        depth,
        method: Some(method),
        tree: tree.map(plant).transpose()?,
    })
}

/// A tree, its words checked together; its numbers are checked with the dig.
fn plant((size, vigour, caliper, container, root_radius, setback): TreeParts) -> PyResult<PlantEntry> {
    let known = TreeSize::ALL.into_iter().find(|known| known.name() == size);
    let strength = vigour.as_deref().map(|word| Vigour::ALL.into_iter().find(|known| known.name() == word));
    let mut faults = Vec::new();
    if known.is_none() {
        faults.push(("size", size.clone(), TreeSize::ALL.map(TreeSize::name).to_vec()));
    }
    if let (Some(word), Some(None)) = (&vigour, strength) {
        faults.push(("vigour", word.clone(), Vigour::ALL.map(Vigour::name).to_vec()));
    }
    let Some(size) = known.filter(|_| faults.is_empty()) else {
        return Err(BindingError::NoSuchTree(faults).into());
    };
    Ok(PlantEntry::Table(PlantTable {
        size,
        vigour: strength.flatten(),
        caliper,
        container,
        root_radius,
        setback,
    }))
}

/// The dig, once a document that holds nothing else has passed every check.
fn checked(py: Python<'_>, entry: DigEntry) -> PyResult<PyDig> {
    detached(py, || {
        let document = Document { digs: vec![entry], ..Document::new(Units::Metres) };
        let site = Site::new(document).map_err(BindingError::Dig)?;
        let dig = site.digs.into_iter().next().expect("a document of one dig makes a site of one dig");
        Ok::<_, BindingError>(PyDig(dig))
    })
}

/// The rows of an (n, 2) array. Arrays that came from another process may be misaligned, and reading those is
/// undefined: the Python face aligns them, this refuses what did not pass through it.
fn points(array: &PyReadonlyArray2<'_, f64>) -> PyResult<Vec<[f64; 2]>> {
    if !array.is_aligned() {
        return Err(BindingError::Misaligned(Array::Points).into());
    }
    let view = array.as_array();
    if view.ncols() != 2 {
        return Err(BindingError::Columns(view.ncols()).into());
    }
    Ok(view.rows().into_iter().map(|row| [row[0], row[1]]).collect())
}

/// These digs as the engine takes them.
pub fn owned(digs: &[PyRef<'_, PyDig>]) -> Vec<Dig> {
    digs.iter().map(|dig| dig.0.clone()).collect()
}
