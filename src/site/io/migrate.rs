//! Documents of the first format, `underturf-site/1`, turned into the present one before they are read.
//!
//! Directions become azimuths and renamed settings get their new names (`former`); everything else is the same in both formats.
//! Places of faults are turned back, so that a fault is told in the words that were typed. The old format is read for good.

use super::node::Node;
use super::values::{number, text};
use crate::site::former::{AZIMUTH, BEARING, SETTINGS};
use crate::site::spelling::folded;
use crate::site::{Fault, FaultKind, Note, NoteKind};

const FIRST: &str = "underturf-site/1";
const PRESENT: &str = "underturf-site/2";

/// A document of the first format as one of the present format.
pub(super) struct Migrated {
    pub(super) node: Node,
    /// Words of the present format in a document of the first.
    pub(super) faults: Vec<Fault>,
    /// Places: of the present format, as typed.
    places: Vec<(String, String)>,
    /// Words: as typed, of the present format; each once.
    words: Vec<(&'static str, &'static str)>,
}

/// The migrated document; `None` if it is not of the first format.
pub(super) fn from_first(node: &Node) -> Option<Migrated> {
    let Node::Table(entries) = node else { return None };
    let format = entries.iter().find(|(key, _)| key == "format").and_then(|(_, format)| text(format))?;
    if folded(&format) != FIRST {
        return None;
    }
    let turned =
        entries.iter().find(|(key, _)| key == "frame").map_or(0.0, |(_, frame)| x_from_east_deg(frame));
    let mut migrated =
        Migrated { node: Node::Nothing, faults: Vec::new(), places: Vec::new(), words: Vec::new() };
    let entry = |(key, value): &(String, Node)| {
        let value = match key.as_str() {
            "format" => Node::Text(PRESENT.to_owned()),
            "frame" => {
                migrated.directions(value, "frame", |x_from_east| (-x_from_east).rem_euclid(360.0) + 0.0)
            }
            "probes" => {
                migrated.of_each(value, "probes", |bearing| (90.0 - turned - bearing).rem_euclid(180.0))
            }
            "settings" => migrated.table(value, "settings", SETTINGS, |value| value),
            _ => value.clone(),
        };
        (key.clone(), value)
    };
    let node = Node::Table(entries.iter().map(entry).collect());
    Some(Migrated { node, ..migrated })
}

/// Direction of the x axis, degrees counter-clockwise from east, in a frame of the first format.
fn x_from_east_deg(frame: &Node) -> f64 {
    let Node::Table(entries) = frame else { return 0.0 };
    let bearing = entries.iter().find(|(key, _)| key == BEARING);
    bearing.and_then(|(_, value)| number(value)).filter(|deg| deg.is_finite()).unwrap_or(0.0)
}

impl Migrated {
    fn of_each(&mut self, list: &Node, place: &str, turn: impl Fn(f64) -> f64) -> Node {
        let Node::List(items) = list else { return list.clone() };
        let each = |(k, item)| self.directions(item, &format!("{place}[{k}]"), &turn);
        Node::List(items.iter().enumerate().map(each).collect())
    }

    fn directions(&mut self, table: &Node, place: &str, turn: impl Fn(f64) -> f64) -> Node {
        self.table(table, place, &[(BEARING, AZIMUTH)], turn)
    }

    /// A table with the keys renamed, and their numbers turned. A new key is a fault, and left out.
    fn table(
        &mut self,
        table: &Node,
        place: &str,
        renamed: &[(&'static str, &'static str)],
        turn: impl Fn(f64) -> f64,
    ) -> Node {
        let Node::Table(entries) = table else { return table.clone() };
        let mut kept = Vec::with_capacity(entries.len());
        for (key, value) in entries {
            if let Some(&(former, present)) = renamed.iter().find(|(_, present)| key == present) {
                let what = FaultKind::OfPresentFormat { key: present, former };
                self.faults.push(Fault { place: format!("{place}.{key}"), what });
            } else if let Some(&(former, present)) = renamed.iter().find(|(former, _)| key == former) {
                self.places.push((format!("{place}.{present}"), format!("{place}.{former}")));
                if !self.words.contains(&(former, present)) {
                    self.words.push((former, present));
                }
                kept.push((present.to_owned(), turned(value, &turn)));
            } else {
                kept.push((key.clone(), value.clone()));
            }
        }
        Node::Table(kept)
    }

    /// Faults with the places that were typed.
    pub(super) fn as_typed(&self, mut faults: Vec<Fault>) -> Vec<Fault> {
        for fault in &mut faults {
            if let Some((_, typed)) = self.places.iter().find(|(present, _)| *present == fault.place) {
                fault.place.clone_from(typed);
            }
        }
        faults
    }

    /// What was read under other names, if anything.
    pub(super) fn note(&self) -> Option<Note> {
        let what = NoteKind::FormerWords { words: self.words.clone() };
        (!self.words.is_empty()).then(|| Note { place: String::new(), thing: String::new(), what })
    }
}

/// A number turned; anything else is left for the reader to judge.
fn turned(value: &Node, turn: impl Fn(f64) -> f64) -> Node {
    match value {
        Node::Whole(_) | Node::Number(_) => {
            number(value).map_or(value.clone(), |number| Node::Number(turn(number)))
        }
        other => other.clone(),
    }
}
