//! Writing: a document as TOML, JSON or a JSON value. What was read comes back unchanged, absent keys absent.
//!
//! A length that was read as a text is written as that text, as long as it still says what the document holds: entries may have
//! been changed, added or taken out since.

use crate::site::document::Texts;
use crate::site::length::Length;
use crate::site::{Document, Units};
use serde_json::Value;

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
/// None for the document of a [`Site`](crate::site::Site).
pub fn to_toml(document: &Document) -> Result<String, WriteError> {
    if document.texts.is_empty() {
        return Ok(toml::to_string(document)?);
    }
    let mut table = toml::Table::try_from(document)?;
    for (key, value) in &mut table {
        in_toml(value, key.clone(), document);
    }
    Ok(toml::to_string(&table)?)
}

/// The document as JSON text, indented.
///
/// # Errors
/// None for the document of a [`Site`](crate::site::Site); numbers that are not finite in any other.
pub fn to_json(document: &Document) -> Result<String, WriteError> {
    indented(&to_value(document)?)
}

/// The document as JSON text, indented, with every length as a number in the document's unit, for those that compute.
///
/// # Errors
/// As [`to_json`].
pub fn to_plain_json(document: &Document) -> Result<String, WriteError> {
    indented(&plain_value(document)?)
}

/// The document as a JSON value.
///
/// # Errors
/// As [`to_json`].
pub fn to_value(document: &Document) -> Result<Value, WriteError> {
    let mut value = plain_value(document)?;
    if !document.texts.is_empty() {
        in_json(&mut value, String::new(), document);
    }
    Ok(value)
}

fn indented(value: &Value) -> Result<String, WriteError> {
    serde_json::to_string_pretty(value).map_err(|error| WriteError::Json { message: error.to_string() })
}

fn plain_value(document: &Document) -> Result<Value, WriteError> {
    let value =
        serde_json::to_value(document).map_err(|error| WriteError::Json { message: error.to_string() })?;
    // No key of the format is ever written as null, so a null is a number that was lost.
    if holds_null(&value) { Err(WriteError::NotFinite) } else { Ok(value) }
}

fn holds_null(value: &Value) -> bool {
    match value {
        Value::Null => true,
        Value::Array(items) => items.iter().any(holds_null),
        Value::Object(entries) => entries.values().any(holds_null),
        _ => false,
    }
}

/// The text that was read at a place, if it still says this number.
fn text_at<'a>(texts: &'a Texts, place: &str, number: f64, units: Units) -> Option<&'a str> {
    let text = texts.at(place)?;
    let units = if place.starts_with("settings.") { Units::Metres } else { units };
    Length::read(text).is_ok_and(|length| length.in_units(units) == number).then_some(text)
}

fn below(place: &str, key: &str) -> String {
    if place.is_empty() { key.to_owned() } else { format!("{place}.{key}") }
}

fn in_json(value: &mut Value, place: String, document: &Document) {
    match value {
        Value::Number(number) => {
            let number = number.as_f64().unwrap_or(f64::NAN);
            if let Some(text) = text_at(&document.texts, &place, number, document.units) {
                *value = Value::String(text.to_owned());
            }
        }
        Value::Array(items) => {
            items
                .iter_mut()
                .enumerate()
                .for_each(|(k, item)| in_json(item, format!("{place}[{k}]"), document));
        }
        Value::Object(entries) => {
            entries.iter_mut().for_each(|(key, item)| in_json(item, below(&place, key), document));
        }
        _ => {}
    }
}

fn in_toml(value: &mut toml::Value, place: String, document: &Document) {
    match value {
        toml::Value::Float(number) => {
            if let Some(text) = text_at(&document.texts, &place, *number, document.units) {
                *value = toml::Value::String(text.to_owned());
            }
        }
        toml::Value::Array(items) => {
            items
                .iter_mut()
                .enumerate()
                .for_each(|(k, item)| in_toml(item, format!("{place}[{k}]"), document));
        }
        toml::Value::Table(table) => {
            table.iter_mut().for_each(|(key, item)| in_toml(item, below(&place, key), document));
        }
        _ => {}
    }
}
