//! What was found out on the site: station tests, probes, detector flags and swept ground.

use super::lengths::{self, Xy};
use crate::class::Class;
use serde::{Deserialize, Serialize};

/// A valve that was run, and the heads that came up.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StationTestEntry {
    /// Name of the zone that was run; either this or `valve`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zone: Option<String>,
    /// Id of the valve box one of whose valves was run; either this or `zone`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub valve: Option<String>,
    /// Ids of the heads that came up.
    pub heads: Vec<String>,
    /// Chance that one head was noted wrongly, 0 to 1; the setting `station_error` when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub error: Option<f64>,
}

/// What a probe was dug with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Tool {
    /// A hole dug by hand.
    Pothole,
    /// A narrow trench dug by hand.
    Slit,
    /// A rod pushed down.
    Rod,
}

impl Tool {
    /// Every one.
    pub const ALL: [Self; 3] = [Self::Pothole, Self::Slit, Self::Rod];

    /// The word in documents.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Pothole => "pothole",
            Self::Slit => "slit",
            Self::Rod => "rod",
        }
    }
}

/// An exploratory hand dig: a disc (x, y, radius) or a slit (path, width), how deep, and whether a line was met.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ProbeEntry {
    /// East of a disc's centre, document units.
    #[serde(default, deserialize_with = "lengths::optional", skip_serializing_if = "Option::is_none")]
    pub x: Option<f64>,
    /// North of a disc's centre, document units.
    #[serde(default, deserialize_with = "lengths::optional", skip_serializing_if = "Option::is_none")]
    pub y: Option<f64>,
    /// Radius of a disc, document units.
    #[serde(default, deserialize_with = "lengths::optional", skip_serializing_if = "Option::is_none")]
    pub radius: Option<f64>,
    /// Middle line of a slit, document units.
    #[serde(default, deserialize_with = "lengths::optional_points", skip_serializing_if = "Option::is_none")]
    pub path: Option<Vec<Xy>>,
    /// Width of a slit, document units.
    #[serde(default, deserialize_with = "lengths::optional", skip_serializing_if = "Option::is_none")]
    pub width: Option<f64>,
    /// Depth reached, document units.
    #[serde(deserialize_with = "lengths::one")]
    pub depth: f64,
    /// Whether a line was met.
    pub found: bool,
    /// What the found line carries.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub class: Option<Class>,
    /// Azimuth of the found line, degrees clockwise from north.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub azimuth_deg: Option<f64>,
    /// Ground above the found line, document units.
    #[serde(default, deserialize_with = "lengths::optional", skip_serializing_if = "Option::is_none")]
    pub cover: Option<f64>,
    /// What it was dug with; `pothole` when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tool: Option<Tool>,
    /// Chance that a line within the probe would be met, 0 to 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub p_detect: Option<f64>,
    /// Chance of a find where there is no line, 0 to 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub p_false: Option<f64>,
}

/// A detector flag.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FlagEntry {
    /// East, document units.
    #[serde(deserialize_with = "lengths::one")]
    pub x: f64,
    /// North, document units.
    #[serde(deserialize_with = "lengths::one")]
    pub y: f64,
    /// Standard deviation of x and of y, document units; 0.1 m when absent.
    #[serde(default, deserialize_with = "lengths::optional", skip_serializing_if = "Option::is_none")]
    pub sd: Option<f64>,
    /// Horizontal accuracy at 95 %, document units, instead of `sd` (FGDC-STD-007.3-1998).
    #[serde(default, deserialize_with = "lengths::optional", skip_serializing_if = "Option::is_none")]
    pub accuracy_95: Option<f64>,
    /// Name shared by the flags that were traced along one line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub line: Option<String>,
    /// What the line carries, as whoever held the detector took it to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub class: Option<Class>,
    /// Ground above the line as the detector read it, document units.
    #[serde(default, deserialize_with = "lengths::optional", skip_serializing_if = "Option::is_none")]
    pub depth: Option<f64>,
}

/// Ground that was swept with a detector; flags stand where it sounded.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SweptEntry {
    /// Corners of the swept ground in order, document units.
    #[serde(deserialize_with = "lengths::points")]
    pub outline: Vec<Xy>,
    /// Chance that a metal line under it would have sounded, 0 to 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub p_detect: Option<f64>,
}
