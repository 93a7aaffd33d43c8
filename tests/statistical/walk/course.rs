//! The course of a line as a dense polyline with its arc length: places along it, directions, crossings of two courses.
//! The trench wanders smoothly about the straight pieces that were set out.

use crate::installer::Dice;
use crate::plane::{Xy, nearest_on_segment, segments_meet, xy};

/// Distance between points of a dense course, metres.
const STEP_M: f64 = 0.25;

/// A polyline with its arc length.
#[derive(Clone, Debug)]
pub struct Course {
    points: Vec<Xy>,
    arc_m: Vec<f64>,
}

impl Course {
    pub fn new(points: Vec<Xy>) -> Self {
        assert!(points.len() >= 2, "a course has two points");
        let mut arc_m = vec![0.0];
        for w in points.windows(2) {
            arc_m.push(arc_m[arc_m.len() - 1] + w[0].to(w[1]));
        }
        Self { points, arc_m }
    }

    /// Straight pieces between `corners`, as trenched: both coordinates wander by sums of three slow waves.
    pub fn trenched(corners: &[Xy], sd_m: f64, dice: &mut Dice) -> Self {
        let plain = Self::new(corners.to_vec());
        let n = (plain.length() / STEP_M).ceil().max(1.0) as usize;
        // lengths of 5 to 20 m: a trencher is steered from one sight to the next. Common practice, no source
        let waves: Vec<[f64; 3]> = (0..6)
            .map(|_| {
                let amplitude = dice.normal(sd_m * (2.0f64 / 3.0).sqrt());
                [amplitude, std::f64::consts::TAU / dice.uniform(5.0, 20.0), dice.bearing()]
            })
            .collect();
        let shift = |s: f64, of: &[[f64; 3]]| of.iter().map(|[a, k, at]| a * (k * s + at).sin()).sum::<f64>();
        let points = (0..=n).map(|i| {
            let s = plain.length() * i as f64 / n as f64;
            plain.at(s) + xy(shift(s, &waves[..3]), shift(s, &waves[3..]))
        });
        Self::new(points.collect())
    }

    pub fn points(&self) -> &[Xy] {
        &self.points
    }

    pub fn length(&self) -> f64 {
        self.arc_m[self.arc_m.len() - 1]
    }

    /// Arc lengths of the points.
    pub fn arcs(&self) -> &[f64] {
        &self.arc_m
    }

    fn piece(&self, arc_m: f64) -> usize {
        self.arc_m.partition_point(|&a| a <= arc_m).clamp(1, self.points.len() - 1) - 1
    }

    /// The point at an arc length; ends hold beyond the ends.
    pub fn at(&self, arc_m: f64) -> Xy {
        let i = self.piece(arc_m);
        let span = self.arc_m[i + 1] - self.arc_m[i];
        let t = if span > 0.0 { ((arc_m - self.arc_m[i]) / span).clamp(0.0, 1.0) } else { 0.0 };
        self.points[i].between(self.points[i + 1], t)
    }

    /// Unit direction at an arc length.
    pub fn direction(&self, arc_m: f64) -> Xy {
        let i = self.piece(arc_m.clamp(0.0, self.length()));
        (self.points[i + 1] - self.points[i]).unit()
    }

    /// Arc length and distance of the nearest place.
    pub fn nearest(&self, p: Xy) -> (f64, f64) {
        (0..self.points.len() - 1)
            .map(|i| {
                let q = nearest_on_segment(p, self.points[i], self.points[i + 1]);
                (self.arc_m[i] + self.points[i].to(q), p.to(q))
            })
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .expect("a course has a piece")
    }

    /// Arc lengths on both courses of each place where they cross.
    pub fn crossings(&self, other: &Course) -> Vec<(f64, f64)> {
        let mut found = Vec::new();
        for (i, a) in self.points.windows(2).enumerate() {
            for (j, b) in other.points.windows(2).enumerate() {
                if !segments_meet(a[0], a[1], b[0], b[1]) {
                    continue;
                }
                let (u, v) = (a[1] - a[0], b[1] - b[0]);
                let d = u.cross(v);
                let t = if d == 0.0 { 0.0 } else { (b[0] - a[0]).cross(v) / d };
                let s = if d == 0.0 { 0.0 } else { (b[0] - a[0]).cross(u) / d };
                let at = (self.arc_m[i] + t * u.norm(), other.arc_m[j] + s * v.norm());
                if found.iter().all(|f: &(f64, f64)| (f.0 - at.0).abs() > STEP_M) {
                    found.push(at);
                }
            }
        }
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_and_crossings_by_hand() {
        let ell = Course::new(vec![xy(0.0, 0.0), xy(3.0, 0.0), xy(3.0, 4.0)]);
        assert_eq!(ell.length(), 7.0);
        assert_eq!((ell.at(5.0), ell.at(-1.0), ell.at(9.0)), (xy(3.0, 2.0), xy(0.0, 0.0), xy(3.0, 4.0)));
        assert_eq!(ell.direction(5.0), xy(0.0, 1.0));
        assert_eq!(ell.nearest(xy(4.0, 1.0)), (4.0, 1.0));
        let across = Course::new(vec![xy(1.0, 1.0), xy(5.0, 1.0)]);
        assert_eq!(ell.crossings(&across), [(4.0, 2.0)]);
    }

    #[test]
    fn a_trench_wanders_by_its_standard_deviation() {
        let mut dice = Dice::new(1);
        let squares: Vec<f64> = (0..400)
            .map(|_| Course::trenched(&[xy(0.0, 0.0), xy(30.0, 0.0)], 0.03, &mut dice).at(11.0).y.powi(2))
            .collect();
        let sd = (squares.iter().sum::<f64>() / 400.0).sqrt();
        // three waves whose amplitudes have variance 2/3 of sd squared, times 1/2 for the phase; standard error of a
        // standard deviation of 400 draws about 5 %
        assert!((sd - 0.03).abs() < 0.006, "{sd}");
    }
}
