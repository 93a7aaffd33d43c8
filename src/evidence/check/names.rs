//! Names: ids are unique, whatever is referred to exists, and keys that exclude each other do not stand together.

use super::Found;
use crate::evidence::day::check_day;
use crate::evidence::document::{BoxEntry, Document};
use crate::evidence::fault::FaultKind;
use crate::evidence::nameless;
use std::collections::{HashMap, HashSet};

pub(super) fn check(document: &Document, found: &mut Found) {
    ids(document, found);
    zones(document, found);
    station_tests(document, found);
    some_valve(document, found);
    enough_valves(document, found);
    exclusive_keys(document, found);
    for (i, mark) in document.marks.iter().enumerate() {
        if let Some(Err(wrong)) = mark.date.as_deref().map(check_day) {
            found.add(format!("marks[{i}].date"), FaultKind::NotADay(wrong));
        }
    }
}

fn ids(document: &Document, found: &mut Found) {
    let heads =
        document.heads.iter().enumerate().map(|(i, item)| (format!("heads[{i}].id"), item.id.as_str()));
    let boxes = document.valve_boxes.iter().enumerate();
    let boxes = boxes.map(|(i, item)| (format!("valve_boxes[{i}].id"), item.id.as_str()));
    let sources = document.sources.iter().enumerate();
    let sources = sources.map(|(i, item)| (format!("sources[{i}].id"), item.id.as_str()));
    let outlets = document.outlets.iter().enumerate();
    let outlets = outlets.map(|(i, item)| (format!("outlets[{i}].id"), item.id.as_str()));
    unique(heads.chain(boxes).chain(sources).chain(outlets), found);

    let names: Vec<String> = (0..document.digs.len()).map(|i| document.dig_name(i)).collect();
    unique(names.iter().enumerate().map(|(i, id)| (format!("digs[{i}].id"), id.as_str())), found);
}

fn unique<'a>(ids: impl Iterator<Item = (String, &'a str)>, found: &mut Found) {
    let mut seen: HashMap<&str, String> = HashMap::new();
    for (place, id) in ids {
        if id.is_empty() {
            found.add(place, FaultKind::Empty);
        } else if let Some(first) = seen.get(id) {
            found.add(place, FaultKind::DuplicateId { id: id.to_owned(), first: first.clone() });
        } else {
            seen.insert(id, place);
        }
    }
}

fn zones(document: &Document, found: &mut Found) {
    for (i, head) in document.heads.iter().enumerate() {
        if head.zone.as_deref() == Some("") {
            found.add(format!("heads[{i}].zone"), FaultKind::Empty);
        }
    }
    let fed: HashSet<&str> = document.heads.iter().filter_map(|head| head.zone.as_deref()).collect();
    // Heads without a label may belong to any zone, so a zone without labelled heads need not be empty.
    let all_labelled = document.heads.iter().all(|head| head.zone.is_some());
    for (i, valve_box) in document.valve_boxes.iter().enumerate() {
        let mut seen = HashSet::new();
        for (j, zone) in valve_box.zones.iter().flatten().enumerate() {
            let place = format!("valve_boxes[{i}].zones[{j}]");
            if zone.is_empty() {
                found.add(place, FaultKind::Empty);
            } else if !seen.insert(zone) {
                found.add(place, FaultKind::RepeatedZone { zone: zone.clone() });
            } else if all_labelled && !fed.contains(zone.as_str()) {
                found.add(place, FaultKind::ZoneWithoutHeads { zone: zone.clone() });
            }
        }
    }
}

fn station_tests(document: &Document, found: &mut Found) {
    let of_heads = document.heads.iter().filter_map(|head| head.zone.as_ref());
    let of_boxes = document.valve_boxes.iter().flat_map(|item| item.zones.iter().flatten());
    let zones: HashSet<&String> = of_heads.chain(of_boxes).collect();
    let heads: HashSet<&String> = document.heads.iter().map(|head| &head.id).collect();
    let boxes: HashSet<&String> = document.valve_boxes.iter().map(|item| &item.id).collect();
    for (i, test) in document.station_tests.iter().enumerate() {
        if test.zone.is_some() == test.valve.is_some() {
            found.add(format!("station_tests[{i}]"), FaultKind::OneOf { choices: &["zone", "valve"] });
        }
        if let Some(zone) = test.zone.as_ref().filter(|zone| !zones.contains(zone)) {
            found.add(format!("station_tests[{i}].zone"), FaultKind::UnknownZone { zone: zone.clone() });
        }
        if let Some(id) = test.valve.as_ref().filter(|id| !boxes.contains(id)) {
            found.add(format!("station_tests[{i}].valve"), FaultKind::UnknownValveBox { id: id.clone() });
        }
        let mut seen = HashSet::new();
        for (j, id) in test.heads.iter().enumerate() {
            let place = format!("station_tests[{i}].heads[{j}]");
            if !heads.contains(id) {
                found.add(place, FaultKind::UnknownHead { id: id.clone() });
            } else if !seen.insert(id) {
                found.add(place, FaultKind::RepeatedHead { id: id.clone() });
            }
        }
    }
}

/// Heads without a zone need a valve that may feed them.
fn some_valve(document: &Document, found: &mut Found) {
    let bare = document.heads.iter().position(|head| head.zone.is_none());
    let named = document.heads.iter().any(|head| head.zone.is_some())
        || document.valve_boxes.iter().any(|held| held.zones.iter().flatten().next().is_some());
    let room = document.valve_boxes.iter().any(|held| room(held) > 0);
    if let Some(head) = bare.filter(|_| !named && !document.valve_boxes.is_empty() && !room) {
        found.add("valve_boxes", FaultKind::NoWorkingValve { head: document.heads[head].id.clone() });
    }
}

/// Zones that heads name and no box lists have their valves where the boxes have room. Where there is room for some of them
/// alone, nobody can say for which; where there is none at all they are out of sight, and a box that nobody opened has any.
fn enough_valves(document: &Document, found: &mut Found) {
    let unopened = |held: &BoxEntry| held.valves.is_none() && held.zones.iter().flatten().next().is_none();
    if document.valve_boxes.iter().any(unopened) {
        return;
    }
    let listed: HashSet<&str> = document
        .valve_boxes
        .iter()
        .flat_map(|held| held.zones.iter().flatten())
        .map(String::as_str)
        .collect();
    let mut zones: Vec<String> = Vec::new();
    for zone in document.heads.iter().filter_map(|head| head.zone.as_ref()) {
        if !zone.is_empty() && !listed.contains(zone.as_str()) && !zones.contains(zone) {
            zones.push(zone.clone());
        }
    }
    let roomy: Vec<usize> =
        (0..document.valve_boxes.len()).filter(|&i| room(&document.valve_boxes[i]) > 0).collect();
    let valves = roomy.iter().map(|&i| room(&document.valve_boxes[i])).sum();
    if (1..zones.len()).contains(&valves) {
        let place = match roomy[..] {
            [only] => format!("valve_boxes[{only}].valves"),
            _ => "valve_boxes".to_owned(),
        };
        found.add(place, FaultKind::TooFewForZones { valves, zones });
    }
}

/// Working valves of a box beyond those of the zones it lists.
fn room(held: &BoxEntry) -> usize {
    let listed = held.zones.as_ref().map_or(0, Vec::len);
    nameless::room(held.valves.map(|n| n as usize), held.spare.unwrap_or(0) as usize, listed)
}

fn exclusive_keys(document: &Document, found: &mut Found) {
    for (i, item) in document.valve_boxes.iter().enumerate() {
        let zones = item.zones.as_ref().map_or(0, Vec::len);
        let needed = zones + item.spare.unwrap_or(0) as usize;
        if let Some(valves) = item.valves.filter(|valves| needed > *valves as usize) {
            found.add(format!("valve_boxes[{i}].valves"), FaultKind::TooFewValves { valves, needed });
        }
    }
    for (i, probe) in document.probes.iter().enumerate().filter(|(_, probe)| !probe.found) {
        let given = [
            ("class", probe.class.is_some()),
            ("bearing_deg", probe.bearing_deg.is_some()),
            ("cover", probe.cover.is_some()),
        ];
        for (key, _) in given.into_iter().filter(|(_, is_given)| *is_given) {
            found.add(format!("probes[{i}].{key}"), FaultKind::OnlyWhenFound);
        }
    }
}
