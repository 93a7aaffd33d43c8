//! The tree that a dig is made for: a word for its size at maturity, or a table that says more.

use super::lengths;
use serde::de::value::MapAccessDeserializer;
use serde::de::{Deserializer, MapAccess, Visitor};
use serde::{Deserialize, Serialize};
use std::fmt;

/// Name of the kind of value that is a word, or a table with more in it: readers that know it take either.
pub const WORD_OR_TABLE: &str = "word or table";

/// Size at maturity of a tree to be planted: ordinances exempt small ones from setbacks and treat all others alike
/// (python/docs/trade-values.md, 5.8g).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TreeSize {
    /// Exempt from setbacks; carries no root conflict.
    Small,
    /// Any other, of middling stem.
    Medium,
    /// Any other, of stout stem.
    Large,
}

impl TreeSize {
    /// Every size, in the order of the document's words.
    pub const ALL: [Self; 3] = [Self::Small, Self::Medium, Self::Large];

    /// The name used in documents.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Small => "small",
            Self::Medium => "medium",
            Self::Large => "large",
        }
    }
}

/// How far roots reach for the size of the stem.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Vigour {
    /// Far: the kinds that lift walks and enter drains.
    Aggressive,
    /// As most kinds do.
    Ordinary,
    /// Little.
    Small,
}

impl Vigour {
    /// Every vigour, in the order of the document's words.
    pub const ALL: [Self; 3] = [Self::Aggressive, Self::Ordinary, Self::Small];

    /// The name used in documents.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Aggressive => "aggressive",
            Self::Ordinary => "ordinary",
            Self::Small => "small",
        }
    }
}

/// The tree a dig is made for, as written.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(untagged)]
pub enum PlantEntry {
    /// `tree = "large"`.
    Size(TreeSize),
    /// `tree = { size = "large", vigour = "aggressive" }`.
    Table(PlantTable),
}

/// The tree a dig is made for, where more than its size is said.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlantTable {
    /// Size at maturity.
    pub size: TreeSize,
    /// Vigour of the roots; `ordinary` when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vigour: Option<Vigour>,
    /// Diameter of the stem as bought, document units: nurseries measure it 6 in above ground.
    #[serde(default, deserialize_with = "lengths::optional", skip_serializing_if = "Option::is_none")]
    pub caliper: Option<f64>,
    /// Trade number of the container it is bought in (gallons of the trade), whatever the document's units.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub container: Option<f64>,
    /// Radius of the root zone at maturity, document units; from size and vigour when absent.
    #[serde(default, deserialize_with = "lengths::optional", skip_serializing_if = "Option::is_none")]
    pub root_radius: Option<f64>,
    /// Name of the setback that holds for it; the one that holds for all when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub setback: Option<String>,
}

/// The keys of the table of a tree that a dig is made for.
pub const KEYS: &[&str] = &["size", "vigour", "caliper", "container", "root_radius", "setback"];

impl PlantEntry {
    /// All that is said, as a table.
    pub fn table(&self) -> PlantTable {
        match self {
            Self::Size(size) => PlantTable {
                size: *size,
                vigour: None,
                caliper: None,
                container: None,
                root_radius: None,
                setback: None,
            },
            Self::Table(table) => table.clone(),
        }
    }
}

impl<'de> Deserialize<'de> for PlantEntry {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_struct(WORD_OR_TABLE, KEYS, Written)
    }
}

struct Written;

impl<'de> Visitor<'de> for Written {
    type Value = PlantEntry;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a size, or a table that says it")
    }

    fn visit_newtype_struct<D: Deserializer<'de>>(self, from: D) -> Result<PlantEntry, D::Error> {
        TreeSize::deserialize(from).map(PlantEntry::Size)
    }

    fn visit_map<A: MapAccess<'de>>(self, entries: A) -> Result<PlantEntry, A::Error> {
        PlantTable::deserialize(MapAccessDeserializer::new(entries)).map(PlantEntry::Table)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_keys_are_those_of_the_table() {
        let full = PlantTable {
            size: TreeSize::Large,
            vigour: Some(Vigour::Small),
            caliper: Some(1.0),
            container: Some(1.0),
            root_radius: Some(1.0),
            setback: Some("lateral_5ft".to_owned()),
        };
        let written = toml::Table::try_from(full).expect("a table");
        assert_eq!(written.keys().map(String::as_str).collect::<Vec<_>>(), KEYS);
    }
}
