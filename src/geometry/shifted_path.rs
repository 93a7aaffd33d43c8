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
mod tests {
    use super::*;
    use crate::geometry::{Polygon, merge_intervals};
    use crate::rng::{Stream, stream};
    use approx::assert_relative_eq;
    use rand::RngExt;
    use statrs::distribution::{ContinuousCDF, Normal};
    use std::f64::consts::TAU;

    fn p(x: f64, y: f64) -> Point {
        Point::new(x, y)
    }

    fn hits(path: &ShiftedPath, footprint: &Footprint, reach: f64) -> Vec<(f64, f64)> {
        let mut out = Vec::new();
        path.hit_intervals(footprint, reach, &mut out);
        let mut set = out.iter().map(|h| (h.low, h.high)).collect();
        merge_intervals(&mut set);
        set
    }

    fn chance(set: &[(f64, f64)], sd: f64) -> f64 {
        let law = Normal::new(0.0, sd).expect("sd > 0");
        set.iter().map(|&(low, high)| law.cdf(high) - law.cdf(low)).sum()
    }

    #[test]
    fn a_gaussian_run_hits_a_disc_as_published() {
        // Long straight run, disc at distance d, radius r, offset sd s: Phi((r-d)/s) - Phi((-r-d)/s); printed digits.
        let path = ShiftedPath::new(&[p(-50., 0.), p(50., 0.)]);
        for (d, r, s, printed, digits) in [
            (0.8, 0.45, 0.5, 0.235754, 5e-7),
            (0.0, 1.0, 1.0, 0.682689, 5e-7),
            (1.0, 1.0, 1.0, 0.477250, 5e-7),
            (2.0, 1.0, 1.0, 0.157305, 5e-7),
            (0.6, 0.6, 0.3, 0.499968, 5e-7),
            (1.2, 0.6, 0.3, 0.022750, 5e-7),
        ] {
            for sign in [1.0, -1.0] {
                let set = hits(&path, &Footprint::disc(p(3.0, sign * d), r), 12.0 * s);
                assert_relative_eq!(chance(&set, s), printed, epsilon = digits);
            }
        }
    }

    /// A path of one to three legs, of 0.2 m to 3 m, with turns that keep clear of the mitre limit.
    fn random_path(rng: &mut Stream) -> ShiftedPath {
        let mut bearing = rng.random_range(0.0..TAU);
        let mut vertices = vec![p(rng.random_range(-1.0..1.0), rng.random_range(-1.0..1.0))];
        for _ in 0..rng.random_range(1..4) {
            let here = vertices[vertices.len() - 1];
            vertices.push(here + Point::unit(bearing) * rng.random_range(0.2..3.0));
            bearing += rng.random_range(-2.3..2.3);
        }
        ShiftedPath::new(&vertices)
    }

    fn random_footprint(rng: &mut Stream) -> Footprint {
        let centre = p(rng.random_range(-2.0..2.0), rng.random_range(-2.0..2.0));
        let radius = if rng.random_bool(0.5) { 0.0 } else { rng.random_range(0.01..0.3) };
        match rng.random_range(0..4) {
            0 => Footprint::disc(centre, rng.random_range(0.05..0.8)),
            1 => {
                let n = rng.random_range(3..8);
                let ring = (0..n)
                    .map(|k| {
                        centre + Point::unit(TAU * f64::from(k) / f64::from(n)) * rng.random_range(0.1..1.0)
                    })
                    .collect();
                Footprint::polygon(&Polygon::new(ring)).inflated(radius)
            }
            2 => {
                let mut at = centre;
                let path: Vec<Point> = (0..rng.random_range(2..4))
                    .map(|_| {
                        at = at + p(rng.random_range(-1.5..1.5), rng.random_range(-1.5..1.5));
                        at
                    })
                    .collect();
                Footprint::trench(&path, rng.random_range(0.1..0.5)).inflated(radius)
            }
            _ => {
                // On the axes, where tops are level and corners line up with legs.
                let (w, h) = (rng.random_range(0.2..1.5), rng.random_range(0.2..1.5));
                let ring = vec![p(0., 0.), p(w, 0.), p(w, h), p(0., h)];
                Footprint::polygon(&Polygon::new(ring)).translated(centre).inflated(radius)
            }
        }
    }

    #[test]
    fn offsets_that_hit_are_those_at_which_the_moved_path_meets_the_footprint() {
        // n = 6,000 pairs x 201 offsets against a test that knows nothing of frames, wedges or mitres. Offsets within
        // 1e-6 m of an interval's end are not judged. About a million are judged: a fault at a share of 1e-5 would show.
        let mut rng = stream(77, 0);
        let (mut judged, mut struck, mut shrunk) = (0, 0, 0);
        for round in 0..6000 {
            let (path, footprint) = if round % 3 == 0 {
                // Elbows and feet on the axes: ties everywhere.
                let steps =
                    [rng.random_range(1..4), rng.random_range(-3..4), rng.random_range(-3..4)].map(f64::from);
                let bend =
                    [p(0., 0.), p(steps[0], 0.), p(steps[0], steps[1]), p(steps[0] + steps[2], steps[1])];
                let square = Polygon::new(vec![p(0., 0.), p(1., 0.), p(1., 1.), p(0., 1.)]);
                let corner = p(f64::from(rng.random_range(-2..3)), f64::from(rng.random_range(-2..3)));
                let pipe = f64::from(rng.random_range(0..2)) * 0.25;
                (ShiftedPath::new(&bend), Footprint::polygon(&square).translated(corner).inflated(pipe))
            } else {
                (random_path(&mut rng), random_footprint(&mut rng))
            };
            if path.legs().iter().any(|leg| leg.start_move.norm() > 2.99 || leg.start_move.norm() == 0.0) {
                continue; // a turn back: the legs do not stay parallel, see below
            }
            let reach = rng.random_range(0.1..2.0);
            let set = hits(&path, &footprint, reach);
            assert!(set.iter().all(|&(low, high)| -reach <= low && low <= high && high <= reach));
            for _ in 0..201 {
                let o = rng.random_range(-reach..reach);
                if set.iter().any(|&(low, high)| (o - low).abs() < 1e-6 || (o - high).abs() < 1e-6) {
                    continue;
                }
                let moved = path.at(o);
                let meets = moved.windows(2).any(|leg| footprint.meets_segment(leg[0], leg[1]));
                let held = set.iter().any(|&(low, high)| low <= o && o <= high);
                assert_eq!(held, meets, "offset {o} of {path:?} with {footprint:?}: {set:?}");
                judged += 1;
                struck += i32::from(meets);
                shrunk += i32::from(
                    moved
                        .windows(2)
                        .zip(path.legs())
                        .any(|(leg, drawn)| (leg[1] - leg[0]).dot(drawn.along) < 0.0),
                );
            }
        }
        // The comparison is empty unless hits, misses and legs that have shrunk away are all common.
        assert!(
            struck > judged / 10 && struck < judged * 9 / 10 && shrunk > judged / 100,
            "{judged} {struck} {shrunk}"
        );
    }

    #[test]
    fn a_stretch_of_a_leg_hits_where_that_stretch_moved_sideways_does() {
        // n = 3,000 x 101 offsets, ends not judged within 1e-6 m.
        let mut rng = stream(78, 0);
        for _ in 0..3000 {
            let (path, footprint) = (random_path(&mut rng), random_footprint(&mut rng));
            let k = rng.random_range(0..path.legs().len());
            let mut shares = [rng.random_range(-0.3..1.3_f64).clamp(0.0, 1.0), rng.random_range(0.0..1.0)];
            shares.sort_unstable_by(f64::total_cmp);
            let [s0, s1] = shares;
            let mut out = Vec::new();
            path.hit_intervals_between(k, s0, s1, &footprint, 1.0, &mut out);
            assert!(out.iter().all(|h| h.leg == k));
            let leg = path.legs()[k];
            let cut = |s: f64, o: f64| leg.start.towards(leg.end, s) + leg.along.left() * o;
            for _ in 0..101 {
                let o: f64 = rng.random_range(-1.0..1.0);
                if out.iter().any(|h| (o - h.low).abs() < 1e-6 || (o - h.high).abs() < 1e-6) {
                    continue;
                }
                let a = if s0 == 0.0 { leg.at(o).0 } else { cut(s0, o) };
                let b = if s1 == 1.0 { leg.at(o).1 } else { cut(s1, o) };
                assert_eq!(out.iter().any(|h| h.low <= o && o <= h.high), footprint.meets_segment(a, b));
            }
        }
    }

    #[test]
    fn every_vertex_of_a_shifted_path_lies_at_the_offset_from_its_legs() {
        // n = 200 paths; rounding only: 1e-12.
        let mut rng = stream(79, 0);
        for _ in 0..200 {
            let path = random_path(&mut rng);
            for leg in path.legs() {
                let (a, b) = leg.at(0.3);
                for q in [a, b] {
                    assert_relative_eq!(leg.along.cross(q - leg.start), 0.3, epsilon = 1e-12);
                }
            }
            assert_eq!(path.at(0.0).len(), path.legs().len() + 1);
        }
    }

    #[test]
    fn hairpins_points_and_nothing_are_paths_too() {
        let disc = Footprint::disc(p(0., 0.), 0.1);
        let point = ShiftedPath::new(&[p(0.05, 0.), p(0.05, 0.)]);
        assert!(point.legs().is_empty() && point.length() == 0.0);
        assert_eq!(point.at(0.7), vec![p(0.05, 0.)]);
        assert_eq!(hits(&point, &disc, 0.5), vec![(-0.5, 0.5)]);
        assert!(hits(&ShiftedPath::new(&[p(0.11, 0.)]), &disc, 0.5).is_empty());
        assert!(
            hits(&ShiftedPath::new(&[]), &disc, 0.5).is_empty() && ShiftedPath::new(&[]).at(0.1).is_empty()
        );
        let hairpin = ShiftedPath::new(&[p(0., 0.), p(2., 0.), p(0., 0.1)]);
        assert_relative_eq!(hairpin.legs()[0].end_move.norm(), 3.0, epsilon = 1e-12);
        let back = ShiftedPath::new(&[p(0., 0.), p(2., 0.), p(0., 0.)]);
        assert_eq!(back.legs()[0].end_move, Point::default());
        // Out and back lie on opposite sides, each like a straight run.
        let set = hits(&back, &Footprint::disc(p(1., 0.3), 0.1), 1.0);
        assert_eq!(set.len(), 2);
        assert_relative_eq!(set[1].0, 0.2, epsilon = 1e-12);
        assert_relative_eq!(set[1].1, 0.4, epsilon = 1e-12);
        assert_relative_eq!(set[0].0, -0.4, epsilon = 1e-12);
    }
}
