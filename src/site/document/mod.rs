//! The site document, format `underturf-site/2`, exactly as it is written.
//!
//! Every length is in the document's own units (a text may carry another: see `lengths`), every direction an azimuth in degrees
//! clockwise from north, every probability in 0 to 1. An absent key stays absent, so that a document can be written back
//! without loss. Enumerations name their least harmful member last: a reader that has to go on past a word it does not know
//! takes that one.

mod accuracy;
mod digs;
mod findings;
mod ground;
mod lengths;
mod plant;
mod works;

pub use accuracy::{ACCURACY_KEYS, SDS_OF_ACCURACY_95, standard_deviation};
pub use digs::{DigEntry, Method};
pub use findings::{FlagEntry, ProbeEntry, StationTestEntry, SweptEntry, Tool};
pub use ground::{
    MarkEntry, ObstacleEntry, ObstacleKind, QualityLevel, ServiceEntry, SketchEntry, TreeEntry,
};
pub use lengths::Xy;
pub use lengths::{LENGTH, Texts};
pub use plant::{KEYS as TREE_KEYS, PlantEntry, PlantTable, TreeSize, Vigour, WORD_OR_TABLE};
pub use works::{
    BoxEntry, HeadEntry, HeadKind, OutletEntry, OutletFeed, OutletKind, SourceEntry, SourceKind,
};

use super::units::Units;
use serde::{Deserialize, Deserializer, Serialize};
use std::collections::BTreeMap;

/// The formats of site documents.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Format {
    /// The one that is written. The first one, `underturf-site/1`, is read too: `io` turns it into this one.
    #[serde(rename = "underturf-site/2", alias = "underturf-site/1")]
    V2,
}

/// Where the site lies on Earth: only for export, the engine works in the flat site plane.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Frame {
    /// Longitude of the site's origin, degrees east.
    pub lon: f64,
    /// Latitude of the site's origin, degrees north.
    pub lat: f64,
    /// Azimuth of the site's y axis, degrees clockwise from north; 0 when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub azimuth_deg: Option<f64>,
}

/// A whole site document.
///
/// # Units
/// Lengths in `units`; flows in litres per second (`m`) or US gallons per minute (`ft`).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Document {
    /// Format of the document.
    pub format: Format,
    /// Unit of every length.
    pub units: Units,
    /// Name of the site.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Day of the survey or of the dig, `YYYY-MM-DD`: marks are as old as they are then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub date: Option<String>,
    /// Outline of the ground that is dealt with.
    #[serde(default, deserialize_with = "lengths::optional_points", skip_serializing_if = "Option::is_none")]
    pub boundary: Option<Vec<Xy>>,
    /// Where the site lies on Earth.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub frame: Option<Frame>,
    /// Settings that differ from the defaults, by name: always in the units of
    /// [`Settings::FIELDS`](crate::settings::Settings::FIELDS), whatever the document's units.
    #[serde(default, deserialize_with = "absent_is_empty", skip_serializing_if = "BTreeMap::is_empty")]
    pub settings: BTreeMap<String, f64>,
    /// Sprinkler heads.
    #[serde(default, deserialize_with = "absent_is_empty", skip_serializing_if = "Vec::is_empty")]
    pub heads: Vec<HeadEntry>,
    /// Valve boxes.
    #[serde(default, deserialize_with = "absent_is_empty", skip_serializing_if = "Vec::is_empty")]
    pub valve_boxes: Vec<BoxEntry>,
    /// Where water enters the system.
    #[serde(default, deserialize_with = "absent_is_empty", skip_serializing_if = "Vec::is_empty")]
    pub sources: Vec<SourceEntry>,
    /// Ends of always-pressurised lines.
    #[serde(default, deserialize_with = "absent_is_empty", skip_serializing_if = "Vec::is_empty")]
    pub outlets: Vec<OutletEntry>,
    /// Buildings, paving, pools and beds.
    #[serde(default, deserialize_with = "absent_is_empty", skip_serializing_if = "Vec::is_empty")]
    pub obstacles: Vec<ObstacleEntry>,
    /// Standing trees.
    #[serde(default, deserialize_with = "absent_is_empty", skip_serializing_if = "Vec::is_empty")]
    pub trees: Vec<TreeEntry>,
    /// Valves that were run, and the heads that came up.
    #[serde(default, deserialize_with = "absent_is_empty", skip_serializing_if = "Vec::is_empty")]
    pub station_tests: Vec<StationTestEntry>,
    /// Exploratory hand digs.
    #[serde(default, deserialize_with = "absent_is_empty", skip_serializing_if = "Vec::is_empty")]
    pub probes: Vec<ProbeEntry>,
    /// Detector flags.
    #[serde(default, deserialize_with = "absent_is_empty", skip_serializing_if = "Vec::is_empty")]
    pub flags: Vec<FlagEntry>,
    /// Ground swept with a detector.
    #[serde(default, deserialize_with = "absent_is_empty", skip_serializing_if = "Vec::is_empty")]
    pub swept: Vec<SweptEntry>,
    /// Marks set by utility locators.
    #[serde(default, deserialize_with = "absent_is_empty", skip_serializing_if = "Vec::is_empty")]
    pub marks: Vec<MarkEntry>,
    /// Service lines with both ends known.
    #[serde(default, deserialize_with = "absent_is_empty", skip_serializing_if = "Vec::is_empty")]
    pub services: Vec<ServiceEntry>,
    /// Old sketches and as-built drawings.
    #[serde(default, deserialize_with = "absent_is_empty", skip_serializing_if = "Vec::is_empty")]
    pub sketches: Vec<SketchEntry>,
    /// Proposed digs.
    #[serde(default, deserialize_with = "absent_is_empty", skip_serializing_if = "Vec::is_empty")]
    pub digs: Vec<DigEntry>,
    /// Lengths that were written as texts with their unit, by place; the numbers above hold what they say.
    #[serde(skip)]
    pub texts: Texts,
}

impl Document {
    /// A document with nothing in it.
    pub fn new(units: Units) -> Self {
        Self {
            format: Format::V2,
            units,
            name: None,
            date: None,
            boundary: None,
            frame: None,
            settings: BTreeMap::new(),
            heads: Vec::new(),
            valve_boxes: Vec::new(),
            sources: Vec::new(),
            outlets: Vec::new(),
            obstacles: Vec::new(),
            trees: Vec::new(),
            station_tests: Vec::new(),
            probes: Vec::new(),
            flags: Vec::new(),
            swept: Vec::new(),
            marks: Vec::new(),
            services: Vec::new(),
            sketches: Vec::new(),
            digs: Vec::new(),
            texts: Texts::default(),
        }
    }

    /// Name of the dig at that place in the list: its id, or `dig1`, `dig2`, ... by place when it has none.
    pub fn dig_name(&self, index: usize) -> String {
        let id = self.digs.get(index).and_then(|dig| dig.id.clone());
        id.unwrap_or_else(|| format!("dig{}", index + 1))
    }
}

/// Reads a list or map that may be absent; absent and empty mean the same.
fn absent_is_empty<'de, D: Deserializer<'de>, T: Deserialize<'de> + Default>(from: D) -> Result<T, D::Error> {
    Option::<T>::deserialize(from).map(Option::unwrap_or_default)
}
