//! A straight leg through items with sideways error: its evidence in closed form, and exact draws of where it runs.
//!
//! A straight line has a direction and an offset from the origin. Measure: uniform in both (the invariant measure of lines,
//! Santaló 1976), so that no axis is special; on an axis of the site the direction has a von Mises prior in the doubled
//! angle. Given independent isotropic normal errors the offset integrates as a normal, and the direction as a Bessel
//! function, since the squared sideways distances depend on the doubled angle through one cosine (conjugacy: Mardia &
//! El-Atoum, Biometrika 63 (1976) 203-205; formulas in python/docs/model.md, 14.1).

use super::bessel::{ln_i0, von_mises};
use crate::geometry::Point;
use rand::{Rng, RngExt};
use std::f64::consts::{FRAC_PI_2, TAU};

/// Prior of a leg's direction: von Mises in the doubled angle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Direction {
    /// Mean direction, radians.
    pub angle_rad: f64,
    /// Concentration times the unit vector at twice the mean direction.
    doubled: Point,
    /// `ln` of its normaliser.
    log_normaliser: f64,
}

impl Direction {
    /// Any direction.
    pub const ANY: Self = Self { angle_rad: 0.0, doubled: Point::new(0.0, 0.0), log_normaliser: 0.0 };

    /// About a direction, with this concentration in the doubled angle.
    pub fn about(angle_rad: f64, concentration: f64) -> Self {
        let doubled = Point::unit(2.0 * angle_rad) * concentration;
        Self { angle_rad, doubled, log_normaliser: ln_i0(concentration) }
    }
}

/// An item for a fit: where it is, the inverse of its variance, and `ln` of the greatest density of its error.
#[derive(Clone, Copy, Debug)]
pub struct Weighted {
    at: Point,
    weight: f64,
    log: f64,
}

impl Weighted {
    /// An item with this standard deviation, metres.
    pub fn new(at: Point, sd_m: f64) -> Self {
        Self { at, weight: 1.0 / (sd_m * sd_m), log: -(sd_m * TAU.sqrt()).ln() }
    }
}

/// What a leg's items say of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fit {
    /// Weighted mean of its items.
    pub centre: Point,
    /// Sum of weights, 1 / m2: the variance of the offset at the centre is its inverse.
    pub weight: f64,
    /// Mean direction given the items, radians.
    pub angle_rad: f64,
    /// Concentration of the direction in the doubled angle.
    pub concentration: f64,
    /// Log evidence of the sideways places, the offset's uniform density (1 / m) left out.
    pub log_evidence: f64,
    /// Sums over the items.
    scatter: Scatter,
}

impl Fit {
    /// Fits items, of which there is at least one.
    pub fn new(items: impl Iterator<Item = Weighted> + Clone, prior: &Direction) -> Self {
        let scatter = Scatter::new(items);
        let (log_evidence, toward, concentration) = scatter.evidence(prior);
        let angle_rad = if concentration > 0.0 { 0.5 * toward.y.atan2(toward.x) } else { prior.angle_rad };
        Self {
            centre: scatter.centre,
            weight: scatter.weight,
            angle_rad,
            concentration,
            log_evidence,
            scatter,
        }
    }

    /// The sums over its items.
    pub(super) fn scatter(&self) -> &Scatter {
        &self.scatter
    }

    /// Unit vector along its mean course.
    pub fn along(&self) -> Point {
        Point::unit(self.angle_rad)
    }

    /// Variance of its sideways place so far along from the centre, m2: offset and direction, the latter no more uncertain than
    /// any direction at all.
    pub fn variance_m2(&self, along_m: f64) -> f64 {
        let of_angle = (0.25 / self.concentration).min(FRAC_PI_2 * FRAC_PI_2 / 3.0);
        1.0 / self.weight + along_m * along_m * of_angle
    }

    /// A course given the items: a point of it and its direction.
    pub fn draw(&self, rng: &mut impl Rng) -> (Point, f64) {
        let angle = self.angle_rad + 0.5 * von_mises(self.concentration, rng);
        let radius = (-2.0 * (1.0 - rng.random::<f64>()).ln()).sqrt();
        let offset = radius * (TAU * rng.random::<f64>()).cos() / self.weight.sqrt();
        (self.centre + Point::unit(angle).left() * offset, angle)
    }
}

/// Weighted sums of some items.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Scatter {
    weight: f64,
    centre: Point,
    /// Weighted squares and products about the centre.
    xx: f64,
    xy: f64,
    yy: f64,
    /// `ln` of the product of the normal laws' factors.
    log: f64,
}

impl Scatter {
    pub(super) fn new(items: impl Iterator<Item = Weighted> + Clone) -> Self {
        let (mut weight, mut sum, mut log) = (0.0, Point::default(), 0.0);
        for item in items.clone() {
            weight += item.weight;
            sum = sum + item.at * item.weight;
            log += item.log;
        }
        let centre = sum * (1.0 / weight);
        let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
        for item in items {
            let (d, w) = (item.at - centre, item.weight);
            xx += w * d.x * d.x;
            xy += w * d.x * d.y;
            yy += w * d.y * d.y;
        }
        Self { weight, centre, xx, xy, yy, log }
    }

    /// The sums over the items of both.
    pub(super) fn joined(&self, other: &Self) -> Self {
        let weight = self.weight + other.weight;
        let (d, shared) = (other.centre - self.centre, self.weight * other.weight / weight);
        Self {
            weight,
            centre: self.centre + d * (other.weight / weight),
            xx: self.xx + other.xx + shared * d.x * d.x,
            xy: self.xy + other.xy + shared * d.x * d.y,
            yy: self.yy + other.yy + shared * d.y * d.y,
            log: self.log + other.log,
        }
    }

    /// The direction given the items as a vector in the doubled angle, and its length.
    fn toward(&self, prior: &Direction) -> (Point, f64) {
        let toward = prior.doubled + Point::new(0.25 * (self.xx - self.yy), 0.5 * self.xy);
        (toward, toward.dot(toward).sqrt())
    }

    /// `ln` of the evidence, the direction given the items as a vector in the doubled angle, and its length.
    fn evidence(&self, prior: &Direction) -> (f64, Point, f64) {
        let (toward, concentration) = self.toward(prior);
        let log = self.log + 0.5 * (TAU / self.weight).ln() - 0.25 * (self.xx + self.yy)
            + ln_i0(concentration)
            - prior.log_normaliser;
        (log, toward, concentration)
    }

    /// `ln` of the evidence and the direction along the mean course; `None` where the items surely cost so much more than on the best
    /// of lines.
    pub(super) fn course(&self, prior: &Direction, most: f64) -> Option<(f64, Point)> {
        let (toward, concentration) = self.toward(prior);
        // ln I0(K) is below K.
        let least = 0.25 * (self.xx + self.yy) + prior.log_normaliser
            - concentration
            - 0.5 * (TAU / self.weight).ln();
        if least > most {
            return None;
        }
        let log = self.log_evidence(prior);
        let along = if concentration > 0.0 {
            let (cos, sin) = (toward.x / concentration, toward.y);
            let half = |x: f64| (0.5 * x.max(0.0)).sqrt();
            Point::new(half(1.0 + cos), half(1.0 - cos).copysign(sin))
        } else {
            Point::unit(prior.angle_rad)
        };
        (self.log - log <= most).then_some((log, along))
    }

    /// Weighted mean of the items.
    pub(super) fn centre(&self) -> Point {
        self.centre
    }

    /// `ln` of the evidence of the sideways places.
    pub(super) fn log_evidence(&self, prior: &Direction) -> f64 {
        self.evidence(prior).0
    }
}

/// Running sums over items in order, so that those of any stretch cost the same.
pub(super) struct Sums {
    /// All places are taken from here, so that differences of sums keep their figures.
    origin: Point,
    /// Weight, x, y, xx, xy, yy, log.
    rows: Vec<[f64; 7]>,
}

impl Sums {
    pub(super) fn new(items: impl Iterator<Item = Weighted> + Clone) -> Self {
        let origin = items.clone().next().map_or_else(Point::default, |item| item.at);
        let mut rows = vec![[0.0; 7]];
        for item in items {
            let (d, w) = (item.at - origin, item.weight);
            let own = [w, w * d.x, w * d.y, w * d.x * d.x, w * d.x * d.y, w * d.y * d.y, item.log];
            let before = rows[rows.len() - 1];
            rows.push(std::array::from_fn(|k| before[k] + own[k]));
        }
        Self { origin, rows }
    }

    /// The sums of items `from..to`.
    pub(super) fn between(&self, from: usize, to: usize) -> Scatter {
        let [weight, x, y, xx, xy, yy, log] = std::array::from_fn(|k| self.rows[to][k] - self.rows[from][k]);
        let mean = Point::new(x / weight, y / weight);
        // One item has no direction; a remainder of the differences would give it one.
        let about = |sum: f64, mean: f64| if to - from > 1 { sum - weight * mean } else { 0.0 };
        Scatter {
            weight,
            centre: self.origin + mean,
            xx: about(xx, mean.x * mean.x).max(0.0),
            xy: about(xy, mean.x * mean.y),
            yy: about(yy, mean.y * mean.y).max(0.0),
            log,
        }
    }
}

/// Where two straight lines meet; `None` where their directions differ by less than `least_sine`.
pub(super) fn meeting(a: (Point, f64), b: (Point, f64), least_sine: f64) -> Option<Point> {
    let (u, v) = (Point::unit(a.1), Point::unit(b.1));
    let sine = u.cross(v);
    (sine.abs() >= least_sine).then(|| a.0 + u * ((b.0 - a.0).cross(v) / sine))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rng::stream;

    const ITEMS: [(f64, f64, f64); 5] =
        [(0.3, 0.1, 0.1), (2.1, 0.25, 0.2), (4.4, 0.12, 0.15), (5.9, 0.4, 0.1), (9.0, 0.31, 0.3)];

    fn items() -> impl Iterator<Item = (Point, f64)> + Clone {
        ITEMS.iter().map(|&(x, y, sd)| (Point::new(x, y), sd))
    }

    fn fitted(items: impl Iterator<Item = (Point, f64)> + Clone, prior: &Direction) -> Fit {
        Fit::new(items.map(|(at, sd)| Weighted::new(at, sd)), prior)
    }

    /// The same integral by brute force over offset and direction, python/docs/model.md 14.1 as its definition.
    fn by_quadrature(angle_rad: f64, concentration: f64) -> f64 {
        let (n, m) = (8_000, 4_000);
        let mut sum = 0.0;
        for i in 0..n {
            let angle = std::f64::consts::PI * (i as f64 + 0.5) / n as f64;
            let density = (concentration * (2.0 * (angle - angle_rad)).cos() - ln_i0(concentration)).exp()
                / std::f64::consts::PI;
            let across = Point::unit(angle).left();
            let places: Vec<(f64, f64)> = items().map(|(at, sd)| (at.dot(across), sd)).collect();
            let weight: f64 = places.iter().map(|(_, sd)| 1.0 / (sd * sd)).sum();
            let mean = places.iter().map(|(y, sd)| y / (sd * sd)).sum::<f64>() / weight;
            let reach = 12.0 / weight.sqrt();
            for j in 0..m {
                let offset = mean + reach * (2.0 * (j as f64 + 0.5) / m as f64 - 1.0);
                let log: f64 = places
                    .iter()
                    .map(|(y, sd)| -0.5 * ((y - offset) / sd).powi(2) - (sd * TAU.sqrt()).ln())
                    .sum();
                sum += density * log.exp() * 2.0 * reach / m as f64;
            }
        }
        (sum * std::f64::consts::PI / n as f64).ln()
    }

    #[test]
    fn evidence_equals_quadrature() {
        for (angle_rad, concentration) in [(0.0, 0.0), (0.1, 130.0)] {
            let exact = fitted(items(), &Direction::about(angle_rad, concentration)).log_evidence;
            let numeric = by_quadrature(angle_rad, concentration);
            assert!((exact - numeric).abs() < 1e-8, "{exact} {numeric}");
        }
    }

    /// Without a prior of the direction the course is that of total least squares, and for equal errors and a long row the
    /// band equals that of ordinary least squares: variance s2 (1 / n + t2 / Sxx) (Draper & Smith 1998, 1.4; the errors of
    /// both agree to the square of the slope).
    #[test]
    fn band_is_that_of_least_squares_on_a_long_row() {
        let row = (0..20).map(|k| (Point::new(f64::from(k), 0.05 * f64::from(k % 3)), 0.1));
        let fit = fitted(row.clone(), &Direction::ANY);
        let mean = row.clone().map(|(at, _)| at.x).sum::<f64>() / 20.0;
        let sxx: f64 = row.map(|(at, _)| (at.x - mean).powi(2)).sum();
        for t in [0.0, 5.0, 14.0] {
            let expected = 0.01 * (1.0 / 20.0 + t * t / sxx);
            assert!((fit.variance_m2(t) / expected - 1.0).abs() < 2e-3, "{t}");
        }
        assert!((fit.variance_m2(0.0).sqrt() - 0.1 / 20f64.sqrt()).abs() < 1e-12);
    }

    /// Draws have the stated band. n = 20,000; five standard errors of a standard deviation (1 / sqrt(2 n)); a band half as
    /// wide again is caught.
    #[test]
    fn draws_have_the_stated_band() {
        let fit = fitted(items(), &Direction::about(0.0, 130.0));
        let (along, n) = (fit.along(), 20_000);
        let mut rng = stream(5, 0);
        for t in [0.0, 6.0] {
            let station = fit.centre + along * t;
            let squares: f64 = (0..n)
                .map(|_| {
                    let (at, angle) = fit.draw(&mut rng);
                    ((station - at).cross(Point::unit(angle)) / along.dot(Point::unit(angle))).powi(2)
                })
                .sum();
            let ratio = (squares / n as f64 / fit.variance_m2(t)).sqrt();
            assert!((ratio - 1.0).abs() < 5.0 / (2.0 * n as f64).sqrt(), "{t}: {ratio}");
        }
    }

    #[test]
    fn evidence_does_not_turn_with_the_plan() {
        let turned = |by: f64| {
            let (u, v) = (Point::unit(by), Point::unit(by).left());
            let items = items().map(move |(at, sd)| (u * at.x + v * at.y, sd));
            fitted(items, &Direction::about(0.2 + by, 50.0)).log_evidence
        };
        assert!((turned(0.0) - turned(1.234)).abs() < 1e-9);
    }
}
