//! Places that are possible but odd, by the table of plausibility: digs and marks outside the boundary, a dig written twice, a
//! site too narrow, a find deeper than any line.

use super::found::{Found, thing_at};
use super::places::boundary;
use crate::class::Class;
use crate::geometry::{Footprint, Point, Polygon};
use crate::site::document::{DigEntry, Document, ObstacleKind, OutletFeed};
use crate::site::figures::{length, limit};
use crate::site::note::NoteKind;
use crate::site::plausible;
use crate::site::shape::{self, DigShape};

pub(super) fn note(document: &Document, found: &mut Found) {
    if let Some(boundary) = boundary(document) {
        narrow(document, &boundary, found);
        digs_outside(document, &boundary, found);
        marks_outside(document, &boundary, found);
    }
    same_digs(document, found);
    far_from_the_house(document, found);
    (0..document.probes.len()).for_each(|i| deep_find(document, i, found));
}

fn narrow(document: &Document, boundary: &Polygon, found: &mut Found) {
    let (low, high) = boundary.bounds();
    let (side_m, rule) = ((high - low).x.min((high - low).y), &plausible::SITE_EXTENT);
    let Some(passed) = rule.least.filter(|least| side_m < *least && side_m > 0.0) else { return };
    let said = format!(
        "is {} wide. Few sites are under {}: a slip of a digit or of the units?",
        length(side_m, document.units),
        limit(passed, document.units)
    );
    found.odd(document, "boundary", rule, side_m, passed, said);
}

/// Footprint of a dig that has one.
fn footprint(document: &Document, dig: &DigEntry) -> Option<Footprint> {
    let shape = shape::of_dig(dig).ok()?.in_metres(document.units.metres_per_unit());
    let sound = |p: &Point| p.x.is_finite() && p.y.is_finite();
    let fine = match &shape {
        DigShape::Disc { centre, radius_m } => sound(centre) && *radius_m > 0.0 && radius_m.is_finite(),
        DigShape::Trench { path, width_m } => {
            path.iter().all(sound)
                && *width_m > 0.0
                && width_m.is_finite()
                && path.windows(2).any(|w| w[0] != w[1])
        }
        DigShape::Pit { outline } => {
            outline.ring.iter().all(sound)
                && outline.ring.len() >= 3
                && outline.crossings_with_itself().is_empty()
        }
    };
    fine.then(|| shape.footprint())
}

fn digs_outside(document: &Document, boundary: &Polygon, found: &mut Found) {
    let rule = &plausible::DIG_OUTSIDE;
    for (i, dig) in document.digs.iter().enumerate() {
        let Some(ground) = footprint(document, dig) else { continue };
        if ground.meets_polygon_interior(boundary) {
            continue;
        }
        let edges = boundary.edges().map(|(a, b)| ground.distance_to_segment(a, b));
        let distance_m = edges.fold(f64::INFINITY, f64::min);
        let how_far =
            if distance_m > 0.0 { format!("{} ", length(distance_m, document.units)) } else { String::new() };
        let said = format!(
            "lies {how_far}outside the boundary, all of it. Little is known of the ground there, so its real chance may be higher. \
             Correct its place or the boundary."
        );
        found.odd(document, format!("digs[{i}]"), rule, distance_m, rule.greatest.unwrap_or(0.0), said);
    }
}

fn marks_outside(document: &Document, boundary: &Polygon, found: &mut Found) {
    let (scale, rule) = (document.units.metres_per_unit(), &plausible::MARK_OUTSIDE);
    for (i, mark) in document.marks.iter().enumerate() {
        let path: Vec<Point> = mark.path.iter().map(|&at| Point::from(at) * scale).collect();
        if path.iter().any(|p| !p.x.is_finite() || !p.y.is_finite()) {
            continue;
        }
        let nearest = path.windows(2).map(|w| boundary.distance_to_segment(w[0], w[1])).reduce(f64::min);
        let Some((distance_m, passed)) = nearest.and_then(|it| Some((it, rule.passed(it)?))) else {
            continue;
        };
        let said = format!(
            "lies {} outside the boundary, all of it. Marks are asked for the ground where digs are: is its origin or unit another one?",
            length(distance_m, document.units)
        );
        found.odd(document, format!("marks[{i}]"), rule, distance_m, passed, said);
    }
}

/// Outlets that their house feeds, far from every building.
fn far_from_the_house(document: &Document, found: &mut Found) {
    let (scale, rule) = (document.units.metres_per_unit(), &plausible::HOUSE_FED_FAR);
    let buildings = || document.obstacles.iter().filter(|it| it.kind == ObstacleKind::Building);
    for (i, outlet) in document.outlets.iter().enumerate() {
        if outlet.fed != Some(OutletFeed::House) {
            continue;
        }
        let (at, place) = (Point::new(outlet.x, outlet.y) * scale, format!("outlets[{i}]"));
        if buildings().next().is_none() {
            found.note(document, place, NoteKind::NoHouse);
            continue;
        }
        let away = |outline: &[[f64; 2]]| {
            let outline = Polygon::new(outline.iter().map(|&corner| Point::from(corner) * scale).collect());
            if outline.contains(at) { 0.0 } else { outline.distance_to_boundary(at) }
        };
        let distance_m = buildings().map(|it| away(&it.outline)).fold(f64::INFINITY, f64::min);
        let Some(passed) = rule.passed(distance_m).filter(|_| distance_m.is_finite()) else { continue };
        let said = format!(
            "is fed by the house (fed = \"house\"), and stands {} from the nearest building: no pipe to it counts in any chance. \
             Correct its place or the building, or write fed = \"ground\".",
            length(distance_m, document.units)
        );
        found.odd(document, place, rule, distance_m, passed, said);
    }
}

/// Digs of the same shape, size and place.
fn same_digs(document: &Document, found: &mut Found) {
    let (scale, rule) = (document.units.metres_per_unit(), &plausible::SAME_DIG);
    let near = rule.least.unwrap_or(0.0) / scale;
    let points = |dig: &DigEntry| -> Vec<[f64; 2]> {
        let centre = dig.x.zip(dig.y).map(|(x, y)| [x, y]);
        centre
            .into_iter()
            .chain(dig.path.iter().flatten().copied())
            .chain(dig.outline.iter().flatten().copied())
            .collect()
    };
    let all: Vec<Vec<[f64; 2]>> = document.digs.iter().map(points).collect();
    let close = |a: &[f64; 2], b: &[f64; 2]| Point::from(*a).distance(Point::from(*b)) < near;
    for (j, dig) in document.digs.iter().enumerate() {
        let same = |&i: &usize| {
            let other = &document.digs[i];
            (dig.radius, dig.width) == (other.radius, other.width)
                && !all[i].is_empty()
                && all[i].len() == all[j].len()
                && all[i].iter().zip(&all[j]).all(|(a, b)| close(a, b))
        };
        let Some(i) = (0..j).find(same) else { continue };
        let apart = Point::from(all[i][0]).distance(Point::from(all[j][0])) * scale;
        let other = thing_at(document, &format!("digs[{i}]"));
        let said =
            format!("is the same hole as {other}: same place, same size. Delete one, or correct its place.");
        found.odd(document, format!("digs[{j}]"), rule, apart, rule.least.unwrap_or(0.0), said);
    }
}

/// A find with more ground above the line than any line of its class has.
pub(super) fn deep_find(document: &Document, index: usize, found: &mut Found) {
    let (scale, rule) = (document.units.metres_per_unit(), &plausible::FIND_COVER);
    let set = |name: &str, default: f64| document.settings.get(name).copied().unwrap_or(default);
    let settings = crate::settings::Settings::default();
    let probe = &document.probes[index];
    let deepest = match probe.class {
        _ if !probe.found => return,
        Some(Class::Lateral) => set("lateral_cover_greatest_m", settings.lateral_cover_greatest_m),
        None | Some(Class::Mainline | Class::ControlWire) => {
            set("mainline_cover_greatest_m", settings.mainline_cover_greatest_m)
        }
        Some(_) => return,
    };
    let cover_m = probe.cover.map(|cover| cover * scale);
    let Some(cover_m) = cover_m.filter(|cover| *cover > deepest) else { return };
    let of = probe.class.map_or_else(|| "irrigation line".to_owned(), |class| class.name().replace('_', " "));
    let said = format!(
        "found a line under {} of ground, deeper than any {of} is believed to lie ({}). Was it another kind of line, or is the cover \
         a slip? Name its class, or correct the cover.",
        length(cover_m, document.units),
        length(deepest, document.units)
    );
    found.odd(document, format!("probes[{index}]"), rule, cover_m, deepest, said);
}
