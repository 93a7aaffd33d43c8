//! What a site gives cause to say of its zones and valves, and of evidence of metal lines.

use super::checked_site::Site;
use super::day::days_between;
use super::document::MarkEntry;
use super::frame::frame_note;
use super::items::{Mark, Zone};
use super::note::{Note, NoteKind};

pub(super) fn of(site: &Site) -> Vec<Note> {
    let whole = |what: NoteKind| Note { place: String::new(), thing: String::new(), what };
    let mut notes: Vec<Note> = metal(site).map(whole).into_iter().collect();
    notes.extend(valves(site).into_iter().map(whole));
    notes.extend(headless(site).into_iter().map(whole));
    notes.extend(utilities_met(site));
    notes.extend(mark_ages(site));
    let frame = site.frame.as_ref().and_then(frame_note);
    notes.extend(frame.map(|said| whole(NoteKind::Frame { said })));
    notes
}

/// Kinds of evidence that tell of metal lines. Their ground is kept off too, so their reader must know of both.
fn metal(site: &Site) -> Option<NoteKind> {
    let kinds = [
        ("flags", site.flags.is_empty()),
        ("marks", site.document.marks.is_empty()),
        ("services", site.services.is_empty()),
    ];
    let keys: Vec<&'static str> =
        kinds.into_iter().filter(|(_, is_empty)| !is_empty).map(|(key, _)| key).collect();
    (!keys.is_empty()).then_some(NoteKind::Metal { keys })
}

/// Valves that are out of sight although there are boxes.
fn valves(site: &Site) -> Vec<NoteKind> {
    if site.valve_boxes.is_empty() {
        return Vec::new();
    }
    let names = |indices: Vec<usize>| -> Vec<String> {
        indices.into_iter().map(|k| site.zones[k].name.clone()).collect()
    };
    let boxless = site.zones_without_box();
    let mut notes = Vec::new();
    if let Some(valves) = site.valves_short() {
        notes.push(NoteKind::ValvesShort { valves, zones: names(boxless) });
    } else if site.boxes_with_room().is_empty() && !boxless.is_empty() {
        notes.push(NoteKind::ValvesOutOfSight { zones: names(boxless) });
    }
    let hidden = |zone: &Zone| zone.nameless && zone.boxes.is_empty();
    if site.boxes_with_room().is_empty() && site.zones.iter().any(hidden) {
        let bare = site.heads.iter().filter(|head| head.zone.is_none());
        notes.push(NoteKind::NoWorkingValve { heads: bare.map(|head| head.id.clone()).collect() });
    }
    notes
}

/// Zones no head of which anybody saw, those of the same boxes in one note.
fn headless(site: &Site) -> Vec<NoteKind> {
    let some_open = site.heads.iter().any(|head| head.zone.is_none());
    let mut groups: Vec<(&[usize], Vec<String>)> = Vec::new();
    for zone in site.zones.iter().filter(|zone| zone.unseen) {
        match groups.iter_mut().find(|(boxes, _)| *boxes == zone.boxes) {
            Some((_, zones)) => zones.push(zone.name.clone()),
            None => groups.push((&zone.boxes, vec![zone.name.clone()])),
        }
    }
    let named =
        |boxes: &[usize]| boxes.iter().map(|&b| format!("valve box {}", site.valve_boxes[b].id)).collect();
    let note =
        |(boxes, zones): (&[usize], _)| NoteKind::HeadlessZones { zones, boxes: named(boxes), some_open };
    groups.into_iter().map(note).collect()
}

fn utilities_met(site: &Site) -> Vec<Note> {
    site.marks.iter().filter_map(utility_met).collect()
}

/// Marks that are older than tickets hold, or whose age is not known though the day of the site is.
fn mark_ages(site: &Site) -> Vec<Note> {
    let Some(now) = site.document.date.as_deref() else { return Vec::new() };
    let life = site.settings.mark_life_days;
    let of = |(k, mark): (usize, &MarkEntry)| {
        let days = mark.date.as_deref().and_then(|set| days_between(set, now));
        let odd = days.is_none_or(|days| days < 0 || days as f64 > life);
        let what = NoteKind::MarkAge { days, life };
        odd.then(|| Note { place: format!("marks[{k}]"), thing: String::new(), what })
    };
    site.document.marks.iter().enumerate().filter_map(of).collect()
}

/// What is said of a mark that a probe made.
pub(super) fn utility_met(mark: &Mark) -> Option<Note> {
    let place = format!("probes[{}]", mark.by_probe?);
    Some(Note { place, thing: String::new(), what: NoteKind::UtilityMet { class: mark.class.name() } })
}
