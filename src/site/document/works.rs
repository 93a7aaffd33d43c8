//! The visible parts of an irrigation system: heads, valve boxes, sources and outlets.

use super::lengths;
use serde::{Deserialize, Serialize};

/// How a head throws water.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum HeadKind {
    /// Fixed spray.
    Spray,
    /// Turning stream.
    Rotor,
    /// Flood bubbler.
    Bubbler,
    /// Point of a drip line.
    Drip,
    /// Anything else, or not known.
    Other,
}

/// A sprinkler head.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HeadEntry {
    /// Name, unique among heads, valve boxes, sources and outlets.
    pub id: String,
    /// East, document units.
    #[serde(deserialize_with = "lengths::one")]
    pub x: f64,
    /// North, document units.
    #[serde(deserialize_with = "lengths::one")]
    pub y: f64,
    /// How it throws water; `other` when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kind: Option<HeadKind>,
    /// Name of its zone; a whole number in a file is kept as text. Absent: not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zone: Option<String>,
    /// Standard deviation of x and of y, document units; 0.05 m when absent.
    #[serde(default, deserialize_with = "lengths::optional", skip_serializing_if = "Option::is_none")]
    pub sd: Option<f64>,
    /// Horizontal accuracy at 95 %, document units, instead of `sd` (FGDC-STD-007.3-1998).
    #[serde(default, deserialize_with = "lengths::optional", skip_serializing_if = "Option::is_none")]
    pub accuracy_95: Option<f64>,
    /// Throw, document units.
    #[serde(default, deserialize_with = "lengths::optional", skip_serializing_if = "Option::is_none")]
    pub radius: Option<f64>,
    /// Angle of the watered sector, degrees, at most 360.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub arc_deg: Option<f64>,
    /// Flow: litres per second (`m`) or US gallons per minute (`ft`).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub flow: Option<f64>,
}

/// A valve box: the zones its valves feed, or how many valves it holds, or both when only some zones are known; neither
/// where nobody has opened it. A zone that heads name and no box lists has its valve in a box with room for it; where counts
/// leave no room at all, out of sight.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BoxEntry {
    /// Name, unique among heads, valve boxes, sources and outlets.
    pub id: String,
    /// East, document units.
    #[serde(deserialize_with = "lengths::one")]
    pub x: f64,
    /// North, document units.
    #[serde(deserialize_with = "lengths::one")]
    pub y: f64,
    /// Names of the zones fed from here; whole numbers in a file are kept as text.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zones: Option<Vec<String>>,
    /// Number of valves, spare ones included.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub valves: Option<u32>,
    /// Number of valves that feed nothing, of `valves` if these are counted; 0 when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spare: Option<u32>,
}

/// What a source of water is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SourceKind {
    /// Water meter.
    Meter,
    /// Backflow preventer.
    Backflow,
    /// Pump.
    Pump,
    /// Capped stub.
    Stub,
}

/// Where water enters the system.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SourceEntry {
    /// Name, unique among heads, valve boxes, sources and outlets.
    pub id: String,
    /// East, document units.
    #[serde(deserialize_with = "lengths::one")]
    pub x: f64,
    /// North, document units.
    #[serde(deserialize_with = "lengths::one")]
    pub y: f64,
    /// What it is.
    pub kind: SourceKind,
}

/// What an outlet is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum OutletKind {
    /// Tap on a wall: the end of a potable line.
    HoseBib,
    /// Standing tap in the yard: the end of a potable line.
    YardHydrant,
    /// Flush valve on the mainline.
    QuickCoupler,
}

impl OutletKind {
    /// The word in documents.
    pub const fn name(self) -> &'static str {
        match self {
            Self::HoseBib => "hose_bib",
            Self::YardHydrant => "yard_hydrant",
            Self::QuickCoupler => "quick_coupler",
        }
    }
}

/// What feeds an outlet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum OutletFeed {
    /// Pipe inside the building that it hangs on.
    House,
    /// Pipe through the ground.
    Ground,
}

/// The end of an always-pressurised line.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OutletEntry {
    /// Name, unique among heads, valve boxes, sources and outlets.
    pub id: String,
    /// East, document units.
    #[serde(deserialize_with = "lengths::one")]
    pub x: f64,
    /// North, document units.
    #[serde(deserialize_with = "lengths::one")]
    pub y: f64,
    /// What it is.
    pub kind: OutletKind,
    /// What feeds it. Absent: not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fed: Option<OutletFeed>,
}
