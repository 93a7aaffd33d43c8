//! Convex hull of points: Andrew's monotone chain (1979) with exact orientation signs.

use super::Point;
use super::segment::turn;

/// The corners of the convex hull, counter-clockwise, without corners on its edges.
/// Points on one line give its two ends, equal points give one.
pub fn convex_hull(points: &[Point]) -> Vec<Point> {
    let mut sorted = points.to_vec();
    sorted.sort_unstable_by(|p, q| p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y)));
    sorted.dedup();
    if sorted.len() < 3 {
        return sorted;
    }
    let mut hull: Vec<Point> = Vec::with_capacity(sorted.len() + 1);
    let mut chain = |order: &mut dyn Iterator<Item = Point>| {
        let start = hull.len();
        for p in order {
            while hull.len() >= start + 2 && turn(hull[hull.len() - 2], hull[hull.len() - 1], p) <= 0.0 {
                hull.pop();
            }
            hull.push(p);
        }
        hull.pop(); // it opens the other chain
    };
    chain(&mut sorted.iter().copied());
    chain(&mut sorted.iter().rev().copied());
    hull
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rng::stream;
    use rand::RngExt;

    #[test]
    fn hull_is_convex_and_holds_every_point() {
        // n = 200 sets on a coarse lattice, where equal and collinear points abound; signs are exact, so no tolerance.
        let mut rng = stream(3, 0);
        for _ in 0..200 {
            let n = rng.random_range(1..30);
            let points: Vec<Point> = (0..n)
                .map(|_| Point::new(f64::from(rng.random_range(0..5)), f64::from(rng.random_range(0..5))))
                .collect();
            let hull = convex_hull(&points);
            let m = hull.len();
            assert!(m >= 1 && hull.iter().all(|h| points.contains(h)));
            if m >= 3 {
                for k in 0..m {
                    let (a, b) = (hull[k], hull[(k + 1) % m]);
                    assert!(turn(a, b, hull[(k + 2) % m]) > 0.0);
                    assert!(points.iter().all(|&p| turn(a, b, p) >= 0.0));
                }
            }
        }
    }

    #[test]
    fn points_on_a_line_give_its_ends() {
        let line: Vec<Point> = (0..5).map(|k| Point::new(f64::from(k), 2.0 * f64::from(k))).collect();
        assert_eq!(convex_hull(&line), vec![line[0], line[4]]);
        assert_eq!(convex_hull(&[line[1], line[1]]), vec![line[1]]);
    }
}
