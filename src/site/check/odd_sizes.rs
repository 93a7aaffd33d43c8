//! Sizes that are possible but odd, by the table of plausibility: a slip of the units, or a diameter for a radius, is likely.

use super::found::Found;
use crate::geometry::Point;
use crate::site::document::{Document, PlantEntry, Xy};
use crate::site::figures::{length, limit, typed};
use crate::site::plausible::{self, CONTAINERS, Rule};

pub(super) fn note(document: &Document, found: &mut Found) {
    for (i, head) in document.heads.iter().enumerate() {
        size(document, found, format!("heads[{i}]"), "a throw", head.radius, &plausible::HEAD_THROW);
    }
    for (i, tree) in document.trees.iter().enumerate() {
        let stem = Some(tree.stem_diameter);
        size(document, found, format!("trees[{i}]"), "a stem diameter", stem, &plausible::STEM);
    }
    (0..document.probes.len()).for_each(|i| probe(document, i, found));
    for (i, dig) in document.digs.iter().enumerate() {
        let place = || format!("digs[{i}]");
        size(document, found, place(), "a radius", dig.radius, &plausible::DIG_RADIUS);
        size(document, found, place(), "half a width", dig.width.map(|it| it / 2.0), &plausible::DIG_RADIUS);
        size(document, found, place(), "a depth", Some(dig.depth), &plausible::DEPTH);
        let Some(tree) = dig.tree.as_ref().map(PlantEntry::table) else { continue };
        size(document, found, place(), "a caliper", tree.caliper, &plausible::CALIPER);
        if let Some(number) = tree.container.filter(|number| *number > 0.0) {
            container(document, found, place(), number);
        }
    }
}

/// Sizes of one probe.
pub(super) fn probe(document: &Document, index: usize, found: &mut Found) {
    let probe = &document.probes[index];
    let half_width = probe.width.map(|it| it / 2.0);
    for (what, value, rule) in [
        ("a radius", probe.radius, &plausible::PROBE_RADIUS),
        ("half a width", half_width, &plausible::PROBE_RADIUS),
        ("a length", probe.path.as_deref().map(along), &plausible::PROBE_LENGTH),
        ("a depth", Some(probe.depth), &plausible::DEPTH),
    ] {
        size(document, found, format!("probes[{index}]"), what, value, rule);
    }
}

/// A length of the document, held against a rule in metres; what is not above zero is a fault already.
fn size(document: &Document, found: &mut Found, place: String, what: &str, value: Option<f64>, rule: &Rule) {
    let units = document.units;
    let Some(value_m) = value.filter(|it| *it > 0.0).map(|it| it * units.metres_per_unit()) else { return };
    let Some(passed) = rule.passed(value_m) else { return };
    let side = if value_m < passed { "under" } else { "over" };
    let said = format!(
        "has {what} of {}. Few are {side} {}: {} Check the number and its unit.",
        length(value_m, units),
        limit(passed, units),
        rule.why()
    );
    found.odd(document, place, rule, value_m, passed, said);
}

fn along(path: &[Xy]) -> f64 {
    path.windows(2).map(|pair| Point::from(pair[0]).distance(Point::from(pair[1]))).sum()
}

fn container(document: &Document, found: &mut Found, place: String, number: f64) {
    let rule = &plausible::CONTAINER;
    let nearest = |a: &f64, b: &f64| (a - number).abs().total_cmp(&(b - number).abs());
    let Some(near) = CONTAINERS.into_iter().min_by(nearest).filter(|near| (near - number).abs() > 1e-9)
    else {
        return;
    };
    let passed = rule.passed(number).unwrap_or(near);
    let said = format!(
        "has container number {}, which is no trade number; the nearest is {}. {} Check the number: it is no diameter and no volume \
         in litres.",
        typed(number),
        typed(near),
        rule.why()
    );
    found.odd(document, place, rule, number, passed, said);
}
