//! Unknown lines as looks see them: how many are met by at least one of a set of looks.
//!
//! Unknown lines are a Poisson field of straight lines in every direction with their own prior of depth (the unmapped
//! lines). A clear probe proves that none passes there, so the mean number a dig meets is that of the lines which the probes
//! would not have met; a find may be an unknown line, which then goes on under the dig beside it. The measure of lines is
//! `dp dphi` (Crofton; python/docs/model.md, 10): summed over directions, exact in the place across (`belts`) and, where no
//! cover was noted, in the depth.

use super::belts::{Crossed, DIRECTIONS, STRIP_M, Strip, across, directions, met_beside, strips};
use super::observation::Observation;
use crate::geometry::{Footprint, Point};
use crate::layout::UnmappedLines;
use std::f64::consts::PI;

/// Unknown lines are taken as straight over this distance, metres: further looks say nothing of them. Common practice,
/// no source.
pub(super) const STRAIGHT_M: f64 = 6.0;

/// Slices of depth where a noted cover must be answered to. Numerical choice: about the scatter of a noted cover.
const DEPTHS: usize = 24;

/// Whether a line that `look` meets may, being straight so far, have met `other` too: if not, `other` changes nothing in
/// [`mean_beyond`].
pub(super) fn bears_on(unmapped: &UnmappedLines, other: &Observation, look: &Observation) -> bool {
    let (middle, reach) = middle(&look.footprint.inflated(unmapped.radius_m));
    other.footprint.inflated(unmapped.radius_m).distance_to_point(middle) < far(reach)
}

/// Mean number of unknown lines that `look` meets and none of `before` does.
pub fn mean_beyond(unmapped: &UnmappedLines, look: &Observation, before: &[&Observation]) -> f64 {
    let near = before.iter().copied().filter(|other| bears_on(unmapped, other, look)).collect();
    Beyond::new(unmapped, look, near).mean()
}

/// The middle of a footprint and how far it reaches from there.
pub(super) fn middle(footprint: &Footprint) -> (Point, f64) {
    let (low, high) = footprint.bounds();
    (low.towards(high, 0.5), 0.5 * low.distance(high))
}

/// From here on no line that passes within `reach` of a place has met a look while straight.
pub(super) fn far(reach: f64) -> f64 {
    STRAIGHT_M + 2.0 * reach + STRIP_M
}

/// Where lines in a direction meet looks, as far as these lie within reach of a place along.
pub(super) fn crossed(strips: &[(usize, Strip)], at: f64, reach_m: f64) -> Vec<Crossed> {
    let near = strips.iter().filter(|(_, strip)| (strip.along - at).abs() < reach_m);
    near.map(|(look, strip)| Crossed { look: *look, across: strip.across }).collect()
}

/// One look and those that bear on it.
pub(super) struct Beyond<'a> {
    unmapped: &'a UnmappedLines,
    look: &'a Observation,
    pub own: Footprint,
    others: Vec<&'a Observation>,
    pub widened: Vec<Footprint>,
    /// Chance that an unknown line is shallower than each of the others is deep.
    shallower: Vec<f64>,
}

impl<'a> Beyond<'a> {
    pub fn new(unmapped: &'a UnmappedLines, look: &'a Observation, others: Vec<&'a Observation>) -> Self {
        Self {
            unmapped,
            look,
            own: look.footprint.inflated(unmapped.radius_m),
            widened: others.iter().map(|other| other.footprint.inflated(unmapped.radius_m)).collect(),
            shallower: others.iter().map(|other| unmapped.shallower(other.depth_m)).collect(),
            others,
        }
    }

    /// Mean number of lines met by the look, whatever the others met.
    pub fn alone(&self) -> f64 {
        if self.look.report.angle_rad.is_none() && self.look.report.cover_m.is_none() {
            return self.look.detect * self.unmapped.mean_hits(self.own.hull_perimeter(), self.look.depth_m);
        }
        let met = |along: Point| {
            let (low, high) = across(&self.own, along);
            (high - low) * self.met(along, &[])
        };
        self.per_direction() * directions().map(met).sum::<f64>()
    }

    /// Mean number met by the look and by none of the others.
    fn mean(&self) -> f64 {
        if self.others.is_empty() {
            return self.alone();
        }
        let (middle, reach) = middle(&self.own);
        let lost = |along: Point| {
            let near = crossed(&self.strips(along), middle.dot(along), STRAIGHT_M + reach);
            let (low, high) = across(&self.own, along);
            met_beside(&near, (low, high))
                .into_iter()
                .map(|(width, set)| width * self.lost(along, &set))
                .sum::<f64>()
        };
        (self.alone() - self.per_direction() * directions().map(lost).sum::<f64>()).max(0.0)
    }

    /// `L0 / pi` times the share of one direction in the measure of lines.
    pub fn per_direction(&self) -> f64 {
        self.unmapped.density_per_m / PI * (PI / DIRECTIONS as f64)
    }

    /// The others as lines in a direction meet them.
    pub fn strips(&self, along: Point) -> Vec<(usize, Strip)> {
        let of = |(look, footprint): (usize, &Footprint)| {
            strips(footprint, along).into_iter().map(move |strip| (look, strip)).collect::<Vec<_>>()
        };
        self.widened.iter().enumerate().flat_map(of).collect()
    }

    /// Of the lines in a direction that pass under the look and under these others, the share that the look meets and
    /// some other does too.
    pub fn lost(&self, along: Point, others: &[usize]) -> f64 {
        self.met(along, &[]) - self.met(along, others)
    }

    /// Of the lines in a direction that pass under the look and under these others, the share that the look meets and none
    /// of the others does.
    fn met(&self, along: Point, others: &[usize]) -> f64 {
        let gain = |look: &Observation| look.detect * look.report.of_bearing(along);
        let looks = || others.iter().map(|&k| self.others[k]);
        if looks().chain([self.look]).any(|look| look.report.cover_m.is_some()) {
            let step = self.look.depth_m / DEPTHS as f64;
            let slice = |k: usize| {
                let depth = step * (k as f64 + 0.5);
                let share = self.unmapped.shallower(step * (k as f64 + 1.0))
                    - self.unmapped.shallower(step * k as f64);
                let met = |look: &Observation| {
                    if depth < look.depth_m { gain(look) * look.report.of_cover(depth) } else { 0.0 }
                };
                share * met(self.look) * looks().map(|other| 1.0 - met(other)).product::<f64>()
            };
            return (0..DEPTHS).map(slice).sum();
        }
        // Shallower than all, then past one look's depth after the other.
        let mut by_depth = others.to_vec();
        by_depth.sort_by(|&i, &j| self.others[i].depth_m.total_cmp(&self.others[j].depth_m));
        let all = self.unmapped.shallower(self.look.depth_m);
        let (mut sum, mut passed) = (0.0, 0.0);
        for (place, &k) in by_depth.iter().enumerate() {
            let next = self.shallower[k].min(all);
            let missed: f64 = by_depth[place..].iter().map(|&k| 1.0 - gain(self.others[k])).product();
            sum += (next - passed) * missed;
            passed = next;
        }
        gain(self.look) * (sum + all - passed)
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::geometry::Footprint;
    use approx::assert_relative_eq;

    pub(in crate::strike) const FLOOR: UnmappedLines =
        UnmappedLines { density_per_m: 0.01, cover_m: 0.35, cover_sd_m: 0.2, radius_m: 0.0167 };

    fn hole(x: f64, radius: f64, depth: f64) -> Observation {
        Observation::dig(Footprint::disc(Point::new(x, 0.0), radius), depth)
    }

    /// Lines that meet both of two equal discs (Crofton): crossed belt less open belt,
    /// 2 (sqrt(d^2 - 4 r^2) + 2 r asin(2 r / d)) - 2 d, from all lines through one, 2 pi r. A probe that is shallower and
    /// overlooks three in ten takes away 0.7 F(its depth) of them. Within 0.5 % of the mean: directions are summed.
    #[test]
    fn a_clear_look_beside_takes_away_the_lines_that_meet_both() {
        let r = 0.4 + FLOOR.radius_m;
        let one = 2.0 * PI * r;
        let dig = hole(0.0, 0.4, 5.0);
        assert_relative_eq!(mean_beyond(&FLOOR, &dig, &[]), 0.01 * one / PI, max_relative = 1e-9);
        for d in [0.9f64, 1.3, 2.0, 3.7, 5.0] {
            let both = 2.0 * ((d * d - 4.0 * r * r).sqrt() + 2.0 * r * (2.0 * r / d).asin()) - 2.0 * d;
            let left = mean_beyond(&FLOOR, &dig, &[&hole(d, 0.4, 5.0)]);
            assert_relative_eq!(left, 0.01 * (one - both) / PI, max_relative = 0.005);
            let poor = Observation { detect: 0.7, ..hole(d, 0.4, 0.3) };
            let lost = 0.7 * FLOOR.shallower(0.3) * both;
            assert_relative_eq!(
                mean_beyond(&FLOOR, &dig, &[&poor]),
                0.01 * (one - lost) / PI,
                max_relative = 0.005
            );
        }
    }

    pub(in crate::strike) fn slit(path: &[(f64, f64)], depth_m: f64) -> Observation {
        let path: Vec<Point> = path.iter().map(|&(x, y)| Point::new(x, y)).collect();
        Observation { detect: 0.95, ..Observation::dig(Footprint::trench(&path, 0.3), depth_m) }
    }

    /// Clear looks of every kind: holes, an elbow, a slit far longer than lines are straight.
    pub(in crate::strike) fn looks() -> Vec<Observation> {
        let probe = |x: f64, y: f64| Observation {
            detect: 0.97,
            ..Observation::dig(Footprint::disc(Point::new(x, y), 0.25), 0.3 + 0.02 * x.abs())
        };
        vec![
            probe(1.5, 0.4),
            probe(-3.0, 2.0),
            probe(7.0, -1.0),
            slit(&[(-14.0, 3.0), (14.0, 3.4)], 0.5),
            slit(&[(0.0, -2.0), (2.0, -2.0), (2.0, -5.0)], 0.4),
        ]
    }

    /// 400,000 lines thrown through a dig, each followed as a segment of the length that lines are straight; the depth is
    /// averaged over 50 slices. Standard error below 0.3 % of the mean, strips and slices off by less than 1 %: within 2 %.
    #[test]
    fn lines_thrown_one_by_one_agree() {
        use rand::RngExt;
        let rng = &mut crate::rng::stream(17, 0);
        let looks = looks();
        for at in [Point::new(0.0, 0.0), Point::new(2.5, 1.5), Point::new(9.0, -2.0)] {
            let dig = Observation::dig(Footprint::disc(at, 0.5), 0.55);
            let own = dig.footprint.inflated(FLOOR.radius_m);
            let (middle, reach) = middle(&own);
            let r = 0.5 + FLOOR.radius_m;
            let widened: Vec<Footprint> =
                looks.iter().map(|look| look.footprint.inflated(FLOOR.radius_m)).collect();
            let (n, mut sum) = (400_000, 0.0);
            for _ in 0..n {
                let along = Point::unit(PI * rng.random::<f64>());
                let on = middle + along.left() * (r * (2.0 * rng.random::<f64>() - 1.0));
                let end = along * (STRAIGHT_M + reach);
                let crossed: Vec<&Observation> = looks
                    .iter()
                    .zip(&widened)
                    .filter(|(_, footprint)| footprint.meets_segment(on - end, on + end))
                    .map(|(look, _)| look)
                    .collect();
                let depth = 0.55 * rng.random::<f64>();
                let met = |look: &&Observation| if depth < look.depth_m { look.detect } else { 0.0 };
                let density = (FLOOR.shallower(depth + 1e-4) - FLOOR.shallower(depth - 1e-4)) / 2e-4 * 0.55;
                sum += density * crossed.iter().map(|look| 1.0 - met(look)).product::<f64>();
            }
            let thrown = FLOOR.density_per_m * 2.0 * r * sum / f64::from(n);
            let seen = mean_beyond(&FLOOR, &dig, &looks.iter().collect::<Vec<_>>());
            assert_relative_eq!(seen, thrown, max_relative = 0.02);
        }
    }

    #[test]
    fn shallow_and_far_looks_say_less() {
        let dig = hole(0.0, 0.4, 0.5);
        let mean = |before: &[&Observation]| mean_beyond(&FLOOR, &dig, before);
        let (deep, shallow, far) = (hole(0.5, 0.4, 0.5), hole(0.5, 0.4, 0.2), hole(9.0, 0.4, 0.5));
        assert!(mean(&[&deep]) < mean(&[&shallow]) && mean(&[&shallow]) < mean(&[]));
        assert_relative_eq!(mean(&[&far]), mean(&[]), max_relative = 1e-9);
        assert!(mean(&[&hole(0.0, 0.6, 0.6)]) < 1e-12, "a wider and deeper clear look leaves nothing");
    }
}
