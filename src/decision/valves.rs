//! Valves that nobody has named: which of them cannot be told apart, and what they are called, so that no name promises more
//! than is known.
//!
//! Which of several such valves is "valve 1" changes from draw to draw. So lines of theirs are named by the box that they
//! share, and groups of heads by that box and a letter.

use crate::inference::Layouts;
use crate::site::{Site, Zone};

/// What a valve is called of which no box is known.
pub const UNSEEN_VALVE: &str = "an unseen valve";

/// How the name of a valve begins of which only the box is known.
pub const VALVE_OF: &str = "a valve of ";

/// Zones without a name that have the same boxes, and so cannot be told apart: two or more each.
///
/// # Examples
/// ```
/// let site = underturf::example::lawn()?;
/// assert!(underturf::decision::exchangeable_zones(&site).is_empty(), "both zones of the lawn have a name");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn exchangeable_zones(site: &Site) -> Vec<Vec<usize>> {
    let mut groups = by_what_tells(&site.zones);
    groups.retain(|zones| zones.len() > 1);
    groups
}

/// Zones by what can be told apart: nameless ones that have the same boxes go together.
pub(super) fn by_what_tells(zones: &[Zone]) -> Vec<Vec<usize>> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (k, zone) in zones.iter().enumerate() {
        let alike = |group: &&mut Vec<usize>| {
            let first = &zones[group[0]];
            zone.nameless && first.nameless && first.boxes == zone.boxes
        };
        match groups.iter_mut().find(alike) {
            Some(group) => group.push(k),
            None => groups.push(vec![k]),
        }
    }
    groups
}

/// What a valve in one of these boxes is called.
pub(super) fn valve_of(site: &Site, boxes: &[usize]) -> String {
    if boxes.is_empty() { UNSEEN_VALVE.to_owned() } else { format!("{VALVE_OF}{}", ids(site, boxes)) }
}

/// Names of the systems and of what belongs to none, as [`Layouts::system_names`]; those of zones that cannot be told apart
/// are called by their box.
///
/// # Examples
/// ```
/// let layouts = underturf::example::layouts()?;
/// assert_eq!(underturf::decision::telling_names(&layouts)[..2], ["zone 1", "zone 2"]);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn telling_names(layouts: &Layouts) -> Vec<String> {
    let site = layouts.site();
    let mut names = layouts.system_names();
    for zone in exchangeable_zones(site).into_iter().flatten() {
        names[zone] = valve_of(site, &site.zones[zone].boxes);
    }
    names
}

/// For each head, what its zone is called in one zoning (the zone of each head): its own name, or box and letter in the order
/// of first heads where it cannot be told from another.
///
/// # Panics
/// If a zone is none of the site.
///
/// # Examples
/// ```
/// let site = underturf::example::lawn()?;
/// let zoning = [0, 0, 0, 1, 1, 1];
/// assert_eq!(underturf::decision::group_names(&site, &zoning), ["1", "1", "1", "2", "2", "2"]);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn group_names(site: &Site, zoning: &[usize]) -> Vec<String> {
    let alike: Vec<usize> = exchangeable_zones(site).into_iter().flatten().collect();
    let mut lettered: Vec<(usize, String)> = Vec::new();
    for &zone in zoning {
        if alike.contains(&zone) && lettered.iter().all(|(known, _)| *known != zone) {
            let boxes = &site.zones[zone].boxes;
            let before = lettered.iter().filter(|(known, _)| site.zones[*known].boxes == *boxes).count();
            let place = if boxes.is_empty() { "unseen".to_owned() } else { ids(site, boxes) };
            lettered.push((zone, format!("{place} {}", letters(before))));
        }
    }
    let name = |zone: &usize| {
        let letter = lettered.iter().find(|(known, _)| known == zone);
        letter.map_or_else(|| site.zones[*zone].name.clone(), |(_, name)| name.clone())
    };
    zoning.iter().map(name).collect()
}

fn ids(site: &Site, boxes: &[usize]) -> String {
    let ids: Vec<&str> = boxes.iter().map(|&held| site.valve_boxes[held].id.as_str()).collect();
    ids.join(", ")
}

/// A, B, ... Z, AA, AB, ... for 0, 1, ...
fn letters(number: usize) -> String {
    let last = char::from(b'A' + (number % 26) as u8);
    let first = if number < 26 { String::new() } else { letters(number / 26 - 1) };
    format!("{first}{last}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::io;
    use serde_json::json;

    fn site(boxes: serde_json::Value) -> Site {
        let head = |k: usize| json!({"id": format!("h{k}"), "x": 2.0 * k as f64, "y": 1.0});
        let heads: Vec<_> = (0..6).map(head).collect();
        let document =
            json!({"format": "underturf-site/2", "units": "m", "heads": heads, "valve_boxes": boxes});
        io::from_value(document).expect("a sound document")
    }

    #[test]
    fn letters_go_on_after_z() {
        assert_eq!([0, 25, 26, 27, 701, 702].map(letters), ["A", "Z", "AA", "AB", "ZZ", "AAA"]);
    }

    /// Two boxes of two valves each: valves of one box are alike, valves of two are not. Planted fault: letters that run on from
    /// one box to the next.
    #[test]
    fn valves_of_one_box_are_told_apart_by_letters_only() {
        let held = |id: &str, x: f64| json!({"id": id, "x": x, "y": 0.0, "valves": 2});
        let site = site(json!([held("east", 9.0), held("west", 0.0)]));
        assert_eq!(exchangeable_zones(&site), [vec![0, 1], vec![2, 3]]);
        assert_eq!(
            group_names(&site, &[1, 1, 2, 0, 0, 3]),
            ["east A", "east A", "west A", "east B", "east B", "west B"]
        );
        assert_eq!(valve_of(&site, &site.zones[2].boxes), "a valve of west");
    }

    /// Without any box the valves are out of sight; one valve alone keeps its name.
    #[test]
    fn valves_out_of_sight_are_called_unseen() {
        let unseen = site(json!([]));
        let names = group_names(&unseen, &[0, 0, 1, 1, 0, 0]);
        assert_eq!((names[0].as_str(), names[2].as_str()), ("unseen A", "unseen B"));
        assert_eq!(valve_of(&unseen, &[]), UNSEEN_VALVE);
        let one = site(json!([{"id": "box", "x": 0.0, "y": 0.0, "valves": 1}]));
        assert!(exchangeable_zones(&one).is_empty());
        assert_eq!(group_names(&one, &[0; 6])[5], one.zones[0].name);
    }
}
