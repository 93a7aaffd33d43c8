//! The one place where errors of the engine become Python exceptions.
//!
//! The classes live in `python/underturf/errors.py`: below Python 3.12 the stable ABI cannot derive them from Rust, and
//! there they have docstrings, attributes and can be pickled.

use pyo3::import_exception;

import_exception!(underturf.errors, InternalError);
