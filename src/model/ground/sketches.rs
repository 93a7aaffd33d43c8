//! Old sketches and as-built drawings: ways that keep to a drawn line gain weight by the trust given.
//!
//! A place of a way is drawn where some drawn segment lies within the tolerance and runs the same way to within the
//! angle. Its trust is the greatest of those segments' trusts (copies of one drawing are no independent witnesses),
//! that of an undrawn place is zero. With m the mean trust along the way, the way's weight is multiplied by (1 + m) /
//! (1 - m): with chance m the drawing is right and the pipe lies there, else the drawing says nothing and leaves an
//! even chance, so P = m + (1 - m) / 2 and its odds are (1 + m) / (1 - m). Trust 0 changes nothing; trust is capped,
//! so that a fully drawn way wins by much (199 to 1 by default) and never with certainty. Undrawn ways lose nothing
//! but by comparison: drawings leave things out. `explained` does the same between outer states.

use crate::geometry::{Leg, Point, distance_to_segment, merge_intervals, near_interval};
use crate::settings::Settings;
use crate::site::Sketch;

/// A drawn segment.
struct Line {
    from: Point,
    to: Point,
    direction: Point,
    trust: f64,
}

/// Drawn lines are looked at in places this far apart, metres. Numerical choice: half of the tolerance.
const STEP_M: f64 = 0.25;

/// A short stretch of a drawn line.
pub struct SketchStretch {
    /// Its middle.
    pub at: Point,
    /// Unit vector along the line.
    pub direction: Point,
    /// Its length, metres.
    pub length_m: f64,
    /// Trust in the drawing.
    pub trust: f64,
}

/// The drawn lines of a site, the most trusted first.
#[derive(Default)]
pub struct Drawings {
    lines: Vec<Line>,
    tolerance_m: f64,
    least_cosine: f64,
}

impl Drawings {
    /// The drawings of a site under its settings; those without any trust are left out.
    pub fn new(sketches: &[Sketch], settings: &Settings) -> Self {
        let mut lines = Vec::new();
        for sketch in sketches.iter().filter(|sketch| sketch.trust > 0.0) {
            let trust = sketch.trust.min(settings.sketch_trust_greatest);
            for ends in sketch.path.windows(2) {
                let direction = (ends[1] - ends[0]).direction();
                lines.extend(direction.map(|direction| Line {
                    from: ends[0],
                    to: ends[1],
                    direction,
                    trust,
                }));
            }
        }
        lines.sort_by(|p, q| q.trust.total_cmp(&p.trust));
        let least_cosine = settings.sketch_angle_deg.to_radians().cos();
        Self { lines, tolerance_m: settings.sketch_tolerance_m, least_cosine }
    }

    /// What the drawings make of a path, as a factor of its weight: 1 where nothing is drawn, never less.
    pub fn likelihood_ratio(&self, corners: &[Point]) -> f64 {
        if self.lines.is_empty() {
            return 1.0;
        }
        let legs = || corners.windows(2).map(|leg| (leg[0], leg[1]));
        let length_m: f64 = legs().map(|(a, b)| a.distance(b)).sum();
        let trusted_m: f64 = legs().map(|(a, b)| self.trust_along(a, b) * a.distance(b)).sum();
        if trusted_m <= 0.0 {
            return 1.0;
        }
        let trust = trusted_m / length_m;
        (1.0 + trust) / (1.0 - trust)
    }

    /// Whether nothing is drawn.
    pub fn is_empty(&self) -> bool {
        self.lines.is_empty()
    }

    /// How far from a drawn line a way may lie, metres.
    pub fn tolerance_m(&self) -> f64 {
        self.tolerance_m
    }

    /// The drawn lines as short stretches.
    pub fn places(&self) -> Vec<SketchStretch> {
        let mut places = Vec::new();
        for line in &self.lines {
            let length_m = line.from.distance(line.to);
            let count = (length_m / STEP_M).ceil().max(1.0);
            places.extend((0..count as usize).map(|k| SketchStretch {
                at: line.from.towards(line.to, (k as f64 + 0.5) / count),
                direction: line.direction,
                length_m: length_m / count,
                trust: line.trust,
            }));
        }
        places
    }

    /// Whether this direction, a unit vector, is that of a drawn place.
    pub fn is_along(&self, place: &SketchStretch, direction: Point) -> bool {
        direction.dot(place.direction).abs() >= self.least_cosine
    }

    /// Whether a leg runs along a drawn place: near it and the same way.
    pub fn runs_along(&self, place: &SketchStretch, leg: &Leg) -> bool {
        self.is_along(place, leg.along)
            && distance_to_segment(place.at, leg.start, leg.end) <= self.tolerance_m
    }

    /// Mean trust along one leg.
    fn trust_along(&self, a: Point, b: Point) -> f64 {
        let Some(direction) = (b - a).direction() else { return 0.0 };
        let (mut drawn, mut length, mut trust) = (Vec::new(), 0.0, 0.0);
        for line in &self.lines {
            if direction.dot(line.direction).abs() < self.least_cosine {
                continue;
            }
            let Some(part) = near_interval(a, b, line.from, line.to, self.tolerance_m) else { continue };
            // Less trusted lines add only where no better one is drawn.
            drawn.push(part);
            merge_intervals(&mut drawn);
            let now: f64 = drawn.iter().map(|(from, to)| to - from).sum();
            trust += line.trust * (now - length);
            length = now;
        }
        trust
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawings(lines: &[(f64, f64, f64, f64)]) -> Drawings {
        let sketch = |&(from, to, y, trust): &(f64, f64, f64, f64)| Sketch {
            path: vec![Point::new(from, y), Point::new(to, y)],
            trust,
        };
        let sketches: Vec<Sketch> = lines.iter().map(sketch).collect();
        Drawings::new(&sketches, &Settings::default())
    }

    fn way(from: [f64; 2], to: [f64; 2]) -> [Point; 2] {
        [from.into(), to.into()]
    }

    #[test]
    fn the_factor_is_the_odds_of_the_mean_trust() {
        // Rounding only: 1e-12 relative.
        let near =
            |seen: f64, m: f64| assert!((seen * (1.0 - m) / (1.0 + m) - 1.0).abs() < 1e-12, "{seen} {m}");
        let half = drawings(&[(0.0, 10.0, 0.0, 0.5)]);
        near(half.likelihood_ratio(&way([0.0, 0.3], [10.0, 0.3])), 0.5);
        near(half.likelihood_ratio(&way([10.0, 0.3], [0.0, 0.3])), 0.5);
        near(half.likelihood_ratio(&way([0.0, 0.0], [21.0, 0.0])), 0.5 * 10.5 / 21.0);
        assert_eq!(half.likelihood_ratio(&way([0.0, 0.6], [10.0, 0.6])), 1.0, "beyond the tolerance");
        assert_eq!(half.likelihood_ratio(&way([5.0, -0.4], [5.0, 0.4])), 1.0, "across the line");
        assert_eq!(half.likelihood_ratio(&[Point::new(1.0, 0.0)]), 1.0, "no length");
        near(drawings(&[(0.0, 10.0, 0.0, 1.0)]).likelihood_ratio(&way([1.0, 0.0], [9.0, 0.0])), 0.99);
        assert_eq!(drawings(&[(0.0, 10.0, 0.0, 0.0)]).likelihood_ratio(&way([1.0, 0.0], [9.0, 0.0])), 1.0);
        // Two drawings overlap: the better one counts where both are, and a copy adds nothing.
        let two = drawings(&[(0.0, 10.0, 0.0, 0.4), (5.0, 10.0, 0.1, 0.8), (5.0, 10.0, 0.1, 0.8)]);
        near(two.likelihood_ratio(&way([0.0, 0.1], [10.0, 0.1])), 0.8 * 0.55 + 0.4 * 0.45);
    }
}
