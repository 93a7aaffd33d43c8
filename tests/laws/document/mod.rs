//! The site document: every fault is reported with its place, nothing is lost on a round trip, units are exact.

mod added;
mod drawn;
mod faulty;
mod kept;
mod migrated;
mod valves;

use underturf::site::io::{self, ReadError};
use underturf::site::{Fault, FaultKind, Site, SiteFaults};

const OPENING: &str = "format = 'underturf-site/2'\nunits = 'm'\n";

/// A site with three labelled heads in a boundary of 20 m x 10 m, and what else is given.
fn with(more: &str) -> String {
    format!(
        "{OPENING}boundary = [[0, 0], [20, 0], [20, 10], [0, 10]]\n{more}\n\
         [[heads]]\nid = 'a'\nx = 1\ny = 1\nzone = 1\n\
         [[heads]]\nid = 'b'\nx = 5\ny = 1\nzone = 1\n\
         [[heads]]\nid = 'c'\nx = 9\ny = 1\nzone = 1\n"
    )
}

fn read(text: &str) -> Site {
    io::parse_toml(text).unwrap_or_else(|error| panic!("{error}\nin\n{text}"))
}

fn faults(text: &str) -> Vec<Fault> {
    match io::parse_toml(text) {
        Err(ReadError::Faults(SiteFaults { faults })) => faults,
        other => panic!("expected faults, got {other:?} from\n{text}"),
    }
}

/// The one fault of a document: its place and kind.
fn only(text: &str) -> (String, FaultKind) {
    let found = faults(text);
    assert_eq!(found.len(), 1, "{found:#?}\nin\n{text}");
    (found[0].place.clone(), found[0].what.clone())
}
