//! What checks have found so far: faults and notes, each with its place, and how a thing is named to its owner.

use crate::site::document::Document;
use crate::site::fault::{Fault, FaultKind};
use crate::site::note::{Note, NoteKind};
use crate::site::plausible::Rule;

/// The faults and notes found so far.
#[derive(Default)]
pub(super) struct Found {
    pub(super) faults: Vec<Fault>,
    pub(super) notes: Vec<Note>,
}

impl Found {
    pub(super) fn add(&mut self, place: impl Into<String>, what: FaultKind) {
        self.faults.push(Fault { place: place.into(), what });
    }

    pub(super) fn note(&mut self, document: &Document, place: impl Into<String>, what: NoteKind) {
        let place = place.into();
        let thing = thing(document, &place).unwrap_or_default();
        self.notes.push(Note { place, thing, what });
    }

    /// Notes what is odd by a rule; `value` and `limit` are in the rule's unit.
    pub(super) fn odd(
        &mut self,
        document: &Document,
        place: impl Into<String>,
        rule: &Rule,
        value: f64,
        limit: f64,
        said: String,
    ) {
        self.note(document, place, NoteKind::Odd { rule: rule.name, value, limit, said });
    }
}

impl Found {
    /// The faults, each with the id of the thing that has it, and the notes.
    pub(super) fn named(self, document: &Document) -> (Vec<Fault>, Vec<Note>) {
        let named = |fault: Fault| Fault {
            what: fault.what.about(by_id(document, &fault.place)),
            place: fault.place,
        };
        (self.faults.into_iter().map(named).collect(), self.notes)
    }
}

/// What stands at a place of the document, by its kind and id: `heads[3].x` is `head h4`, `obstacles[0].outline` is
/// `building`. `None` where the place says all there is.
pub(super) fn thing(document: &Document, place: &str) -> Option<String> {
    if place == "boundary" {
        return Some("boundary".to_owned());
    }
    let (list, rest) = place.split_once('[')?;
    let index: usize = rest.split_once(']')?.0.parse().ok()?;
    let named = |kind: &str, id: Option<&str>| {
        let id = id.filter(|id| !id.is_empty());
        id.map_or_else(|| kind.to_owned(), |id| format!("{kind} {id}"))
    };
    match list {
        "heads" => document.heads.get(index).map(|it| named("head", Some(&it.id))),
        "valve_boxes" => document.valve_boxes.get(index).map(|it| named("valve box", Some(&it.id))),
        "sources" => document.sources.get(index).map(|it| named("source", Some(&it.id))),
        "outlets" => document.outlets.get(index).map(|it| named("outlet", Some(&it.id))),
        "digs" => document.digs.get(index).map(|_| named("dig", Some(&document.dig_name(index)))),
        "obstacles" => document.obstacles.get(index).map(|it| it.kind.name().to_owned()),
        "marks" => document.marks.get(index).map(|it| named(it.class.name(), Some("mark"))),
        "services" => document.services.get(index).map(|it| named(it.class.name(), Some("service"))),
        "flags" => document.flags.get(index).map(|it| named("flag", it.line.as_deref())),
        "trees" => document.trees.get(index).map(|_| "tree".to_owned()),
        "probes" => document.probes.get(index).map(|_| "probe".to_owned()),
        "swept" => document.swept.get(index).map(|_| "swept ground".to_owned()),
        "sketches" => document.sketches.get(index).map(|_| "sketch".to_owned()),
        "station_tests" => document.station_tests.get(index).map(|_| "station test".to_owned()),
        _ => None,
    }
}

/// The same where the document gives it an id.
fn by_id(document: &Document, place: &str) -> Option<String> {
    let given = !place.starts_with("digs[")
        || document
            .digs
            .iter()
            .enumerate()
            .any(|(i, dig)| dig.id.is_some() && place.starts_with(&format!("digs[{i}]")));
    let with_id = ["heads[", "valve_boxes[", "sources[", "outlets[", "digs["];
    thing(document, place).filter(|_| given && with_id.iter().any(|list| place.starts_with(list)))
}

/// The same with its place: `head h4 (heads[3])`.
pub(super) fn thing_at(document: &Document, place: &str) -> String {
    match thing(document, place) {
        Some(thing) if thing != place => format!("{thing} ({place})"),
        _ => place.to_owned(),
    }
}
