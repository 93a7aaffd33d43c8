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
use found::Found;

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
    found.named(document)
}

/// The same of the last probe of a document whose rest has passed: what it may be by itself, and that the site stays a site.
pub(super) fn added_probe(document: &Document) -> (Vec<Fault>, Vec<Note>) {
    let mut found = Found::default();
    let Some((index, probe)) = document.probes.iter().enumerate().next_back() else {
        return found.named(document);
    };
    numbers::added_probe(index, probe, document.units, &mut found);
    names::exclusive_keys(index, probe, &mut found);
    shapes::probe(index, probe, document.units, &mut found);
    places::of_all(document, &mut found);
    cleaned::probe(document, index, &mut found);
    odd_sizes::probe(document, index, &mut found);
    odd_places::deep_find(document, index, &mut found);
    found.named(document)
}
