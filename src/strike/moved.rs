//! Unknown lines under a dig wherever it is moved to, for maps: the same numbers as for a dig named there, from tables.
//!
//! In one direction what a moved dig loses to clear looks is the difference of one function at its two sides: the integral,
//! over the place across, of the share of lines lost. Which looks are in reach changes with the place along; between two
//! changes the function is linear from one look's end to the next.

use super::belts::{Crossed, Strip, across, directions, met_beside};
use super::observation::Observation;
use super::unknown::{Beyond, STRAIGHT_M, crossed, far, middle};
use crate::geometry::{Footprint, Point};
use crate::layout::UnmappedLines;
use std::sync::OnceLock;

/// The mean number of unknown lines that a dig meets and no clear look would have met, wherever the dig is moved to: the
/// same numbers as [`super::mean_beyond`], from tables made at first use.
pub struct Moved<'a> {
    beyond: Beyond<'a>,
    alone: f64,
    middle: Point,
    reach: f64,
    /// Boxes of the clear looks.
    boxes: Vec<(Point, Point)>,
    directions: Vec<Direction>,
}

/// Lines in one direction.
struct Direction {
    along: Point,
    /// Where the dig lies across, its reference point being at zero.
    across: (f64, f64),
    strips: Vec<(usize, Strip)>,
    /// Places along at which a strip comes into reach or goes out of it, in order.
    changes: Vec<f64>,
    /// What is lost between two changes.
    losses: Vec<OnceLock<Losses>>,
}

/// Integral of the share of lines lost, over the place across: linear between places.
#[derive(Default)]
struct Losses {
    at: Vec<f64>,
    sum: Vec<f64>,
}

impl<'a> Moved<'a> {
    /// A dig whose reference point is at zero.
    pub fn new(unmapped: &'a UnmappedLines, dig: &'a Observation, clear: &'a [Observation]) -> Self {
        let beyond = Beyond::new(unmapped, dig, clear.iter().collect());
        let (middle, reach) = middle(&beyond.own);
        let direction = |along: Point| {
            let strips = beyond.strips(along);
            let ends =
                |(_, strip): &(usize, Strip)| [-1.0, 1.0].map(|s| strip.along + s * (STRAIGHT_M + reach));
            let mut changes: Vec<f64> = strips.iter().flat_map(ends).collect();
            changes.sort_by(f64::total_cmp);
            let losses = changes.iter().skip(1).map(|_| OnceLock::new()).collect();
            Direction { along, across: across(&beyond.own, along), strips, changes, losses }
        };
        let directions = if clear.is_empty() { Vec::new() } else { directions().map(direction).collect() };
        let boxes = beyond.widened.iter().map(Footprint::bounds).collect();
        Self { alone: beyond.alone(), beyond, middle, reach, boxes, directions }
    }

    /// The mean where the dig's reference point lies at a place.
    pub fn mean_at(&self, place: Point) -> f64 {
        let middle = place + self.middle;
        let near = |&(low, high): &(Point, Point)| {
            let gap = Point::new(
                (low.x - middle.x).max(middle.x - high.x).max(0.0),
                (low.y - middle.y).max(middle.y - high.y).max(0.0),
            );
            gap.norm() < far(self.reach)
        };
        if !self.boxes.iter().any(near) {
            return self.alone;
        }
        let lost: f64 = self.directions.iter().map(|direction| self.lost(direction, place, middle)).sum();
        (self.alone - self.beyond.per_direction() * lost).max(0.0)
    }

    /// The same for what is lost in one direction.
    fn lost(&self, direction: &Direction, place: Point, middle: Point) -> f64 {
        let Direction { along, across, strips, changes, losses } = direction;
        let change = changes.partition_point(|s| *s <= middle.dot(*along));
        let Some(between) = change.checked_sub(1).filter(|k| *k < losses.len()) else { return 0.0 };
        let losses = losses[between].get_or_init(|| {
            let at = 0.5 * (changes[between] + changes[between + 1]);
            let near = crossed(strips, at, STRAIGHT_M + self.reach);
            Losses::new(&near, |set| self.beyond.lost(*along, set))
        });
        let t = place.dot(along.left());
        losses.below(t + across.1) - losses.below(t + across.0)
    }
}

impl Losses {
    fn new(near: &[Crossed], lost: impl Fn(&[usize]) -> f64) -> Self {
        let ends = || near.iter().flat_map(|crossed| [crossed.across.0, crossed.across.1]);
        let (low, high) = ends().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), t| (l.min(t), h.max(t)));
        if low >= high {
            return Self::default();
        }
        let mut losses = Self { at: vec![low], sum: vec![0.0] };
        let (mut at, mut sum) = (low, 0.0);
        for (width, set) in met_beside(near, (low, high)) {
            at += width;
            sum += width * lost(&set);
            losses.at.push(at);
            losses.sum.push(sum);
        }
        losses
    }

    /// The integral up to a place.
    fn below(&self, t: f64) -> f64 {
        let next = self.at.partition_point(|at| *at <= t);
        match (next.checked_sub(1), self.at.get(next)) {
            (None, _) => 0.0,
            (Some(k), None) => self.sum[k],
            (Some(k), Some(upper)) => {
                self.sum[k] + (self.sum[next] - self.sum[k]) * (t - self.at[k]) / (upper - self.at[k])
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Polygon;
    use crate::strike::mean_beyond;
    use crate::strike::unknown::tests::{FLOOR, looks, slit};
    use rand::RngExt;

    /// Tables give what a dig at each place gives, to 1e-12 lines: holes, a bent trench, an off-centre pit.
    #[test]
    fn a_moved_dig_has_the_mean_of_the_dig_there() {
        let rng = &mut crate::rng::stream(18, 0);
        let corners = [(0.0, 0.0), (1.2, 0.0), (0.3, 0.8)].map(|(x, y)| Point::new(x, y));
        let shapes = [
            Footprint::disc(Point::default(), 0.45),
            slit(&[(-1.0, 0.0), (1.0, 0.3), (1.2, 2.0)], 0.4).footprint,
            Footprint::polygon(&Polygon::new(corners.to_vec())),
        ];
        let looks = looks();
        let mut thinned = 0;
        for shape in shapes {
            let dig = Observation::dig(shape.clone(), 0.45);
            let moved = Moved::new(&FLOOR, &dig, &looks);
            for _ in 0..200 {
                let place = Point::new(rng.random_range(-30.0..30.0), rng.random_range(-12.0..12.0));
                let there = Observation::dig(shape.translated(place), 0.45);
                let single = mean_beyond(&FLOOR, &there, &looks.iter().collect::<Vec<_>>());
                assert!((moved.mean_at(place) - single).abs() < 1e-12, "{place:?}");
                thinned += usize::from(single < 0.97 * mean_beyond(&FLOOR, &there, &[]));
            }
        }
        assert!(thinned > 100, "{thinned}");
    }
}
