//! Proposed digs.

use super::lengths::{self, Xy};
use super::plant::PlantEntry;
use serde::{Deserialize, Serialize};

/// How a dig is dug: changes wording and expected loss, not the chance of a strike.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Method {
    /// By hand.
    Hand,
    /// By machine.
    Machine,
}

impl Method {
    /// Every one.
    pub const ALL: [Self; 2] = [Self::Hand, Self::Machine];

    /// The name used in documents.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Hand => "hand",
            Self::Machine => "machine",
        }
    }
}

/// A proposed dig: a disc (x, y, radius), a trench (path, width) or a pit (outline).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DigEntry {
    /// Name, unique among digs; `dig1`, `dig2`, ... by place in the list when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub id: Option<String>,
    /// East of a disc's centre, document units.
    #[serde(default, deserialize_with = "lengths::optional", skip_serializing_if = "Option::is_none")]
    pub x: Option<f64>,
    /// North of a disc's centre, document units.
    #[serde(default, deserialize_with = "lengths::optional", skip_serializing_if = "Option::is_none")]
    pub y: Option<f64>,
    /// Radius of a disc, document units.
    #[serde(default, deserialize_with = "lengths::optional", skip_serializing_if = "Option::is_none")]
    pub radius: Option<f64>,
    /// Middle line of a trench, document units.
    #[serde(default, deserialize_with = "lengths::optional_points", skip_serializing_if = "Option::is_none")]
    pub path: Option<Vec<Xy>>,
    /// Width of a trench, document units.
    #[serde(default, deserialize_with = "lengths::optional", skip_serializing_if = "Option::is_none")]
    pub width: Option<f64>,
    /// Corners of a pit in order, document units.
    #[serde(default, deserialize_with = "lengths::optional_points", skip_serializing_if = "Option::is_none")]
    pub outline: Option<Vec<Xy>>,
    /// Depth, document units.
    #[serde(deserialize_with = "lengths::one")]
    pub depth: f64,
    /// How it is dug; `hand` when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub method: Option<Method>,
    /// The tree it is dug for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tree: Option<PlantEntry>,
}
