//! The one place where errors of the engine become Python exceptions.
//!
//! The classes live in `python/underturf/errors.py`: below Python 3.12 the stable ABI cannot derive them from Rust, and
//! there they have docstrings, attributes and can be pickled.

use pyo3::{PyErr, import_exception};
use underturf::Error;
use underturf::evidence::SiteFaults;
use underturf::io::ReadError;

import_exception!(underturf.errors, ArgumentError);
import_exception!(underturf.errors, DigError);
import_exception!(underturf.errors, DocumentSyntaxError);
import_exception!(underturf.errors, InternalError);
import_exception!(underturf.errors, LayoutError);
import_exception!(underturf.errors, SiteError);

/// An error on its way to Python.
pub struct Raised(pub Error);

impl From<Error> for Raised {
    fn from(error: Error) -> Self {
        Self(error)
    }
}

impl From<Raised> for PyErr {
    fn from(Raised(error): Raised) -> Self {
        let message = error.to_string();
        match error {
            Error::Site(faults) => from_faults(&faults),
            Error::UnlabelledHeads { heads } => {
                LayoutError::new_err((message, None::<String>, None::<String>, heads))
            }
            Error::NoLayout { system, obstacle } => LayoutError::new_err((message, system, obstacle)),
            Error::BadArgument { .. } => ArgumentError::new_err(message),
            _ => InternalError::new_err(message),
        }
    }
}

/// All faults of a document as one exception.
pub fn from_faults(faults: &SiteFaults) -> PyErr {
    let pairs: Vec<(String, String)> =
        faults.faults.iter().map(|fault| (fault.place.clone(), fault.what.to_string())).collect();
    SiteError::new_err((pairs,))
}

/// A document that could not be read.
pub fn from_read(error: &ReadError) -> PyErr {
    match error {
        ReadError::Faults(faults) => from_faults(faults),
        other => DocumentSyntaxError::new_err(other.to_string()),
    }
}
