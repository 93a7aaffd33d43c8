//! Sampling layouts of a site.

use crate::errors::BindingError;
use crate::layouts::PyLayouts;
use crate::monitor::Run;
use crate::site::PySite;
use pyo3::prelude::*;
use std::num::NonZeroUsize;
use std::sync::Arc;
use underturf::effort::Effort;
use underturf::inference::posterior::Limits;
use underturf::inference::{RunBudget, SampleOptions, sample_layouts_within};
use underturf::mcmc::diagnostics::Thresholds;

/// Draws layouts of a site. `thresholds` are the limits on R-hat, effective size, and the standard error of a chance (floor and
/// share of it); the engine's own where none are given.
#[pyfunction]
#[pyo3(signature = (site, draws, seed, threads, progress, longest, accept_unconverged, effort, thresholds=None))]
#[allow(clippy::too_many_arguments)] // the arguments of the Python call, and the convergence checks
pub fn sample_layouts(
    py: Python<'_>,
    site: &PySite,
    draws: usize,
    seed: u64,
    threads: Option<NonZeroUsize>,
    progress: Option<Py<PyAny>>,
    longest: usize,
    accept_unconverged: bool,
    effort: f64,
    thresholds: Option<(f64, f64, f64, f64)>,
) -> PyResult<PyLayouts> {
    let site = Arc::clone(&site.0);
    let options = SampleOptions { draws, seed };
    let thresholds = thresholds.map_or_else(Thresholds::default, |(r_hat, ess, mcse_floor, mcse_share)| {
        Thresholds { r_hat, ess, mcse_floor, mcse_share }
    });
    let effort = (effort * Effort::USUAL as f64) as u64; // a greater one than can be counted is the greatest
    let budget = RunBudget { longest, accept_unconverged, thresholds, effort };
    let layouts = Run { threads, progress }.run(py, |relay| {
        sample_layouts_within(&site, &options, Limits::default(), &budget, relay).map_err(BindingError::from)
    })?;
    Ok(PyLayouts::new(layouts))
}
