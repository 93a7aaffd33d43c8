//! The convex hull of discs of any radii (a point is a disc of radius 0): its perimeter and its centre of area.
//!
//! The hull's support in direction u is the greatest c.u + r over the discs, so each disc owns the bearings at which it
//! is greatest, and perimeter = integral of the support over all bearings (Cauchy). Ownership is found per disc from
//! pairwise arcs. That costs n^2 log n, but ties, which are the rule for right-angled outlines, cannot derail it: an
//! arc that rounding doubles or drops has no length.

use super::Point;
use std::f64::consts::TAU;

/// Bearings `from..to` (radians) at which the hull's boundary is that of the disc.
#[derive(Clone, Copy, Debug)]
struct Arc {
    centre: Point,
    radius: f64,
    from: f64,
    to: f64,
}

/// The hull's arcs in order of bearing; together they go once round.
fn arcs(discs: &[(Point, f64)]) -> Vec<Arc> {
    let mut arcs = Vec::with_capacity(discs.len());
    let mut lost: Vec<(f64, f64)> = Vec::with_capacity(2 * discs.len());
    for (i, &(centre, radius)) in discs.iter().enumerate() {
        lost.clear();
        for (j, &(other, other_radius)) in discs.iter().enumerate() {
            let (gap, more) = (centre - other, other_radius - radius);
            let distance = gap.norm();
            if i == j || more <= -distance && (more < 0.0 || i < j) {
                continue; // the other is within this one; of equal discs the first counts
            }
            if more >= distance {
                lost.push((0.0, TAU));
                break;
            }
            let half = (more / distance).acos(); // this one is greater within `half` of the bearing of `gap`
            let start = (gap.y.atan2(gap.x) + half).rem_euclid(TAU);
            let end = start + (TAU - 2.0 * half);
            lost.push((start, end.min(TAU)));
            if end > TAU {
                lost.push((0.0, end - TAU));
            }
        }
        lost.sort_unstable_by(|p, q| p.0.total_cmp(&q.0));
        let mut from = 0.0;
        for &(start, end) in lost.iter().chain(&[(TAU, TAU)]) {
            if start > from {
                arcs.push(Arc { centre, radius, from, to: start });
            }
            from = from.max(end);
        }
    }
    arcs.sort_unstable_by(|p, q| p.from.total_cmp(&q.from));
    arcs
}

/// The mean of the centres: measuring from there keeps rounding small wherever the site lies.
fn middle(discs: &[(Point, f64)]) -> Point {
    discs.iter().fold(Point::default(), |sum, &(c, _)| sum + c) * (1.0 / discs.len().max(1) as f64)
}

/// Perimeter in metres of the convex hull of the discs (centre, radius); twice the length for points on a line.
pub(super) fn perimeter(discs: &[(Point, f64)]) -> f64 {
    let middle = middle(discs);
    arcs(discs)
        .iter()
        .map(|a| {
            let turned = Point::new(a.to.sin() - a.from.sin(), a.from.cos() - a.to.cos());
            (a.centre - middle).dot(turned) + a.radius * (a.to - a.from)
        })
        .sum()
}

/// Centre of area of the convex hull of the discs (centre, radius); the mean of the centres if it has no area.
pub(super) fn centroid(discs: &[(Point, f64)]) -> Point {
    let middle = middle(discs);
    let (mut area, mut moment) = (0.0, Point::default());
    let mut add = |part: f64, centre: Point| {
        area += part;
        moment = moment + centre * part;
    };
    let arcs = arcs(discs);
    let end_of = |a: &Arc, bearing: f64| a.centre - middle + Point::unit(bearing) * a.radius;
    for (k, a) in arcs.iter().enumerate() {
        let (p, q) = (end_of(a, a.from), end_of(a, a.to));
        let next = &arcs[(k + 1) % arcs.len()];
        let r = end_of(next, next.from);
        add(p.cross(q) / 2.0, (p + q) * (1.0 / 3.0));
        add(q.cross(r) / 2.0, (q + r) * (1.0 / 3.0));
        // The circular segment beyond the chord p-q.
        let angle = a.to - a.from;
        let segment = a.radius * a.radius * (angle - angle.sin()) / 2.0;
        if segment > 0.0 {
            let out = 4.0 * a.radius * (angle / 2.0).sin().powi(3) / (3.0 * (angle - angle.sin()));
            add(segment, a.centre - middle + Point::unit(f64::midpoint(a.from, a.to)) * out);
        }
    }
    if area > 1e-18 { middle + moment * (1.0 / area) } else { middle }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Polygon, convex_hull};
    use crate::rng::stream;
    use approx::assert_relative_eq;
    use rand::RngExt;
    use std::f64::consts::PI;

    fn p(x: f64, y: f64) -> Point {
        Point::new(x, y)
    }

    #[test]
    fn perimeters_of_known_hulls() {
        // Algebra, rounding only: 1e-12 relative.
        let known = [
            (vec![(p(3., 4.), 0.5)], PI),
            (vec![(p(0., 0.), 0.0), (p(3., 4.), 0.0)], 10.0),
            (vec![(p(0., 0.), 0.5), (p(3., 4.), 0.5), (p(0., 0.), 0.5)], 10.0 + PI),
            (vec![(p(0., 0.), 2.0), (p(1., 0.), 0.5)], 4.0 * PI),
            // Open belt round radii 2 and 1, 2 apart: sin t = 1/2; tangents 2 sqrt 3, arcs 4 and 2 sixths of their circles.
            (
                vec![(p(0., 0.), 2.0), (p(2., 0.), 1.0)],
                2.0 * 3f64.sqrt() + 2.0 * 4.0 * PI / 3.0 + 2.0 * PI / 3.0,
            ),
        ];
        for (discs, length) in known {
            assert_relative_eq!(perimeter(&discs), length, max_relative = 1e-12);
        }
        let lattice: Vec<(Point, f64)> =
            (0..16).map(|k| (p(f64::from(k % 4), f64::from(k / 4)), 0.25)).collect();
        assert_relative_eq!(perimeter(&lattice), 12.0 + PI / 2.0, max_relative = 1e-12);
        assert_relative_eq!(centroid(&lattice).distance(p(1.5, 1.5)), 0.0, epsilon = 1e-12);
    }

    #[test]
    fn hulls_of_random_discs_agree_with_hulls_of_points_on_them() {
        // n = 100 sets; discs as regular 2000-gons fall short by a share of pi^2 / (6 n^2), 4e-7, of their arcs.
        let mut rng = stream(6, 0);
        for _ in 0..100 {
            let discs: Vec<(Point, f64)> = (0..rng.random_range(1..8))
                .map(|_| {
                    let r = if rng.random_bool(0.3) { 0.0 } else { rng.random_range(0.01..1.0) };
                    (p(rng.random_range(99.0..101.0), rng.random_range(-1.0..1.0)), r)
                })
                .collect();
            let rim: Vec<Point> = discs
                .iter()
                .flat_map(|&(c, r)| (0..2000).map(move |k| c + Point::unit(TAU * f64::from(k) / 2000.0) * r))
                .collect();
            let hull = Polygon::new(convex_hull(&rim));
            assert_relative_eq!(perimeter(&discs), hull.perimeter(), max_relative = 2e-6, epsilon = 1e-9);
            if hull.area() > 0.01 {
                let (mut area, mut moment) = (0.0, Point::default());
                let origin = hull.ring[0];
                for (a, b) in hull.edges() {
                    let part = (a - origin).cross(b - origin) / 2.0;
                    area += part;
                    moment = moment + (a + b - origin * 2.0) * (part / 3.0);
                }
                let centre = origin + moment * (1.0 / area);
                assert_relative_eq!(centroid(&discs).distance(centre), 0.0, epsilon = 1e-5);
            }
        }
    }
}
