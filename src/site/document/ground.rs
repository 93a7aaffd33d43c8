//! What lies on or under the ground beside the irrigation system: obstacles, trees, marks, services, sketches.

use super::lengths::{self, Xy};
use crate::class::Class;
use serde::{Deserialize, Serialize};

/// What an obstacle is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ObstacleKind {
    /// No line passes under it.
    Building,
    /// Lines pass under it in sleeves, at a price.
    Paving,
    /// No line passes under it.
    Pool,
    /// Planted ground: lines pass as through lawn.
    Bed,
}

impl ObstacleKind {
    /// The name used in documents.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Building => "building",
            Self::Paving => "paving",
            Self::Pool => "pool",
            Self::Bed => "bed",
        }
    }

    /// Whether no line can pass.
    pub const fn blocks(self) -> bool {
        matches!(self, Self::Building | Self::Pool)
    }
}

/// A building, paving, pool or bed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ObstacleEntry {
    /// What it is.
    pub kind: ObstacleKind,
    /// Its corners in order, document units.
    #[serde(deserialize_with = "lengths::points")]
    pub outline: Vec<Xy>,
}

/// A standing tree.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TreeEntry {
    /// East, document units.
    #[serde(deserialize_with = "lengths::one")]
    pub x: f64,
    /// North, document units.
    #[serde(deserialize_with = "lengths::one")]
    pub y: f64,
    /// Diameter of the stem at breast height, document units.
    #[serde(deserialize_with = "lengths::one")]
    pub stem_diameter: f64,
}

/// How a mark came about: the quality levels of ASCE 38 for utility data.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum QualityLevel {
    /// Exposed and surveyed.
    A,
    /// Surface geophysics.
    B,
    /// Surveyed visible features.
    C,
    /// Records or word of mouth; one-call paint by itself.
    D,
}

/// A line marked by a utility locator.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MarkEntry {
    /// What the line carries.
    pub class: Class,
    /// The marked line, document units.
    #[serde(deserialize_with = "lengths::points")]
    pub path: Vec<Xy>,
    /// Standard deviation of its sideways place, document units; 0.25 m when absent.
    #[serde(default, deserialize_with = "lengths::optional", skip_serializing_if = "Option::is_none")]
    pub sd: Option<f64>,
    /// Horizontal accuracy at 95 %, document units, instead of `sd` (FGDC-STD-007.3-1998).
    #[serde(default, deserialize_with = "lengths::optional", skip_serializing_if = "Option::is_none")]
    pub accuracy_95: Option<f64>,
    /// Half width of its tolerance zone, document units; the setting `tolerance_half_zone_m` when absent.
    #[serde(default, deserialize_with = "lengths::optional", skip_serializing_if = "Option::is_none")]
    pub half_zone: Option<f64>,
    /// How it came about.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub quality: Option<QualityLevel>,
    /// Day it was set, `YYYY-MM-DD`; a TOML date is kept as text.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub date: Option<String>,
}

/// A service line with both ends known, such as meter and house entry.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ServiceEntry {
    /// What the line carries.
    pub class: Class,
    /// One end, document units.
    #[serde(deserialize_with = "lengths::point")]
    pub from: Xy,
    /// The other end, document units.
    #[serde(deserialize_with = "lengths::point")]
    pub to: Xy,
    /// Places between the ends that it is known to pass, in order from `from`, document units.
    #[serde(default, deserialize_with = "lengths::optional_points", skip_serializing_if = "Option::is_none")]
    pub path: Option<Vec<Xy>>,
}

/// A line of an old sketch or as-built drawing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SketchEntry {
    /// The drawn line, document units.
    #[serde(deserialize_with = "lengths::points")]
    pub path: Vec<Xy>,
    /// Chance that the drawing is right here, 0 to 1.
    pub trust: f64,
}
