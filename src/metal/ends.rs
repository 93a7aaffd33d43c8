//! Where a line goes beyond its last item: to a fixture, straight or round one corner, or on a little way and no further.

use super::class_law::ByClass;
use super::leg::Fit;
use super::model::{CLASS_COUNT, Model};
use crate::geometry::Point;
use rand::{Rng, RngExt};
use std::f64::consts::TAU;

/// An end of a line as its items tell.
#[derive(Clone, Copy, Debug)]
pub struct End {
    /// The last item's place on the mean course, metres.
    pub on: Point,
    /// The way out.
    pub outward: Point,
    /// The leg that it is the end of.
    pub fit: Fit,
    /// Whether the last item is itself the end of a service.
    pub service: bool,
}

/// How a line goes on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Beyond {
    /// It ends at its last item: the known end of a service.
    Here,
    /// It goes straight on, so far, metres.
    On(f64),
    /// It leads to the fixture of that index, with a corner on the way or straight.
    To(usize, Option<Point>),
}

/// A fixture further than so many mean distances is not asked. Numerical choice: a chance of exp(-8) is left out.
const FARTHEST: f64 = 8.0;

/// Silence is summed over so many stretches of what may lie beyond. Numerical choice.
const STRETCHES: usize = 12;

impl End {
    /// For each fixture: how much likelier the items are where the line leads there, straight and round a corner.
    fn leads(&self, model: &Model, fixture: usize) -> [f64; 2] {
        let law = &model.evidence.law;
        let to = model.evidence.fixtures[fixture].1 - self.on;
        let (along, aside) = (to.dot(self.outward), self.outward.cross(to));
        if along.abs() + aside.abs() > FARTHEST * law.beyond_m || along < -law.slack_m {
            return [0.0; 2];
        }
        let along = along.max(0.0);
        let reach = (self.on - self.fit.centre).dot(self.outward) + along;
        let variance = self.fit.variance_m2(reach) + law.fixture_sd_m * law.fixture_sd_m;
        let area = (2.0 * model.log_side).exp();
        let near = area / law.beyond_m;
        let straight = near * (-along / law.beyond_m).exp() * (-0.5 * aside * aside / variance).exp()
            / (variance * TAU).sqrt();
        let round =
            near * (-(along + aside.abs()) / law.beyond_m).exp() * 0.5 * law.bends_per_m * law.axis_share;
        let silent = |from: Point, along: Point, length: f64| model.silent(from, along, length);
        if !model.is_swept() {
            return [straight, round];
        }
        let corner = self.on + self.outward * along;
        let out = silent(self.on, self.outward, along);
        let side = self.outward.left() * aside.signum();
        [straight * out, round * out * silent(corner, side, aside.abs())]
    }

    /// Share of what may lie beyond that no sweep would have heard.
    fn unheard(&self, model: &Model) -> f64 {
        if !model.is_swept() {
            return 1.0;
        }
        self.stretches(model).iter().sum()
    }

    /// Of each stretch beyond, the chance that the line ends in it and was not heard.
    fn stretches(&self, model: &Model) -> [f64; STRETCHES] {
        let mean = model.evidence.law.beyond_m;
        let each = 3.0 * mean / STRETCHES as f64;
        let (mut unheard, mut at) = (1.0, self.on);
        std::array::from_fn(|k| {
            let (from, to) = (k as f64 * each, (k + 1) as f64 * each);
            let last = k + 1 == STRETCHES;
            let ends = (-from / mean).exp() - if last { 0.0 } else { (-to / mean).exp() };
            unheard *= model.silent(at, self.outward, each);
            at = at + self.outward * each;
            ends * unheard
        })
    }

    /// For each class, how much likelier the items are with what stands about this end.
    pub fn chances(&self, model: &Model) -> ByClass {
        if self.service {
            return [1.0; CLASS_COUNT];
        }
        let unheard = self.unheard(model);
        let mut chances = model.free_end.map(|free| free * unheard);
        for (fixture, at) in model.at_fixture.iter().enumerate() {
            let [straight, round] = self.leads(model, fixture);
            if straight + round > 0.0 {
                chances.iter_mut().zip(at).for_each(|(chance, at)| *chance += at * (straight + round));
            }
        }
        chances
    }

    /// How the line goes on, given its class.
    pub fn draw(&self, model: &Model, class: usize, rng: &mut impl Rng) -> Beyond {
        if self.service {
            return Beyond::Here;
        }
        let mut ways = vec![(model.free_end[class] * self.unheard(model), Beyond::On(0.0))];
        for (fixture, at) in model.at_fixture.iter().enumerate() {
            let [straight, round] = self.leads(model, fixture);
            let along = (model.evidence.fixtures[fixture].1 - self.on).dot(self.outward).max(0.0);
            ways.push((at[class] * straight, Beyond::To(fixture, None)));
            ways.push((at[class] * round, Beyond::To(fixture, Some(self.on + self.outward * along))));
        }
        let shares: Vec<f64> = ways.iter().map(|way| way.0).collect();
        match ways[crate::layout::pick(&shares, rng)].1 {
            Beyond::On(_) => Beyond::On(self.draw_length(model, rng)),
            way => way,
        }
    }

    fn draw_length(&self, model: &Model, rng: &mut impl Rng) -> f64 {
        let mean = model.evidence.law.beyond_m;
        let exponential = |rng: &mut dyn Rng| -(1.0 - rng.random::<f64>()).ln() * mean;
        if !model.is_swept() {
            return exponential(rng);
        }
        let stretches = self.stretches(model);
        let k = crate::layout::pick(&stretches, rng);
        let each = 3.0 * mean / STRETCHES as f64;
        let within = if k + 1 == STRETCHES {
            exponential(rng)
        } else {
            let part = 1.0 - (-each / mean).exp();
            -(1.0 - part * rng.random::<f64>()).ln() * mean
        };
        k as f64 * each + within
    }
}
