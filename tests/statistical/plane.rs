//! Plane geometry of the referee: points, polylines, simple polygons. Written apart from the engine's geometry on
//! purpose, so that a fault there cannot hide itself here. Metres, x east, y north.

use std::ops::{Add, Mul, Sub};

/// A point or a displacement, metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Xy {
    pub x: f64,
    pub y: f64,
}

pub const fn xy(x: f64, y: f64) -> Xy {
    Xy { x, y }
}

impl Add for Xy {
    type Output = Xy;
    fn add(self, o: Xy) -> Xy {
        xy(self.x + o.x, self.y + o.y)
    }
}

impl Sub for Xy {
    type Output = Xy;
    fn sub(self, o: Xy) -> Xy {
        xy(self.x - o.x, self.y - o.y)
    }
}

impl Mul<f64> for Xy {
    type Output = Xy;
    fn mul(self, k: f64) -> Xy {
        xy(self.x * k, self.y * k)
    }
}

impl Xy {
    pub fn dot(self, o: Xy) -> f64 {
        self.x * o.x + self.y * o.y
    }
    pub fn cross(self, o: Xy) -> f64 {
        self.x * o.y - self.y * o.x
    }
    pub fn norm(self) -> f64 {
        self.x.hypot(self.y)
    }
    pub fn to(self, o: Xy) -> f64 {
        (o - self).norm()
    }
    /// Unit vector of the same direction; zero stays zero.
    pub fn unit(self) -> Xy {
        let n = self.norm();
        if n > 0.0 { self * (1.0 / n) } else { self }
    }
    /// Turned left by a right angle.
    pub fn left(self) -> Xy {
        xy(-self.y, self.x)
    }
    pub fn turned(self, angle_rad: f64) -> Xy {
        let (s, c) = angle_rad.sin_cos();
        xy(c * self.x - s * self.y, s * self.x + c * self.y)
    }
    pub fn between(self, o: Xy, t: f64) -> Xy {
        self + (o - self) * t
    }
}

/// The point of segment `a b` nearest to `p`.
pub fn nearest_on_segment(p: Xy, a: Xy, b: Xy) -> Xy {
    let d = b - a;
    let n = d.dot(d);
    if n == 0.0 {
        return a;
    }
    a + d * ((p - a).dot(d) / n).clamp(0.0, 1.0)
}

/// Distance from a point to a segment.
pub fn point_to_segment(p: Xy, a: Xy, b: Xy) -> f64 {
    p.to(nearest_on_segment(p, a, b))
}

/// Whether two closed segments meet.
pub fn segments_meet(a: Xy, b: Xy, c: Xy, d: Xy) -> bool {
    let side = |p: Xy, q: Xy, r: Xy| (q - p).cross(r - p);
    let (s1, s2) = (side(a, b, c), side(a, b, d));
    let (s3, s4) = (side(c, d, a), side(c, d, b));
    if ((s1 > 0.0 && s2 < 0.0) || (s1 < 0.0 && s2 > 0.0))
        && ((s3 > 0.0 && s4 < 0.0) || (s3 < 0.0 && s4 > 0.0))
    {
        return true;
    }
    let on = |p: Xy, q: Xy, r: Xy| point_to_segment(r, p, q) < 1e-12;
    on(a, b, c) || on(a, b, d) || on(c, d, a) || on(c, d, b)
}

/// Distance between two segments.
pub fn segment_to_segment(a: Xy, b: Xy, c: Xy, d: Xy) -> f64 {
    if segments_meet(a, b, c, d) {
        return 0.0;
    }
    point_to_segment(a, c, d)
        .min(point_to_segment(b, c, d))
        .min(point_to_segment(c, a, b))
        .min(point_to_segment(d, a, b))
}

/// The nearest point of a polyline and its distance.
pub fn nearest_on_path(p: Xy, path: &[Xy]) -> (Xy, f64) {
    path.windows(2)
        .map(|w| nearest_on_segment(p, w[0], w[1]))
        .chain(path.first().copied())
        .map(|q| (q, p.to(q)))
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .expect("a path has a point")
}

pub fn length(path: &[Xy]) -> f64 {
    path.windows(2).map(|w| w[0].to(w[1])).sum()
}

/// The edges of a closed outline.
pub fn edges(outline: &[Xy]) -> impl Iterator<Item = (Xy, Xy)> + '_ {
    (0..outline.len()).map(|i| (outline[i], outline[(i + 1) % outline.len()]))
}

/// Even-odd rule; points on the edge may fall either way.
pub fn inside(p: Xy, outline: &[Xy]) -> bool {
    edges(outline)
        .filter(|(a, b)| (a.y > p.y) != (b.y > p.y) && p.x < (b.x - a.x) * (p.y - a.y) / (b.y - a.y) + a.x)
        .count()
        % 2
        == 1
}

/// Distance from a point to the edge of an outline.
pub fn to_edge(p: Xy, outline: &[Xy]) -> f64 {
    edges(outline).map(|(a, b)| point_to_segment(p, a, b)).fold(f64::INFINITY, f64::min)
}

/// Whether a segment enters or touches a polygon.
pub fn segment_enters(a: Xy, b: Xy, outline: &[Xy]) -> bool {
    inside(a, outline) || inside(b, outline) || edges(outline).any(|(c, d)| segments_meet(a, b, c, d))
}

/// Signed area, positive when the outline runs counter-clockwise.
pub fn area(outline: &[Xy]) -> f64 {
    edges(outline).map(|(a, b)| a.cross(b)).sum::<f64>() / 2.0
}

pub fn rectangle(x0: f64, y0: f64, x1: f64, y1: f64) -> Vec<Xy> {
    vec![xy(x0, y0), xy(x1, y0), xy(x1, y1), xy(x0, y1)]
}

/// Outline moved outward by `by` (inward when negative), corners mitred. For the simple outlines of sites.
pub fn grown(outline: &[Xy], by: f64) -> Vec<Xy> {
    let sign = area(outline).signum();
    let n = outline.len();
    (0..n)
        .map(|i| {
            let (p, q, r) = (outline[(i + n - 1) % n], outline[i], outline[(i + 1) % n]);
            let (u, v) = ((q - p).unit().left() * -sign, (r - q).unit().left() * -sign);
            let half = (u + v).unit();
            q + half * (by / half.dot(u).max(0.3))
        })
        .collect()
}

/// Lower-left and upper-right corners of a cloud of points.
pub fn extent(points: &[Xy]) -> (Xy, Xy) {
    points
        .iter()
        .fold((xy(f64::INFINITY, f64::INFINITY), xy(f64::NEG_INFINITY, f64::NEG_INFINITY)), |(l, h), p| {
            (xy(l.x.min(p.x), l.y.min(p.y)), xy(h.x.max(p.x), h.y.max(p.y)))
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances_by_hand() {
        assert_eq!(point_to_segment(xy(1.0, 2.0), xy(0.0, 0.0), xy(4.0, 0.0)), 2.0);
        assert_eq!(point_to_segment(xy(7.0, 4.0), xy(0.0, 0.0), xy(4.0, 0.0)), 5.0);
        assert_eq!(segment_to_segment(xy(0.0, 1.0), xy(1.0, 1.0), xy(4.0, 5.0), xy(4.0, 9.0)), 5.0);
        assert_eq!(segment_to_segment(xy(0.0, 0.0), xy(2.0, 2.0), xy(0.0, 2.0), xy(2.0, 0.0)), 0.0);
    }

    #[test]
    fn a_grown_square_keeps_its_shape_in_either_direction() {
        let mut square = rectangle(0.0, 0.0, 2.0, 2.0);
        assert!((area(&grown(&square, 1.0)) - 16.0).abs() < 1e-12);
        square.reverse();
        assert!((area(&grown(&square, 0.5)).abs() - 9.0).abs() < 1e-12);
        assert!(inside(xy(1.0, 1.0), &square) && !inside(xy(3.0, 1.0), &square));
    }
}
