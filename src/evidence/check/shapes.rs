//! Outlines and paths: enough corners, no crossing of itself, some area, some length.

use super::Found;
use crate::evidence::document::{Document, Xy};
use crate::evidence::fault::FaultKind;
use crate::evidence::shape::{self, Written};
use crate::geometry::{Point, Polygon};

/// Outlines whose area is below this share of their squared perimeter hold no ground. A sliver a millimetre wide and
/// a hundred metres long is about 2.5e-6. Numerical choice.
const LEAST_AREA_SHARE: f64 = 1e-9;

pub(super) fn check(document: &Document, found: &mut Found) {
    if let Some(boundary) = &document.boundary {
        outline("boundary".into(), boundary, found);
    }
    for (i, item) in document.obstacles.iter().enumerate() {
        outline(format!("obstacles[{i}].outline"), &item.outline, found);
    }
    for (i, item) in document.swept.iter().enumerate() {
        outline(format!("swept[{i}].outline"), &item.outline, found);
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
        footprint(format!("probes[{i}]"), shape::of_probe(item), found);
    }
    for (i, item) in document.digs.iter().enumerate() {
        footprint(format!("digs[{i}]"), shape::of_dig(item), found);
    }
}

fn footprint(place: String, written: Result<Written<'_>, FaultKind>, found: &mut Found) {
    match written {
        Ok(Written::Disc { .. }) => {}
        Ok(Written::Trench { path: points, .. }) => path(place + ".path", points, found),
        Ok(Written::Pit { outline: corners }) => outline(place + ".outline", corners, found),
        Err(what) => found.add(place, what),
    }
}

fn outline(place: String, corners: &[Xy], found: &mut Found) {
    let polygon = Polygon::new(corners.iter().copied().map(Point::from).collect());
    if polygon.ring.len() < 3 {
        found.add(place, FaultKind::TooFewCorners { found: polygon.ring.len() });
        return;
    }
    if !all_finite(corners) {
        return;
    }
    if let Some(&(first, second)) = polygon.crossings_with_itself().first() {
        found.add(place, FaultKind::SelfCrossing { first, second });
    } else if polygon.area() <= LEAST_AREA_SHARE * polygon.perimeter().powi(2) {
        found.add(place, FaultKind::NoArea);
    }
}

fn path(place: String, points: &[Xy], found: &mut Found) {
    let length: f64 = points.windows(2).map(|pair| Point::from(pair[0]).distance(Point::from(pair[1]))).sum();
    if all_finite(points) && length <= 0.0 {
        found.add(place, FaultKind::NoLength);
    }
}

fn all_finite(points: &[Xy]) -> bool {
    points.iter().flatten().all(|number| number.is_finite())
}
