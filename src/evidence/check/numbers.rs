//! Numbers: finite, of the right sign, and within what is physically possible.

use super::Found;
use crate::evidence::document::{Document, PlantEntry};
use crate::evidence::fault::FaultKind;
use crate::settings::Settings;

/// Deepest dig that is believed, metres. Common practice, no source: deeper trenches are engineered works, and six
/// metres is about what six inches become when read as metres.
const DEEPEST_M: f64 = 6.0;

/// Thickest stem that is planted, and widest roots, metres: beyond these a slip of the units is likelier (inches read as
/// feet or metres). Common practice, no source.
const THICKEST_M: f64 = 1.0;
const WIDEST_ROOTS_M: f64 = 60.0;

/// Most valves that are believed in one box. Common practice, no source: a box holds four or six, a vault some dozens.
const MOST_VALVES: f64 = 100.0;

pub(super) fn check(document: &Document, found: &mut Found) {
    // One walk over the document's own serialised form reaches every number, so that a new key cannot be forgotten.
    match toml::Value::try_from(document) {
        Ok(value) => finite(&value, String::new(), found),
        Err(error) => found.add("", FaultKind::Refused { message: error.to_string() }),
    }
    settings(document, found);
    let deepest = DEEPEST_M / document.units.metres_per_unit();
    if let Some(frame) = &document.frame {
        found.range("frame.lon".into(), Some(frame.lon), -180.0, 180.0);
        found.range("frame.lat".into(), Some(frame.lat), -90.0, 90.0);
    }
    for (i, head) in document.heads.iter().enumerate() {
        found.not_negative(format!("heads[{i}].sd"), head.sd);
        found.positive(format!("heads[{i}].radius"), head.radius);
        found.positive(format!("heads[{i}].flow"), head.flow);
        found.positive(format!("heads[{i}].arc_deg"), head.arc_deg);
        found.range(format!("heads[{i}].arc_deg"), head.arc_deg.filter(|arc| *arc > 0.0), 0.0, 360.0);
    }
    for (i, held) in document.valve_boxes.iter().enumerate() {
        for (key, value) in [("valves", held.valves), ("spare", held.spare)] {
            found.range(format!("valve_boxes[{i}].{key}"), value.map(f64::from), 0.0, MOST_VALVES);
        }
    }
    for (i, tree) in document.trees.iter().enumerate() {
        found.positive(format!("trees[{i}].stem_diameter"), Some(tree.stem_diameter));
    }
    for (i, test) in document.station_tests.iter().enumerate() {
        found.probability(format!("station_tests[{i}].error"), test.error);
    }
    for (i, probe) in document.probes.iter().enumerate() {
        found.positive(format!("probes[{i}].radius"), probe.radius);
        found.positive(format!("probes[{i}].width"), probe.width);
        found.depth(format!("probes[{i}].depth"), probe.depth, deepest);
        found.not_negative(format!("probes[{i}].cover"), probe.cover);
        found.probability(format!("probes[{i}].p_detect"), probe.p_detect);
        found.probability(format!("probes[{i}].p_false"), probe.p_false);
        if probe.found && probe.p_detect == Some(0.0) && probe.p_false == Some(0.0) {
            found.add(format!("probes[{i}]"), FaultKind::ImpossibleFind);
        }
        if let Some(cover) = probe.cover.filter(|cover| *cover > probe.depth) {
            found.add(format!("probes[{i}].cover"), FaultKind::CoverBelowProbe { cover, depth: probe.depth });
        }
    }
    for (i, flag) in document.flags.iter().enumerate() {
        found.not_negative(format!("flags[{i}].sd"), flag.sd);
    }
    for (i, swept) in document.swept.iter().enumerate() {
        found.probability(format!("swept[{i}].p_detect"), swept.p_detect);
    }
    for (i, mark) in document.marks.iter().enumerate() {
        found.not_negative(format!("marks[{i}].sd"), mark.sd);
        found.positive(format!("marks[{i}].half_zone"), mark.half_zone);
    }
    for (i, sketch) in document.sketches.iter().enumerate() {
        found.probability(format!("sketches[{i}].trust"), Some(sketch.trust));
    }
    for (i, dig) in document.digs.iter().enumerate() {
        found.positive(format!("digs[{i}].radius"), dig.radius);
        found.positive(format!("digs[{i}].width"), dig.width);
        found.depth(format!("digs[{i}].depth"), dig.depth, deepest);
        let Some(tree) = dig.tree.as_ref().map(PlantEntry::table) else { continue };
        found.positive(format!("digs[{i}].tree.caliper"), tree.caliper);
        found.positive(format!("digs[{i}].tree.container"), tree.container);
        found.positive(format!("digs[{i}].tree.root_radius"), tree.root_radius);
        let unit = document.units.metres_per_unit();
        for (key, value, most_m) in
            [("caliper", tree.caliper, THICKEST_M), ("root_radius", tree.root_radius, WIDEST_ROOTS_M)]
        {
            found.range(format!("digs[{i}].tree.{key}"), value.filter(|v| *v > 0.0), 0.0, most_m / unit);
        }
        if tree.caliper.is_some() && tree.container.is_some() {
            found.add(format!("digs[{i}].tree"), FaultKind::AtMostOne { choices: &["caliper", "container"] });
        }
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

fn settings(document: &Document, found: &mut Found) {
    for (name, &value) in &document.settings {
        let place = format!("settings.{name}");
        match Settings::FIELDS.iter().find(|field| field.name == name) {
            None => found.add(place, FaultKind::UnknownSetting { name: name.clone() }),
            Some(field) if value.is_finite() && !(field.least..=field.greatest).contains(&value) => {
                let (name, least, greatest) = (field.name, field.least, field.greatest);
                found.add(
                    place,
                    FaultKind::Setting(crate::settings::OutOfRange { name, value, least, greatest }),
                );
            }
            Some(_) => {}
        }
    }
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

    fn probability(&mut self, place: String, value: Option<f64>) {
        self.test(place, value, |v| (0.0..=1.0).contains(&v), |value| FaultKind::NotAProbability { value });
    }

    fn range(&mut self, place: String, value: Option<f64>, least: f64, greatest: f64) {
        if let Some(value) = value.filter(|v| v.is_finite() && !(least..=greatest).contains(v)) {
            self.add(place, FaultKind::OutOfRange { value, least, greatest });
        }
    }

    fn depth(&mut self, place: String, value: f64, limit: f64) {
        if value.is_finite() && !(value > 0.0 && value <= limit) {
            self.add(place, FaultKind::ImpossibleDepth { value, limit });
        }
    }
}
