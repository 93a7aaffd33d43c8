//! Heads that stand oddly, by the table of plausibility: against their throw, against each other, against the boundary, alone
//! on a zone.

use super::found::Found;
use super::places::boundary;
use crate::geometry::{Point, Polygon, median_nearest_spacing};
use crate::site::document::{Document, HeadKind};
use crate::site::figures::{about, counted, length, limit};
use crate::site::note::NoteKind;
use crate::site::plausible;

/// Fewer heads than this show no habit. Numerical choice.
const SEVERAL: usize = 3;

/// Ground for each head is asked from this many on. Numerical choice: a few heads may stand together in a corner.
const MANY: usize = 5;

/// Spacings are not asked of more heads than this: each is held against every other. Numerical choice: ten golf courses.
const MOST: usize = 10_000;

pub(super) fn note(document: &Document, found: &mut Found) {
    let scale = document.units.metres_per_unit();
    let at: Vec<Point> = document.heads.iter().map(|head| Point::new(head.x, head.y) * scale).collect();
    if at.iter().any(|p| !p.x.is_finite() || !p.y.is_finite()) {
        return;
    }
    if at.len() <= MOST {
        spacing_by_throw(document, &at, found);
        spacing(document, &at, found);
    }
    lonely_zones(document, found);
    if let Some(boundary) = boundary(document) {
        all_outside(document, &boundary, &at, found);
        ground_for_each(document, &boundary, found);
    }
}

/// Whether a head waters by throwing: bubblers and drip points stand as near as their plants do.
fn throws(document: &Document, head: usize) -> bool {
    !matches!(document.heads[head].kind, Some(HeadKind::Bubbler | HeadKind::Drip))
}

/// The heads that throw of each zone as written; those without a zone are one group.
fn groups(document: &Document) -> Vec<(Option<&str>, Vec<usize>)> {
    let mut groups: Vec<(Option<&str>, Vec<usize>)> = Vec::new();
    for (i, head) in document.heads.iter().enumerate().filter(|(i, _)| throws(document, *i)) {
        let zone = head.zone.as_deref();
        match groups.iter_mut().find(|(name, _)| *name == zone) {
            Some((_, heads)) => heads.push(i),
            None => groups.push((zone, vec![i])),
        }
    }
    groups
}

fn spacing_by_throw(document: &Document, at: &[Point], found: &mut Found) {
    let (scale, units) = (document.units.metres_per_unit(), document.units);
    for (zone, heads) in groups(document) {
        let thrown = heads.iter().filter_map(|&head| document.heads[head].radius).filter(|it| *it > 0.0);
        let mut throws: Vec<f64> = thrown.map(|radius| radius * scale).collect();
        if heads.len() < SEVERAL || 2 * throws.len() < heads.len() {
            continue;
        }
        throws.sort_by(f64::total_cmp);
        let throw_m = throws[throws.len() / 2];
        let places: Vec<Point> = heads.iter().map(|&head| at[head]).collect();
        let Some(spacing_m) = median_nearest_spacing(&places) else { continue };
        let ratio = spacing_m / throw_m;
        let rule = &plausible::SPACING_BY_THROW;
        let Some(passed) = rule.passed(ratio) else { continue };
        let of =
            zone.map_or_else(|| "Heads without a zone".to_owned(), |zone| format!("Heads of zone {zone:?}"));
        let far = if ratio > passed { "far apart" } else { "near together" };
        let said = format!(
            "{of} stand {far} for their throw: {} from one to the next, {} throws of {}. Usual is about 1, {} to {} is believed. Check \
             the throw and its unit, and the places of the heads.",
            length(spacing_m, units),
            about(ratio),
            length(throw_m, units),
            about(rule.least.unwrap_or(0.0)),
            about(rule.greatest.unwrap_or(f64::INFINITY))
        );
        found.odd(document, "", rule, ratio, passed, said);
    }
}

fn spacing(document: &Document, at: &[Point], found: &mut Found) {
    let heads: Vec<usize> = (0..at.len()).filter(|&head| throws(document, head)).collect();
    let places: Vec<Point> = heads.iter().map(|&head| at[head]).collect();
    let (rule, units) = (&plausible::HEAD_SPACING, document.units);
    let Some(spacing_m) = median_nearest_spacing(&places).filter(|_| places.len() >= MANY) else { return };
    let Some(passed) = rule.passed(spacing_m) else { return };
    let said = format!(
        "The heads stand {} from one to the next (median). {} to {} is believed: are the units right?",
        length(spacing_m, units),
        limit(rule.least.unwrap_or(0.0), units),
        limit(rule.greatest.unwrap_or(f64::INFINITY), units)
    );
    found.odd(document, "", rule, spacing_m, passed, said);
}

/// Zones of one head that no box lists, beside zones of several heads.
fn lonely_zones(document: &Document, found: &mut Found) {
    let mut zones: Vec<(&str, Vec<usize>)> = Vec::new();
    for (i, head) in document.heads.iter().enumerate() {
        let Some(zone) = head.zone.as_deref() else { continue };
        match zones.iter_mut().find(|(name, _)| *name == zone) {
            Some((_, heads)) => heads.push(i),
            None => zones.push((zone, vec![i])),
        }
    }
    let listed =
        |zone: &str| document.valve_boxes.iter().any(|it| it.zones.iter().flatten().any(|name| name == zone));
    let several = zones.iter().any(|(_, heads)| heads.len() >= SEVERAL);
    let already = |zone: &str, found: &Found| {
        let named =
            |what: &NoteKind| matches!(what, NoteKind::NameAlike { zone: named, .. } if named == zone);
        found.notes.iter().any(|note| named(&note.what))
    };
    let rule = &plausible::ONE_HEAD_ZONE;
    for (zone, heads) in zones.iter().filter(|_| several) {
        let Some(passed) = rule.passed(heads.len() as f64) else { continue };
        if listed(zone) || already(zone, found) {
            continue;
        }
        let said = format!(
            "is the only head on zone {zone:?}, and no valve box lists that zone. Is the name mistyped? As written, a valve of its own \
             feeds it."
        );
        found.odd(document, format!("heads[{}]", heads[0]), rule, heads.len() as f64, passed, said);
    }
}

fn all_outside(document: &Document, boundary: &Polygon, at: &[Point], found: &mut Found) {
    let distances: Vec<f64> =
        at.iter().filter(|p| !boundary.contains(**p)).map(|p| boundary.distance_to_boundary(*p)).collect();
    let rule = &plausible::HEADS_OUTSIDE;
    let outside = if distances.len() == at.len() { distances.len() as f64 } else { 0.0 };
    let (Some(passed), true) = (rule.passed(outside), at.len() > 1) else { return };
    let least = distances.iter().copied().fold(f64::INFINITY, f64::min);
    let said = format!(
        "The boundary holds none of the {}: the nearest lies {} outside. Do boundary and heads have the same origin and unit?",
        counted(at.len(), "head"),
        length(least, document.units)
    );
    found.odd(document, "", rule, outside, passed, said);
}

fn ground_for_each(document: &Document, boundary: &Polygon, found: &mut Found) {
    let heads = (0..document.heads.len()).filter(|&head| throws(document, head)).count();
    let (each_m2, rule) = (boundary.area() / heads.max(1) as f64, &plausible::HEAD_GROUND);
    let (Some(passed), true) = (rule.passed(each_m2), heads >= MANY) else { return };
    let unit = document.units.metres_per_unit();
    let said = format!(
        "The boundary holds {} {u}2 for {}, {} {u}2 for each. Few heads have under {} {u}2: are the units right?",
        about(boundary.area() / (unit * unit)),
        counted(heads, "head"),
        about(each_m2 / (unit * unit)),
        about(passed / (unit * unit)),
        u = document.units.name()
    );
    found.odd(document, "", rule, each_m2, passed, said);
}
