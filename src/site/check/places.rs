//! Places: nothing of the system inside what it cannot be inside of, and no place that betrays a slip of the units.

use super::found::{Found, thing, thing_at};
use crate::geometry::{Point, Polygon};
use crate::site::document::{Document, Xy, standard_deviation};
use crate::site::fault::FaultKind;
use crate::site::items::Head;
use crate::site::merge;
use crate::site::note::NoteKind;
use crate::site::plausible;
use crate::site::walls::{OTHER_SD_M, Standing, Thing, Walls};

/// Coordinates are degrees only where most of them have more decimals than this: people type metres and feet to the millimetre.
/// Numerical choice.
const DECIMALS: i32 = 4;

pub(super) fn check(document: &Document, found: &mut Found) {
    let all = all_places(document);
    if let Some((x, y)) = degrees(&all) {
        found.add("", FaultKind::Degrees { x, y });
        found.notes.clear(); // every length is then wrong for one reason
        return;
    }
    let scale = document.units.metres_per_unit();
    let heads: Vec<Point> = document.heads.iter().map(|head| metres([head.x, head.y], scale)).collect();
    inside_obstacles(document, &heads, scale, found);
    same_places(document, found);
    nearly_same_places(document, &heads, found);
    if let Some(boundary) = boundary(document) {
        for (i, &head) in heads.iter().enumerate().filter(|(_, head)| is_finite(**head)) {
            let distance_m = boundary.distance_to_boundary(head);
            let passed =
                plausible::HEAD_OUTSIDE_LIMIT.passed(distance_m).filter(|_| !boundary.contains(head));
            if let Some(limit_m) = passed {
                let place = format!("heads[{i}]");
                let (thing, units) = (thing(document, &place).unwrap_or_default(), document.units);
                found.add(place, FaultKind::FarOutside { thing, distance_m, limit_m, units });
            }
        }
    }
    extent(document, &all, scale, found);
}

/// What a new place does to the whole: coordinates that are degrees, a site too wide.
pub(super) fn of_all(document: &Document, found: &mut Found) {
    let all = all_places(document);
    match degrees(&all) {
        Some((x, y)) => found.add("", FaultKind::Degrees { x, y }),
        None => extent(document, &all, document.units.metres_per_unit(), found),
    }
}

/// The boundary in metres, if it is an outline of numbers.
pub(super) fn boundary(document: &Document) -> Option<Polygon> {
    let scale = document.units.metres_per_unit();
    let corners = document.boundary.as_ref().filter(|corners| corners.len() >= 3)?;
    let finite = corners.iter().flatten().all(|number| number.is_finite());
    finite.then(|| Polygon::new(corners.iter().map(|&at| metres(at, scale)).collect()))
}

fn inside_obstacles(document: &Document, heads: &[Point], scale: f64, found: &mut Found) {
    let at = |x, y| metres([x, y], scale);
    let sd = |i: usize| {
        let head = &document.heads[i];
        standard_deviation(head.sd, head.accuracy_95).map_or(Head::SD_M, |sd| sd * scale)
    };
    let heads = heads.iter().enumerate().map(|(i, &p)| (format!("heads[{i}]"), p, sd(i), Thing::Head));
    let other = |list: &str, i: usize, p: Point| (format!("{list}[{i}]"), p, OTHER_SD_M, Thing::Other);
    let boxes =
        document.valve_boxes.iter().enumerate().map(|(i, it)| other("valve_boxes", i, at(it.x, it.y)));
    let sources = document.sources.iter().enumerate().map(|(i, it)| other("sources", i, at(it.x, it.y)));
    let outlets = document.outlets.iter().enumerate().map(|(i, it)| other("outlets", i, at(it.x, it.y)));
    let (walls, units) = (Walls::new(document), document.units);
    for (place, point, sd_m, kind_of) in heads.chain(boxes).chain(sources).chain(outlets) {
        let kind = |j: usize| document.obstacles[j].kind;
        match walls.standing(point, sd_m, kind_of) {
            Standing::Free => {}
            Standing::AtWall { inside_m, obstacle: j, .. } => {
                let (kind, obstacle) = (kind(j), format!("obstacles[{j}]"));
                found.note(document, place, NoteKind::AtWall { inside_m, sd_m, kind, obstacle, units });
            }
            Standing::Inside { inside_m, obstacle: j } => {
                let (kind, obstacle) = (kind(j), format!("obstacles[{j}]"));
                let (thing, has_sd) = (thing(document, &place).unwrap_or_default(), kind_of == Thing::Head);
                found.add(place, FaultKind::Inside { thing, inside_m, has_sd, kind, obstacle, units });
            }
        }
    }
}

/// Heads at one place: one head written twice, or a contradiction where their zones differ.
fn same_places(document: &Document, found: &mut Found) {
    let first = merge::first_at_place(document);
    for (i, head) in document.heads.iter().enumerate().filter(|(i, _)| first[*i] != *i) {
        let earlier = |j: &usize| first[*j] == first[i];
        let differs =
            |j: &usize| document.heads[*j].zone.as_ref().zip(head.zone.as_ref()).is_some_and(|(a, b)| a != b);
        let place = format!("heads[{i}]");
        if let Some(other) = (0..i).filter(earlier).find(differs) {
            let zone = |k: usize| document.heads[k].zone.clone().unwrap_or_default();
            let thing = thing(document, &place).unwrap_or_default();
            let (zone, other_zone) = (zone(i), zone(other));
            let other = thing_at(document, &format!("heads[{other}]"));
            found.add(place, FaultKind::SamePlace { thing, zone, other, other_zone });
        } else {
            let with = thing_at(document, &format!("heads[{}]", first[i]));
            let contradicting = merge::contradictions(&document.heads[first[i]], head);
            found.note(document, place, NoteKind::Merged { with, contradicting });
        }
    }
}

/// Heads that are nearer to each other than heads can stand, but are not at one place.
fn nearly_same_places(document: &Document, heads: &[Point], found: &mut Found) {
    let first = merge::first_at_place(document);
    let mut order: Vec<usize> = (0..heads.len()).filter(|&i| is_finite(heads[i]) && first[i] == i).collect();
    order.sort_by(|&i, &j| heads[i].x.total_cmp(&heads[j].x));
    let reach = plausible::NEARLY_SAME.least.unwrap_or(0.0);
    let mut told = vec![false; heads.len()]; // once is enough, however many stand together
    for (k, &i) in order.iter().enumerate() {
        for &j in order[k + 1..].iter().take_while(|&&j| heads[j].x - heads[i].x < reach) {
            let apart_m = heads[i].distance(heads[j]);
            let (earlier, later) = (i.min(j), i.max(j));
            if plausible::NEARLY_SAME.passed(apart_m).is_some() && !told[later] {
                told[later] = true;
                let other = thing_at(document, &format!("heads[{earlier}]"));
                let what = NoteKind::NearlyMerged { other, apart_m, units: document.units };
                found.note(document, format!("heads[{later}]"), what);
            }
        }
    }
}

/// Every place of the document with where it stands.
pub(super) fn all_places(document: &Document) -> Vec<(String, Xy)> {
    let mut places: Vec<(String, Xy)> = Vec::new();
    let mut one = |list: &str, i: usize, at: Xy| places.push((format!("{list}[{i}]"), at));
    let many = |points: &[Xy], one: &mut dyn FnMut(Xy)| points.iter().for_each(|&at| one(at));
    document.heads.iter().enumerate().for_each(|(i, it)| one("heads", i, [it.x, it.y]));
    document.valve_boxes.iter().enumerate().for_each(|(i, it)| one("valve_boxes", i, [it.x, it.y]));
    document.sources.iter().enumerate().for_each(|(i, it)| one("sources", i, [it.x, it.y]));
    document.outlets.iter().enumerate().for_each(|(i, it)| one("outlets", i, [it.x, it.y]));
    document.trees.iter().enumerate().for_each(|(i, it)| one("trees", i, [it.x, it.y]));
    document.flags.iter().enumerate().for_each(|(i, it)| one("flags", i, [it.x, it.y]));
    for (i, it) in document.obstacles.iter().enumerate() {
        many(&it.outline, &mut |at| one("obstacles", i, at));
    }
    for (i, it) in document.swept.iter().enumerate() {
        many(&it.outline, &mut |at| one("swept", i, at));
    }
    for (i, it) in document.marks.iter().enumerate() {
        many(&it.path, &mut |at| one("marks", i, at));
    }
    for (i, it) in document.services.iter().enumerate() {
        many(&[it.from, it.to], &mut |at| one("services", i, at));
        many(it.path.as_deref().unwrap_or_default(), &mut |at| one("services", i, at));
    }
    for (i, it) in document.sketches.iter().enumerate() {
        many(&it.path, &mut |at| one("sketches", i, at));
    }
    for (i, it) in document.probes.iter().enumerate() {
        it.x.zip(it.y).into_iter().for_each(|(x, y)| one("probes", i, [x, y]));
        many(it.path.as_deref().unwrap_or_default(), &mut |at| one("probes", i, at));
    }
    for (i, it) in document.digs.iter().enumerate() {
        it.x.zip(it.y).into_iter().for_each(|(x, y)| one("digs", i, [x, y]));
        many(it.path.as_deref().unwrap_or_default(), &mut |at| one("digs", i, at));
        many(it.outline.as_deref().unwrap_or_default(), &mut |at| one("digs", i, at));
    }
    places.extend(document.boundary.iter().flatten().map(|&at| ("boundary".to_owned(), at)));
    places
}

/// Ranges of x and of y where the coordinates look like longitude and latitude.
fn degrees(places: &[(String, Xy)]) -> Option<([f64; 2], [f64; 2])> {
    let range = |axis: usize| {
        places
            .iter()
            .map(|(_, at)| at[axis])
            .fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], number| {
                [low.min(number), high.max(number)]
            })
    };
    let (x, y) = (range(0), range(1));
    let numbers: Vec<f64> = places.iter().flat_map(|(_, at)| *at).collect();
    let on_earth = numbers.iter().all(|n| n.is_finite())
        && x[0] >= -180.0
        && x[1] <= 180.0
        && y[0] >= -90.0
        && y[1] <= 90.0;
    let extent = (x[1] - x[0]).max(y[1] - y[0]);
    let shift = 10f64.powi(DECIMALS);
    let fine = |n: &&f64| ((**n * shift).round() / shift - **n).abs() > 1e-9;
    let many = places.len() >= 3 && 2 * numbers.iter().filter(fine).count() > numbers.len();
    (on_earth && many && plausible::DEGREES.passed(extent).is_some()).then_some((x, y))
}

fn extent(document: &Document, places: &[(String, Xy)], scale: f64, found: &mut Found) {
    for axis in [0, 1] {
        let finite = || places.iter().filter(|(_, at)| at[axis].is_finite());
        let by = |a: &&(String, Xy), b: &&(String, Xy)| a.1[axis].total_cmp(&b.1[axis]);
        let Some((low, high)) = finite().min_by(by).zip(finite().max_by(by)) else { continue };
        let extent_m = (high.1[axis] - low.1[axis]) * scale;
        if let Some(limit_m) = plausible::SITE_LIMIT.passed(extent_m) {
            let ends = Box::new([thing_at(document, &low.0), thing_at(document, &high.0)]);
            found.add("", FaultKind::TooWide { extent_m, limit_m, ends, units: document.units });
            return;
        }
        if let Some(limit) = plausible::SITE_EXTENT.greatest.filter(|limit| extent_m > *limit) {
            let wide = crate::site::figures::length(extent_m, document.units);
            let (from, to) = (thing_at(document, &low.0), thing_at(document, &high.0));
            let said = format!(
                "The site is {wide} wide, from {from} to {to}. Few sites are: a slip of a digit or of the units? Correct the place, or \
                 leave it if it is right."
            );
            found.odd(document, "", &plausible::SITE_EXTENT, extent_m, limit, said);
            return;
        }
    }
}

fn metres(at: Xy, scale: f64) -> Point {
    Point::from(at) * scale
}

fn is_finite(point: Point) -> bool {
    point.x.is_finite() && point.y.is_finite()
}
