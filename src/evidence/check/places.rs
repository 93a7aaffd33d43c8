//! Places: nothing of the system inside what it cannot be inside of, and no place that betrays a slip of the units.

use super::Found;
use crate::evidence::document::{Document, ObstacleKind, Xy};
use crate::evidence::fault::FaultKind;
use crate::geometry::{Point, Polygon};

/// Widest site that is believed, metres. Common practice, no source: a large golf course is some 2 km across.
const WIDEST_M: f64 = 5000.0;
/// Heads this far outside the boundary are slips, metres: a head on the far side of a walk is nearer. Common practice,
/// no source.
const FAR_OUTSIDE_M: f64 = 5.0;
/// Heads nearer to each other than this are one head written twice, metres. Numerical choice.
const SAME_PLACE_M: f64 = 1e-6;

pub(super) fn check(document: &Document, found: &mut Found) {
    let scale = document.units.metres_per_unit();
    let heads: Vec<Point> = document.heads.iter().map(|head| metres([head.x, head.y], scale)).collect();
    inside_obstacles(document, &heads, scale, found);
    same_places(&heads, found);
    if let Some(boundary) = &document.boundary
        && boundary.len() >= 3
        && boundary.iter().flatten().all(|number| number.is_finite())
    {
        let boundary = polygon(boundary, scale);
        for (i, &head) in heads.iter().enumerate().filter(|(_, head)| is_finite(**head)) {
            let distance_m = boundary.distance_to_boundary(head);
            if distance_m > FAR_OUTSIDE_M && !boundary.contains(head) {
                found.add(format!("heads[{i}]"), FaultKind::FarOutside { distance_m });
            }
        }
    }
    extent(document, scale, found);
}

fn inside_obstacles(document: &Document, heads: &[Point], scale: f64, found: &mut Found) {
    let at = |x, y| metres([x, y], scale);
    let heads = heads.iter().enumerate().map(|(i, &p)| (format!("heads[{i}]"), p, true));
    let boxes = document.valve_boxes.iter().enumerate();
    let boxes = boxes.map(|(i, it)| (format!("valve_boxes[{i}]"), at(it.x, it.y), false));
    let sources = document.sources.iter().enumerate();
    let sources = sources.map(|(i, it)| (format!("sources[{i}]"), at(it.x, it.y), false));
    let outlets = document.outlets.iter().enumerate();
    let outlets = outlets.map(|(i, it)| (format!("outlets[{i}]"), at(it.x, it.y), false));
    let blocking: Vec<(usize, ObstacleKind, Polygon)> = document
        .obstacles
        .iter()
        .enumerate()
        .filter(|(_, it)| it.kind.blocks() && it.outline.iter().flatten().all(|number| number.is_finite()))
        .map(|(j, it)| (j, it.kind, polygon(&it.outline, scale)))
        .collect();
    for (place, point, is_head) in heads.chain(boxes).chain(sources).chain(outlets) {
        for (j, kind, outline) in &blocking {
            // Valves, meters and pumps do stand in basements; heads do not, and nothing stands in a pool.
            let forbidden = is_head || *kind == ObstacleKind::Pool;
            // On the wall itself is where hose bibs and heads along a foundation are drawn.
            if forbidden && outline.contains(point) && outline.distance_to_boundary(point) > SAME_PLACE_M {
                let obstacle = format!("obstacles[{j}]");
                found.add(place.clone(), FaultKind::Inside { kind: *kind, obstacle });
            }
        }
    }
}

fn same_places(heads: &[Point], found: &mut Found) {
    // Sorted by x, heads at one place are neighbours or nearly so.
    let mut order: Vec<usize> = (0..heads.len()).filter(|&i| is_finite(heads[i])).collect();
    order.sort_by(|&i, &j| heads[i].x.total_cmp(&heads[j].x));
    for (k, &i) in order.iter().enumerate() {
        let near = order[k + 1..].iter().take_while(|&&j| heads[j].x - heads[i].x < SAME_PLACE_M);
        if let Some(&j) = near.into_iter().find(|&&j| heads[i].distance(heads[j]) < SAME_PLACE_M) {
            found.add(
                format!("heads[{}]", i.max(j)),
                FaultKind::SamePlace { other: format!("heads[{}]", i.min(j)) },
            );
        }
    }
}

fn extent(document: &Document, scale: f64, found: &mut Found) {
    let mut points: Vec<Xy> = document.boundary.iter().flatten().copied().collect();
    points.extend(document.heads.iter().map(|it| [it.x, it.y]));
    points.extend(document.valve_boxes.iter().map(|it| [it.x, it.y]));
    points.extend(document.sources.iter().map(|it| [it.x, it.y]));
    points.extend(document.outlets.iter().map(|it| [it.x, it.y]));
    points.extend(document.trees.iter().map(|it| [it.x, it.y]));
    points.extend(document.flags.iter().map(|it| [it.x, it.y]));
    points.extend(document.obstacles.iter().flat_map(|it| &it.outline));
    points.extend(document.swept.iter().flat_map(|it| &it.outline));
    points.extend(document.marks.iter().flat_map(|it| &it.path));
    points.extend(document.services.iter().flat_map(|it| [it.from, it.to]));
    points.extend(document.sketches.iter().flat_map(|it| &it.path));
    for it in &document.probes {
        points.extend(it.x.zip(it.y).map(|(x, y)| [x, y]));
        points.extend(it.path.iter().flatten());
    }
    for it in &document.digs {
        points.extend(it.x.zip(it.y).map(|(x, y)| [x, y]));
        points.extend(it.path.iter().flatten());
        points.extend(it.outline.iter().flatten());
    }
    let mut extent_m = 0.0_f64;
    for axis in [0, 1] {
        let finite = points.iter().map(|point| point[axis]).filter(|number| number.is_finite());
        let (least, greatest) = finite.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), number| {
            (low.min(number), high.max(number))
        });
        extent_m = extent_m.max((greatest - least) * scale);
    }
    if extent_m > WIDEST_M {
        found.add("", FaultKind::TooWide { extent_m, limit_m: WIDEST_M });
    }
}

fn metres(at: Xy, scale: f64) -> Point {
    Point::from(at) * scale
}

fn polygon(corners: &[Xy], scale: f64) -> Polygon {
    Polygon::new(corners.iter().map(|&at| metres(at, scale)).collect())
}

fn is_finite(point: Point) -> bool {
    point.x.is_finite() && point.y.is_finite()
}
