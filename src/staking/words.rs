//! What a crew calls the things of a site.

use crate::site::document::SourceKind;

/// What a source is called.
pub(super) const fn source_words(kind: SourceKind) -> &'static str {
    match kind {
        SourceKind::Meter => "meter",
        SourceKind::Backflow => "backflow assembly",
        SourceKind::Pump => "pump",
        SourceKind::Stub => "stub-out",
    }
}

/// The thing and its name, unless the name says it already.
pub(super) fn named(thing: &str, id: &str) -> String {
    let says_no_more = thing.split(' ').chain([thing]).any(|word| word.eq_ignore_ascii_case(id));
    if says_no_more { thing.to_owned() } else { format!("{thing} {id}") }
}
