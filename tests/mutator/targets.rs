//! What a fuzzer runs: one function for texts, one for trees (polygons, digs and probes are those of `ground`). `fuzz/` runs them
//! under libFuzzer, the slow suite and the laws on documents made from seeds.

use super::answer::{ask, layouts};
use serde_json::Value;
use underturf::Error;
use underturf::effort::Effort;
use underturf::error::ArgumentError;
use underturf::inference::Layouts;
use underturf::monitor::Unwatched;
use underturf::site::Site;
use underturf::site::io;

/// What became of a document.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// It has faults.
    Refused,
    /// It takes more work than was allowed.
    GivenUp,
    /// It has no answer, and the error says why.
    NoAnswer,
    /// It was answered in full.
    Answered,
}

/// Exact forms are asked for where so much work is allowed.
const EXACT_FROM: u64 = Effort::USUAL / 10;

/// The sites that a text holds, as TOML and as JSON.
pub fn read_text(data: &[u8]) -> Vec<Site> {
    let text = String::from_utf8_lossy(data);
    [io::parse_toml(&text), io::parse_json(&text)].into_iter().flatten().collect()
}

/// The site that a tree of values holds, the values written as JSON.
pub fn read_tree(data: &[u8]) -> Option<Site> {
    let value: Value = serde_json::from_slice(data).ok()?;
    io::from_value(value).ok()
}

/// Answers a site with at most so much work.
///
/// # Errors
/// What must not be: a probability outside (0, 1), an error that no document should lead to, more work than was allowed.
pub fn answer(site: Site, effort: u64) -> Result<Outcome, String> {
    let layouts = match sampled(site, effort)? {
        Ok(layouts) => layouts,
        Err(outcome) => return Ok(outcome),
    };
    match ask(&layouts, effort >= EXACT_FROM, &Unwatched) {
        Ok(wrong) if wrong.0.is_empty() => Ok(Outcome::Answered),
        Ok(wrong) => Err(wrong.0.join("; ")),
        Err(error) => Err(format!("asking: {error}")),
    }
}

/// Layouts of a site within so much work, or what became of it instead.
///
/// # Errors
/// An error that no document should lead to, more work than was allowed.
pub fn sampled(site: Site, effort: u64) -> Result<Result<Layouts, Outcome>, String> {
    let layouts = match layouts(site, effort, &Unwatched) {
        Ok(layouts) => layouts,
        Err(Error::OutOfEffort { impossible: false, .. }) => return Ok(Err(Outcome::GivenUp)),
        Err(
            Error::OutOfEffort { .. }
            | Error::NoLayout { .. }
            | Error::Argument(ArgumentError::TooManyFinds { .. }),
        ) => return Ok(Err(Outcome::NoAnswer)),
        Err(error) => return Err(format!("sampling: {error}")),
    };
    if layouts.work() > effort {
        return Err(format!("took {} of {effort}", layouts.work()));
    }
    Ok(Ok(layouts))
}

/// Reads a text and answers what it holds.
///
/// # Errors
/// Those of [`answer`].
pub fn text(data: &[u8], effort: u64) -> Result<Outcome, String> {
    read_text(data).into_iter().try_fold(Outcome::Refused, |_, site| answer(site, effort))
}

/// Reads a tree and answers what it holds.
///
/// # Errors
/// Those of [`answer`].
pub fn tree(data: &[u8], effort: u64) -> Result<Outcome, String> {
    read_tree(data).map_or(Ok(Outcome::Refused), |site| answer(site, effort))
}
