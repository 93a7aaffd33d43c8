//! Where water can be closed: what a crew looks for first when a pipe is hit.

use super::words::{named, source_words};
use crate::geometry::Point;
use crate::site::document::SourceKind;
use crate::site::{Site, ValveBox};

/// A place at which water can be closed.
#[derive(Clone, Debug, PartialEq)]
pub struct ShutOff {
    /// What it is called, and what a valve box holds.
    pub words: String,
    /// Where it is, metres.
    pub at: Point,
    /// Whether it closes the whole system, or only the zones of a valve box.
    pub of_source: bool,
}

/// The shut-offs of a site: its sources first, then its valve boxes. A stub-out has no valve.
///
/// # Examples
/// ```
/// let site = underturf::example::lawn()?;
/// let found = underturf::staking::shut_offs(&site);
/// assert_eq!(found[0].words, "valve box (zones 1, 2)");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn shut_offs(site: &Site) -> Vec<ShutOff> {
    let closed = site.sources.iter().filter(|source| source.kind != SourceKind::Stub);
    let sources = closed.map(|source| ShutOff {
        words: named(source_words(source.kind), &source.id),
        at: source.at,
        of_source: true,
    });
    let boxes = site.valve_boxes.iter().map(|held| ShutOff {
        words: format!("{} ({})", named("valve box", &held.id), valves(site, held)),
        at: held.at,
        of_source: false,
    });
    sources.chain(boxes).collect()
}

/// What a box holds: the zones that have a name, else as many valves as were counted.
fn valves(site: &Site, held: &ValveBox) -> String {
    let zones = held.zones.iter().map(|&zone| &site.zones[zone]).filter(|zone| !zone.nameless);
    let names: Vec<&str> = zones.map(|zone| zone.name.as_str()).collect();
    match (&names[..], held.valves) {
        ([], Some(count)) => format!("{count} valves"),
        ([], None) => "valves not counted".to_owned(),
        ([one], _) => format!("zone {one}"),
        (several, _) => format!("zones {}", several.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::io;
    use serde_json::json;

    /// Planted fault: a stub-out, which has no valve, listed as a shut-off.
    #[test]
    fn sources_come_before_boxes_and_say_what_they_close() {
        let source = |id: &str, kind: &str, x: f64| json!({"id": id, "kind": kind, "x": x, "y": 0.0});
        let document = json!({
            "format": "underturf-site/2", "units": "m",
            "sources": [source("stub", "stub", 1.0), source("meter", "meter", 2.0), source("P1", "pump", 3.0)],
            "heads": [{"id": "a", "x": 4.0, "y": 4.0, "zone": "lawn"}],
            "valve_boxes": [
                {"id": "box", "x": 4.0, "y": 0.0, "zones": ["lawn"]},
                {"id": "north", "x": 5.0, "y": 0.0, "valves": 3},
                {"id": "south", "x": 6.0, "y": 0.0},
            ],
        });
        let site = io::from_value(document).expect("a sound document");
        let found = shut_offs(&site);
        let words: Vec<&str> = found.iter().map(|shut| shut.words.as_str()).collect();
        assert_eq!(
            words,
            [
                "meter",
                "pump P1",
                "valve box (zone lawn)",
                "valve box north (3 valves)",
                "valve box south (valves not counted)",
            ]
        );
        assert_eq!(found.iter().filter(|shut| shut.of_source).count(), 2);
        assert_eq!(found[1].at, Point::new(3.0, 0.0));
    }
}
