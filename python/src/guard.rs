//! Panics become an ordinary exception.
//!
//! pyo3 turns a panic into an exception that derives from `BaseException`; a worker of a task queue that meets one can
//! wait for ever. So every call into the engine is caught here and raised as `underturf.InternalError`, which
//! `except Exception` sees.

use crate::errors::BindingError;
use pyo3::prelude::*;
use std::any::Any;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Runs `work`; a panic inside it comes back as its message.
pub fn caught<T>(work: impl FnOnce() -> T) -> Result<T, PyErr> {
    catch_unwind(AssertUnwindSafe(work))
        .map_err(|payload| BindingError::Panic(message(payload.as_ref()).to_owned()).into())
}

/// Releases the interpreter, runs `work` on this thread and raises its error or its panic.
pub fn detached<T, E>(py: Python<'_>, work: impl FnOnce() -> Result<T, E> + Send) -> PyResult<T>
where
    T: Send,
    E: Into<PyErr> + Send,
{
    py.detach(|| caught(work))?.map_err(Into::into)
}

fn message(payload: &(dyn Any + Send)) -> &str {
    payload
        .downcast_ref::<&str>()
        .copied()
        .or_else(|| payload.downcast_ref::<String>().map(String::as_str))
        .unwrap_or("a panic without a message")
}
