//! Points off the convex corners of an outline: the bends of a shortest way that keeps its distance.

use super::{Point, Polygon};

/// A corner whose mitre would lie further off than this many clearances gets two points instead of one: a right angle
/// (1.414) keeps one, an angle under 84 degrees gets two. Common practice, no source.
const MITRE_LIMIT: f64 = 1.5;

impl Polygon {
    /// Points `clearance_m` metres off the convex corners: a path through them, corner after corner, keeps that
    /// clearance. Sharp corners get two points, whose join is tangent to the circle of that radius round the corner.
    pub fn inflated_corners(&self, clearance_m: f64) -> Vec<Point> {
        off_corners(&self.turning_corners(), clearance_m).into_iter().map(|(_, p)| p).collect()
    }
}

/// For each point off a convex corner of the counter-clockwise `ring`: that corner and the point. The ring may be
/// that of an outline to stay inside, taken clockwise: then its reflex corners are the convex ones.
pub(super) fn off_corners(ring: &[Point], clearance_m: f64) -> Vec<(Point, Point)> {
    let n = ring.len();
    let mut points = Vec::with_capacity(n);
    for k in 0..n {
        let corner = ring[k];
        let (Some(come), Some(go)) =
            ((corner - ring[(k + n - 1) % n]).direction(), (ring[(k + 1) % n] - corner).direction())
        else {
            continue;
        };
        if come.cross(go) <= 0.0 {
            continue;
        }
        let (out_1, out_2) = (-come.left(), -go.left());
        let mitre = (out_1 + out_2) * (1.0 / (1.0 + out_1.dot(out_2)));
        if mitre.norm() <= MITRE_LIMIT {
            points.push((corner, corner + mitre * clearance_m));
        } else {
            // Half of the half turn: where the tangent at the bisector meets each offset edge.
            let quarter_turn = come.cross(go).atan2(come.dot(go)) / 4.0;
            let on = quarter_turn.tan();
            points.push((corner, corner + (out_1 + come * on) * clearance_m));
            points.push((corner, corner + (out_2 - go * on) * clearance_m));
        }
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rng::stream;
    use approx::assert_relative_eq;
    use rand::RngExt;

    #[test]
    fn right_angles_get_one_point_and_reflex_corners_none() {
        let ell = [[0., 0.], [4., 0.], [4., 1.], [1., 1.], [1., 3.], [0., 3.]].map(Point::from).to_vec();
        let points = Polygon::new(ell).inflated_corners(0.5);
        let expected = [[-0.5, -0.5], [4.5, -0.5], [4.5, 1.5], [1.5, 3.5], [-0.5, 3.5]].map(Point::from);
        assert_eq!(points.len(), 5);
        for (p, e) in points.iter().zip(expected) {
            assert_relative_eq!(p.distance(e), 0.0, epsilon = 1e-12);
        }
    }

    #[test]
    fn a_walk_round_a_triangle_keeps_the_clearance_exactly() {
        // n = 200 triangles of any sharpness; rounding only: 1e-9.
        let mut rng = stream(9, 0);
        for _ in 0..200 {
            let mut q = || Point::new(rng.random_range(-1.0..1.0), rng.random_range(-1.0..1.0));
            let triangle = Polygon::new(vec![q(), q(), q()]);
            if triangle.area() < 1e-3 {
                continue;
            }
            let walk = Polygon::new(triangle.inflated_corners(0.3));
            let nearest =
                walk.edges().map(|(a, b)| triangle.distance_to_segment(a, b)).fold(f64::INFINITY, f64::min);
            assert_relative_eq!(nearest, 0.3, epsilon = 1e-9);
        }
    }
}
