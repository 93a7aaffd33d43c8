//! Lines drawn from an explanation: where each runs, what it carries, how deep it lies, how far it goes on.

use super::class_law::CLASSES;
use super::ends::Beyond;
use super::evidence::Origin;
use super::leg::meeting;
use super::line::{Line, depths};
use super::model::Model;
use super::state::State;
use crate::geometry::{Point, Polygon};
use crate::layout::MetalLine;
use rand::{Rng, RngExt};
use std::f64::consts::TAU;
use std::sync::Arc;

/// One drawn answer of what lies there: its metal lines.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MetalDraw {
    /// The lines.
    pub lines: Vec<Arc<MetalLine>>,
    /// Index of the grid bearing.
    pub bearing: usize,
    /// Index of the chain that it comes from.
    pub chain: usize,
}

/// Legs meet no further than this from where their mean courses meet, metres; drawn legs that turn too little to say take
/// the mean. Numerical choice.
const CORNER_M: f64 = 3.0;

impl MetalDraw {
    /// Draws the lines of an explanation.
    pub fn of(model: &Model, state: &State, chain: usize, rng: &mut impl Rng) -> Self {
        let mut lines = Vec::with_capacity(state.lines.len());
        for line in &state.lines {
            let drawn = draw(model, line, rng);
            // A coin for every line, so that what one is made of moves no other's draws.
            if rng.random::<f64>() >= marks_nothing(model, line) {
                lines.push(Arc::new(drawn));
            }
        }
        Self { lines, bearing: state.shared.bearing, chain }
    }
}

/// Chance that a line is not there: where only paint tells of it, every mark on it is wrong.
fn marks_nothing(model: &Model, line: &Line) -> f64 {
    let mut marks: Vec<usize> = Vec::new();
    for item in line.items() {
        match model.evidence.items[item as usize].origin {
            Origin::Mark(mark) if !marks.contains(&mark) => marks.push(mark),
            Origin::Mark(_) => {}
            _ => return 0.0,
        }
    }
    marks.iter().map(|mark| model.evidence.false_marks[*mark]).product()
}

fn draw(model: &Model, line: &Line, rng: &mut impl Rng) -> MetalLine {
    let chances = line.class_chances();
    let class = crate::layout::pick(&chances, rng);
    let courses: Vec<(Point, f64)> = line
        .fits
        .iter()
        .map(|fit| {
            let (at, angle) = fit.draw(rng);
            let wander = normal(rng) * model.evidence.law.wander_m;
            (at + Point::unit(angle).left() * wander, angle)
        })
        .collect();
    let directions = line.directions(model);
    let corner = |k: usize| {
        let mean = line.corners[k];
        meeting(courses[k], courses[k + 1], 0.15).filter(|at| at.distance(mean) < CORNER_M).unwrap_or(mean)
    };
    let corners: Vec<Point> = (0..line.corners.len()).map(corner).collect();
    let on_course = |k: usize, at: Point| {
        let along = Point::unit(courses[k].1);
        courses[k].0 + along * (at - courses[k].0).dot(along)
    };
    let mut fixtures = Vec::new();
    let mut beyond = |end: &super::ends::End, leg: usize, outward: Point| -> Vec<Point> {
        let from = on_course(leg, end.on);
        let out = Point::unit(courses[leg].1);
        let out = if out.dot(outward) < 0.0 { -out } else { out };
        match end.draw(model, class, rng) {
            Beyond::Here => vec![from],
            Beyond::On(length) => vec![from + out * clear(&model.evidence.solid, from, out, length)],
            Beyond::To(fixture, corner) => {
                fixtures.push(fixture);
                // By way of its last item: the fixture alone would leave the leg's own doubt out.
                let mut way: Vec<Point> =
                    [from].into_iter().chain(corner.map(|at| on_course(leg, at))).collect();
                way.push(model.evidence.fixtures[fixture].1);
                way
            }
        }
    };
    let [first, last] = line.ends(model);
    let n = line.legs.len();
    let mut path = beyond(&first, 0, -directions[0]);
    path.reverse();
    path.extend(&corners);
    path.extend(beyond(&last, n - 1, directions[n - 1]));
    if path.len() < 2 {
        path.push(path[0]);
    }
    let told = line.items().filter_map(|item| model.evidence.items[item as usize].depth);
    let law = model.evidence.law.classes[class];
    let (mean, sd, _) = depths(told, law.cover_m, law.cover_sd_m);
    let cover_m = (mean + sd * normal(rng)).max(LEAST_COVER_M);
    MetalLine {
        class: CLASSES[class],
        path,
        cover_m,
        cover_law_m: (mean, sd),
        radius_m: law.radius_m,
        items: line.items().collect(),
        fixtures,
        wire: false,
    }
}

/// Nothing lies shallower, metres (python/docs/trade-values.md, 1.20: a cut at 0.2 ft).
pub(super) const LEAST_COVER_M: f64 = 0.03;

fn normal(rng: &mut impl Rng) -> f64 {
    let radius = (-2.0 * (1.0 - rng.random::<f64>()).ln()).sqrt();
    radius * (TAU * rng.random::<f64>()).cos()
}

/// How far a way of this length goes before it enters a building.
fn clear(solid: &[Polygon], from: Point, along: Point, length_m: f64) -> f64 {
    let to = from + along * length_m;
    let mut least = length_m;
    for (p, q) in solid.iter().flat_map(Polygon::edges) {
        let (way, edge) = (to - from, q - p);
        let det = way.cross(edge);
        if det.abs() > 1e-12 {
            let (t, u) = ((p - from).cross(edge) / det, (p - from).cross(way) / det);
            if (0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&u) {
                least = least.min(t * length_m);
            }
        }
    }
    least
}
