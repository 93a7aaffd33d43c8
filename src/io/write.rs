//! Writing: a document as TOML, JSON or a JSON value. What was read comes back unchanged, absent keys absent.

use crate::evidence::Document;

/// Why a document could not be written.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum WriteError {
    /// TOML cannot hold it.
    #[error("cannot be written as TOML: {0}")]
    Toml(#[from] toml::ser::Error),
    /// JSON has no way to write numbers that are not finite.
    #[error("cannot be written as JSON: it holds numbers that are not finite")]
    NotFinite,
    /// JSON cannot hold it.
    #[error("cannot be written as JSON: {message}")]
    Json {
        /// What the writer says.
        message: String,
    },
}

/// The document as TOML text.
///
/// # Errors
/// None for the document of a [`Site`](crate::evidence::Site).
pub fn to_toml(document: &Document) -> Result<String, WriteError> {
    Ok(toml::to_string(document)?)
}

/// The document as JSON text, indented.
///
/// # Errors
/// None for the document of a [`Site`](crate::evidence::Site); numbers that are not finite in any other.
pub fn to_json(document: &Document) -> Result<String, WriteError> {
    serde_json::to_string_pretty(&to_value(document)?)
        .map_err(|error| WriteError::Json { message: error.to_string() })
}

/// The document as a JSON value.
///
/// # Errors
/// As [`to_json`].
pub fn to_value(document: &Document) -> Result<serde_json::Value, WriteError> {
    let value =
        serde_json::to_value(document).map_err(|error| WriteError::Json { message: error.to_string() })?;
    // No key of the format is ever written as null, so a null is a number that was lost.
    if holds_null(&value) { Err(WriteError::NotFinite) } else { Ok(value) }
}

fn holds_null(value: &serde_json::Value) -> bool {
    match value {
        serde_json::Value::Null => true,
        serde_json::Value::Array(items) => items.iter().any(holds_null),
        serde_json::Value::Object(entries) => entries.values().any(holds_null),
        _ => false,
    }
}
