//! A drawn line that a detector, paint or known ends tell of: it belongs to no system of the irrigation.

use super::piece::{Kind, Piece};
use super::run_attributes::normal_cdf;
use crate::class::Class;
use crate::geometry::Point;

/// A drawn metal line.
#[derive(Clone, Debug, PartialEq)]
pub struct MetalLine {
    /// What it carries.
    pub class: Class,
    /// Its middle line, metres: two points or more.
    pub path: Vec<Point>,
    /// Ground above its top, metres.
    pub cover_m: f64,
    /// Mean and standard deviation of the normal law that its cover was drawn from, metres.
    pub cover_law_m: (f64, f64),
    /// Outside radius, metres.
    pub radius_m: f64,
    /// Which of the items that tell of metal lie on it.
    pub items: Vec<u16>,
    /// The fixtures that it leads to.
    pub fixtures: Vec<usize>,
    /// Whether the control wire lies beside it.
    pub wire: bool,
}

impl MetalLine {
    /// Its straight pieces; `system` is what their system is called by.
    pub fn pieces(&self, system: u16) -> impl Iterator<Item = Piece> + '_ {
        self.path.windows(2).map(move |ends| Piece {
            a: ends[0],
            b: ends[1],
            cover_m: self.cover_m as f32,
            radius_m: self.radius_m as f32,
            class: self.class,
            kind: Kind::Metal,
            system,
            wire: self.wire,
        })
    }

    /// The same line, known to lie as deep as it was drawn.
    pub fn as_drawn(&self) -> Self {
        Self { cover_law_m: (self.cover_m, 0.0), ..self.clone() }
    }

    /// Chance that its cover is less than a depth, metres.
    pub fn shallower(&self, depth_m: f64) -> f64 {
        let (mean, sd) = self.cover_law_m;
        if depth_m <= 0.0 { 0.0 } else { normal_cdf((depth_m - mean) / sd.max(1e-6)) }
    }
}
