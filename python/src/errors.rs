//! The one place where errors of the engine become Python exceptions.
//!
//! The classes live in `python/underturf/errors.py`: below Python 3.12 the stable ABI cannot derive them from Rust, and
//! there they have docstrings, attributes and can be pickled.

use pyo3::exceptions::PyKeyboardInterrupt;
use pyo3::import_exception;
use pyo3::prelude::*;
use underturf::Error;
use underturf::site::SiteFaults;
use underturf::site::io::{ReadError, WriteError};

import_exception!(underturf.errors, ArgumentError);
import_exception!(underturf.errors, ConvergenceError);
import_exception!(underturf.errors, DigError);
import_exception!(underturf.errors, DocumentSyntaxError);
import_exception!(underturf.errors, EffortError);
import_exception!(underturf.errors, InternalError);
import_exception!(underturf.errors, MemoryLimitError);
import_exception!(underturf.errors, LayoutError);
import_exception!(underturf.errors, SiteError);

/// An error of the engine on its way to Python.
#[derive(Debug)]
pub enum EngineError {
    /// Of inference, strikes or maps.
    Engine(Error),
    /// Of reading a document.
    Read(ReadError),
    /// Of writing one.
    Write(WriteError),
    /// Of a dig made in Python: the faults of the document that holds nothing else.
    Dig(SiteFaults),
}

impl From<Error> for EngineError {
    fn from(error: Error) -> Self {
        Self::Engine(error)
    }
}

impl From<ReadError> for EngineError {
    fn from(error: ReadError) -> Self {
        Self::Read(error)
    }
}

impl From<WriteError> for EngineError {
    fn from(error: WriteError) -> Self {
        Self::Write(error)
    }
}

impl From<EngineError> for PyErr {
    fn from(error: EngineError) -> Self {
        match error {
            EngineError::Engine(Error::Site(faults)) | EngineError::Read(ReadError::Faults(faults)) => {
                site(&faults)
            }
            EngineError::Engine(error) => engine(&error),
            EngineError::Read(error) => DocumentSyntaxError::new_err(error.to_string()),
            EngineError::Write(error) => InternalError::new_err(error.to_string()),
            EngineError::Dig(faults) => dig(&faults),
        }
    }
}

fn engine(error: &Error) -> PyErr {
    let message = error.to_string();
    match error {
        Error::UnlabelledHeads { heads } => {
            LayoutError::new_err((message, None::<String>, None::<String>, heads.clone()))
        }
        Error::NoLayout { system, obstacle } => {
            LayoutError::new_err((message, system.clone(), obstacle.clone()))
        }
        Error::NotConverged { failures, sweeps, chains } => {
            ConvergenceError::new_err((message, failures.clone(), *sweeps, *chains))
        }
        Error::OutOfEffort { effort, unexplained, .. } => {
            let probes: Vec<(usize, f64)> = unexplained.iter().map(|it| (it.probe, it.chance)).collect();
            EffortError::new_err((message, *effort, probes))
        }
        Error::TooDear { effort, .. } => EffortError::new_err((message, *effort, Vec::<(usize, f64)>::new())),
        Error::TooMuchMemory { asked, fit, bytes, limit, .. } => {
            MemoryLimitError::new_err((message, *asked, *fit, *bytes / 1e9, *limit as f64 / 1e9))
        }
        Error::BadArgument { .. }
        | Error::ZonesAreSampled { .. }
        | Error::BadWeights { .. }
        | Error::Table(_)
        | Error::NoRoom { .. } => ArgumentError::new_err(message),
        // Only a signal or the progress callback stops a run, and both have an exception of their own.
        Error::Interrupted => PyKeyboardInterrupt::new_err(message),
        _ => InternalError::new_err(message),
    }
}

fn site(faults: &SiteFaults) -> PyErr {
    let faults: Vec<(String, String)> =
        faults.faults.iter().map(|fault| (fault.place.clone(), fault.what.to_string())).collect();
    SiteError::new_err((faults,))
}

/// `digs[0].radius: -1 is not above 0` becomes `radius: -1 is not above 0`.
fn dig(faults: &SiteFaults) -> PyErr {
    let says = |fault: &underturf::site::Fault| {
        let place = fault.place.strip_prefix("digs[0]").unwrap_or(&fault.place).trim_start_matches('.');
        if place.is_empty() { fault.what.to_string() } else { format!("{place}: {}", fault.what) }
    };
    let said: Vec<String> = faults.faults.iter().map(says).collect();
    DigError::new_err(format!("no such dig can be dug: {}", said.join("; ")))
}
