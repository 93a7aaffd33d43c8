//! A polygon that is asked often how legs of pipe lie to it: sure answers come cheap, doubtful ones from
//! [`Polygon`] itself.
//!
//! A leg that keeps away from every corner, and whose ends keep away from the boundary, is parted by plain crossings
//! with the edges, and the number of edges met behind its start tells whether that lies inside. One pass over the
//! corners without memory of its own replaces cuts, sorting and membership tests. Whatever comes nearer than
//! [`SURE_M`] to a corner or a threshold is left to the exact tests, so that no answer differs from theirs.

use crate::geometry::{Point, Polygon};

/// Nothing nearer than this to a corner, an end or a threshold is decided here, metres: far above the exact tests'
/// nanometre, far below any pipe. Numerical choice.
pub const SURE_M: f64 = 1e-6;

/// Legs cut more often than this are left to the exact tests. Numerical choice.
const MOST_CUTS: usize = 8;

/// A polygon with its box.
pub struct Outline {
    polygon: Polygon,
    bounds: (Point, Point),
}

impl Outline {
    /// The outline of a polygon.
    pub fn new(polygon: Polygon) -> Self {
        Self { bounds: polygon.bounds(), polygon }
    }

    /// The polygon.
    pub fn polygon(&self) -> &Polygon {
        &self.polygon
    }

    /// Whether the box of the polygon and that of the corners have no point in common.
    pub fn apart(&self, corners: &[Point]) -> bool {
        let (low, high) = self.bounds;
        corners.iter().all(|p| p.x < low.x)
            || corners.iter().all(|p| p.x > high.x)
            || corners.iter().all(|p| p.y < low.y)
            || corners.iter().all(|p| p.y > high.y)
    }

    /// As [`Polygon::blocks`].
    pub fn blocks(&self, a: Point, b: Point) -> bool {
        if self.apart(&[a, b]) {
            return false;
        }
        match self.sure_inside_m(a, b) {
            Some(0.0) => false,
            Some(inside_m) if inside_m > SURE_M => true,
            _ => self.polygon.blocks(a, b),
        }
    }

    /// As [`Polygon::covers`].
    pub fn covers(&self, a: Point, b: Point) -> bool {
        match self.sure_inside_m(a, b) {
            Some(inside_m) if inside_m < a.distance(b) - SURE_M => false,
            Some(inside_m) if inside_m >= a.distance(b) => true,
            _ => self.polygon.covers(a, b),
        }
    }

    /// As [`Polygon::inside_intervals`].
    pub fn inside_intervals(&self, a: Point, b: Point) -> Vec<(f64, f64)> {
        if self.apart(&[a, b]) || self.sure_inside_m(a, b) == Some(0.0) {
            return Vec::new();
        }
        self.polygon.inside_intervals(a, b)
    }

    /// Share of a leg's length in the interior.
    pub fn inside_share(&self, a: Point, b: Point) -> f64 {
        if self.apart(&[a, b]) {
            return 0.0;
        }
        self.polygon.inside_intervals(a, b).iter().map(|(start, end)| end - start).sum()
    }

    /// Length of a leg in the interior, metres, good to rounding.
    pub fn quick_inside_m(&self, a: Point, b: Point) -> f64 {
        if self.apart(&[a, b]) {
            return 0.0;
        }
        self.sure_inside_m(a, b).unwrap_or_else(|| self.inside_share(a, b) * a.distance(b))
    }

    /// Length of a leg outside or on the boundary, metres, good to rounding.
    pub fn quick_outside_m(&self, a: Point, b: Point) -> f64 {
        a.distance(b) - self.quick_inside_m(a, b)
    }

    /// Length of a leg in the interior, metres, where plain crossings tell it; the leg's whole length to the bit if it
    /// is not cut at all.
    fn sure_inside_m(&self, a: Point, b: Point) -> Option<f64> {
        let length_m = a.distance(b);
        if length_m <= SURE_M {
            return None;
        }
        let along = (b - a) * (1.0 / length_m);
        let (mut cuts, mut count, mut inside) = ([0.0; MOST_CUTS], 0, false);
        let mut before = *self.polygon.ring.last()? - a;
        let mut off_before = along.cross(before);
        for &corner in &self.polygon.ring {
            let here = corner - a;
            let off = along.cross(here);
            if off.abs() < SURE_M {
                return None;
            }
            if (off > 0.0) != (off_before > 0.0) {
                let at_m = along.dot(before + (here - before) * (off_before / (off_before - off)));
                if at_m.abs() < SURE_M || (at_m - length_m).abs() < SURE_M {
                    return None;
                }
                if at_m < 0.0 {
                    inside = !inside;
                } else if at_m < length_m {
                    *cuts.get_mut(count)? = at_m;
                    count += 1;
                }
            }
            (before, off_before) = (here, off);
        }
        if count == 0 {
            return Some(if inside { length_m } else { 0.0 });
        }
        cuts[..count].sort_unstable_by(f64::total_cmp);
        let (mut inside_m, mut from_m) = (0.0, 0.0);
        for &cut_m in &cuts[..count] {
            if inside {
                inside_m += cut_m - from_m;
            }
            (inside, from_m) = (!inside, cut_m);
        }
        Some(if inside { inside_m + length_m - from_m } else { inside_m })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rng::stream;
    use rand::RngExt;
    use std::f64::consts::TAU;

    /// n = 400 star polygons x 50 legs, every second polygon and leg on a lattice so that corners, edges and ends
    /// coincide; lengths to 1e-9 m, everything else exactly. Most legs must be decided without the exact tests in
    /// general position, and none may be decided on the lattice where a corner lies on the leg's line.
    #[test]
    fn answers_are_those_of_the_polygon() {
        let mut rng = stream(61, 0);
        let (mut sure, mut free) = (0, 0);
        for round in 0..400 {
            let lattice = round % 2 == 0;
            let place = |p: Point| if lattice { Point::new(p.x.round(), p.y.round()) } else { p };
            let corners = rng.random_range(3..12);
            let corner = |k| Point::unit(TAU * f64::from(k) / f64::from(corners));
            let star: Vec<Point> =
                (0..corners).map(|k| place(corner(k) * rng.random_range(1.0..6.0))).collect();
            let polygon = Polygon::new(star);
            if !polygon.crossings_with_itself().is_empty() {
                continue; // rounded onto each other
            }
            let outline = Outline::new(polygon.clone());
            for _ in 0..50 {
                let mut end = || place(Point::new(rng.random_range(-6.0..6.0), rng.random_range(-6.0..6.0)));
                let (a, b) = (end(), end());
                assert_eq!(outline.blocks(a, b), polygon.blocks(a, b), "{a:?} {b:?} {polygon:?}");
                assert_eq!(outline.covers(a, b), polygon.covers(a, b), "{a:?} {b:?} {polygon:?}");
                let parts = polygon.inside_intervals(a, b);
                assert_eq!(outline.inside_intervals(a, b), parts);
                let inside_m = parts.iter().map(|(start, end)| end - start).sum::<f64>() * a.distance(b);
                assert!((outline.quick_inside_m(a, b) - inside_m).abs() < 1e-9, "{a:?} {b:?} {polygon:?}");
                assert_eq!(outline.inside_share(a, b) * a.distance(b), inside_m);
                let on_line = |c: &Point| (b - a).cross(*c - a) == 0.0;
                let decided = outline.sure_inside_m(a, b).is_some();
                assert!(!(decided && polygon.ring.iter().any(on_line)));
                free += usize::from(!lattice);
                sure += usize::from(!lattice && decided);
            }
        }
        assert!(free > 5_000 && sure * 100 > free * 99, "{sure} of {free} legs are decided cheaply");
    }
}
