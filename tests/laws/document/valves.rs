//! Valves that boxes count, held against the zones and heads that need one: a crew's notes may be right, so all are answered.

use super::{OPENING, read};
use underturf::model::{Common, Valve};
use underturf::site::{NoteKind, Site};

/// What is said of valves.
fn notes(site: &Site) -> Vec<NoteKind> {
    site.notes().iter().map(|note| note.what.clone()).collect()
}

fn zones(names: &[&str]) -> Vec<String> {
    names.iter().map(|name| (*name).to_owned()).collect()
}

/// Counts of boxes held against the zones that heads name. By hand: room is valves less spare ones and zones listed; each zone
/// that no box lists is in a box with that many chances in their number. Catches a count that is refused, or that is believed
/// for all.
#[test]
fn counts_that_leave_too_few_valves_put_the_rest_out_of_sight() {
    let site = |boxes: &str| {
        let head = |zone: u32| format!("[[heads]]\nid = 'h{zone}'\nx = {zone}\ny = 1\nzone = {zone}\n");
        let heads: String = (1..=3).map(head).collect();
        read(&format!("{}valve_boxes = [{boxes}]\n{heads}", OPENING))
    };
    let one = |more: &str| format!("{{ id = 'B', x = 1, y = 2{more} }}");
    let two = |more: &str, other: &str| format!("{}, {{ id = 'C', x = 3, y = 2{other} }}", one(more));
    for (boxes, valves, names, at) in [
        (one(", valves = 1"), 1, zones(&["1", "2", "3"]), vec![0]),
        (one(", valves = 4, spare = 2"), 2, zones(&["1", "2", "3"]), vec![0]),
        (one(", valves = 2, zones = [2]"), 1, zones(&["1", "3"]), vec![0]),
        (two(", valves = 1", ", valves = 1"), 2, zones(&["1", "2", "3"]), vec![0, 1]),
        (two(", zones = [1]", ", valves = 1"), 1, zones(&["2", "3"]), vec![1]),
    ] {
        let site = site(&boxes);
        assert_eq!(notes(&site), [NoteKind::ValvesShort { valves, zones: names.clone() }], "{boxes}");
        let common = Common::new(&site);
        let zone = site.zones.iter().position(|zone| zone.name == "3").expect("zone 3");
        let expected = Valve::BoxesOrHidden { boxes: at, valves, zones: names.len() };
        assert_eq!(common.written(zone).1, &expected, "{boxes}");
    }
    let odd = site(&one(", valves = 3, spare = 1, zones = [1, 2, 3]"));
    assert_eq!(notes(&odd), [NoteKind::TooFewValves { valves: 3, zones: 3, spare: 1 }]);
    assert!(
        odd.warnings()[0].starts_with("Valve box B (valve_boxes[0]) counts 3 valves"),
        "{:?}",
        odd.warnings()
    );
    // Room for all, a box that nobody opened, or none at all: then valves are out of sight, and that is said.
    for boxes in [one(", valves = 3"), one(""), two(", valves = 1", ", spare = 1"), one(", zones = [1]")] {
        assert_eq!(notes(&site(&boxes)), [], "{boxes}");
    }
    let lost = site(&two(", valves = 1, zones = [1]", ", valves = 2, spare = 1, zones = [3]"));
    assert!(lost.boxes_with_room().is_empty());
    assert_eq!(notes(&lost), [NoteKind::ValvesOutOfSight { zones: zones(&["2"]) }]);
}

/// A box whose valves nobody counted holds up to four, spare ones among them; where all four are spare none is left.
#[test]
fn spare_valves_count_in_boxes_that_do_not_count_theirs() {
    let site = |more: &str| {
        read(&format!(
            "{}valve_boxes = [{{ id = 'B', x = 1, y = 2{more} }}]\n[[heads]]\nid = 'a'\nx = 1\ny = 1\n\
            [[heads]]\nid = 'b'\nx = 5\ny = 1\n",
            OPENING
        ))
    };
    for (more, valves) in [("", 4), (", spare = 1", 3), (", spare = 3", 1)] {
        assert_eq!(site(more).zones.len(), valves, "{more}");
    }
    // Nobody counted, so that a fifth valve may be there: it is in the box.
    let full = site(", spare = 4");
    assert_eq!((full.zones.len(), full.boxes_with_room()), (1, vec![0]));
}

/// Heads without a zone and no valve to feed them: one box whose only valve is spare, or that holds none. Their valves are out
/// of sight, and that is said; not so with one valve more, with no box at all, or with a zone that some head names.
#[test]
fn heads_without_a_zone_have_valves_out_of_sight_where_boxes_have_none() {
    let site = |boxes: &str, zone: &str| {
        read(&format!(
            "{}boundary = [[0, 0], [20, 0], [20, 10], [0, 10]]\n{boxes}\n[[heads]]\nid = 'a'\nx = 1\ny = 1\n{zone}\n\
            [[heads]]\nid = 'b'\nx = 5\ny = 1\n",
            OPENING
        ))
    };
    for boxes in ["valves = 1, spare = 1", "valves = 0"] {
        let site = site(&format!("valve_boxes = [{{ id = 'B', x = 1, y = 2, {boxes} }}]"), "");
        assert_eq!(notes(&site), [NoteKind::NoWorkingValve { heads: zones(&["a", "b"]) }]);
        assert_eq!(Common::new(&site).written(0).1, &Valve::Hidden);
    }
    for (boxes, zone) in [("valve_boxes = [{ id = 'B', x = 1, y = 2, valves = 2, spare = 1 }]", ""), ("", "")]
    {
        assert_eq!(notes(&site(boxes, zone)), []);
    }
    let named = site("valve_boxes = [{ id = 'B', x = 1, y = 2, valves = 0 }]", "zone = 1");
    assert_eq!(notes(&named), [NoteKind::ValvesOutOfSight { zones: zones(&["1"]) }]);
}
