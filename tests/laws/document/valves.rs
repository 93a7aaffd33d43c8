//! Valves that boxes count, held against the zones and heads that need one.

use super::{OPENING, only, read};
use underturf::evidence::FaultKind;

/// Counts of boxes held against the zones that heads name. By hand: room is valves less spare ones and zones listed.
#[test]
fn counts_that_contradict_the_named_zones_are_faults() {
    let site = |boxes: &str| {
        let head = |zone: u32| format!("[[heads]]\nid = 'h{zone}'\nx = {zone}\ny = 1\nzone = {zone}\n");
        let heads: String = (1..=3).map(head).collect();
        format!("{}valve_boxes = [{boxes}]\n{heads}", OPENING)
    };
    let one = |more: &str| format!("{{ id = 'B', x = 1, y = 2{more} }}");
    let two = |more: &str, other: &str| format!("{}, {{ id = 'C', x = 3, y = 2{other} }}", one(more));
    let zones = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect::<Vec<_>>();
    for (boxes, place, valves, names) in [
        (one(", valves = 1"), "valve_boxes[0].valves", 1, zones(&["1", "2", "3"])),
        (one(", valves = 4, spare = 2"), "valve_boxes[0].valves", 2, zones(&["1", "2", "3"])),
        (one(", valves = 2, zones = [2]"), "valve_boxes[0].valves", 1, zones(&["1", "3"])),
        (two(", valves = 1", ", valves = 1"), "valve_boxes", 2, zones(&["1", "2", "3"])),
        (two(", zones = [1]", ", valves = 1"), "valve_boxes[1].valves", 1, zones(&["2", "3"])),
    ] {
        let (found, what) = only(&site(&boxes));
        assert_eq!(
            (found.as_str(), what),
            (place, FaultKind::TooFewForZones { valves, zones: names }),
            "{boxes}"
        );
    }
    let (place, what) = only(&site(&one(", valves = 3, spare = 1, zones = [1, 2, 3]")));
    assert_eq!(
        (place.as_str(), what),
        ("valve_boxes[0].valves", FaultKind::TooFewValves { valves: 3, needed: 4 })
    );
    // Room for all, a box that nobody opened, or none at all: then valves are out of sight, and that is said.
    for boxes in [one(", valves = 3"), one(""), two(", valves = 1", ", spare = 1"), one(", zones = [1]")] {
        assert_eq!(read(&site(&boxes)).valves_out_of_sight(), None, "{boxes}");
    }
    let lost = read(&site(&two(", valves = 1, zones = [1]", ", valves = 2, spare = 1, zones = [3]")));
    assert!(lost.boxes_with_room().is_empty());
    assert!(lost.valves_out_of_sight().is_some_and(|said| said.contains("zone \"2\"")));
}

/// A box whose valves nobody counted holds up to four, spare ones among them; where all four are spare none is left.
#[test]
fn spare_valves_count_in_boxes_that_do_not_count_theirs() {
    let site = |more: &str| {
        format!(
            "{}valve_boxes = [{{ id = 'B', x = 1, y = 2{more} }}]\n[[heads]]\nid = 'a'\nx = 1\ny = 1\n\
            [[heads]]\nid = 'b'\nx = 5\ny = 1\n",
            OPENING
        )
    };
    for (more, valves) in [("", 4), (", spare = 1", 3), (", spare = 3", 1)] {
        assert_eq!(read(&site(more)).zones.len(), valves, "{more}");
    }
    let (place, what) = only(&site(", spare = 4"));
    assert_eq!((place.as_str(), what), ("valve_boxes", FaultKind::NoWorkingValve { head: "a".into() }));
}

/// Heads without a zone and no valve to feed them: one box whose only valve is spare, or that holds none. One valve more, no
/// box at all, or a zone that some head names, and there is a layout.
#[test]
fn heads_without_a_zone_need_a_valve() {
    let site = |boxes: &str, zone: &str| {
        format!(
            "{}boundary = [[0, 0], [20, 0], [20, 10], [0, 10]]\n{boxes}\n[[heads]]\nid = 'a'\nx = 1\ny = 1\n{zone}\n\
            [[heads]]\nid = 'b'\nx = 5\ny = 1\n",
            OPENING
        )
    };
    for boxes in ["valves = 1, spare = 1", "valves = 0"] {
        let (place, what) =
            only(&site(&format!("valve_boxes = [{{ id = 'B', x = 1, y = 2, {boxes} }}]"), ""));
        assert_eq!(place, "valve_boxes");
        assert_eq!(what, FaultKind::NoWorkingValve { head: "a".into() });
    }
    read(&site("valve_boxes = [{ id = 'B', x = 1, y = 2, valves = 2, spare = 1 }]", ""));
    read(&site("valve_boxes = [{ id = 'B', x = 1, y = 2, valves = 0 }]", "zone = 1"));
    read(&site("", ""));
}
