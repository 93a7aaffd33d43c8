//! Digs as Python hands them over: checked, in metres.

use crate::errors::DigError;
use numpy::{PyArray2, PyArrayMethods, PyReadonlyArray2, PyUntypedArrayMethods, ToPyArray};
use pyo3::prelude::*;
use underturf::evidence::document::Method;
use underturf::evidence::{Dig, DigShape};
use underturf::geometry::{Point, Polygon};

/// Deepest dig that is believed, metres; the same limit as for documents.
const DEEPEST_M: f64 = 6.0;

/// A proposed dig.
#[pyclass(name = "Dig", frozen, module = "underturf._core")]
pub struct PyDig {
    pub dig: Dig,
}

#[pymethods]
impl PyDig {
    #[staticmethod]
    fn hole(
        x_m: f64,
        y_m: f64,
        radius_m: f64,
        depth_m: f64,
        id: Option<String>,
        method: &str,
    ) -> PyResult<Self> {
        finite(&[("x_m", x_m), ("y_m", y_m)])?;
        positive(&[("radius_m", radius_m)])?;
        Self::new(DigShape::Disc { centre: Point::new(x_m, y_m), radius_m }, depth_m, id, method)
    }

    #[staticmethod]
    fn pit(
        outline_m: PyReadonlyArray2<'_, f64>,
        depth_m: f64,
        id: Option<String>,
        method: &str,
    ) -> PyResult<Self> {
        let ring = points(&outline_m, "outline_m", 3)?;
        let outline = Polygon::new(ring);
        if let Some((first, second)) = outline.crossings_with_itself().first() {
            return Err(DigError::new_err(format!("outline_m crosses itself: edges {first} and {second}")));
        }
        Self::new(DigShape::Pit { outline }, depth_m, id, method)
    }

    #[staticmethod]
    fn trench(
        path_m: PyReadonlyArray2<'_, f64>,
        width_m: f64,
        depth_m: f64,
        id: Option<String>,
        method: &str,
    ) -> PyResult<Self> {
        positive(&[("width_m", width_m)])?;
        let path = points(&path_m, "path_m", 2)?;
        Self::new(DigShape::Trench { path, width_m }, depth_m, id, method)
    }

    #[getter]
    fn id(&self) -> &str {
        &self.dig.id
    }

    #[getter]
    fn kind(&self) -> &'static str {
        match self.dig.shape {
            DigShape::Disc { .. } => "hole",
            DigShape::Trench { .. } => "trench",
            DigShape::Pit { .. } => "pit",
        }
    }

    #[getter]
    fn half_width_m(&self) -> f64 {
        match self.dig.shape {
            DigShape::Disc { radius_m, .. } => radius_m,
            DigShape::Trench { width_m, .. } => 0.5 * width_m,
            DigShape::Pit { .. } => 0.0,
        }
    }

    #[getter]
    fn depth_m(&self) -> f64 {
        self.dig.depth_m
    }

    #[getter]
    fn points_m<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray2<f64>> {
        let points = match &self.dig.shape {
            DigShape::Disc { centre, .. } => vec![*centre],
            DigShape::Trench { path, .. } => path.clone(),
            DigShape::Pit { outline } => outline.ring.clone(),
        };
        let flat: Vec<f64> = points.iter().flat_map(|p| [p.x, p.y]).collect();
        let array = flat.to_pyarray(py).reshape([points.len(), 2]);
        array.expect("n points are 2 n numbers")
    }
}

impl PyDig {
    pub fn wrap(dig: Dig) -> Self {
        Self { dig }
    }

    fn new(shape: DigShape, depth_m: f64, id: Option<String>, method: &str) -> PyResult<Self> {
        positive(&[("depth_m", depth_m)])?;
        if depth_m > DEEPEST_M {
            return Err(DigError::new_err(format!(
                "depth_m is {depth_m}; at most {DEEPEST_M} m is expected"
            )));
        }
        let method = match method {
            "hand" => Method::Hand,
            "machine" => Method::Machine,
            other => return Err(DigError::new_err(format!("method {other:?} is not one of: hand, machine"))),
        };
        Ok(Self {
            dig: Dig { id: id.unwrap_or_else(|| "dig".to_owned()), shape, depth_m, method, tree: None },
        })
    }
}

fn finite(values: &[(&str, f64)]) -> PyResult<()> {
    match values.iter().find(|(_, value)| !value.is_finite()) {
        Some((name, value)) => Err(DigError::new_err(format!("{name} is {value}; it must be finite"))),
        None => Ok(()),
    }
}

fn positive(values: &[(&str, f64)]) -> PyResult<()> {
    finite(values)?;
    match values.iter().find(|(_, value)| *value <= 0.0) {
        Some((name, value)) => Err(DigError::new_err(format!("{name} is {value}; it must be above 0"))),
        None => Ok(()),
    }
}

/// Copies points of shape (n, 2); a misaligned array is refused rather than read.
fn points(array: &PyReadonlyArray2<'_, f64>, name: &str, least: usize) -> PyResult<Vec<Point>> {
    if !array.is_aligned() {
        return Err(DigError::new_err(format!(
            "{name} is not aligned in memory; pass np.require(a, float, ['C', 'A'])"
        )));
    }
    let view = array.as_array();
    if view.ncols() != 2 || view.nrows() < least {
        let shape = view.dim();
        return Err(DigError::new_err(format!(
            "{name} has shape {shape:?}; it must be (n, 2), n at least {least}"
        )));
    }
    let points: Vec<Point> = view.rows().into_iter().map(|row| Point::new(row[0], row[1])).collect();
    match points.iter().find(|p| !(p.x.is_finite() && p.y.is_finite())) {
        Some(p) => Err(DigError::new_err(format!("{name} holds ({}, {}); it must be finite", p.x, p.y))),
        None => Ok(points),
    }
}
