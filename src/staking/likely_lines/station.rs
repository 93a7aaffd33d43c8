//! Stations across a course: in which draws a line passes, and how far aside.

use super::courses::Course;
use super::line::{LineOptions, Station};
use crate::class::Class;
use crate::geometry::Point;
use crate::inference::Layouts;
use crate::layout::Piece;
use std::collections::BTreeMap;

/// A piece runs along a course if it turns from it by no more than this, radians.
const ALONG_RAD: f64 = std::f64::consts::FRAC_PI_6;

/// Shorter legs of a course carry no station, metres.
const LEG_LEAST_M: f64 = 0.3;

/// The band of doubt holds this share of the draws that have the line.
const BAND: f64 = 0.9;

/// A line this close to a band already told is that line, metres: half a spade.
const SAME_M: f64 = 0.1;

/// What the draws have at one place of a course.
#[derive(Clone, Debug)]
pub struct Transect {
    at: Point,
    along: Point,
    /// Length of the course that it stands for, metres.
    pub span_m: f64,
    draws: usize,
    /// In each draw that has a line here: metres to the left of the course, and its system.
    crossings: Vec<(f32, u16)>,
}

impl Transect {
    /// Share of draws with a line here.
    pub fn share(&self) -> f64 {
        self.crossings.len() as f64 / self.draws as f64
    }

    /// The station: middle and half width of the band between the outer twentieths of the offsets.
    pub fn station(&self) -> Station {
        let mut offsets: Vec<f64> = self.crossings.iter().map(|&(offset, _)| f64::from(offset)).collect();
        offsets.sort_by(f64::total_cmp);
        let (low, high) = (quantile(&offsets, 0.5 - BAND / 2.0), quantile(&offsets, 0.5 + BAND / 2.0));
        Station {
            at: self.at + self.along.left() * (0.5 * (low + high)),
            half_width_m: 0.5 * (high - low),
            angle_rad: self.along.y.atan2(self.along.x),
            span_m: self.span_m,
            chance: self.share(),
        }
    }
}

/// The system that most crossings of a chain belong to, and its share of them.
pub fn system_of(part: &[&Transect]) -> (usize, f64) {
    let mut counts: BTreeMap<u16, usize> = BTreeMap::new();
    for (_, system) in part.iter().flat_map(|transect| &transect.crossings) {
        *counts.entry(*system).or_default() += 1;
    }
    let all: usize = counts.values().sum();
    let most = counts.into_iter().rev().max_by_key(|&(_, count)| count);
    most.map_or((0, 0.0), |(system, count)| (usize::from(system), count as f64 / all.max(1) as f64))
}

/// The quantile of sorted values, straight between order statistics (type 7 of Hyndman and Fan 1996).
fn quantile(sorted: &[f64], share: f64) -> f64 {
    let place = share * (sorted.len() - 1) as f64;
    let below = place.floor() as usize;
    let above = (below + 1).min(sorted.len() - 1);
    sorted[below] + (sorted[above] - sorted[below]) * (place - below as f64)
}

/// The transects of a course, leg by leg: none at its corners, where lines bend.
pub fn transects(layouts: &Layouts, course: &Course, options: &LineOptions) -> Vec<Transect> {
    let draws = layouts.pieces().draws();
    let mut transects = Vec::new();
    for leg in course.corners.windows(2) {
        let length = leg[0].distance(leg[1]);
        let Some(along) = (leg[1] - leg[0]).direction() else { continue };
        if length < LEG_LEAST_M {
            continue;
        }
        let count = (length / options.step_m).ceil().max(1.0) as usize;
        let place = |k: usize| leg[0].towards(leg[1], (k as f64 + 0.5) / count as f64);
        transects.extend((0..count).map(|k| Transect {
            at: place(k),
            along,
            span_m: length / count as f64,
            draws,
            crossings: Vec::new(),
        }));
    }
    let reach = options.reach_m;
    let (low, high) = bounds(&transects, reach);
    for k in 0..draws {
        let near: Vec<&Piece> =
            layouts.pieces().draw(k).iter().filter(|p| near(p, course.class, low, high)).collect();
        if near.is_empty() {
            continue;
        }
        for transect in &mut transects {
            let offsets =
                near.iter().filter_map(|piece| Some((crossing(transect, piece, reach)?, piece.system)));
            let nearest = offsets.min_by(|a, b| a.0.abs().total_cmp(&b.0.abs()));
            transect.crossings.extend(nearest);
        }
    }
    transects
}

fn bounds(transects: &[Transect], reach: f64) -> (Point, Point) {
    let start = (Point::new(f64::INFINITY, f64::INFINITY), Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY));
    transects.iter().fold(start, |(low, high), t| {
        (
            Point::new(low.x.min(t.at.x - reach), low.y.min(t.at.y - reach)),
            Point::new(high.x.max(t.at.x + reach), high.y.max(t.at.y + reach)),
        )
    })
}

fn near(piece: &Piece, class: Class, low: Point, high: Point) -> bool {
    piece.class == class
        && piece.a.x.min(piece.b.x) <= high.x
        && piece.a.x.max(piece.b.x) >= low.x
        && piece.a.y.min(piece.b.y) <= high.y
        && piece.a.y.max(piece.b.y) >= low.y
}

/// How far to the left of the course a piece that runs along it crosses the transect, metres.
fn crossing(transect: &Transect, piece: &Piece, reach: f64) -> Option<f32> {
    let way = (piece.b - piece.a).direction()?;
    if way.cross(transect.along).abs() > ALONG_RAD.sin() {
        return None;
    }
    let (from, to) = (piece.a - transect.at, piece.b - transect.at);
    let (s, t) = (transect.along.dot(from), transect.along.dot(to));
    if s * t > 0.0 || s == t {
        return None;
    }
    let (left_from, left_to) = (transect.along.cross(from), transect.along.cross(to));
    let left = left_from + (left_to - left_from) * (s / (s - t));
    (left.abs() <= reach).then_some(left as f32)
}

/// What has been told already.
#[derive(Default)]
pub struct Crossings(Vec<(Class, Station)>);

impl Crossings {
    /// Remembers the stations of a line.
    pub fn add(&mut self, class: Class, stations: &[Station]) {
        self.0.extend(stations.iter().map(|station| (class, *station)));
    }

    /// A transect less the crossings that a line already told holds in its band; `None` if too few are left to be likely.
    pub fn without(&self, transect: &Transect, class: Class, least_chance: f64) -> Option<Transect> {
        let known: Vec<&Station> = self
            .0
            .iter()
            .filter(|(told, station)| {
                let turn = transect.along.cross(Point::unit(station.angle_rad)).abs();
                let far = station.at.distance(transect.at) > station.span_m + 10.0;
                *told == class && !far && turn <= ALONG_RAD.sin()
            })
            .map(|(_, station)| station)
            .collect();
        let held = |offset: f32| {
            let p = transect.at + transect.along.left() * f64::from(offset);
            known.iter().any(|station| {
                let (along, away) = (Point::unit(station.angle_rad), p - station.at);
                along.dot(away).abs() <= 0.5 * station.span_m + 1e-6
                    && along.cross(away).abs() <= station.half_width_m + SAME_M
            })
        };
        let left = transect.crossings.iter().filter(|(offset, _)| !held(*offset)).copied().collect();
        let left = Transect { crossings: left, ..transect.clone() };
        (left.share() >= least_chance).then_some(left)
    }
}
