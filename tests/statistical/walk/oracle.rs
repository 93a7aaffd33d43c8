//! Ceilings, for no engine is expected above them. One knows the true courses, which of them were flagged, and the classes: it
//! lacks covers, and puts each flag where it most likely came from. The other knows which flag is on which straight piece,
//! where pieces meet and end, and the class, and draws each piece from its posterior given the flags and their stated standard
//! deviations. Both take covers from other sites of the simulator. The ceiling over all truths that agree with a survey is not
//! drawn: the walk would have to be simulated until it gave the same flags.

use super::course::Course;
use super::forecaster::{
    CourseForecast, CrossingForecast, FlagForecast, Forecast, LineForecast, MetalForecaster,
};
use super::survey::{Class, Survey};
use super::truth::{Line, Origin, Truth};
use super::{Names, site};
use crate::installer::Dice;
use crate::job::Hole;
use crate::plane::{Xy, area, point_to_segment};
use std::sync::OnceLock;

/// Wander of a trench about its straight piece, metres: the middle of what the simulator draws.
const WANDER_M: f64 = 0.025;
const DRAWS: usize = 200;
/// Sites whose covers are counted; none of them is judged.
const COVERS_FROM: u64 = 900_000;

/// Share of covers of a class that are less than a depth.
fn shallower(class: Class, depth_m: f64) -> f64 {
    static COVERS: OnceLock<Vec<Vec<f64>>> = OnceLock::new();
    let covers = COVERS.get_or_init(|| {
        let mut covers = vec![Vec::new(); Class::ALL.len()];
        for seed in COVERS_FROM..COVERS_FROM + 300 {
            for line in site(seed, Names::NotGiven).truth.lines {
                covers[line.class as usize].extend(line.cover_m.iter().step_by(4));
            }
        }
        covers.iter_mut().for_each(|c| c.sort_by(f64::total_cmp));
        covers
    });
    let of = &covers[class as usize];
    (of.partition_point(|&c| c < depth_m) as f64 + 0.5) / (of.len() as f64 + 1.0)
}

fn meets(hole: &Hole, path: &[Xy], diameter_m: f64) -> bool {
    path.windows(2).any(|w| point_to_segment(hole.at, w[0], w[1]) < hole.radius_m + diameter_m / 2.0)
}

/// Chances of names, near the middles of what the simulator draws: a flag of a line bears its name, another one; a stray bears a
/// name.
const NAMED: [f64; 3] = [0.96, 0.02, 0.25];
/// Strays among flags, and flags to the metre of a flagged line.
const STRAYS: f64 = 0.125;
const TO_THE_METRE: f64 = 0.5;

/// Where each flag most likely came from, for who knows the courses and which lines were flagged at all.
fn by_courses(survey: &Survey, truth: &Truth) -> Vec<FlagForecast> {
    let flagged: Vec<usize> = (0..truth.lines.len()).filter(|&k| !truth.flags_of(k).is_empty()).collect();
    let swept: f64 = survey.swept.iter().map(|s| area(&s.outline).abs()).sum();
    let strays = STRAYS * survey.flags.len() as f64 / swept;
    let told = survey.flags.iter().any(|f| f.name.is_some());
    let flags = survey.flags.iter().map(|flag| {
        let [own, other, on_stray] = if told { NAMED } else { [1.0; 3] };
        let stray =
            strays * if flag.name.is_some() { on_stray / flagged.len() as f64 } else { 1.0 - on_stray };
        let stray = if told { stray } else { strays };
        let of = flagged.iter().map(|&k| {
            let off = truth.lines[k].course.nearest(flag.at).1 / flag.sd_m;
            let density = (-0.5 * off * off).exp() / (flag.sd_m * std::f64::consts::TAU.sqrt());
            let name = match &flag.name {
                None if told => 1.0 - own - other,
                Some(n) if *n != format!("line {}", k + 1) => other,
                _ => own,
            };
            (k, TO_THE_METRE * density * name)
        });
        let of: Vec<(usize, f64)> = of.collect();
        let total = stray + of.iter().map(|o| o.1).sum::<f64>();
        let best = of.iter().max_by(|a, b| a.1.total_cmp(&b.1)).filter(|b| b.1 > stray);
        FlagForecast { line: best.map(|b| b.0), p_stray: stray / total }
    });
    flags.collect()
}

/// What both ceilings know of classes and crossings.
fn known(truth: &Truth, courses: Vec<CourseForecast>, p_strike: Vec<f64>) -> Forecast {
    let flags = truth
        .flags
        .iter()
        .map(|o| FlagForecast { line: o.line(), p_stray: if *o == Origin::Stray { 1.0 } else { 0.0 } });
    let lines = truth
        .lines
        .iter()
        .zip(courses)
        .map(|(l, course)| LineForecast { course, class: vec![(l.class.name().to_owned(), 1.0)] });
    let crossings = truth.crossings.iter().map(|c| CrossingForecast { at: c.at, lines: c.lines });
    Forecast { flags: flags.collect(), lines: lines.collect(), crossings: crossings.collect(), p_strike }
}

/// Knows everything but covers.
pub struct KnowsCourses;

impl MetalForecaster for KnowsCourses {
    fn forecast(&self, survey: &Survey, holes: &[Hole]) -> Result<Forecast, String> {
        let truth = site(survey.seed, Names::NotGiven).truth;
        let p = holes.iter().map(|hole| {
            let miss: f64 = (truth.lines.iter())
                .filter(|l| meets(hole, l.course.points(), l.diameter_m))
                .map(|l| 1.0 - shallower(l.class, hole.depth_m))
                .product();
            1.0 - miss
        });
        let p = p.collect();
        let courses =
            truth.lines.iter().map(|l| CourseForecast::Draws(vec![l.course.points().to_vec()])).collect();
        let flags = by_courses(survey, &truth);
        Ok(Forecast { flags, ..known(&truth, courses, p) })
    }
}

/// Knows which flag is on which straight piece.
pub struct KnowsPieces;

impl MetalForecaster for KnowsPieces {
    fn forecast(&self, survey: &Survey, holes: &[Hole]) -> Result<Forecast, String> {
        let truth = site(survey.seed, Names::NotGiven).truth;
        let mut dice = Dice::new(survey.seed);
        let courses: Vec<Option<Vec<Vec<Xy>>>> = (0..truth.lines.len())
            .map(|k| {
                let pieces = pieces(survey, &truth, k);
                (!pieces.is_empty())
                    .then(|| (0..DRAWS).map(|_| draw(&pieces, &truth.lines[k], &mut dice)).collect())
            })
            .collect();
        let p = holes.iter().map(|hole| {
            let mut sum = 0.0;
            for d in 0..DRAWS {
                let lines = truth.lines.iter().zip(&courses).filter_map(|(l, c)| Some((l, &c.as_ref()?[d])));
                let miss: f64 = lines
                    .filter(|(l, path)| meets(hole, path, l.diameter_m))
                    .map(|(l, _)| 1.0 - shallower(l.class, hole.depth_m))
                    .product();
                sum += 1.0 - miss;
            }
            // half a hit keeps the log score finite; lines that nobody flagged are not foreseen
            (sum + 0.5) / (DRAWS as f64 + 1.0)
        });
        let p = p.collect();
        let courses =
            courses.into_iter().map(|c| c.map_or(CourseForecast::Untold, CourseForecast::Draws)).collect();
        Ok(known(&truth, courses, p))
    }
}

/// A straight piece with flags: in its own frame the line `aside = a + b s` with its posterior.
struct Piece {
    origin: Xy,
    along: Xy,
    /// Places along the true course where it begins and ends, and the same from `origin`.
    arcs: (f64, f64),
    mean: [f64; 2],
    /// Lower factor of the covariance.
    factor: [f64; 3],
}

/// Pieces of a line that hold two flags or more, fitted by weighted least squares.
fn pieces(survey: &Survey, truth: &Truth, k: usize) -> Vec<Piece> {
    let line = &truth.lines[k];
    let mut corners: Vec<f64> = vec![0.0];
    corners.extend(line.bends.iter().map(|b| b.arc_m));
    corners.push(line.course.length());
    let flags = truth.flags_of(k);
    corners
        .windows(2)
        .filter_map(|w| {
            let of: Vec<usize> = flags.iter().filter(|f| f.0 >= w[0] && f.0 <= w[1]).map(|f| f.1).collect();
            if of.len() < 2 {
                return None;
            }
            let (a, b) = (line.course.at(w[0]), line.course.at(w[1]));
            let along = (b - a).unit();
            let (mut m, mut v) = ([1e-9, 0.0, 1e-9], [0.0; 2]);
            for &f in &of {
                let flag = &survey.flags[f];
                let weight = 1.0 / (flag.sd_m * flag.sd_m + WANDER_M * WANDER_M);
                let (s, y) = ((flag.at - a).dot(along), along.cross(flag.at - a));
                m = [m[0] + weight, m[1] + weight * s, m[2] + weight * s * s];
                v = [v[0] + weight * y, v[1] + weight * s * y];
            }
            let det = m[0] * m[2] - m[1] * m[1];
            let mean = [(m[2] * v[0] - m[1] * v[1]) / det, (m[0] * v[1] - m[1] * v[0]) / det];
            let cov = [m[2] / det, -m[1] / det, m[0] / det];
            let l = cov[0].sqrt();
            let factor = [l, cov[1] / l, (cov[2] - cov[1] * cov[1] / cov[0]).max(0.0).sqrt()];
            Some(Piece { origin: a, along, arcs: (w[0], w[1]), mean, factor })
        })
        .collect()
}

/// One course: each piece from its posterior, joined where neighbours meet, to the true ends.
fn draw(pieces: &[Piece], line: &Line, dice: &mut Dice) -> Vec<Xy> {
    let lines: Vec<(Xy, Xy)> = pieces
        .iter()
        .map(|p| {
            let (u, v) = (dice.normal(1.0), dice.normal(1.0));
            let a = p.mean[0] + p.factor[0] * u + dice.normal(WANDER_M);
            let b = p.mean[1] + p.factor[1] * u + p.factor[2] * v;
            (p.origin + p.along.left() * a, p.along + p.along.left() * b)
        })
        .collect();
    let at = |i: usize, s: f64| lines[i].0 + lines[i].1 * s;
    let reach = |i: usize| pieces[i].arcs.1 - pieces[i].arcs.0;
    let mut path = vec![at(0, 0.0)];
    for i in 0..pieces.len() {
        let meet = (i + 1 < pieces.len() && pieces[i + 1].arcs.0 == pieces[i].arcs.1)
            .then(|| crossing(lines[i], lines[i + 1]))
            .flatten()
            .filter(|p| p.to(line.course.at(pieces[i].arcs.1)) < 2.0);
        match meet {
            Some(p) => path.push(p),
            None => {
                path.push(at(i, reach(i)));
                if i + 1 < pieces.len() {
                    path.push(at(i + 1, 0.0));
                }
            }
        }
    }
    debug_assert!(Course::new(path.clone()).length() > 0.0);
    path
}

fn crossing(a: (Xy, Xy), b: (Xy, Xy)) -> Option<Xy> {
    let d = a.1.cross(b.1);
    (d.abs() > 0.25).then(|| a.0 + a.1 * ((b.0 - a.0).cross(b.1) / d))
}
