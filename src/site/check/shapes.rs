//! Outlines and paths: enough corners, no crossing of itself, some area, some length.

use super::found::Found;
use crate::geometry::{Point, Polygon, segments_meeting};
use crate::site::document::{Document, ProbeEntry, Xy};
use crate::site::fault::FaultKind;
use crate::site::plausible::Rule;
use crate::site::shape::{self, Written};
use crate::site::units::Units;
use crate::site::{clean, plausible};

/// Outlines whose area is below this share of their squared perimeter hold no ground. A sliver a millimetre wide and
/// a hundred metres long is about 2.5e-6. Numerical choice.
const LEAST_AREA_SHARE: f64 = 1e-9;

pub(super) fn check(document: &Document, found: &mut Found) {
    let scale = document.units.metres_per_unit();
    if let Some(boundary) = &document.boundary {
        outline("boundary".into(), boundary, scale, found);
    }
    for (i, item) in document.obstacles.iter().enumerate() {
        outline(format!("obstacles[{i}].outline"), &item.outline, scale, found);
    }
    for (i, item) in document.swept.iter().enumerate() {
        outline(format!("swept[{i}].outline"), &item.outline, scale, found);
    }
    for (i, item) in document.marks.iter().enumerate() {
        path(format!("marks[{i}].path"), &item.path, found);
    }
    for (i, item) in document.services.iter().enumerate() {
        path(format!("services[{i}]"), &[item.from, item.to], found);
    }
    for (i, item) in document.sketches.iter().enumerate() {
        path(format!("sketches[{i}].path"), &item.path, found);
    }
    for (i, item) in document.probes.iter().enumerate() {
        probe(i, item, document.units, found);
    }
    for (i, item) in document.digs.iter().enumerate() {
        footprint(
            format!("digs[{i}]"),
            shape::of_dig(item),
            document.units,
            &plausible::DIG_LENGTH_LIMIT,
            found,
        );
    }
}

pub(super) fn probe(index: usize, entry: &ProbeEntry, units: Units, found: &mut Found) {
    let place = format!("probes[{index}]");
    footprint(place, shape::of_probe(entry), units, &plausible::PROBE_LENGTH_LIMIT, found);
}

fn footprint(
    place: String,
    written: Result<Written<'_>, FaultKind>,
    units: Units,
    longest: &Rule,
    found: &mut Found,
) {
    let scale = units.metres_per_unit();
    match written {
        Ok(Written::Disc { .. }) => {}
        Ok(Written::Trench { path: points, .. }) => {
            let place = place + ".path";
            found.possible_length(&place, points, longest, units);
            path(place, points, found);
        }
        Ok(Written::Pit { outline: corners }) => {
            let (place, widest) = (place + ".outline", &plausible::DIG_RADIUS_LIMIT);
            let limit = 2.0 * widest.greatest.unwrap_or(f64::MAX) / scale;
            let value = extent(corners);
            if value.is_finite() && value > limit {
                let (unit, reason) = (units.name(), widest.why());
                found.add(place.clone(), FaultKind::Impossible { what: "width", value, limit, unit, reason });
            }
            outline(place, corners, scale, found);
        }
        Err(what) => found.add(place, what),
    }
}

/// Greater side of the box round these points.
fn extent(points: &[Xy]) -> f64 {
    let side = |axis: usize| {
        let (low, high) = points.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), point| {
            (low.min(point[axis]), high.max(point[axis]))
        });
        high - low
    };
    side(0).max(side(1))
}

/// An outline, once repeated corners and spikes are left out.
fn outline(place: String, corners: &[Xy], scale: f64, found: &mut Found) {
    let in_metres: Vec<Point> = corners.iter().map(|&at| Point::from(at) * scale).collect();
    let cleaned = clean::outline(&in_metres);
    let polygon = Polygon::new(cleaned.of(corners).into_iter().map(Point::from).collect());
    if polygon.ring.len() < 3 {
        found.add(place, FaultKind::TooFewCorners { found: polygon.ring.len() });
        return;
    }
    if !all_finite(corners) {
        return;
    }
    if let Some(&(i, j)) = polygon.crossings_with_itself().first() {
        let edges: Vec<(Point, Point)> = polygon.edges().collect();
        let at = segments_meeting(edges[i], edges[j]).into();
        let from = Box::new([edges[i].0.into(), edges[j].0.into()]);
        let (first, second) = (cleaned.kept[i], cleaned.kept[j]);
        found.add(place, FaultKind::SelfCrossing { first, second, from, at });
    } else if polygon.area() <= LEAST_AREA_SHARE * polygon.perimeter().powi(2) {
        found.add(place, FaultKind::NoArea);
    }
}

fn path(place: String, points: &[Xy], found: &mut Found) {
    if all_finite(points) && length(points) <= 0.0 {
        found.add(place, FaultKind::NoLength);
    }
}

impl Found {
    /// A path is no longer than a rule believes.
    fn possible_length(&mut self, place: &str, points: &[Xy], longest: &Rule, units: Units) {
        let (value, limit) = (length(points), longest.greatest.unwrap_or(f64::MAX) / units.metres_per_unit());
        if value.is_finite() && value > limit {
            let (unit, reason) = (units.name(), longest.why());
            self.add(place, FaultKind::Impossible { what: "length", value, limit, unit, reason });
        }
    }
}

fn length(points: &[Xy]) -> f64 {
    points.windows(2).map(|pair| Point::from(pair[0]).distance(Point::from(pair[1]))).sum()
}

fn all_finite(points: &[Xy]) -> bool {
    points.iter().flatten().all(|number| number.is_finite())
}
