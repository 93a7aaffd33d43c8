//! A smooth curve through rising points that never falls between them.
//!
//! Piecewise cubic Hermite with the slopes of Fritsch & Carlson ("Monotone piecewise cubic interpolation", SIAM J. Numer.
//! Anal. 17 (1980) 238-246): mean of the neighbouring secants, cut back where their sizes leave the circle of radius 3
//! within which a piece is monotone.

/// Halvings when inverting: more than a double has bits.
const HALVINGS: usize = 80;

/// A monotone curve.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Monotone {
    x: Vec<f64>,
    y: Vec<f64>,
    slopes: Vec<f64>,
}

impl Monotone {
    /// The curve through (x, y): x rises strictly, y does not fall, two points or more.
    pub(super) fn new(x: Vec<f64>, y: Vec<f64>) -> Self {
        let secants: Vec<f64> =
            x.windows(2).zip(y.windows(2)).map(|(x, y)| (y[1] - y[0]) / (x[1] - x[0])).collect();
        let last = secants.len() - 1;
        let mut slopes = vec![secants[0]];
        slopes.extend(secants.windows(2).map(|pair| f64::midpoint(pair[0], pair[1])));
        slopes.push(secants[last]);
        for (k, &secant) in secants.iter().enumerate() {
            let size = slopes[k].hypot(slopes[k + 1]);
            if size > 3.0 * secant {
                let shrink = 3.0 * secant / size;
                slopes[k] *= shrink;
                slopes[k + 1] *= shrink;
            }
        }
        Self { x, y, slopes }
    }

    /// Value at the last point.
    pub(super) fn top(&self) -> f64 {
        self.y[self.y.len() - 1]
    }

    /// Value and slope at `x`, held at the ends.
    pub(super) fn at(&self, x: f64) -> (f64, f64) {
        let x = x.clamp(self.x[0], self.x[self.x.len() - 1]);
        let piece = self.x.partition_point(|&knot| knot <= x).clamp(1, self.x.len() - 1) - 1;
        self.within(piece, x)
    }

    /// Where the curve has the value `y`, held at the ends. Halving: a cubic piece may have a slope of nought.
    pub(super) fn inverse(&self, y: f64) -> f64 {
        let piece = self.y.partition_point(|&knot| knot <= y).clamp(1, self.y.len() - 1) - 1;
        let (mut low, mut high) = (self.x[piece], self.x[piece + 1]);
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(low, high);
            if self.within(piece, middle).0 < y {
                low = middle;
            } else {
                high = middle;
            }
        }
        high
    }

    fn within(&self, piece: usize, x: f64) -> (f64, f64) {
        let width = self.x[piece + 1] - self.x[piece];
        let rise = self.y[piece + 1] - self.y[piece];
        let (left, right) = (self.slopes[piece] * width, self.slopes[piece + 1] * width);
        let t = (x - self.x[piece]) / width;
        let (square, cube) = (3.0 * rise - 2.0 * left - right, left + right - 2.0 * rise);
        let value = self.y[piece] + t * (left + t * (square + t * cube));
        let slope = (left + t * (2.0 * square + 3.0 * t * cube)) / width;
        (value, slope)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn curve(steps: &[(f64, f64)]) -> Monotone {
        let sums = |step: fn(&(f64, f64)) -> f64| {
            let mut total = 0.0;
            let rest = steps.iter().map(|pair| {
                total += step(pair);
                total
            });
            [0.0].into_iter().chain(rest.collect::<Vec<_>>()).collect::<Vec<f64>>()
        };
        Monotone::new(sums(|pair| pair.0), sums(|pair| pair.1))
    }

    #[test]
    fn a_straight_line_stays_straight() {
        let line = curve(&[(0.1, 0.3), (0.5, 1.5), (0.4, 1.2)]);
        for x in [0.0, 0.05, 0.3, 0.77, 1.0] {
            let (value, slope) = line.at(x);
            assert!((value - 3.0 * x).abs() < 1e-14 && (slope - 3.0).abs() < 1e-13);
            assert!((line.inverse(3.0 * x) - x).abs() < 1e-14);
        }
    }

    /// Worked by hand from the paper's rules: secants 0, 1, 10; slopes (0, 1/2, 11/2, 10) become (0, 0, 3, 10).
    #[test]
    fn slopes_are_those_of_the_paper() {
        let bend = curve(&[(1.0, 0.0), (1.0, 1.0), (1.0, 10.0)]);
        assert_eq!(bend.slopes, [0.0, 0.0, 3.0, 10.0]);
        assert!((bend.at(1.5).0 - (0.5 - 3.0 / 8.0)).abs() < 1e-14);
    }

    proptest! {
        #[test]
        fn the_curve_never_falls_and_is_undone_by_its_inverse(
            steps in prop::collection::vec((1e-4..1.0f64, prop_oneof![Just(0.0), 0.0..1.0f64, 0.0..1e-5f64]), 1..9),
        ) {
            let curve = curve(&steps);
            let (end, top) = (curve.x[steps.len()], curve.top());
            let values: Vec<f64> = (0..=400).map(|k| curve.at(end * f64::from(k) / 400.0).0).collect();
            prop_assert!(values.windows(2).all(|pair| pair[1] >= pair[0] - 1e-12));
            for k in 0..=20 {
                let y = top * f64::from(k) / 20.0;
                prop_assert!((curve.at(curve.inverse(y)).0 - y).abs() < 1e-9 * (1.0 + top));
            }
        }
    }
}
