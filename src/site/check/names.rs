//! Names: ids are unique, whatever is referred to exists, and keys that exclude each other do not stand together.

use super::found::{Found, thing_at};
use crate::planting::Setback;
use crate::site::alike;
use crate::site::day::check_day;
use crate::site::document::{Document, OutletKind, PlantEntry, ProbeEntry};
use crate::site::fault::FaultKind;
use crate::site::note::{Note, NoteKind};
use std::collections::{HashMap, HashSet};

pub(super) fn check(document: &Document, found: &mut Found) {
    ids(document, found);
    zones(document, found);
    station_tests(document, found);
    counted_valves(document, found);
    alike_zones(document, found);
    document.probes.iter().enumerate().for_each(|(i, probe)| exclusive_keys(i, probe, found));
    for (i, outlet) in document.outlets.iter().enumerate() {
        if outlet.kind == OutletKind::QuickCoupler && outlet.fed.is_some() {
            found.add(format!("outlets[{i}].fed"), FaultKind::CouplerIsFed);
        }
    }
    for (i, dig) in document.digs.iter().enumerate() {
        let table = dig.tree.as_ref().map(PlantEntry::table);
        if let Some(name) =
            table.and_then(|table| table.setback).filter(|name| Setback::named(name).is_none())
        {
            let known = Setback::ALL.map(|row| row.name).to_vec();
            found.add(format!("digs[{i}].tree.setback"), FaultKind::UnknownSetback { name, known });
        }
    }
    if let Some(Err(wrong)) = document.date.as_deref().map(check_day) {
        found.add("date".to_owned(), FaultKind::NotADay(wrong));
    }
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
    for (i, valve_box) in document.valve_boxes.iter().enumerate() {
        let mut seen = HashSet::new();
        for (j, zone) in valve_box.zones.iter().flatten().enumerate() {
            let place = format!("valve_boxes[{i}].zones[{j}]");
            if zone.is_empty() {
                found.add(place, FaultKind::Empty);
            } else if !seen.insert(zone) {
                found.add(place, FaultKind::RepeatedZone { zone: zone.clone() });
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
    fn meant(name: &str, known: &HashSet<&String>) -> Option<String> {
        let mut known: Vec<&str> = known.iter().map(|name| name.as_str()).collect();
        known.sort_unstable(); // the order of a set is no answer
        alike::meant(name, known).map(str::to_owned)
    }
    for (i, test) in document.station_tests.iter().enumerate() {
        if test.zone.is_some() == test.valve.is_some() {
            found.add(format!("station_tests[{i}]"), FaultKind::OneOf { choices: &["zone", "valve"] });
        }
        if let Some(zone) = test.zone.as_ref().filter(|zone| !zones.contains(zone)) {
            found.add(
                format!("station_tests[{i}].zone"),
                FaultKind::UnknownZone { zone: zone.clone(), meant: meant(zone, &zones) },
            );
        }
        if let Some(id) = test.valve.as_ref().filter(|id| !boxes.contains(id)) {
            found.add(
                format!("station_tests[{i}].valve"),
                FaultKind::UnknownValveBox { id: id.clone(), meant: meant(id, &boxes) },
            );
        }
        let mut seen = HashSet::new();
        for (j, id) in test.heads.iter().enumerate() {
            let place = format!("station_tests[{i}].heads[{j}]");
            if !heads.contains(id) {
                found.add(place, FaultKind::UnknownHead { id: id.clone(), meant: meant(id, &heads) });
            } else if !seen.insert(id) {
                found.add(place, FaultKind::RepeatedHead { id: id.clone() });
            }
        }
    }
}

/// A box that counts fewer valves than it lists zones and spare ones.
fn counted_valves(document: &Document, found: &mut Found) {
    for (i, item) in document.valve_boxes.iter().enumerate() {
        let (zones, spare) = (item.zones.as_ref().map_or(0, Vec::len), item.spare.unwrap_or(0));
        if let Some(valves) = item.valves.filter(|valves| zones + spare as usize > *valves as usize) {
            found.note(
                document,
                format!("valve_boxes[{i}]"),
                NoteKind::TooFewValves { valves, zones, spare },
            );
        }
    }
}

/// Names of so many zones are not compared with each other: no controller has more stations. Numerical choice.
const MOST_ZONES: usize = 500;

/// Zones in no box whose name may be a slip of that of a zone that a box lists, or that more heads are on.
fn alike_zones(document: &Document, found: &mut Found) {
    let mut zones: Vec<(&str, Vec<usize>)> = Vec::new();
    for (i, head) in document.heads.iter().enumerate() {
        let Some(zone) = head.zone.as_deref().filter(|zone| !zone.is_empty()) else { continue };
        match zones.iter_mut().find(|(name, _)| *name == zone) {
            Some((_, heads)) => heads.push(i),
            None => zones.push((zone, vec![i])),
        }
    }
    let listing = |zone: &str| -> Vec<String> {
        let boxes = document.valve_boxes.iter().enumerate();
        let lists = boxes.filter(|(_, it)| it.zones.iter().flatten().any(|listed| listed == zone));
        lists.map(|(i, _)| thing_at(document, &format!("valve_boxes[{i}]"))).collect()
    };
    let mut known = zones.clone();
    for listed in document.valve_boxes.iter().flat_map(|it| it.zones.iter().flatten()) {
        if !known.iter().any(|(name, _)| name == listed) {
            known.push((listed, Vec::new()));
        }
    }
    if known.len() > MOST_ZONES {
        return;
    }
    for (zone, heads) in zones.iter().filter(|(zone, _)| listing(zone).is_empty()) {
        let likelier = |(other, on): &&(&str, Vec<usize>)| {
            alike::slip(zone, other) && (!listing(other).is_empty() || on.len() > heads.len())
        };
        let Some((meant, _)) = known.iter().find(likelier) else { continue };
        let named = |&i: &usize| format!("head {}", document.heads[i].id);
        let (zone, meant, boxes) = ((*zone).to_owned(), (*meant).to_owned(), listing(meant));
        let heads = heads.iter().map(named).collect();
        found.notes.push(Note {
            place: String::new(),
            thing: String::new(),
            what: NoteKind::NameAlike { zone, heads, meant, boxes },
        });
    }
}

/// What is noted of a line stands only beside a find.
pub(super) fn exclusive_keys(index: usize, probe: &ProbeEntry, found: &mut Found) {
    let given = [
        ("class", probe.class.is_some()),
        ("azimuth_deg", probe.azimuth_deg.is_some()),
        ("cover", probe.cover.is_some()),
    ];
    for (key, _) in given.into_iter().filter(|(_, is_given)| *is_given && !probe.found) {
        found.add(format!("probes[{index}].{key}"), FaultKind::OnlyWhenFound);
    }
}
