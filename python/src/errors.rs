//! The one place where errors of the engine and of the binding become Python exceptions.
//!
//! The engine says what is the matter and what helps, in words of the field. How to ask otherwise in Python is added here,
//! in one table ([`in_python`]).
//!
//! The classes live in `python/underturf/errors.py`: below Python 3.12 the stable ABI cannot derive them from Rust, and
//! there they have docstrings, attributes and can be pickled.

use pyo3::exceptions::PyKeyboardInterrupt;
use pyo3::import_exception;
use pyo3::prelude::*;
use rayon::ThreadPoolBuildError;
use underturf::error::{Error, Unreachable};
use underturf::mcmc::diagnostics::ChainsError;
use underturf::planting::TableError;
use underturf::site::io::{ReadError, WriteError};
use underturf::site::length::LengthError;
use underturf::site::spelling::hint;
use underturf::site::{Fault, FaultKind, NotADay, SiteFaults};

import_exception!(underturf.errors, ArgumentError);
import_exception!(underturf.errors, ConvergenceError);
import_exception!(underturf.errors, DigError);
import_exception!(underturf.errors, DocumentSyntaxError);
import_exception!(underturf.errors, EffortError);
import_exception!(underturf.errors, InternalError);
import_exception!(underturf.errors, MemoryLimitError);
import_exception!(underturf.errors, LayoutError);
import_exception!(underturf.errors, SiteError);

/// Why a call from Python cannot be answered: what the engine refused, or what the binding could not make sense of.
#[derive(Debug)]
pub enum BindingError {
    /// Of inference, strikes or maps.
    Engine(Error),
    /// Of reading a document.
    Read(ReadError),
    /// Of writing one.
    Write(WriteError),
    /// Of a dig made in Python: the faults of the document that holds nothing else.
    Dig(SiteFaults),
    /// Of a length written as a text.
    Length(LengthError),
    /// Of a day written as a text.
    Day(NotADay),
    /// Of draws handed over for diagnostics.
    Chains(ChainsError),
    /// A name that is not known: of a setback, a class, a table.
    NoSuchName {
        /// What has such names.
        what: &'static str,
        /// The name given.
        name: String,
        /// The names there are.
        known: Vec<&'static str>,
    },
    /// A word that is none of those that an argument takes.
    NoSuchWord {
        /// Name of the argument.
        argument: &'static str,
        /// The word given.
        word: String,
        /// The words it takes.
        known: Vec<&'static str>,
    },
    /// A number that no probe or station test of the site has.
    NoSuchNumber {
        /// What is numbered.
        what: &'static str,
        /// The number given.
        number: usize,
        /// How many there are.
        known: usize,
    },
    /// A name that no dig of the site has.
    NoSuchDig {
        /// The name given.
        id: String,
        /// The digs of the site.
        known: Vec<String>,
    },
    /// A word for the method of a dig that is none.
    NoSuchMethod {
        /// The word given.
        word: String,
        /// The words there are.
        known: Vec<&'static str>,
    },
    /// A tree whose words are none: each the name of the word, the word, and the words there are.
    NoSuchTree(Vec<(&'static str, String, Vec<&'static str>)>),
    /// Not just one of several arguments.
    NotOneOf(&'static [&'static str]),
    /// An array whose numbers lie misaligned in memory.
    Misaligned(Array),
    /// Points in an array that has not two columns.
    Columns(usize),
    /// A panic, with its message.
    Panic(String),
    /// Worker threads that could not be started.
    Threads(ThreadPoolBuildError),
}

/// What an array holds.
#[derive(Clone, Copy, Debug)]
pub enum Array {
    /// Draws of chains.
    Draws,
    /// Points of a dig.
    Points,
}

macro_rules! from {
    ($($variant:ident of $error:ty),* $(,)?) => {
        $(impl From<$error> for BindingError {
            fn from(error: $error) -> Self {
                Self::$variant(error)
            }
        })*
    };
}

from!(Engine of Error, Read of ReadError, Write of WriteError, Length of LengthError, Day of NotADay, Chains of ChainsError);

impl From<TableError> for BindingError {
    fn from(error: TableError) -> Self {
        Self::Engine(error.into())
    }
}

impl From<underturf::error::ArgumentError> for BindingError {
    fn from(error: underturf::error::ArgumentError) -> Self {
        Self::Engine(error.into())
    }
}

impl From<BindingError> for PyErr {
    fn from(error: BindingError) -> Self {
        match error {
            BindingError::Engine(Error::Site(faults)) | BindingError::Read(ReadError::Faults(faults)) => {
                site(&faults)
            }
            BindingError::Engine(error) => engine(&error),
            BindingError::Read(error) => DocumentSyntaxError::new_err(error.to_string()),
            BindingError::Write(error) => InternalError::new_err(error.to_string()),
            BindingError::Dig(faults) => dig(&faults),
            BindingError::Length(error) => ArgumentError::new_err(error.to_string()),
            BindingError::Day(error) => ArgumentError::new_err(error.to_string()),
            BindingError::Chains(error) => ArgumentError::new_err(error.to_string()),
            BindingError::NoSuchName { what, name, known } => ArgumentError::new_err(format!(
                "there is no {what} {name:?}; there are {}{}",
                known.join(", "),
                hint(&name, known.iter().copied())
            )),
            BindingError::NoSuchWord { argument, word, known } => {
                ArgumentError::new_err(must_be(argument, &word, &known))
            }
            BindingError::NoSuchNumber { what, number, known } => {
                ArgumentError::new_err(format!("the site has no {what} number {number}; it has {known}"))
            }
            BindingError::NoSuchDig { id, known } => DigError::new_err(no_such_dig(&id, &known)),
            BindingError::NoSuchMethod { word, known } => DigError::new_err(must_be("method", &word, &known)),
            BindingError::NoSuchTree(faults) => {
                let said: Vec<String> =
                    faults.iter().map(|(name, word, known)| one_of(name, word, known)).collect();
                DigError::new_err(format!("no such tree: {}", said.join("; ")))
            }
            BindingError::NotOneOf(arguments) => {
                ArgumentError::new_err(format!("give exactly one of: {}", arguments.join("; ")))
            }
            BindingError::Misaligned(array) => misaligned(array),
            BindingError::Columns(columns) => {
                DigError::new_err(format!("points have {columns} columns; there must be 2"))
            }
            BindingError::Panic(message) => InternalError::new_err(format!(
                "underturf met a fault of its own and stopped this call: {message}. Please report it with the site document."
            )),
            BindingError::Threads(error) => {
                InternalError::new_err(format!("no worker threads could be started: {error}"))
            }
        }
    }
}

/// `by is "los"; it must be 'loss' or 'p'; did you mean "loss"?`
fn must_be(argument: &str, word: &str, known: &[&'static str]) -> String {
    let quoted: Vec<String> = known.iter().map(|word| format!("'{word}'")).collect();
    let either = match &quoted[..] {
        [first @ .., last] if !first.is_empty() => format!("{} or {last}", first.join(", ")),
        all => all.concat(),
    };
    format!("{argument} is {word:?}; it must be {either}{}", hint(word, known.iter().copied()))
}

/// `size "lage" is not one of: small, large; did you mean "large"?`
fn one_of(name: &str, word: &str, known: &[&'static str]) -> String {
    format!("{name} {word:?} is not one of: {}{}", known.join(", "), hint(word, known.iter().copied()))
}

fn no_such_dig(id: &str, known: &[String]) -> String {
    let hint = hint(id, known.iter().map(String::as_str));
    let stop = if hint.is_empty() { "; it" } else { " It" };
    let known = if known.is_empty() { "none".to_owned() } else { known.join(", ") };
    format!("the site proposes no dig {id:?}{hint}{stop} has {known}")
}

fn misaligned(array: Array) -> PyErr {
    let says = |what: &str| format!("{what} lie misaligned in memory; pass them through numpy.require");
    match array {
        Array::Draws => ArgumentError::new_err(says("draws")),
        Array::Points => DigError::new_err(says("points")),
    }
}

/// How the line of a message begins that says how to ask otherwise in Python; the command line says it in its own words.
pub const IN_PYTHON: &str = "In Python: ";

/// How to ask otherwise in Python, by what is the matter; empty where the sentence of the engine says it all.
const fn in_python(error: &Error) -> &'static str {
    match error {
        Error::NotConverged { .. } => {
            "draws, longest and accept_unconverged=True of sample_layouts ask for more draws, for a longer run, and for the \
             answer as it is."
        }
        Error::OutOfEffort { impossible: false, .. } => {
            "effort of sample_layouts allows more work, draws asks for fewer draws."
        }
        Error::DeterminantTooDear { .. } => {
            "form=\"general\" asks for the general form, effort of sample_layouts allows more work."
        }
        Error::DeterminantNeedsZones | Error::DeterminantKnowsNoMetal => {
            "form=\"general\" asks for the general form."
        }
        Error::TooMuchMemory { .. } => "Running(memory_limit_gb=...) allows more memory.",
        Error::NoRoom { .. } => {
            "SpotOptions takes spacing_m, gap_m, from_boundary_m, from_building_m, cell_m, setback_limit and spare_roots=False."
        }
        _ => "",
    }
}

/// What the engine says, and how to ask otherwise in Python.
fn sentence(error: &Error) -> String {
    match in_python(error) {
        "" => error.to_string(),
        how => format!("{error}\n{IN_PYTHON}{how}"),
    }
}

fn engine(error: &Error) -> PyErr {
    let message = sentence(error);
    match error {
        Error::UnlabelledHeads { heads } => {
            LayoutError::new_err((message, None::<String>, None::<String>, heads.clone()))
        }
        Error::NoLayout { system, obstacle } => {
            let system = match system {
                Unreachable::System(name) => Some(name.clone()),
                Unreachable::Site | Unreachable::EveryZoning => None,
            };
            LayoutError::new_err((message, system, obstacle.clone()))
        }
        Error::NotConverged { failures, sweeps, chains } => {
            let failures: Vec<String> = failures.iter().map(ToString::to_string).collect();
            ConvergenceError::new_err((message, failures, *sweeps, *chains))
        }
        Error::OutOfEffort { effort, unexplained, .. } => {
            let probes: Vec<(usize, f64)> = unexplained.iter().map(|it| (it.probe, it.chance)).collect();
            EffortError::new_err((message, *effort, probes))
        }
        Error::DeterminantTooDear { effort } => {
            EffortError::new_err((message, *effort, Vec::<(usize, f64)>::new()))
        }
        Error::TooMuchMemory { asked, fit, bytes, limit, .. } => {
            MemoryLimitError::new_err((message, *asked, *fit, *bytes / 1e9, *limit as f64 / 1e9))
        }
        Error::Argument(_)
        | Error::DeterminantNeedsZones
        | Error::DeterminantKnowsNoMetal
        | Error::BadWeights { .. }
        | Error::Table(_)
        | Error::NoRoom { .. } => ArgumentError::new_err(message),
        // Only a signal or the progress callback stops a run, and both have an exception of their own.
        Error::Interrupted => PyKeyboardInterrupt::new_err(message),
        _ => InternalError::new_err(message),
    }
}

fn site(faults: &SiteFaults) -> PyErr {
    let said = |fault: &Fault| match fault.what {
        FaultKind::UnknownSetting { .. } => format!("{} (`settings_table()`)", fault.what),
        _ => fault.what.to_string(),
    };
    let faults: Vec<(String, String)> =
        faults.faults.iter().map(|fault| (fault.place.clone(), said(fault))).collect();
    SiteError::new_err((faults,))
}

/// `digs[0].radius: -1 is not above 0` becomes `radius: -1 is not above 0`.
fn dig(faults: &SiteFaults) -> PyErr {
    let says = |fault: &Fault| {
        let place = fault.place.strip_prefix("digs[0]").unwrap_or(&fault.place).trim_start_matches('.');
        if place.is_empty() { fault.what.to_string() } else { format!("{place}: {}", fault.what) }
    };
    let said: Vec<String> = faults.faults.iter().map(says).collect();
    DigError::new_err(format!("no such dig can be dug: {}", said.join("; ")))
}
