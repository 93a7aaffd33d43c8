//! Places by tape: two distances from two fixed points, or a distance along their line and one square to it.
//!
//! Whoever stakes a point out has a tape and no coordinates. With tapes of one standard deviation `s` that cross at an
//! angle `t`, the error ellipse of the point has half axes `s / sqrt(1 + cos t)` and `s / sqrt(1 - cos t)` and the root
//! mean square error `s sqrt(2) / sin(t)` (python/docs/trade-values.md, 8.21): near the line of the two points tapes fix
//! nothing.

use super::Point;

/// Two fixed points to measure from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Baseline {
    a: Point,
    b: Point,
    along: Point,
    length_m: f64,
}

/// Half axes of the error ellipse of a point, one standard deviation, metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TapeError {
    /// The longer one; infinite on the line of the fixed points.
    pub greater_m: f64,
    /// The shorter one.
    pub lesser_m: f64,
}

impl TapeError {
    /// Root mean square distance from the true place, metres.
    pub fn rms_m(self) -> f64 {
        self.greater_m.hypot(self.lesser_m)
    }
}

impl Baseline {
    /// The line from `a` to `b`; `None` if they are one point.
    pub fn new(a: Point, b: Point) -> Option<Self> {
        let along = (b - a).direction()?;
        Some(Self { a, b, along, length_m: a.distance(b) })
    }

    /// Its length, metres.
    pub const fn length_m(&self) -> f64 {
        self.length_m
    }

    /// The two tapes to a point, metres.
    pub fn tapes(&self, p: Point) -> (f64, f64) {
        (self.a.distance(p), self.b.distance(p))
    }

    /// How far along the line from `a`, and how far to the left of it looking towards `b`, metres; negative: behind `a`, to
    /// the right.
    pub fn along_and_left(&self, p: Point) -> (f64, f64) {
        (self.along.dot(p - self.a), self.along.cross(p - self.a))
    }

    /// The point that lies so far along the line and to its left.
    pub fn from_along_and_left(&self, along_m: f64, left_m: f64) -> Point {
        self.a + self.along * along_m + self.along.left() * left_m
    }

    /// The point at these two tapes, to the left or right of the line from `a` to `b`; `None` if the tapes do not meet.
    ///
    /// The height over the line is that of a triangle of three known sides, by Kahan's ordered form of Heron's formula, which
    /// loses no digits where the triangle is thin.
    pub fn from_tapes(&self, to_a_m: f64, to_b_m: f64, left: bool) -> Option<Point> {
        if !(to_a_m >= 0.0 && to_b_m >= 0.0 && to_a_m.is_finite() && to_b_m.is_finite()) {
            return None;
        }
        let along = 0.5 * ((to_a_m - to_b_m) * (to_a_m + to_b_m) / self.length_m + self.length_m);
        let mut sides = [to_a_m, to_b_m, self.length_m];
        sides.sort_by(|x, y| y.total_cmp(x));
        let [x, y, z] = sides;
        // A tape pulled straight along the line misses by rounding alone.
        let gap = z - (x - y);
        let gap = if gap.abs() <= 4.0 * f64::EPSILON * x { 0.0 } else { gap };
        let squared = (x + (y + z)) * gap * (z + (x - y)) * (x + (y - z));
        if squared < 0.0 {
            return None;
        }
        let height = 0.5 * squared.sqrt() / self.length_m;
        Some(self.from_along_and_left(along, if left { height } else { -height }))
    }

    /// The angle at which the two tapes to a point cross, radians in 0 to pi; `None` at one of the fixed points.
    pub fn crossing_rad(&self, p: Point) -> Option<f64> {
        let (u, v) = ((p - self.a).direction()?, (p - self.b).direction()?);
        Some(u.cross(v).abs().atan2(u.dot(v)))
    }

    /// Error of a point at tapes of one standard deviation; `None` at one of the fixed points.
    ///
    /// The tapes read `p` along the unit vectors u and v, so its information matrix is `(u u' + v v') / sd^2`, whose
    /// eigenvalues are `(1 + cos t) / sd^2` and `(1 - cos t) / sd^2`.
    pub fn error(&self, p: Point, tape_sd_m: f64) -> Option<TapeError> {
        let half = 0.5 * self.crossing_rad(p)?;
        let axes = [half.cos(), half.sin()].map(|part| tape_sd_m / (std::f64::consts::SQRT_2 * part));
        let (greater_m, lesser_m) = (axes[0].max(axes[1]), axes[0].min(axes[1]));
        Some(TapeError { greater_m, lesser_m })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rng::stream;
    use approx::assert_relative_eq;
    use proptest::prelude::*;
    use rand_distr::{Distribution, StandardNormal};

    fn line() -> Baseline {
        Baseline::new(Point::new(0.0, 0.0), Point::new(8.0, 0.0)).unwrap()
    }

    /// python/docs/trade-values.md, 8.21: root mean square error in tape errors, by crossing angle.
    #[test]
    fn published_error_of_a_fix() {
        for (angle_deg, rms) in [
            (90.0, std::f64::consts::SQRT_2),
            (60.0, 1.63299),
            (120.0, 1.63299),
            (45.0, 2.0),
            (30.0, 2.82843),
        ] {
            // On the perpendicular bisector the tapes cross at 2 atan(half length / height).
            let height = 4.0 / (f64::to_radians(angle_deg) / 2.0).tan();
            let p = Point::new(4.0, height);
            assert_relative_eq!(line().crossing_rad(p).unwrap().to_degrees(), angle_deg, epsilon = 1e-9);
            assert_relative_eq!(line().error(p, 1.0).unwrap().rms_m(), rms, epsilon = 1e-5);
        }
        assert!(line().crossing_rad(Point::new(8.0, 0.0)).is_none());
        assert!(line().error(Point::new(3.0, 0.0), 0.025).unwrap().greater_m > 1e6);
    }

    /// Half axes against the spread of 20,000 points fixed from tapes with errors. The standard deviation of such a spread is
    /// known within 0.5 % (1 / sqrt(2 n)); five of that, and the share that curvature adds at tapes of 25 mm, stay below 4 %.
    #[test]
    fn error_ellipse_is_that_of_simulated_tapes() {
        let spread = |p: Point, sd: f64| {
            let mut rng = stream(5, 0);
            let mut normal = || -> f64 { StandardNormal.sample(&mut rng) };
            let (to_a, to_b) = line().tapes(p);
            let n = 20_000;
            let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
            for _ in 0..n {
                let (noise_a, noise_b) = (sd * normal(), sd * normal());
                let q = line().from_tapes(to_a + noise_a, to_b + noise_b, true).unwrap() - p;
                xx += q.x * q.x / f64::from(n);
                xy += q.x * q.y / f64::from(n);
                yy += q.y * q.y / f64::from(n);
            }
            let (middle, half) = (0.5 * (xx + yy), (0.5 * (xx - yy)).hypot(xy));
            ((middle + half).sqrt(), (middle - half).sqrt())
        };
        for p in [Point::new(4.0, 4.0), Point::new(2.0, 9.0), Point::new(11.0, 3.0), Point::new(3.0, 1.5)] {
            let (greater, lesser) = spread(p, 0.025);
            let error = line().error(p, 0.025).unwrap();
            assert!((greater / error.greater_m - 1.0).abs() < 0.04, "{p:?}: {greater} {error:?}");
            assert!((lesser / error.lesser_m - 1.0).abs() < 0.04, "{p:?}: {lesser} {error:?}");
            // Planted fault: a tape error taken as the point's error is off by more than the bound wherever tapes do not
            // cross squarely.
            let square = (line().crossing_rad(p).unwrap().to_degrees() - 90.0).abs() < 5.0;
            assert!(square || (greater / 0.025 - 1.0).abs() > 0.04, "{p:?}");
        }
    }

    #[test]
    fn tapes_that_do_not_meet_are_refused() {
        assert_eq!(line().from_tapes(2.0, 5.0, true), None);
        assert_eq!(line().from_tapes(-3.0, 5.0, true), None);
        assert_eq!(line().from_tapes(f64::NAN, 5.0, true), None);
        assert_eq!(line().from_tapes(3.0, 5.0, true), Some(Point::new(3.0, 0.0)));
        assert_eq!(Baseline::new(Point::new(1.0, 1.0), Point::new(1.0, 1.0)), None);
    }

    /// Rounding of a tape (a few units in the last place of the longest side) moves the point by that over the sine of the
    /// crossing angle, and over a thin triangle by the root of it.
    fn allowed(base: &Baseline, p: Point) -> f64 {
        let (to_a, to_b) = base.tapes(p);
        let longest = to_a.max(to_b).max(base.length_m());
        let rounding = 8.0 * f64::EPSILON * longest * (1.0 + longest / base.length_m());
        let sine = base.crossing_rad(p).map_or(0.0, f64::sin);
        (rounding / sine.max(1e-300)).min((rounding * longest).sqrt() * 4.0)
    }

    proptest! {
        /// Both round trips: point to tapes to point, and point to baseline and offset to point.
        #[test]
        fn round_trips(ax in -50.0..50.0, ay in -50.0..50.0, bx in -50.0..50.0, by in -50.0..50.0,
                       px in -50.0..50.0, py in -50.0..50.0) {
            let (a, b, p) = (Point::new(ax, ay), Point::new(bx, by), Point::new(px, py));
            prop_assume!(a.distance(b) > 0.5);
            let base = Baseline::new(a, b).unwrap();
            let (along, left) = base.along_and_left(p);
            prop_assert!(base.from_along_and_left(along, left).distance(p) < 1e-11);
            let (to_a, to_b) = base.tapes(p);
            let back = base.from_tapes(to_a, to_b, left > 0.0).unwrap();
            prop_assert!(back.distance(p) <= allowed(&base, p) + 1e-13, "{} {}", back.distance(p), allowed(&base, p));
            // Planted fault: the other side of the line is another point.
            prop_assert!(left.abs() < 1e-3 || base.from_tapes(to_a, to_b, left <= 0.0).unwrap().distance(p) > 1e-3);
        }

        /// And tapes to point to tapes.
        #[test]
        fn tapes_come_back(to_a in 0.1..60.0_f64, share in 0.01..0.99, left: bool) {
            let base = line();
            let to_b = (to_a - 8.0).abs() + share * (to_a + 8.0 - (to_a - 8.0).abs());
            let p = base.from_tapes(to_a, to_b, left).unwrap();
            let (again_a, again_b) = base.tapes(p);
            prop_assert!((again_a - to_a).abs() < 1e-11 && (again_b - to_b).abs() < 1e-11);
            prop_assert_eq!(base.along_and_left(p).1 > 0.0, left);
        }
    }
}
