//! Hooks for the tests of the binding itself: a panic and a long run on demand. Nothing else calls them, and only builds with
//! the feature `test-hooks` have them.

use crate::guard::detached;
use crate::monitor::Run;
use pyo3::prelude::*;
use std::num::NonZeroUsize;
use std::thread;
use std::time::{Duration, Instant};
use underturf::monitor::Monitor;

/// Puts the hooks into the module, but not among the names that it exports.
pub fn add(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.setattr("_panic_for_test", wrap_pyfunction!(_panic_for_test, module)?)?;
    module.setattr("_spin_for_test", wrap_pyfunction!(_spin_for_test, module)?)
}

/// Panics inside the engine's guard.
#[pyfunction]
fn _panic_for_test(py: Python<'_>) -> PyResult<()> {
    detached(py, || -> Result<(), PyErr> { panic!("asked for by a test") })
}

/// Works for that many seconds on the pool; returns how many ticks of 1 ms it made.
#[pyfunction]
#[pyo3(signature = (seconds, threads=None, progress=None))]
fn _spin_for_test(
    py: Python<'_>,
    seconds: f64,
    threads: Option<NonZeroUsize>,
    progress: Option<Py<PyAny>>,
) -> PyResult<usize> {
    let total = (seconds * 1e3) as usize;
    Run { threads, progress }.run(py, |relay| -> Result<usize, PyErr> {
        let start = Instant::now();
        let mut ticks = 0;
        while start.elapsed().as_secs_f64() < seconds && relay.tick(ticks, total) {
            thread::sleep(Duration::from_millis(1));
            ticks += 1;
        }
        Ok(ticks)
    })
}
