//! The classes of buried line: one list everywhere.

use serde::{Deserialize, Serialize};

/// What a buried line carries.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[repr(u8)]
pub enum Class {
    /// Irrigation pipe downstream of a valve: no pressure when off.
    Lateral,
    /// Irrigation pipe that is always under pressure.
    Mainline,
    /// Low-voltage wire from the controller to the valves.
    ControlWire,
    /// Reclaimed water.
    Reclaimed,
    /// Drinking water.
    Potable,
    /// Gas.
    Gas,
    /// Electric power.
    Electric,
    /// Telephone, cable, fibre.
    Communication,
    /// Sewers and drains.
    Sewer,
    /// Lines that nobody knows of: abandoned or unrecorded.
    Unknown,
}

impl Class {
    /// Every class, in the order used by all tables.
    pub const ALL: [Self; 10] = [
        Self::Lateral,
        Self::Mainline,
        Self::ControlWire,
        Self::Reclaimed,
        Self::Potable,
        Self::Gas,
        Self::Electric,
        Self::Communication,
        Self::Sewer,
        Self::Unknown,
    ];

    /// Whether lines of this class belong to nobody who irrigates: the layouts have no system of them, so that all that is
    /// known of one is where it was marked or met.
    pub const fn is_utility(self) -> bool {
        matches!(self, Self::Gas | Self::Electric | Self::Communication | Self::Sewer)
    }

    /// The name used in documents and tables.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Lateral => "lateral",
            Self::Mainline => "mainline",
            Self::ControlWire => "control_wire",
            Self::Reclaimed => "reclaimed",
            Self::Potable => "potable",
            Self::Gas => "gas",
            Self::Electric => "electric",
            Self::Communication => "communication",
            Self::Sewer => "sewer",
            Self::Unknown => "unknown",
        }
    }

    /// The class of that name, if there is one.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|class| class.name() == name)
    }
}
