//! Footprints of digs and probes: told apart by the keys that are given.

use super::clean;
use super::document::{DigEntry, ProbeEntry, Xy};
use super::fault::FaultKind;
use crate::geometry::{Footprint, Point, Polygon};

/// The footprint of a dig or probe, in metres.
#[derive(Clone, Debug, PartialEq)]
pub enum DigShape {
    /// A round hole.
    Disc {
        /// Its centre.
        centre: Point,
        /// Its radius, metres.
        radius_m: f64,
    },
    /// A trench: half its width to either side of its middle line.
    Trench {
        /// Middle line: two points or more.
        path: Vec<Point>,
        /// Width, metres.
        width_m: f64,
    },
    /// A pit of any outline.
    Pit {
        /// Its outline.
        outline: Polygon,
    },
}

impl DigShape {
    /// The ground that it covers.
    pub fn footprint(&self) -> Footprint {
        match self {
            Self::Disc { centre, radius_m } => Footprint::disc(*centre, *radius_m),
            Self::Trench { path, width_m } => Footprint::trench(path, *width_m),
            Self::Pit { outline } => Footprint::polygon(outline),
        }
    }

    /// The same ground elsewhere.
    pub fn moved(&self, by: Point) -> Self {
        let all = |points: &[Point]| points.iter().map(|&p| p + by).collect();
        match self {
            Self::Disc { centre, radius_m } => Self::Disc { centre: *centre + by, radius_m: *radius_m },
            Self::Trench { path, width_m } => Self::Trench { path: all(path), width_m: *width_m },
            Self::Pit { outline } => Self::Pit { outline: Polygon::new(all(&outline.ring)) },
        }
    }
}

/// The footprint as written, once it is clear which kind it is.
pub(super) enum Written<'a> {
    Disc { at: Xy, radius: f64 },
    Trench { path: &'a [Xy], width: f64 },
    Pit { outline: &'a [Xy] },
}

impl Written<'_> {
    /// The footprint in metres, without survey noise.
    pub(super) fn in_metres(&self, metres_per_unit: f64) -> DigShape {
        let point = |at: &Xy| Point::from(*at) * metres_per_unit;
        let points = |written: &[Xy]| -> Vec<Point> { written.iter().map(point).collect() };
        match self {
            Self::Disc { at, radius } => {
                DigShape::Disc { centre: point(at), radius_m: radius * metres_per_unit }
            }
            Self::Trench { path, width } => {
                let path = points(path);
                DigShape::Trench { path: clean::path(&path).of(&path), width_m: width * metres_per_unit }
            }
            Self::Pit { outline } => {
                let corners = points(outline);
                DigShape::Pit { outline: Polygon::new(clean::outline(&corners).of(&corners)) }
            }
        }
    }
}

/// The footprint of a dig.
pub(super) fn of_dig(dig: &DigEntry) -> Result<Written<'_>, FaultKind> {
    let keys = (dig.x, dig.y, dig.radius, dig.path.as_deref(), dig.width, dig.outline.as_deref());
    written(keys).ok_or(FaultKind::OneOf { choices: &["x, y and radius", "path and width", "outline"] })
}

/// The footprint of a probe.
pub(super) fn of_probe(probe: &ProbeEntry) -> Result<Written<'_>, FaultKind> {
    let keys = (probe.x, probe.y, probe.radius, probe.path.as_deref(), probe.width, None);
    written(keys).ok_or(FaultKind::OneOf { choices: &["x, y and radius", "path and width"] })
}

type Keys<'a> = (Option<f64>, Option<f64>, Option<f64>, Option<&'a [Xy]>, Option<f64>, Option<&'a [Xy]>);

fn written<'a>(keys: Keys<'a>) -> Option<Written<'a>> {
    match keys {
        (Some(x), Some(y), Some(radius), None, None, None) => Some(Written::Disc { at: [x, y], radius }),
        (None, None, None, Some(path), Some(width), None) => Some(Written::Trench { path, width }),
        (None, None, None, None, None, Some(outline)) => Some(Written::Pit { outline }),
        _ => None,
    }
}
