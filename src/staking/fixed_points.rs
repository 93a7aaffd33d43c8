//! Points that stay where they are and can be found again: what a crew puts the end of its tape to.
//!
//! Corners of buildings first, then valve boxes, sources and outlets, corners of paving and pools, corners of the boundary
//! (often not to be seen on the ground), and heads last: they are what is dug up.

use super::words::{named, source_words};
use crate::geometry::{Point, Polygon};
use crate::site::document::{ObstacleKind, OutletKind};
use crate::site::{Site, Units};
use std::collections::HashMap;

/// A point to measure from.
#[derive(Clone, Debug, PartialEq)]
pub struct FixedPoint {
    /// What it is, in words: `north-east corner of the building`, `valve box v1`.
    pub name: String,
    /// Where it is, metres.
    pub at: Point,
    /// How much error of a fix from here counts against one from a wall: more for what is harder to see. Common practice, no
    /// source.
    pub handicap: f64,
    /// Whether it is a sprinkler head.
    pub head: bool,
}

/// An outline turns by at least this at a corner that can be seen, radians: curves are drawn in many short edges.
const CORNER_RAD: f64 = 0.5;

/// Points closer than this are one, metres.
const SAME_M: f64 = 0.1;

/// At most so many points are looked at, in the order above: pairs grow with the square.
const MOST: usize = 64;

/// The fixed points of a site, those that are easiest to find first.
///
/// # Examples
/// ```
/// let site = underturf::example::lawn()?;
/// let names: Vec<String> = underturf::staking::fixed_points(&site).into_iter().map(|point| point.name).collect();
/// assert!(names.contains(&"north-west corner of the building".to_owned()), "{names:?}");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn fixed_points(site: &Site) -> Vec<FixedPoint> {
    let mut points = Vec::new();
    let mut add = |name: String, at: Point, handicap: f64, head: bool| {
        points.push(FixedPoint { name, at, handicap, head });
    };
    let north_rad = -site.y_azimuth_deg().to_radians();
    for (kind, handicap) in
        [(ObstacleKind::Building, 1.0), (ObstacleKind::Paving, 1.3), (ObstacleKind::Pool, 1.3)]
    {
        let same: Vec<&Polygon> =
            site.obstacles.iter().filter(|o| o.kind == kind).map(|o| &o.outline).collect();
        for (k, outline) in same.iter().enumerate() {
            let which = if same.len() > 1 {
                format!("{} {}", kind.name(), k + 1)
            } else {
                format!("the {}", kind.name())
            };
            for (at, side) in corners(outline, north_rad) {
                add(format!("{side} corner of {which}"), at, handicap, false);
            }
        }
    }
    for valve_box in &site.valve_boxes {
        add(named("valve box", &valve_box.id), valve_box.at, 1.1, false);
    }
    for source in &site.sources {
        add(named(source_words(source.kind), &source.id), source.at, 1.1, false);
    }
    for outlet in &site.outlets {
        let kind = match outlet.kind {
            OutletKind::HoseBib => "hose bib",
            OutletKind::YardHydrant => "yard hydrant",
            OutletKind::QuickCoupler => "quick coupler",
        };
        add(named(kind, &outlet.id), outlet.at, 1.1, false);
    }
    for (at, side) in site.boundary.iter().flat_map(|boundary| corners(boundary, north_rad)) {
        add(format!("{side} corner of the boundary"), at, 1.6, false);
    }
    for head in &site.heads {
        add(named("head", &head.id), head.at, 2.5, true);
    }
    points.sort_by(|a, b| a.handicap.total_cmp(&b.handicap));
    let mut apart: Vec<FixedPoint> = Vec::new();
    for point in points {
        if apart.len() < MOST && apart.iter().all(|known| known.at.distance(point.at) > SAME_M) {
            apart.push(point);
        }
    }
    told_apart(&mut apart, site.units);
    apart
}

/// The corners of an outline, each with the side of the outline on which it lies; re-entrant ones are inner corners.
fn corners(outline: &Polygon, north_rad: f64) -> Vec<(Point, &'static str)> {
    let edges: Vec<(Point, Point)> = outline.edges().collect();
    let (low, high) = outline.bounds();
    let middle = low.towards(high, 0.5);
    let mut found = Vec::new();
    for (k, &(at, next)) in edges.iter().enumerate() {
        let before = edges[(k + edges.len() - 1) % edges.len()].0;
        let (came, goes) = (at - before, next - at);
        if came.cross(goes).abs().atan2(came.dot(goes)) >= CORNER_RAD {
            let inner = came.cross(goes) * outline.signed_area() < 0.0;
            found.push((at, if inner { "inner" } else { side(at - middle, high - low, north_rad) }));
        }
    }
    found
}

/// The compass side towards which `away` points, in a box of that size: the corners of a long house are its corners, not its
/// ends. `north_rad` is the direction of true north, clockwise from the plan's y axis.
fn side(away: Point, size: Point, north_rad: f64) -> &'static str {
    let share = Point::new(away.x / size.x.max(1e-9), away.y / size.y.max(1e-9));
    let clockwise_from_north = share.x.atan2(share.y) - north_rad;
    let eighth = (clockwise_from_north / std::f64::consts::FRAC_PI_4).round().rem_euclid(8.0);
    ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"]
        [(eighth as usize) % 8]
}

/// Adds the place, in the document's units, to names that several points share.
fn told_apart(points: &mut [FixedPoint], units: Units) {
    let mut times: HashMap<String, usize> = HashMap::new();
    for point in &*points {
        *times.entry(point.name.clone()).or_default() += 1;
    }
    for point in points.iter_mut().filter(|point| times[&point.name] > 1) {
        let per_metre = 1.0 / units.metres_per_unit();
        let (x, y) = (point.at.x * per_metre, point.at.y * per_metre);
        point.name = format!("{} at ({x:.1}, {y:.1})", point.name);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::Document;

    fn site(json: &str) -> Site {
        let document: Document = serde_json::from_str(json).unwrap();
        Site::new(document).unwrap()
    }

    #[test]
    fn points_are_named_as_a_crew_would() {
        let names = |site: &Site| fixed_points(site).into_iter().map(|point| point.name).collect::<Vec<_>>();
        let plain = site(
            r#"{"format": "underturf-site/2", "units": "ft", "boundary": [[0, 0], [60, 0], [60, 40], [0, 40]],
                "obstacles": [{"kind": "building", "outline": [[10, 20], [50, 20], [50, 40], [30, 40], [30, 30], [10, 30]]}],
                "valve_boxes": [{"id": "v1", "x": 5, "y": 5, "zones": ["1"]}],
                "sources": [{"id": "meter", "x": 55, "y": 5, "kind": "meter"}],
                "heads": [{"id": "a", "x": 1, "y": 1, "zone": "1"}]}"#,
        );
        assert_eq!(
            names(&plain),
            [
                "south-west corner of the building",
                "south-east corner of the building",
                "north-east corner of the building",
                "north corner of the building",
                "inner corner of the building",
                "west corner of the building",
                "valve box v1",
                "meter",
                "south-west corner of the boundary",
                "south-east corner of the boundary",
                "north-east corner of the boundary",
                "north-west corner of the boundary",
                "head a",
            ]
        );
        // Planted fault: a frame that is not looked at. With the x axis pointing north the plan's south-west is south-east.
        let turned = site(
            r#"{"format": "underturf-site/2", "units": "m", "frame": {"lon": 0, "lat": 0, "azimuth_deg": 270},
                "boundary": [[0, 0], [6, 0], [6, 4], [0, 4]]}"#,
        );
        assert_eq!(names(&turned)[0], "south-east corner of the boundary");
    }
}
