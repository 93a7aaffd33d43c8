//! Things measured a hand's breadth inside a wall: survey noise, so they are put at the wall.
//!
//! A head along a foundation, or a hose bib on a wall, is measured with the error of its own coordinates, and the wall with
//! its own. Within three standard deviations the thing is put at the wall, and a warning says so; deeper inside it is a fault.
//! Valves, meters and pumps do stand in basements, so boxes, sources and outlets may lie deep in a building, though not in a
//! pool.

use super::clean::{self, SAME_PLACE_M};
use super::document::{Document, ObstacleKind};
use super::items::Head;
use crate::geometry::{Point, Polygon};

/// So many standard deviations of a thing's place are taken to be noise: one in four hundred errs by more. Numerical choice.
pub(super) const NOISE_SDS: f64 = 3.0;

/// How a thing lies to the walls of a site.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Standing {
    /// In the open, on a wall, or where it may be.
    Free,
    /// Inside an obstacle by no more than noise.
    AtWall {
        /// Where on the wall it is put, metres.
        at: Point,
        /// How far inside it was written, metres.
        inside_m: f64,
        /// Index of the obstacle.
        obstacle: usize,
    },
    /// Inside an obstacle where it cannot be.
    Inside {
        /// How far, metres.
        inside_m: f64,
        /// Index of the obstacle.
        obstacle: usize,
    },
}

/// The obstacles that nothing of the system can be inside of.
pub(super) struct Walls {
    /// Index in the document, kind, outline in metres.
    blocking: Vec<(usize, ObstacleKind, Polygon)>,
}

/// What is put at a wall: heads may be in no building, the others may.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Thing {
    /// A head.
    Head,
    /// A valve box, source or outlet.
    Other,
}

impl Walls {
    /// The walls of a document: buildings and pools whose outlines are numbers.
    pub(super) fn new(document: &Document) -> Self {
        let scale = document.units.metres_per_unit();
        let blocking = document.obstacles.iter().enumerate().filter(|(_, it)| it.kind.blocks());
        let outline = |corners: &[[f64; 2]]| {
            let corners: Vec<Point> = corners.iter().map(|&at| Point::from(at) * scale).collect();
            Polygon::new(clean::outline(&corners).of(&corners))
        };
        let blocking = blocking
            .filter(|(_, it)| {
                it.outline.len() >= 3 && it.outline.iter().flatten().all(|number| number.is_finite())
            })
            .map(|(j, it)| (j, it.kind, outline(&it.outline)));
        Self { blocking: blocking.collect() }
    }

    /// How a thing at this place, known this well, lies to the walls; the obstacle it lies deepest in counts.
    pub(super) fn standing(&self, at: Point, sd_m: f64, thing: Thing) -> Standing {
        let inside = |outline: &Polygon, p: Point| {
            if outline.contains(p) { outline.distance_to_boundary(p) } else { 0.0 }
        };
        // On the wall itself is where hose bibs and heads along a foundation are drawn.
        let within = self.blocking.iter().map(|it| (inside(&it.2, at), it));
        let deepest = within.filter(|(depth, _)| *depth > SAME_PLACE_M).max_by(|a, b| a.0.total_cmp(&b.0));
        let Some((inside_m, (obstacle, kind, outline))) = deepest else { return Standing::Free };
        let (inside_m, obstacle) = (inside_m, *obstacle);
        let within_noise = |p: Point| p.distance(at) <= NOISE_SDS * sd_m;
        // Where two obstacles share a wall, the side that looks out.
        let open =
            |p: &Point| self.blocking.iter().all(|(j, _, other)| *j == obstacle || !other.contains(*p));
        let sides = outline.edges().map(|(a, b)| Polygon::new(vec![a, b]).nearest_on_boundary(at));
        let nearest = sides.filter(open).min_by(|p, q| p.distance(at).total_cmp(&q.distance(at)));
        match nearest.filter(|p| within_noise(*p)) {
            Some(at) => Standing::AtWall { at, inside_m, obstacle },
            None if thing == Thing::Head || *kind == ObstacleKind::Pool => {
                Standing::Inside { inside_m, obstacle }
            }
            None => Standing::Free,
        }
    }

    /// Where a thing stands on the site: at the wall, if it was written inside by no more than noise.
    pub(super) fn put(&self, at: Point, sd_m: f64, thing: Thing) -> Point {
        match self.standing(at, sd_m, thing) {
            Standing::AtWall { at, .. } => at,
            Standing::Free | Standing::Inside { .. } => at,
        }
    }
}

/// Standard deviation of a box's, source's or outlet's place, metres: the document names none, so that of a head.
pub(super) const OTHER_SD_M: f64 = Head::SD_M;
