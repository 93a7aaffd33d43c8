//! The ground that a dig opens, seen from above: a union of rounded convex parts.

use super::bounds::{Bounds, apart, bounds_of, grown};
use super::convex_hull;
use super::{Point, Polygon, Rounded, round_hull};

/// The plan of a hole, post hole, pit or trench: a union of convex parts, each a polygon grown by a radius.
#[derive(Clone, Debug, PartialEq)]
pub struct Footprint {
    parts: Vec<Rounded>,
    /// The box of each part.
    boxes: Vec<Bounds>,
    /// The box of all.
    bounds: Bounds,
}

impl Footprint {
    fn of(parts: Vec<Rounded>) -> Self {
        let boxes: Vec<Bounds> = parts.iter().map(Rounded::bounds).collect();
        let bounds = bounds_of(boxes.iter().flat_map(|&(low, high)| [low, high]));
        Self { parts, boxes, bounds }
    }

    /// A round hole, metres; of radius 0 it is a point.
    pub fn disc(centre: Point, radius: f64) -> Self {
        Self::of(vec![Rounded { corners: vec![centre], radius }])
    }

    /// A pit with this outline; without area it is empty.
    pub fn polygon(outline: &Polygon) -> Self {
        Self::of(outline.convex_parts().into_iter().map(|corners| Rounded { corners, radius: 0.0 }).collect())
    }

    /// A trench along `path`, `width` metres wide: one rectangle per leg, cut square at both ends of the path, with a
    /// disc at each bend, as a bucket leaves it. A path of one point is a disc of that width.
    pub fn trench(path: &[Point], width: f64) -> Self {
        let mut path = path.to_vec();
        path.dedup();
        let half = width / 2.0;
        let mut parts = Vec::with_capacity(2 * path.len());
        for leg in path.windows(2) {
            let Some(along) = (leg[1] - leg[0]).direction() else { continue };
            let side = along.left() * half;
            let corners = vec![leg[0] - side, leg[1] - side, leg[1] + side, leg[0] + side];
            parts.push(Rounded { corners, radius: 0.0 });
        }
        let bends = if path.len() == 1 { &path[..] } else { path.get(1..path.len() - 1).unwrap_or(&[]) };
        parts.extend(bends.iter().map(|&bend| Rounded { corners: vec![bend], radius: half }));
        Self::of(parts)
    }

    /// The convex parts; their union is the footprint.
    pub fn parts(&self) -> &[Rounded] {
        &self.parts
    }

    /// The parts with their boxes.
    pub(super) fn parts_and_boxes(&self) -> impl Iterator<Item = (&Rounded, Bounds)> {
        self.parts.iter().zip(self.boxes.iter().copied())
    }

    /// The least axis-parallel box round the footprint: (lower left, upper right), metres.
    pub fn bounds(&self) -> (Point, Point) {
        self.bounds
    }

    /// The footprint moved by `shift`, metres.
    pub fn translated(&self, shift: Point) -> Self {
        let moved = |(low, high): Bounds| (low + shift, high + shift);
        Self {
            parts: self
                .parts
                .iter()
                .map(|part| Rounded {
                    corners: part.corners.iter().map(|&c| c + shift).collect(),
                    radius: part.radius,
                })
                .collect(),
            boxes: self.boxes.iter().map(|&b| moved(b)).collect(),
            bounds: moved(self.bounds),
        }
    }

    /// The footprint grown by `by` metres on every side (its sum with a disc).
    pub fn inflated(&self, by: f64) -> Self {
        Self {
            parts: self
                .parts
                .iter()
                .map(|part| Rounded { corners: part.corners.clone(), radius: part.radius + by })
                .collect(),
            boxes: self.boxes.iter().map(|&b| grown(b, by)).collect(),
            bounds: grown(self.bounds, by),
        }
    }

    /// The discs whose convex hull is the footprint's: corners that no hull needs are left out when radii are equal.
    fn discs(&self) -> Vec<(Point, f64)> {
        let radius = self.parts.first().map_or(0.0, |part| part.radius);
        if self.parts.iter().all(|part| part.radius == radius) {
            let corners: Vec<Point> =
                self.parts.iter().flat_map(|part| part.corners.iter().copied()).collect();
            return convex_hull(&corners).into_iter().map(|c| (c, radius)).collect();
        }
        self.parts.iter().flat_map(|part| part.corners.iter().map(|&c| (c, part.radius))).collect()
    }

    /// Perimeter in metres of the convex hull of the whole footprint, exact: the measure of the straight lines that
    /// meet it (Crofton). A disc gives 2 pi r, a straight cut twice its length.
    pub fn hull_perimeter(&self) -> f64 {
        round_hull::perimeter(&self.discs())
    }

    /// The centre of area of the convex hull: a disc's centre.
    pub fn reference(&self) -> Point {
        round_hull::centroid(&self.discs())
    }

    /// Whether the closed footprint and the closed segment a-b have a point in common.
    pub fn meets_segment(&self, a: Point, b: Point) -> bool {
        let box_of_leg = bounds_of([a, b]);
        !apart(self.bounds, box_of_leg)
            && self
                .parts_and_boxes()
                .any(|(part, bounds)| !apart(bounds, box_of_leg) && part.meets_segment(a, b))
    }

    /// Distance in metres from the footprint to the closed segment a-b; 0 when they meet, infinite if it is empty.
    pub fn distance_to_segment(&self, a: Point, b: Point) -> f64 {
        self.parts.iter().map(|part| part.distance_to_segment(a, b)).fold(f64::INFINITY, f64::min)
    }

    /// Distance in metres from the footprint to `p`; 0 inside, infinite if it is empty.
    pub fn distance_to_point(&self, p: Point) -> f64 {
        self.parts.iter().map(|part| part.distance_to_point(p)).fold(f64::INFINITY, f64::min)
    }

    /// Whether `p` lies in the closed footprint.
    pub fn contains(&self, p: Point) -> bool {
        !apart(self.bounds, (p, p)) && self.parts.iter().any(|part| part.contains(p))
    }

    /// Whether the footprint reaches into the interior of `polygon`; touching it from outside does not count.
    pub fn meets_polygon_interior(&self, polygon: &Polygon) -> bool {
        let box_of_polygon = polygon.bounds();
        !apart(self.bounds, box_of_polygon)
            && self
                .parts_and_boxes()
                .any(|(part, bounds)| !apart(bounds, box_of_polygon) && part.meets_interior_of(polygon))
    }

    /// Whether the whole footprint lies in the closed `polygon`; touching its boundary from inside is allowed.
    pub fn within(&self, polygon: &Polygon) -> bool {
        self.parts.iter().all(|part| part.within(polygon))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rng::stream;
    use approx::assert_relative_eq;
    use rand::RngExt;
    use std::f64::consts::PI;

    fn p(x: f64, y: f64) -> Point {
        Point::new(x, y)
    }

    fn rectangle(w: f64, h: f64) -> Polygon {
        Polygon::new(vec![p(0., 0.), p(w, 0.), p(w, h), p(0., h)])
    }

    fn ell() -> Polygon {
        Polygon::new([[0., 0.], [4., 0.], [4., 1.], [1., 1.], [1., 3.], [0., 3.]].map(Point::from).to_vec())
    }

    #[test]
    fn hull_perimeters_and_centres_are_those_of_the_formulas() {
        // Algebra, rounding only: 1e-12.
        let disc = Footprint::disc(p(1e4, 2.), 0.45);
        assert_relative_eq!(disc.hull_perimeter(), 2.0 * PI * 0.45, max_relative = 1e-12);
        assert_relative_eq!(disc.reference().distance(p(1e4, 2.)), 0.0, epsilon = 1e-12);
        let pit = Footprint::polygon(&rectangle(2., 1.));
        assert_relative_eq!(pit.hull_perimeter(), 6.0, max_relative = 1e-12);
        assert_relative_eq!(pit.inflated(0.1).hull_perimeter(), 6.0 + 0.2 * PI, max_relative = 1e-12);
        assert_relative_eq!(pit.reference().distance(p(1., 0.5)), 0.0, epsilon = 1e-12);
        assert_relative_eq!(
            Footprint::polygon(&ell()).hull_perimeter(),
            4.0 + 1.0 + 13f64.sqrt() + 1.0 + 3.0,
            max_relative = 1e-12
        );
        let straight = Footprint::trench(&[p(0., 0.), p(10., 0.)], 0.3);
        assert_relative_eq!(straight.hull_perimeter(), 20.6, max_relative = 1e-12);
        // Elbow of 3 + 3, width 2: the bend's disc of radius 1 bulges over the outer corner of the hull.
        let elbow = Footprint::trench(&[p(3., 0.), p(0., 0.), p(0., 3.)], 2.0);
        let expected = 3.0 + PI / 2.0 + 3.0 + 2.0 + 8f64.sqrt() + 2.0;
        assert_relative_eq!(elbow.hull_perimeter(), expected, max_relative = 1e-12);
        assert_relative_eq!(elbow.inflated(0.5).hull_perimeter(), expected + PI, max_relative = 1e-12);
        let centre = elbow.reference();
        assert_relative_eq!(centre.x, centre.y, epsilon = 1e-12);
    }

    #[test]
    fn a_trench_ends_flat_and_has_no_gap_at_a_bend() {
        let trench = Footprint::trench(&[p(0., 0.), p(2., 0.), p(2., 0.), p(2., 2.)], 0.4);
        assert_eq!(trench.parts().len(), 3);
        assert!(
            !trench.contains(p(-0.01, 0.)) && trench.contains(p(0., 0.2)) && !trench.contains(p(2., 2.01))
        );
        assert!(trench.contains(p(2.14, -0.14)) && !trench.contains(p(2.15, -0.15)));
        assert_relative_eq!(trench.distance_to_point(p(-1., 0.)), 1.0, epsilon = 1e-12);
        assert_relative_eq!(trench.distance_to_segment(p(-1., -1.), p(3., -1.)), 0.8, epsilon = 1e-12);
        assert_eq!(Footprint::trench(&[p(1., 1.)], 0.4), Footprint::disc(p(1., 1.), 0.2));
    }

    #[test]
    fn meeting_is_distance_nought_and_inflating_shortens_distance() {
        // n = 2,000 segments against four footprints. Squares of distances round at 1e-16: 1e-7 near touch, else 1e-12.
        let mut rng = stream(12, 0);
        let shapes = [
            Footprint::disc(p(0.3, 0.2), 0.5),
            Footprint::polygon(&ell()),
            Footprint::trench(&[p(0., 0.), p(2., 1.), p(3., -1.)], 0.3),
            Footprint::polygon(&ell()).inflated(0.25),
        ];
        for _ in 0..2000 {
            let mut q = || p(rng.random_range(-4.0..6.0), rng.random_range(-4.0..6.0));
            let (a, b, shift) = (q(), q(), q());
            for shape in &shapes {
                let d = shape.distance_to_segment(a, b);
                assert_eq!(shape.meets_segment(a, b), d == 0.0);
                let grown = shape.inflated(0.2).distance_to_segment(a, b);
                assert_relative_eq!(grown, (d - 0.2).max(0.0), epsilon = 1e-12);
                let moved = shape.translated(shift);
                assert_relative_eq!(moved.distance_to_segment(a + shift, b + shift), d, epsilon = 1e-7);
                assert_relative_eq!(
                    shape.distance_to_segment(a, a),
                    shape.distance_to_point(a),
                    epsilon = 1e-12
                );
                assert_eq!(shape.contains(a), shape.distance_to_point(a) == 0.0);
            }
        }
    }

    #[test]
    fn within_and_clear_of_a_polygon_allow_touching() {
        let ground = ell();
        assert!(Footprint::disc(p(0.5, 0.5), 0.5).within(&ground));
        assert!(!Footprint::disc(p(0.5, 0.5), 0.51).within(&ground));
        assert!(!Footprint::disc(p(2.0, 2.0), 0.5).within(&ground));
        assert!(Footprint::polygon(&rectangle(4., 1.)).within(&ground));
        assert!(!Footprint::polygon(&rectangle(4., 1.1)).within(&ground));
        assert!(!Footprint::polygon(&rectangle(1.5, 1.5)).within(&ground), "over the inner corner");
        assert!(Footprint::polygon(&ground).within(&ground));
        let notch = Footprint::polygon(&rectangle(3., 2.)).translated(p(1., 1.));
        assert!(!notch.within(&ground) && !notch.meets_polygon_interior(&ground));
        assert!(notch.translated(p(-0.1, 0.)).meets_polygon_interior(&ground));
        assert!(!Footprint::disc(p(2., 2.), 1.0).meets_polygon_interior(&ground));
        assert!(Footprint::disc(p(2., 2.), 1.01).meets_polygon_interior(&ground));
        assert!(Footprint::disc(p(0.5, 0.5), 0.01).meets_polygon_interior(&ground));
        assert!(Footprint::polygon(&ground).meets_polygon_interior(&ground));
        assert!(Footprint::disc(p(2., 2.), 9.0).meets_polygon_interior(&ground));
        let trench = Footprint::trench(&[p(-1., 2.), p(2., 2.)], 0.2);
        assert!(trench.meets_polygon_interior(&ground) && !trench.within(&ground));
    }
}
