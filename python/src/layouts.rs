//! Sampled layouts: drawn, and asked for chances, tables and maps.

use crate::digs::PyDig;
use crate::errors::{ArgumentError, Raised};
use crate::map::PyStrikeMap;
use crate::monitor::{Relay, Run};
use crate::site::PySite;
use numpy::IntoPyArray;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use std::num::NonZeroUsize;
use std::sync::Arc;
use underturf::Error;
use underturf::class::Class;
use underturf::decision::{self, Shift};
use underturf::evidence::Dig;
use underturf::infer::{self, Layouts, SampleOptions};
use underturf::monitor::Monitor;
use underturf::strike::raster::ClassMask;
use underturf::strike::{Form, Strike};

type Progress = Option<Py<PyAny>>;
type DigRef<'py> = PyRef<'py, PyDig>;

impl Monitor for Relay {
    fn tick(&self, done: usize, total: usize) -> bool {
        Relay::tick(self, done, total)
    }
}

/// Sampled layouts.
#[pyclass(name = "Layouts", frozen, module = "underturf._core")]
pub struct PyLayouts {
    layouts: Arc<Layouts>,
}

/// Draws layouts of a site.
#[pyfunction]
#[pyo3(signature = (site, draws, seed, threads=None, progress=None))]
pub fn sample_layouts(
    py: Python<'_>,
    site: &PySite,
    draws: usize,
    seed: u64,
    threads: Option<NonZeroUsize>,
    progress: Progress,
) -> PyResult<PyLayouts> {
    let site = site.site.clone();
    let work = move |relay: &Relay| -> Result<Layouts, Raised> {
        Ok(infer::sample_layouts(&site, &SampleOptions { draws, seed }, relay)?)
    };
    let layouts = Run { threads, progress }.run(py, work)?;
    Ok(PyLayouts { layouts: Arc::new(layouts) })
}

#[pymethods]
impl PyLayouts {
    #[getter]
    fn draws(&self) -> usize {
        self.layouts.draws().len()
    }

    #[getter]
    fn seed(&self) -> u64 {
        self.layouts.seed()
    }

    #[getter]
    fn warnings(&self) -> Vec<String> {
        self.layouts.warnings().to_vec()
    }

    #[getter]
    fn assessed(&self) -> Vec<bool> {
        self.layouts.assessed().to_vec()
    }

    #[getter]
    fn systems(&self) -> Vec<String> {
        self.layouts.systems().iter().map(|system| system.name.clone()).collect()
    }

    /// Columns of all pieces; zone, class and kind as codes.
    fn segments<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let pieces = self.layouts.pieces();
        let all = pieces.all();
        let draw: Vec<i64> =
            (0..pieces.draws()).flat_map(|k| std::iter::repeat_n(k as i64, pieces.draw(k).len())).collect();
        let columns = PyDict::new(py);
        columns.set_item("draw", draw.into_pyarray(py))?;
        let codes = |code: fn(&underturf::layout::Piece) -> i64| all.iter().map(code).collect::<Vec<_>>();
        columns.set_item("zone", codes(|p| i64::from(p.system)).into_pyarray(py))?;
        columns.set_item("class", codes(|p| p.class as i64).into_pyarray(py))?;
        columns.set_item("kind", codes(|p| p.kind as i64).into_pyarray(py))?;
        let numbers =
            |number: fn(&underturf::layout::Piece) -> f64| all.iter().map(number).collect::<Vec<_>>();
        columns.set_item("x0_m", numbers(|p| p.a.x).into_pyarray(py))?;
        columns.set_item("y0_m", numbers(|p| p.a.y).into_pyarray(py))?;
        columns.set_item("x1_m", numbers(|p| p.b.x).into_pyarray(py))?;
        columns.set_item("y1_m", numbers(|p| p.b.y).into_pyarray(py))?;
        columns.set_item("cover_m", numbers(|p| f64::from(p.cover_m)).into_pyarray(py))?;
        columns.set_item("diameter_m", numbers(|p| 2.0 * f64::from(p.radius_m)).into_pyarray(py))?;
        Ok(columns)
    }

    #[pyo3(signature = (digs, form, threads=None, progress=None))]
    fn strike<'py>(
        &self,
        py: Python<'py>,
        digs: Vec<DigRef<'py>>,
        form: &str,
        threads: Option<NonZeroUsize>,
        progress: Progress,
    ) -> PyResult<Bound<'py, PyDict>> {
        let form = match form {
            "auto" => Form::Auto,
            "general" => Form::General,
            "determinant" => Form::Determinant,
            other => {
                let message = format!("form {other:?} is not one of: auto, general, determinant");
                return Err(ArgumentError::new_err(message));
            }
        };
        let digs = owned(&digs);
        let strikes = self.run(py, threads, progress, |layouts, relay| {
            decision::strike_probability(layouts, &digs, form, relay)
        })?;
        let columns = PyDict::new(py);
        columns.set_item("dig", names(&digs))?;
        chances(&columns, &strikes.iter().collect::<Vec<_>>(), true)?;
        columns.set_item("form", strikes.iter().map(|strike| strike.form.name()).collect::<Vec<_>>())?;
        Ok(columns)
    }

    #[pyo3(signature = (digs, threads=None, progress=None))]
    fn assess<'py>(
        &self,
        py: Python<'py>,
        digs: Vec<DigRef<'py>>,
        threads: Option<NonZeroUsize>,
        progress: Progress,
    ) -> PyResult<Bound<'py, PyDict>> {
        let digs = owned(&digs);
        let found =
            self.run(py, threads, progress, |layouts, relay| decision::assess(layouts, &digs, relay))?;
        let columns = PyDict::new(py);
        columns.set_item("dig", names(&digs))?;
        chances(&columns, &found.iter().map(|a| &a.strike).collect::<Vec<_>>(), false)?;
        let systems = self.layouts.systems();
        let nearest = |of: &dyn Fn(&decision::Nearest) -> String| -> Vec<Option<String>> {
            found.iter().map(|a| a.nearest.as_ref().map(of)).collect()
        };
        columns.set_item("nearest_class", nearest(&|n| systems[n.system].class.name().to_owned()))?;
        columns.set_item("nearest_zone", nearest(&|n| systems[n.system].name.clone()))?;
        let number = |of: &dyn Fn(&decision::Assessment) -> Option<f64>| -> Vec<f64> {
            found.iter().map(|a| of(a).unwrap_or(f64::NAN)).collect()
        };
        columns
            .set_item("nearest_m", number(&|a| a.nearest.as_ref().map(|n| n.distance_m)).into_pyarray(py))?;
        let mark_class: Vec<Option<&str>> =
            found.iter().map(|a| a.marks.first().map(|m| m.class.name())).collect();
        columns.set_item("mark_class", mark_class)?;
        columns.set_item("mark_m", number(&|a| a.marks.first().map(|m| m.distance_m)).into_pyarray(py))?;
        columns.set_item(
            "mark_half_zone_m",
            number(&|a| a.marks.first().map(|m| m.half_zone_m)).into_pyarray(py),
        )?;
        let inside: Vec<bool> = found.iter().map(|a| a.marks.iter().any(|mark| mark.inside)).collect();
        columns.set_item("in_tolerance_zone", inside.into_pyarray(py))?;
        let shift = |of: fn(&Shift) -> f64| number(&move |a| a.shift.as_ref().map(of));
        columns.set_item("shift_dx_m", shift(|s| s.dx_m).into_pyarray(py))?;
        columns.set_item("shift_dy_m", shift(|s| s.dy_m).into_pyarray(py))?;
        columns.set_item("shift_m", shift(distance).into_pyarray(py))?;
        columns.set_item("shift_bearing_deg", shift(bearing_deg).into_pyarray(py))?;
        columns.set_item("p_shifted", shift(|s| s.p).into_pyarray(py))?;
        columns.set_item("verdict", found.iter().map(|a| a.verdict.sentence()).collect::<Vec<_>>())?;
        Ok(columns)
    }

    #[pyo3(signature = (radius_m, depth_m, cell_m, classes=None, threads=None, progress=None))]
    #[allow(clippy::too_many_arguments)] // one for each argument of the Python method
    fn strike_map(
        &self,
        py: Python<'_>,
        radius_m: f64,
        depth_m: f64,
        cell_m: f64,
        classes: Option<Vec<String>>,
        threads: Option<NonZeroUsize>,
        progress: Progress,
    ) -> PyResult<PyStrikeMap> {
        let chosen: Vec<Class> = match &classes {
            None => Class::ALL.into_iter().collect(),
            Some(names) => names.iter().filter_map(|name| Class::from_name(name)).collect(),
        };
        let assessed = self.layouts.assessed();
        if classes.is_some()
            && let Some(class) = chosen.iter().find(|&&class| !assessed[class as usize])
        {
            let message = format!("{} is not assessed: the document holds no evidence of it", class.name());
            return Err(ArgumentError::new_err(message));
        }
        let mask: ClassMask = chosen.iter().copied().collect();
        let map = self.run(py, threads, progress, |layouts, relay| {
            decision::strike_map(layouts, radius_m, depth_m, cell_m, Some(mask), relay)
        })?;
        let counted = chosen.into_iter().filter(|&class| assessed[class as usize]).map(Class::name);
        Ok(PyStrikeMap::wrap(map, counted.collect()))
    }

    #[pyo3(signature = (digs, reach_m, cell_m, threads=None, progress=None))]
    fn dig_maps<'py>(
        &self,
        py: Python<'py>,
        digs: Vec<DigRef<'py>>,
        reach_m: f64,
        cell_m: f64,
        threads: Option<NonZeroUsize>,
        progress: Progress,
    ) -> PyResult<Vec<(PyStrikeMap, Option<Bound<'py, PyDict>>)>> {
        let digs = owned(&digs);
        let maps = self.run(py, threads, progress, |layouts, relay| {
            decision::dig_maps(layouts, &digs, reach_m, cell_m, relay)
        })?;
        let assessed = self.layouts.assessed();
        let classes: Vec<&str> =
            Class::ALL.into_iter().filter(|&c| assessed[c as usize]).map(Class::name).collect();
        let wrap = |found: decision::DigMap| {
            let shift = found.shift.map(|shift| {
                let fields = PyDict::new(py);
                fields.set_item("dx_m", shift.dx_m)?;
                fields.set_item("dy_m", shift.dy_m)?;
                fields.set_item("distance_m", distance(&shift))?;
                fields.set_item("bearing_deg", bearing_deg(&shift))?;
                fields.set_item("p_strike", shift.p)?;
                Ok::<_, PyErr>(fields)
            });
            Ok((PyStrikeMap::wrap(found.map, classes.clone()), shift.transpose()?))
        };
        maps.into_iter().map(wrap).collect()
    }
}

impl PyLayouts {
    fn run<T: Send>(
        &self,
        py: Python<'_>,
        threads: Option<NonZeroUsize>,
        progress: Progress,
        work: impl FnOnce(&Layouts, &Relay) -> Result<T, Error> + Send,
    ) -> PyResult<T> {
        let layouts = self.layouts.clone();
        Run { threads, progress }.run(py, move |relay: &Relay| work(&layouts, relay).map_err(Raised))
    }
}

/// The digs, with names that tell them apart: `dig1`, `dig2`, ... where none was given.
fn owned(digs: &[DigRef<'_>]) -> Vec<Dig> {
    let named = |(k, dig): (usize, &DigRef<'_>)| {
        let mut dig = dig.dig.clone();
        if dig.id == "dig" {
            dig.id = format!("dig{}", k + 1);
        }
        dig
    };
    digs.iter().enumerate().map(named).collect()
}

fn names(digs: &[Dig]) -> Vec<String> {
    digs.iter().map(|dig| dig.id.clone()).collect()
}

fn distance(shift: &Shift) -> f64 {
    shift.dx_m.hypot(shift.dy_m)
}

fn bearing_deg(shift: &Shift) -> f64 {
    shift.dy_m.atan2(shift.dx_m).to_degrees().rem_euclid(360.0)
}

/// Adds the columns of chances; classes without evidence are NaN.
fn chances(columns: &Bound<'_, PyDict>, strikes: &[&Strike], errors: bool) -> PyResult<()> {
    let py = columns.py();
    let column =
        |of: &dyn Fn(&Strike) -> f64| strikes.iter().map(|s| of(s)).collect::<Vec<f64>>().into_pyarray(py);
    columns.set_item("p_strike", column(&|s| s.p))?;
    columns.set_item("mcse", column(&|s| s.mcse))?;
    columns.set_item("p_upper95", column(&|s| s.upper))?;
    for class in Class::ALL {
        let of = class as usize;
        columns
            .set_item(format!("p_{}", class.name()), column(&|s| s.by_class[of].map_or(f64::NAN, |c| c.p)))?;
        if errors {
            let mcse = column(&|s| s.by_class[of].map_or(f64::NAN, |c| c.mcse));
            columns.set_item(format!("mcse_{}", class.name()), mcse)?;
        }
    }
    Ok(())
}
