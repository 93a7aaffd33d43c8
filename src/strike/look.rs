//! Looks into the ground: where, how deep, and how surely a line in the way would be met.

use crate::geometry::Footprint;

/// A dig, or an exploratory hand dig that found nothing.
#[derive(Clone, Debug)]
pub struct Look {
    /// Ground covered.
    pub footprint: Footprint,
    /// Depth, metres.
    pub depth_m: f64,
    /// Chance that a line in the way is met: one for a dig.
    pub detect: f64,
}

impl Look {
    /// A dig: whatever is in its way is struck.
    pub fn dig(footprint: Footprint, depth_m: f64) -> Self {
        Self { footprint, depth_m, detect: 1.0 }
    }
}
