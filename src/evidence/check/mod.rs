//! Every check a document has to pass before it becomes a site. All faults are collected; none hides another.

mod names;
mod numbers;
mod places;
mod shapes;

use super::document::Document;
use super::fault::{Fault, FaultKind};

/// Every fault of a document, in the order of the checks: numbers, names, outlines and paths, places.
pub(super) fn faults(document: &Document) -> Vec<Fault> {
    let mut found = Found::default();
    numbers::check(document, &mut found);
    names::check(document, &mut found);
    shapes::check(document, &mut found);
    places::check(document, &mut found);
    found.faults
}

/// The faults found so far.
#[derive(Default)]
struct Found {
    faults: Vec<Fault>,
}

impl Found {
    fn add(&mut self, place: impl Into<String>, what: FaultKind) {
        self.faults.push(Fault { place: place.into(), what });
    }
}
