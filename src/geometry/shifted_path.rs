//! A path that may lie to one side of where it is drawn, as a whole: trench wander and swing joints move a run.
//!
//! Every leg stays parallel to itself and every bend moves along its mitre, so for each leg and each convex part of a
//! dig the offsets that hit are found in closed form (`offset_span`), and a chance is the law of the offset over them.

use super::bounds::{Bounds, apart, bounds_of, grown};
use super::offset_span::{SideLine, offset_spans};
use super::{Footprint, Point};

/// A bend's mitre is at most this many offsets long: the tips of hairpins, turns over 141 degrees, are cut. At such a
/// bend the legs of [`ShiftedPath::at`] are parallel to the drawn ones only nearly. Common practice, no source.
const MITRE_LIMIT: f64 = 3.0;

/// One straight leg of a path, with how its ends move.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leg {
    /// Where it starts when not shifted, metres.
    pub start: Point,
    /// Where it ends when not shifted, metres.
    pub end: Point,
    /// Unit vector along it.
    pub along: Point,
    /// Metres.
    pub length: f64,
    /// Metres that the start moves, per metre of offset.
    pub start_move: Point,
    /// Metres that the end moves, per metre of offset.
    pub end_move: Point,
}

impl Leg {
    /// The leg at `offset_m` metres to the left.
    pub fn at(&self, offset_m: f64) -> (Point, Point) {
        (self.start + self.start_move * offset_m, self.end + self.end_move * offset_m)
    }
}

/// An interval of offsets at which a leg hits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OffsetHit {
    /// Lower end, metres to the left of the drawn path.
    pub low: f64,
    /// Upper end, metres to the left of the drawn path.
    pub high: f64,
    /// Index of the leg that hits.
    pub leg: usize,
}

/// A polyline, ready to be asked at which sideways offsets it hits a dig.
#[derive(Clone, Debug, PartialEq)]
pub struct ShiftedPath {
    legs: Vec<Leg>,
    first: Point,
    bounds: Bounds,
    /// The longest move of a vertex per metre of offset.
    stretch: f64,
}

impl ShiftedPath {
    /// The path through `vertices`, metres; repeated vertices are dropped. A path of one point has no leg and is
    /// never shifted; without a vertex it is nowhere and hits nothing.
    pub fn new(vertices: &[Point]) -> Self {
        let mut legs: Vec<Leg> = Vec::with_capacity(vertices.len().saturating_sub(1));
        for ends in vertices.windows(2) {
            let Some(along) = (ends[1] - ends[0]).direction() else { continue };
            legs.push(Leg {
                start: ends[0],
                end: ends[1],
                along,
                length: ends[0].distance(ends[1]),
                start_move: along.left(),
                end_move: along.left(),
            });
        }
        for k in 1..legs.len() {
            let bend = mitre(legs[k - 1].along.left(), legs[k].along.left());
            legs[k - 1].end_move = bend;
            legs[k].start_move = bend;
        }
        let stretch =
            legs.iter().map(|leg| leg.start_move.norm().max(leg.end_move.norm())).fold(0.0, f64::max);
        let first = vertices.first().copied().unwrap_or(Point::new(f64::NAN, f64::NAN));
        Self { legs, first, bounds: bounds_of(vertices.iter().copied()), stretch }
    }

    /// The legs, in order.
    pub fn legs(&self) -> &[Leg] {
        &self.legs
    }

    /// The vertices of the path at `offset_m` metres to the left; one point for a path without length.
    pub fn at(&self, offset_m: f64) -> Vec<Point> {
        match self.legs.last() {
            Some(last) => {
                self.legs.iter().map(|leg| leg.at(offset_m).0).chain([last.at(offset_m).1]).collect()
            }
            None if self.first.x.is_nan() => Vec::new(),
            None => vec![self.first],
        }
    }

    /// The first vertex as drawn; `None` for a path without length.
    pub fn first(&self) -> Option<Point> {
        self.legs.first().map(|leg| leg.start)
    }

    /// The last vertex as drawn; `None` for a path without length.
    pub fn last(&self) -> Option<Point> {
        self.legs.last().map(|leg| leg.end)
    }

    /// Length of the path when not shifted, metres.
    pub fn length(&self) -> f64 {
        self.legs.iter().map(|leg| leg.length).sum()
    }

    /// The box of the path at all offsets within `reach` metres: (lower left, upper right).
    pub fn bounds(&self, reach: f64) -> (Point, Point) {
        grown(self.bounds, self.stretch * reach)
    }

    /// Adds to `out` the offsets within `-reach..reach` at which each leg hits each part of `footprint`, which the
    /// caller has inflated by the radius of the pipe. The intervals may overlap; see [`super::merge_intervals`].
    pub fn hit_intervals(&self, footprint: &Footprint, reach: f64, out: &mut Vec<OffsetHit>) {
        if apart(footprint.bounds(), self.bounds(reach)) {
            return;
        }
        if self.legs.is_empty() && footprint.contains(self.first) {
            out.push(OffsetHit { low: -reach, high: reach, leg: 0 });
        }
        for leg in 0..self.legs.len() {
            self.hit_intervals_between(leg, 0.0, 1.0, footprint, reach, out);
        }
    }

    /// As [`Self::hit_intervals`] for the short pipe that ties the shifted path to where it is drawn, at its first
    /// vertex or at its last: at offset h it reaches from 0 to h, square to the leg.
    pub fn tie_intervals(&self, at_last: bool, footprint: &Footprint, reach: f64, out: &mut Vec<OffsetHit>) {
        let (leg, end) = if at_last { (self.legs.len().saturating_sub(1), 1.0) } else { (0, 0.0) };
        let from = out.len();
        self.hit_intervals_between(leg, end, end, footprint, reach, out);
        for hit in &mut out[from..] {
            if hit.high > 0.0 {
                hit.high = reach;
            }
            if hit.low < 0.0 {
                hit.low = -reach;
            }
        }
    }

    /// As [`Self::hit_intervals`] for the stretch of one leg between the shares `s0 <= s1` of its drawn length. A cut
    /// within the leg moves straight sideways; at 0 and 1 the stretch ends where the leg does.
    pub fn hit_intervals_between(
        &self,
        leg: usize,
        s0: f64,
        s1: f64,
        footprint: &Footprint,
        reach: f64,
        out: &mut Vec<OffsetHit>,
    ) {
        let Some(piece) = self.legs.get(leg) else { return };
        let swept = grown(bounds_of([piece.start, piece.end]), reach * self.stretch);
        if apart(footprint.bounds(), swept) {
            return;
        }
        let (along, left) = (piece.along, piece.along.left());
        let start = SideLine {
            at: s0 * piece.length,
            slope: if s0 <= 0.0 { piece.start_move.dot(along) } else { 0.0 },
        };
        let end = SideLine {
            at: s1 * piece.length,
            slope: if s1 >= 1.0 { piece.end_move.dot(along) } else { 0.0 },
        };
        for (part, bounds) in footprint.parts_and_boxes() {
            if apart(bounds, swept) {
                continue;
            }
            let core = part.corners.iter().map(|&c| {
                let from_start = c - piece.start;
                Point::new(from_start.dot(along), from_start.dot(left))
            });
            offset_spans(core, part.radius, (start, end), reach, |low, high| {
                out.push(OffsetHit { low, high, leg });
            });
        }
    }
}

/// Where a bend between legs with these left normals moves per metre of offset: onto the offset lines of both, unless
/// that is too far. A full turn back stays in place: its legs move to opposite sides.
fn mitre(normal_1: Point, normal_2: Point) -> Point {
    let Some(bisector) = (normal_1 + normal_2).direction() else { return Point::default() };
    let half_turn_cos = bisector.dot(normal_1);
    if half_turn_cos * MITRE_LIMIT < 1.0 { bisector * MITRE_LIMIT } else { bisector * (1.0 / half_turn_cos) }
}

#[cfg(test)]
mod tests;
