//! What a likely line is made of, and what counts as one.

use crate::class::Class;
use crate::error::{Allowed, ArgumentError};
use crate::geometry::Point;

/// What counts as likely, and how finely it is told.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LineOptions {
    /// Least share of draws, above 0 and at most 1.
    pub least_chance: f64,
    /// Distance between stations is at most this, metres.
    pub step_m: f64,
    /// A line further aside than this from its course belongs to another, metres.
    pub reach_m: f64,
}

impl Default for LineOptions {
    /// A quarter of the draws; a stake every 2 m; a reach beyond which one offset in five hundred lies
    /// (settings `offset_sd_m` and `offset_stray_sd_m` as shipped).
    fn default() -> Self {
        Self { least_chance: 0.25, step_m: 2.0, reach_m: 1.0 }
    }
}

impl LineOptions {
    pub(super) fn check(&self) -> Result<(), ArgumentError> {
        Allowed::above(0.0, 1.0).check("least_chance", self.least_chance)?;
        Allowed::above(0.05, 100.0).metres().check("step_m", self.step_m)?;
        Allowed::above(0.0, 10.0).metres().check("reach_m", self.reach_m)
    }
}

/// One place along a likely line: where a flag stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Station {
    /// Middle of the band across the line that holds the line in 90 % of the draws that have it here, metres.
    pub at: Point,
    /// Half width of that band, metres.
    pub half_width_m: f64,
    /// Direction of the line, radians counter-clockwise from x.
    pub angle_rad: f64,
    /// Length of line that the station stands for, half to each side, metres.
    pub span_m: f64,
    /// Share of draws in which a line of the class passes here.
    pub chance: f64,
}

/// A line that is likely, station after station.
#[derive(Clone, Debug, PartialEq)]
pub struct LikelyLine {
    /// What it carries.
    pub class: Class,
    /// Index of the system it most often belongs to.
    pub system: usize,
    /// Share of the draws that have the line in which it belongs to that system.
    pub system_share: f64,
    /// Mean of its stations' chances, weighted by length.
    pub chance: f64,
    /// Its stations, in order.
    pub stations: Vec<Station>,
}

impl LikelyLine {
    /// Length, metres.
    pub fn length_m(&self) -> f64 {
        self.stations.iter().map(|station| station.span_m).sum()
    }
}
