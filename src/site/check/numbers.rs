//! Numbers: finite, of the right sign, and within what is physically possible.

use super::found::Found;
use crate::site::document::{ACCURACY_KEYS, Document, PlantEntry, ProbeEntry};
use crate::site::fault::FaultKind;
use crate::site::plausible::{self, Rule};
use crate::site::units::Units;
use serde::Serialize;

pub(super) fn check(document: &Document, found: &mut Found) {
    walk(document, String::new(), found);
    let units = document.units;
    if let Some(frame) = &document.frame {
        found.range("frame.lon".into(), Some(frame.lon), -180.0, 180.0);
        found.range("frame.lat".into(), Some(frame.lat), -90.0, 90.0);
    }
    for (i, head) in document.heads.iter().enumerate() {
        found.accuracy(&format!("heads[{i}]"), head.sd, head.accuracy_95);
        found.positive(format!("heads[{i}].radius"), head.radius);
        found.positive(format!("heads[{i}].flow"), head.flow);
        found.positive(format!("heads[{i}].arc_deg"), head.arc_deg);
        found.range(format!("heads[{i}].arc_deg"), head.arc_deg.filter(|arc| *arc > 0.0), 0.0, 360.0);
    }
    for (i, held) in document.valve_boxes.iter().enumerate() {
        for (key, value) in [("valves", held.valves), ("spare", held.spare)] {
            let place = format!("valve_boxes[{i}].{key}");
            found.range(place, value.map(f64::from), 0.0, plausible::BOX_VALVES.greatest.unwrap_or(f64::MAX));
        }
    }
    for (i, tree) in document.trees.iter().enumerate() {
        let place = format!("trees[{i}].stem_diameter");
        found.possible(place, "stem diameter", Some(tree.stem_diameter), &plausible::STEM_LIMIT, units);
    }
    for (i, test) in document.station_tests.iter().enumerate() {
        found.probability(format!("station_tests[{i}].error"), test.error);
    }
    for (i, entry) in document.probes.iter().enumerate() {
        probe(i, entry, units, found);
    }
    for (i, flag) in document.flags.iter().enumerate() {
        found.accuracy(&format!("flags[{i}]"), flag.sd, flag.accuracy_95);
        found.possible(format!("flags[{i}].depth"), "depth", flag.depth, &plausible::DEPTH_LIMIT, units);
    }
    for (i, swept) in document.swept.iter().enumerate() {
        found.probability(format!("swept[{i}].p_detect"), swept.p_detect);
    }
    for (i, mark) in document.marks.iter().enumerate() {
        found.accuracy(&format!("marks[{i}]"), mark.sd, mark.accuracy_95);
        found.positive(format!("marks[{i}].half_zone"), mark.half_zone);
    }
    for (i, sketch) in document.sketches.iter().enumerate() {
        found.probability(format!("sketches[{i}].trust"), Some(sketch.trust));
    }
    for (i, dig) in document.digs.iter().enumerate() {
        let radius = &plausible::DIG_RADIUS_LIMIT;
        found.possible(format!("digs[{i}].radius"), "radius", dig.radius, radius, units);
        found.possible(format!("digs[{i}].width"), "width", dig.width, &width(radius), units);
        found.possible(format!("digs[{i}].depth"), "depth", Some(dig.depth), &plausible::DEPTH_LIMIT, units);
        let Some(tree) = dig.tree.as_ref().map(PlantEntry::table) else { continue };
        let place = |key: &str| format!("digs[{i}].tree.{key}");
        found.possible(place("caliper"), "caliper", tree.caliper, &plausible::CALIPER_LIMIT, units);
        found.positive(place("container"), tree.container);
        found.possible(
            place("root_radius"),
            "radius of roots",
            tree.root_radius,
            &plausible::ROOTS_LIMIT,
            units,
        );
        if tree.caliper.is_some() && tree.container.is_some() {
            found.add(format!("digs[{i}].tree"), FaultKind::AtMostOne { choices: &["caliper", "container"] });
        }
    }
}

/// A probe that is added to a document: finite numbers, signs and ranges.
pub(super) fn added_probe(index: usize, entry: &ProbeEntry, units: Units, found: &mut Found) {
    walk(entry, format!("probes[{index}]"), found);
    probe(index, entry, units, found);
}

fn probe(i: usize, probe: &ProbeEntry, units: Units, found: &mut Found) {
    let place = |key: &str| format!("probes[{i}].{key}");
    let radius = &plausible::PROBE_RADIUS_LIMIT;
    found.possible(place("radius"), "radius", probe.radius, radius, units);
    found.possible(place("width"), "width", probe.width, &width(radius), units);
    found.possible(place("depth"), "depth", Some(probe.depth), &plausible::DEPTH_LIMIT, units);
    found.not_negative(place("cover"), probe.cover);
    found.probability(place("p_detect"), probe.p_detect);
    found.probability(place("p_false"), probe.p_false);
    if probe.found && probe.p_detect == Some(0.0) && probe.p_false == Some(0.0) {
        found.add(format!("probes[{i}]"), FaultKind::ImpossibleFind);
    }
    if let Some(cover) = probe.cover.filter(|cover| *cover > probe.depth) {
        found.add(place("cover"), FaultKind::CoverBelowProbe { cover, depth: probe.depth });
    }
}

/// One walk over the serialised form of a thing reaches every number, so that a new key cannot be forgotten.
fn walk(thing: &impl Serialize, place: String, found: &mut Found) {
    match toml::Value::try_from(thing) {
        Ok(value) => finite(&value, place, found),
        Err(error) => found.add(place, FaultKind::Refused { message: error.to_string() }),
    }
}

fn finite(value: &toml::Value, place: String, found: &mut Found) {
    match value {
        toml::Value::Float(number) if !number.is_finite() => {
            found.add(place, FaultKind::NonFinite { value: *number });
        }
        toml::Value::Array(items) => {
            for (i, item) in items.iter().enumerate() {
                finite(item, format!("{place}[{i}]"), found);
            }
        }
        toml::Value::Table(table) => {
            for (key, item) in table {
                finite(item, if place.is_empty() { key.clone() } else { format!("{place}.{key}") }, found);
            }
        }
        _ => {}
    }
}

/// The rule of a radius for a whole width.
fn width(radius: &Rule) -> Rule {
    Rule { least: radius.least.map(|it| 2.0 * it), greatest: radius.greatest.map(|it| 2.0 * it), ..*radius }
}

/// Sign and range, of numbers that are there and finite: the walk has reported the others.
impl Found {
    fn test(
        &mut self,
        place: String,
        value: Option<f64>,
        fine: impl Fn(f64) -> bool,
        what: fn(f64) -> FaultKind,
    ) {
        if let Some(value) = value.filter(|value| value.is_finite() && !fine(*value)) {
            self.add(place, what(value));
        }
    }

    fn positive(&mut self, place: String, value: Option<f64>) {
        self.test(place, value, |v| v > 0.0, |value| FaultKind::NotPositive { value });
    }

    fn not_negative(&mut self, place: String, value: Option<f64>) {
        self.test(place, value, |v| v >= 0.0, |value| FaultKind::Negative { value });
    }

    /// A standard deviation, or an accuracy instead of it.
    fn accuracy(&mut self, place: &str, sd: Option<f64>, accuracy_95: Option<f64>) {
        self.not_negative(format!("{place}.sd"), sd);
        self.not_negative(format!("{place}.accuracy_95"), accuracy_95);
        if sd.is_some() && accuracy_95.is_some() {
            self.add(place, FaultKind::AtMostOne { choices: ACCURACY_KEYS });
        }
    }

    fn probability(&mut self, place: String, value: Option<f64>) {
        self.test(place, value, |v| (0.0..=1.0).contains(&v), |value| FaultKind::NotAProbability { value });
    }

    fn range(&mut self, place: String, value: Option<f64>, least: f64, greatest: f64) {
        if let Some(value) = value.filter(|v| v.is_finite() && !(least..=greatest).contains(v)) {
            self.add(place, FaultKind::OutOfRange { value, least, greatest });
        }
    }

    /// A length above zero that a refusing rule believes.
    fn possible(&mut self, place: String, what: &'static str, value: Option<f64>, rule: &Rule, units: Units) {
        let limit = rule.greatest.unwrap_or(f64::MAX) / units.metres_per_unit();
        self.positive(place.clone(), value);
        if let Some(value) = value.filter(|value| value.is_finite() && *value > limit) {
            self.add(
                place,
                FaultKind::Impossible { what, value, limit, unit: units.name(), reason: rule.why() },
            );
        }
    }
}
