//! Cutting a simple polygon into convex parts: ears first (Meisters 1975), then greedy merging across diagonals as in
//! Hertel and Mehlhorn 1983, which leaves at most four times the least possible number of parts.

use super::polygon::drop_straight_corners;
use super::segment::turn;
use super::{Point, Polygon};

impl Polygon {
    /// Convex parts, counter-clockwise each, whose union is exactly the polygon and whose interiors are disjoint.
    ///
    /// Corners of the parts are corners of the polygon. A ring without area has no parts; for a ring that crosses
    /// itself the result is some set of convex pieces and nothing more.
    pub fn convex_parts(&self) -> Vec<Vec<Point>> {
        let ring = self.turning_corners();
        let mut parts = clip_ears(&ring);
        merge(&ring, &mut parts);
        parts
            .into_iter()
            .map(|part| {
                let mut corners: Vec<Point> = part.into_iter().map(|k| ring[k]).collect();
                drop_straight_corners(&mut corners);
                corners
            })
            .filter(|corners| corners.len() >= 3)
            .collect()
    }
}

/// Triangles over the counter-clockwise ring, as indices of its corners.
fn clip_ears(ring: &[Point]) -> Vec<Vec<usize>> {
    let mut left: Vec<usize> = (0..ring.len()).collect();
    let mut triangles = Vec::with_capacity(ring.len());
    let mut k = 0;
    let mut refused = 0;
    while left.len() >= 3 {
        let n = left.len();
        k %= n;
        let (before, here, after) = (left[(k + n - 1) % n], left[k], left[(k + 1) % n]);
        let side = turn(ring[before], ring[here], ring[after]);
        let gives_up = refused >= n; // only a ring that crosses itself has no ear
        let ear = side > 0.0
            && (gives_up
                || left.iter().all(|&j| {
                    j == before
                        || j == here
                        || j == after
                        || turn(ring[before], ring[here], ring[j]) < 0.0
                        || turn(ring[here], ring[after], ring[j]) < 0.0
                        || turn(ring[after], ring[before], ring[j]) < 0.0
                }));
        if ear {
            triangles.push(vec![before, here, after]);
        }
        if ear || side == 0.0 || refused >= 2 * n {
            left.remove(k);
            refused = 0;
        } else {
            refused += 1;
            k += 1;
        }
    }
    triangles
}

/// Joins parts that share an edge as long as the union stays convex.
fn merge(ring: &[Point], parts: &mut Vec<Vec<usize>>) {
    let mut p = 0;
    while p < parts.len() {
        let mut q = p + 1;
        while q < parts.len() {
            if let Some(union) = convex_union(ring, &parts[p], &parts[q]) {
                parts[p] = union;
                parts.swap_remove(q);
                q = p + 1; // parts refused before may fit the larger one
            } else {
                q += 1;
            }
        }
        p += 1;
    }
}

/// The union of two convex parts over a shared edge, if it is convex.
fn convex_union(ring: &[Point], p: &[usize], q: &[usize]) -> Option<Vec<usize>> {
    let (m, n) = (p.len(), q.len());
    for i in 0..m {
        let (tail, head) = (p[i], p[(i + 1) % m]);
        let Some(j) = (0..n).find(|&j| q[j] == head && q[(j + 1) % n] == tail) else { continue };
        // p runs ... before_p, tail | head, after_p ...; q runs ... before_q, head | tail, after_q ...
        let (before_p, after_p) = (p[(i + m - 1) % m], p[(i + 2) % m]);
        let (before_q, after_q) = (q[(j + n - 1) % n], q[(j + 2) % n]);
        if turn(ring[before_p], ring[tail], ring[after_q]) < 0.0
            || turn(ring[before_q], ring[head], ring[after_p]) < 0.0
        {
            return None;
        }
        let from_head = (0..m).map(|s| p[(i + 1 + s) % m]); // ends at tail
        let between = (2..n).map(|s| q[(j + s) % n]); // q's corners after tail and before head
        return Some(from_head.chain(between).collect());
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rng::stream;
    use approx::assert_relative_eq;
    use rand::RngExt;
    use std::f64::consts::TAU;

    fn convex(part: &[Point]) -> bool {
        let n = part.len();
        n >= 3 && (0..n).all(|k| turn(part[k], part[(k + 1) % n], part[(k + 2) % n]) > 0.0)
    }

    /// Checks convexity, equal area (1e-12 of it) and, with both disjointness and coverage, membership of `n` points.
    fn check(polygon: &Polygon, points: impl IntoIterator<Item = Point>) {
        let parts = polygon.convex_parts();
        assert!(parts.iter().all(|part| convex(part)));
        let area: f64 = parts.iter().map(|part| Polygon::new(part.clone()).signed_area()).sum();
        assert_relative_eq!(area, polygon.area(), max_relative = 1e-12);
        for p in points {
            let held = parts.iter().filter(|part| Polygon::new((*part).clone()).contains(p)).count();
            assert_eq!(held > 0, polygon.contains(p));
        }
    }

    #[test]
    fn parts_of_random_stars_cover_them_exactly() {
        // n = 300 stars with 3 to 24 corners, 100 points each; membership is exact, so no tolerance.
        let mut rng = stream(8, 0);
        for round in 0..300 {
            let n = rng.random_range(3..25);
            let mut ring: Vec<Point> = (0..n)
                .map(|k| Point::unit(TAU * f64::from(k) / f64::from(n)) * rng.random_range(0.1..1.5))
                .collect();
            if round % 2 == 0 {
                ring.reverse();
            }
            let points: Vec<Point> = (0..100)
                .map(|_| Point::new(rng.random_range(-1.5..1.5), rng.random_range(-1.5..1.5)))
                .collect();
            check(&Polygon::new(ring), points);
        }
    }

    #[test]
    fn parts_of_right_angled_outlines_are_few() {
        let outline = |c: &[[f64; 2]]| Polygon::new(c.iter().map(|&c| c.into()).collect());
        let lattice = |n: i32| {
            (0..=2 * n).flat_map(move |i| {
                (0..=2 * n).map(move |j| Point::new(f64::from(i) / 2.0, f64::from(j) / 2.0))
            })
        };
        let square = outline(&[[0., 0.], [2., 0.], [4., 0.], [4., 4.], [0., 4.], [0., 1.]]);
        check(&square, lattice(5));
        assert_eq!(square.convex_parts().len(), 1);
        let ell = outline(&[[0., 0.], [4., 0.], [4., 1.], [1., 1.], [1., 3.], [0., 3.]]);
        check(&ell, lattice(5));
        assert_eq!(ell.convex_parts().len(), 2);
        // A comb, with teeth whose tops lie on one line: collinear corners abound.
        let comb = outline(&[
            [0., 0.],
            [5., 0.],
            [5., 2.],
            [4., 2.],
            [4., 1.],
            [3., 1.],
            [3., 2.],
            [2., 2.],
            [2., 1.],
            [1., 1.],
            [1., 2.],
            [0., 2.],
        ]);
        check(&comb, lattice(6));
        assert!(comb.convex_parts().len() <= 4 * 3 + 1);
    }

    #[test]
    fn a_flat_or_crossing_ring_ends_without_a_panic() {
        assert!(
            Polygon::new(vec![Point::new(0., 0.), Point::new(1., 0.), Point::new(2., 0.)])
                .convex_parts()
                .is_empty()
        );
        let bow = [[0., 0.], [2., 2.], [2., 0.], [0., 2.]].map(Point::from).to_vec();
        let _ = Polygon::new(bow).convex_parts();
        assert!(Polygon::new(vec![]).convex_parts().is_empty());
    }
}
