//! Python binding of underturf: this file only registers what the other files bind.
//!
//! Each of those files converts, releases the interpreter, calls the engine and wraps; no decision about layouts,
//! strikes or units is made here. The readable face, with docstrings, lives in `python/underturf/`.

mod errors;
mod guard;
mod hooks;
mod monitor;
mod pool;

use pyo3::prelude::*;

/// Engine of underturf. Private: use the names that `underturf` itself exports.
#[pymodule(gil_used = false)]
mod _core {
    #[pymodule_export]
    use crate::hooks::{_panic_for_test, _spin_for_test};
}
