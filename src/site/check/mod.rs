//! Every check a document has to pass before it becomes a site, and what is odd of it all the same. All faults are collected;
//! none hides another.

mod cleaned;
mod found;
mod names;
mod numbers;
mod odd_heads;
mod odd_places;
mod odd_sizes;
mod places;
mod settings;
mod shapes;

use super::document::Document;
use super::fault::Fault;
use super::note::Note;
use found::{Found, by_id};

/// Every fault of a document, in the order of the checks: numbers, names, outlines and paths, places; and every note.
pub(super) fn run(document: &Document) -> (Vec<Fault>, Vec<Note>) {
    let mut found = Found::default();
    numbers::check(document, &mut found);
    settings::check(document, &mut found);
    names::check(document, &mut found);
    shapes::check(document, &mut found);
    places::check(document, &mut found);
    cleaned::note(document, &mut found);
    odd_sizes::note(document, &mut found);
    odd_heads::note(document, &mut found);
    odd_places::note(document, &mut found);
    let named =
        |fault: Fault| Fault { what: fault.what.about(by_id(document, &fault.place)), place: fault.place };
    (found.faults.into_iter().map(named).collect(), found.notes)
}
