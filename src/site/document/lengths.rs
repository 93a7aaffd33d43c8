//! How lengths stand in documents: as numbers in the document's unit, or as texts with their own (`"14' 6\""`).
//!
//! Entries hold numbers alone, since all that computes wants these. What was written as a text is kept beside them by its
//! place, and written back as long as it still says the same. The fields of entries name the functions of this file where they
//! hold lengths; that a value is one reaches the reader as the name [`LENGTH`].

use serde::Deserialize;
use serde::de::{Deserializer, Visitor};
use std::collections::BTreeMap;
use std::fmt;

/// A point as documents write it: x east (or right), y north (or up), in the document's units.
pub type Xy = [f64; 2];

/// Name of the kind of value that is a length: readers that know it take a text with a unit too.
pub const LENGTH: &str = "length";

/// Lengths that a document gives as texts, by their place (`heads[3].x`).
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Texts(BTreeMap<String, String>);

impl Texts {
    /// Keeps the text of a place.
    pub fn keep(&mut self, place: String, text: String) {
        self.0.insert(place, text);
    }

    /// Keeps those too.
    pub fn extend(&mut self, texts: Self) {
        self.0.extend(texts.0);
    }

    /// The text of a place.
    pub fn at(&self, place: &str) -> Option<&str> {
        self.0.get(place).map(String::as_str)
    }

    /// Whether every length is a number.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

/// A length as serde reads it.
struct Coordinate(f64);

impl<'de> Deserialize<'de> for Coordinate {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_newtype_struct(LENGTH, Written).map(Self)
    }
}

struct Written;

impl<'de> Visitor<'de> for Written {
    type Value = f64;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a length")
    }

    fn visit_f64<E>(self, value: f64) -> Result<f64, E> {
        Ok(value)
    }

    fn visit_newtype_struct<D: Deserializer<'de>>(self, from: D) -> Result<f64, D::Error> {
        f64::deserialize(from)
    }
}

/// A length.
pub(super) fn one<'de, D: Deserializer<'de>>(from: D) -> Result<f64, D::Error> {
    Coordinate::deserialize(from).map(|it| it.0)
}

/// A length that may be absent.
pub(super) fn optional<'de, D: Deserializer<'de>>(from: D) -> Result<Option<f64>, D::Error> {
    Option::<Coordinate>::deserialize(from).map(|it| it.map(|it| it.0))
}

/// A point.
pub(super) fn point<'de, D: Deserializer<'de>>(from: D) -> Result<Xy, D::Error> {
    <[Coordinate; 2]>::deserialize(from).map(xy)
}

/// Points.
pub(super) fn points<'de, D: Deserializer<'de>>(from: D) -> Result<Vec<Xy>, D::Error> {
    Vec::<[Coordinate; 2]>::deserialize(from).map(|points| points.into_iter().map(xy).collect())
}

/// Points that may be absent.
pub(super) fn optional_points<'de, D: Deserializer<'de>>(from: D) -> Result<Option<Vec<Xy>>, D::Error> {
    Option::<Vec<[Coordinate; 2]>>::deserialize(from)
        .map(|points| points.map(|points| points.into_iter().map(xy).collect()))
}

fn xy(at: [Coordinate; 2]) -> Xy {
    at.map(|it| it.0)
}
