//! Words and numbers as people type them, read by the engine's rules: lengths, days, names that may be misspelled.

use crate::errors::BindingError;
use pyo3::prelude::*;
use underturf::site::length::Length;
use underturf::site::{self, Units, spelling};

/// The one of that name among what an argument takes.
pub fn word<T: Copy, const N: usize>(
    argument: &'static str,
    word: &str,
    known: [T; N],
    name: fn(T) -> &'static str,
) -> PyResult<T> {
    let found = known.into_iter().find(|&one| name(one) == word);
    let refused =
        || BindingError::NoSuchWord { argument, word: word.to_owned(), known: known.map(name).to_vec() };
    Ok(found.ok_or_else(refused)?)
}

/// A length that is a text: metres and true, or the number and false where it has no unit.
#[pyfunction]
pub fn read_length(text: &str) -> PyResult<(f64, bool)> {
    let length = Length::read(text).map_err(BindingError::from)?;
    Ok((length.in_units(Units::Metres), !matches!(length, Length::Bare(_))))
}

/// Refuses what is no day written `YYYY-MM-DD`.
#[pyfunction]
pub fn check_day(text: &str) -> PyResult<()> {
    Ok(site::check_day(text).map_err(BindingError::from)?)
}

/// `; did you mean "green"?`, or nothing where no known word is near.
#[pyfunction]
pub fn spelling_hint(word: &str, known: Vec<String>) -> String {
    spelling::hint(word, known.iter().map(String::as_str))
}
