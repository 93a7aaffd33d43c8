//! The units a document may be written in, and what one of each is in the engine's metres and litres per second.

use serde::{Deserialize, Serialize};

/// Unit of every length of a document.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Units {
    /// Metres; flows in litres per second.
    #[serde(rename = "m")]
    Metres,
    /// International feet; flows in US gallons per minute.
    #[serde(rename = "ft")]
    Feet,
}

impl Units {
    /// Metres in one unit of length. The foot is 0.3048 m exactly (international yard and pound agreement, 1959).
    pub const fn metres_per_unit(self) -> f64 {
        match self {
            Self::Metres => 1.0,
            Self::Feet => 0.3048,
        }
    }

    /// Litres per second in one unit of flow: 1 in documents in metres, one US gallon (231 in3) per minute in
    /// documents in feet.
    pub const fn litres_per_second_per_unit(self) -> f64 {
        match self {
            Self::Metres => 1.0,
            Self::Feet => 3.785_411_784 / 60.0,
        }
    }

    /// The name used in documents.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Metres => "m",
            Self::Feet => "ft",
        }
    }
}
