//! How a segment lies to a polygon: the parts of it inside, on the boundary and outside.
//!
//! Below a nanometre nothing is decided: a part that stays that near the boundary runs along it, so pipe laid along a
//! wall is neither inside the building nor off the lawn.

use super::bounds::{apart, bounds_of};
use super::{Point, Polygon};

/// Lengths below this are no lengths, metres: far above rounding at site coordinates (1e4 m: 2e-12), far below a pipe.
const NOTHING_M: f64 = 1e-9;

#[derive(Clone, Copy, PartialEq)]
enum Side {
    Inside,
    Boundary,
    Outside,
}

impl Polygon {
    /// Calls `visit(t0, t1, side)` for the parts of a-b between its cuts with the boundary, in order, until it returns true.
    fn sections(&self, a: Point, b: Point, mut visit: impl FnMut(f64, f64, Side) -> bool) {
        let length = a.distance(b);
        if length <= NOTHING_M {
            return;
        }
        let along = (b - a) * (1.0 / length);
        let mut cuts = vec![0.0, 1.0];
        let mut cut = |t: f64| {
            if t > 0.0 && t < 1.0 {
                cuts.push(t);
            }
        };
        for (c, d) in self.edges() {
            let (off_c, off_d) = (along.cross(c - a), along.cross(d - a));
            if off_c.min(off_d) > NOTHING_M || off_c.max(off_d) < -NOTHING_M {
                continue;
            }
            let (t_c, t_d) = (along.dot(c - a) / length, along.dot(d - a) / length);
            if off_c.abs() <= NOTHING_M {
                cut(t_c);
            }
            if off_d.abs() <= NOTHING_M {
                cut(t_d);
            }
            if (off_c > 0.0) != (off_d > 0.0) {
                cut(t_c + (t_d - t_c) * (off_c / (off_c - off_d)));
            }
        }
        cuts.sort_unstable_by(f64::total_cmp);
        for pair in cuts.windows(2) {
            let (t0, t1) = (pair[0], pair[1]);
            if (t1 - t0) * length <= NOTHING_M {
                continue;
            }
            let middle = a.towards(b, f64::midpoint(t0, t1));
            let side = if self.distance_to_boundary(middle) <= NOTHING_M {
                Side::Boundary
            } else if self.contains(middle) {
                Side::Inside
            } else {
                Side::Outside
            };
            if visit(t0, t1, side) {
                return;
            }
        }
    }

    /// The parts of the segment from a (0) to b (1) that lie in the interior, as parameter intervals in order.
    /// Parts that run along the boundary, and parts shorter than 1e-9 m, are left out.
    pub fn inside_intervals(&self, a: Point, b: Point) -> Vec<(f64, f64)> {
        let mut inside: Vec<(f64, f64)> = Vec::new();
        if apart(self.bounds(), bounds_of([a, b])) {
            return inside;
        }
        let length = a.distance(b);
        self.sections(a, b, |t0, t1, side| {
            if side == Side::Inside {
                match inside.last_mut() {
                    Some(last) if (t0 - last.1) * length <= NOTHING_M => last.1 = t1,
                    _ => inside.push((t0, t1)),
                }
            }
            false
        });
        inside
    }

    /// Whether the segment a-b passes through the interior for more than 1e-9 m; touching and grazing do not block.
    pub fn blocks(&self, a: Point, b: Point) -> bool {
        if apart(self.bounds(), bounds_of([a, b])) {
            return false;
        }
        let mut blocked = false;
        self.sections(a, b, |_, _, side| {
            blocked = side == Side::Inside;
            blocked
        });
        blocked
    }

    /// Whether the whole segment a-b lies in the closed polygon, up to 1e-9 m.
    pub fn covers(&self, a: Point, b: Point) -> bool {
        let near = |p: Point| self.contains(p) || self.distance_to_boundary(p) <= NOTHING_M;
        if !near(a) || !near(b) {
            return false;
        }
        let mut left = false;
        self.sections(a, b, |_, _, side| {
            left = side == Side::Outside;
            left
        });
        !left
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rng::stream;
    use approx::assert_relative_eq;
    use rand::RngExt;
    use std::f64::consts::TAU;

    fn p(x: f64, y: f64) -> Point {
        Point::new(x, y)
    }

    fn u_shape() -> Polygon {
        Polygon::new(vec![
            p(0., 0.),
            p(5., 0.),
            p(5., 4.),
            p(4., 4.),
            p(4., 1.),
            p(1., 1.),
            p(1., 4.),
            p(0., 4.),
        ])
    }

    #[test]
    fn a_line_across_both_arms_is_inside_twice() {
        // 7 m long: arms at 1..2 and 5..6; exact up to rounding.
        let parts = u_shape().inside_intervals(p(-1., 2.), p(6., 2.));
        assert_eq!(parts.len(), 2);
        for (part, (t0, t1)) in parts.iter().zip([(1.0, 2.0), (5.0, 6.0)]) {
            assert_relative_eq!(part.0, t0 / 7.0, epsilon = 1e-12);
            assert_relative_eq!(part.1, t1 / 7.0, epsilon = 1e-12);
        }
    }

    #[test]
    fn grazing_is_neither_inside_nor_off() {
        let u = u_shape();
        for (a, b) in [
            (p(-1., 0.), p(6., 0.)),    // along the foot
            (p(1., 1.), p(4., 1.)),     // along the inner unmapped
            (p(-1., 4.), p(6., 4.)),    // over both arms
            (p(-1., 1.), p(1., -1.)),   // touches one corner
            (p(1., 4.), p(4., 1.)),     // corner to corner across the gap
            (p(2., 2.), p(3., 3.)),     // outside
            (p(0.5, 0.5), p(0.5, 0.5)), // no length
        ] {
            assert!(!u.blocks(a, b) && u.inside_intervals(a, b).is_empty(), "{a:?} {b:?}");
        }
        assert!(u.covers(p(0., 0.), p(5., 0.)) && u.covers(p(1., 1.), p(4., 1.)));
        assert!(!u.covers(p(-1., 0.), p(5., 0.)) && !u.covers(p(0.5, 3.), p(4.5, 3.)));
        assert!(u.covers(p(0.5, 3.), p(0.5, 0.2)));
        assert!(u.blocks(p(0., 0.), p(5., 4.)));
    }

    #[test]
    fn passing_a_corner_from_inside_does_not_split_the_part() {
        let u = u_shape();
        // Straight down the inner wall's line, then on through the foot.
        assert_eq!(u.inside_intervals(p(1., 1.), p(1., 0.)), vec![(0.0, 1.0)]);
        // From arm to foot, touching the reflex corner (1, 1).
        assert_eq!(u.inside_intervals(p(0.5, 1.5), p(1.5, 0.5)), vec![(0.0, 1.0)]);
    }

    #[test]
    fn the_share_inside_agrees_with_points_along_the_segment() {
        // n = 200 star polygons, 2001 points each; an interval's ends are caught to one step each, at most 12 ends.
        let mut rng = stream(5, 0);
        for _ in 0..200 {
            let n = rng.random_range(3..13);
            let star = Polygon::new(
                (0..n)
                    .map(|k| Point::unit(TAU * f64::from(k) / f64::from(n)) * rng.random_range(0.3..1.5))
                    .collect(),
            );
            let mut q = || p(rng.random_range(-1.5..1.5), rng.random_range(-1.5..1.5));
            let (a, b) = (q(), q());
            let share: f64 = star.inside_intervals(a, b).iter().map(|(t0, t1)| t1 - t0).sum();
            let hits =
                (0..=2000).filter(|&k| star.contains(a.towards(b, f64::from(k) / 2000.0))).count() as f64;
            assert!((share - hits / 2001.0).abs() < 13.0 / 2000.0);
            assert_eq!(star.blocks(a, b), share > 0.0);
        }
    }
}
