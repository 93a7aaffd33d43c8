//! Reading: from text, from a value, from a file. Whatever the way, all faults come in one error.

use super::collect::{Collected, collect, collect_at};
use super::migrate;
use super::node::{Node, shortened};
use crate::site::document::{ProbeEntry, Texts};
use crate::site::{Document, Fault, FaultKind, Site, SiteFaults};
use serde::Deserialize;
use std::path::{Path, PathBuf};

/// Where and why a text is no TOML or JSON at all.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("not valid {language}, line {line}, column {column}: {message}")]
pub struct Syntax {
    /// `TOML` or `JSON`.
    pub language: &'static str,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// What the parser says.
    pub message: String,
}

/// Why a site could not be read.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ReadError {
    /// The file could not be opened or is no text.
    #[error("{}: {source}", path.display())]
    Io {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: std::io::Error,
    },
    /// The name of the file ends in neither `.toml` nor `.json`.
    #[error("{}: the name of a site document ends in .toml or .json", path.display())]
    Extension {
        /// The file.
        path: PathBuf,
    },
    /// The text is no TOML or JSON.
    #[error(transparent)]
    Syntax(#[from] Syntax),
    /// The document has faults.
    #[error(transparent)]
    Faults(#[from] SiteFaults),
}

/// The site in a file, TOML or JSON by the end of its name.
///
/// # Errors
/// See [`ReadError`]; faults of the document come all at once.
pub fn read_site(path: &Path) -> Result<Site, ReadError> {
    let parse = match path.extension().and_then(|end| end.to_str()).map(str::to_ascii_lowercase).as_deref() {
        Some("toml") => parse_toml,
        Some("json") => parse_json,
        _ => return Err(ReadError::Extension { path: path.to_owned() }),
    };
    let text =
        std::fs::read_to_string(path).map_err(|source| ReadError::Io { path: path.to_owned(), source })?;
    parse(&text)
}

/// The site in a TOML text.
///
/// # Errors
/// [`ReadError::Syntax`] or [`ReadError::Faults`].
///
/// # Examples
/// ```
/// let site = underturf::site::io::parse_toml("format = 'underturf-site/2'\nunits = 'ft'\nheads = [{ id = 1, x = 10, y = 20 }]")?;
/// assert_eq!(site.heads[0].at.x, 3.048);
/// # Ok::<(), underturf::site::io::ReadError>(())
/// ```
pub fn parse_toml(text: &str) -> Result<Site, ReadError> {
    let text = without_mark(text);
    let table: toml::Table = toml::from_str(text).map_err(|error| {
        let start = error.span().map_or(0, |span| span.start);
        if error.message().contains("recurs") {
            let what = FaultKind::TooDeep { limit: Node::MOST_DEEP };
            return at(text, if start > 0 { start } else { deepest(text) }, what.to_string());
        }
        at(text, start, error.message().to_owned())
    })?;
    Ok(from_node(&Node::from(table))?)
}

/// A fault of TOML at a byte of its text.
fn at(text: &str, start: usize, message: String) -> Syntax {
    let before = text.get(..start).unwrap_or_default();
    let line_start = before.rfind('\n').map_or(0, |at| at + 1);
    Syntax {
        language: "TOML",
        line: before.matches('\n').count() + 1,
        column: before[line_start..].chars().count() + 1,
        message,
    }
}

/// Where a text that its parser gave up on is nested most, by its brackets and dots: the parser does not always say.
fn deepest(text: &str) -> usize {
    let marks = |line: &str| line.bytes().filter(|byte| matches!(byte, b'[' | b'{' | b'.')).count();
    let mut start = 0;
    let mut most = (0, 0);
    for line in text.split_inclusive('\n') {
        most = most.max((marks(line), start));
        start += line.len();
    }
    most.1
}

/// The site in a JSON text.
///
/// # Errors
/// [`ReadError::Syntax`] or [`ReadError::Faults`].
pub fn parse_json(text: &str) -> Result<Site, ReadError> {
    let text = without_mark(text);
    let node: Node = serde_json::from_str(text).map_err(|error| Syntax {
        language: "JSON",
        line: error.line(),
        column: error.column(),
        message: error.to_string(),
    })?;
    Ok(from_node(&node)?)
}

/// The site in a JSON value. `null` counts as an absent key.
///
/// # Errors
/// Every fault of the document at once.
pub fn from_value(value: serde_json::Value) -> Result<Site, SiteFaults> {
    let node = Node::deserialize(value).map_err(|error| refused(error.to_string()))?;
    from_node(&node)
}

/// The site in a value of any origin; unlike a JSON value, a [`Node`] can hold numbers that are not finite.
///
/// # Errors
/// Every fault of the document at once.
pub fn from_node(node: &Node) -> Result<Site, SiteFaults> {
    if let Some(place) = node.too_deep() {
        let what = FaultKind::TooDeep { limit: Node::MOST_DEEP };
        let place = shortened(place.trim_start_matches('.'));
        return Err(SiteFaults { faults: vec![Fault { place, what }] });
    }
    let Some(migrated) = migrate::from_first(node) else { return of_present(node, Vec::new()) };
    let read = of_present(&migrated.node, migrated.faults.clone());
    let site = read.map_err(|SiteFaults { faults }| SiteFaults { faults: migrated.as_typed(faults) })?;
    Ok(site.with_note(migrated.note()))
}

/// The site in a document of the present format, of which some faults are known already.
fn of_present(node: &Node, known: Vec<Fault>) -> Result<Site, SiteFaults> {
    let Collected { value: mut document, faults: unread, texts } =
        collect::<Document>(node).map_err(|error| refused(error.message))?;
    let mut faults = known;
    faults.extend(unread);
    document.texts = texts;
    let texts = document.texts.clone();
    if faults.is_empty() {
        return Site::new(document).map_err(|found| SiteFaults { faults: as_written(found.faults, &texts) });
    }
    let further = Site::faults(&document).map_or(Vec::new(), |all| as_written(all.faults, &texts));
    Err(joined(faults, further))
}

/// Faults of lengths, said with what is written where that is a text.
fn as_written(faults: Vec<Fault>, texts: &Texts) -> Vec<Fault> {
    let written = |Fault { place, what }| Fault { what: what.written(texts.at(&place)), place };
    faults.into_iter().map(written).collect()
}

/// The site with one more probe, as a document of the site would write it. Only the probe is read and checked.
///
/// # Errors
/// Every fault of the probe at once.
pub fn with_probe(site: &Site, node: &Node) -> Result<Site, SiteFaults> {
    let place = format!("probes[{}]", site.document.probes.len());
    if let Some(deep) = node.too_deep() {
        let what = FaultKind::TooDeep { limit: Node::MOST_DEEP };
        return Err(SiteFaults { faults: vec![Fault { place: shortened(&(place + &deep)), what }] });
    }
    let Collected { value: probe, faults, texts } =
        collect_at::<ProbeEntry>(node, place, site.units).map_err(|error| refused(error.message))?;
    if faults.is_empty() {
        let mut longer = site.with_probe(probe)?;
        longer.document.texts.extend(texts);
        return Ok(longer);
    }
    let mut document = site.document.clone();
    document.probes.push(probe);
    Err(joined(faults, Site::faults_of_added_probe(&document)))
}

/// Faults of reading, and those of the checks that are more than their consequence.
fn joined(mut faults: Vec<Fault>, further: Vec<Fault>) -> SiteFaults {
    let further = further.into_iter().filter(|fault| !faults.iter().any(|unread| follows(fault, unread)));
    let further: Vec<Fault> = further.collect();
    faults.extend(further);
    SiteFaults { faults }
}

/// Whether a fault found by the checks may be only the consequence of what could not be read.
fn follows(fault: &Fault, unread: &Fault) -> bool {
    if matches!(
        unread.what,
        FaultKind::UnknownKey { .. } | FaultKind::OfPresentFormat { .. } | FaultKind::RepeatedKey
    ) {
        return false; // everything the format knows was read
    }
    if fault.place == unread.place {
        return true; // a stand-in is judged
    }
    match fault.what.plain() {
        FaultKind::UnknownZone { .. } => {
            leaves_open(unread, "heads", "zone") || leaves_open(unread, "valve_boxes", "zones")
        }
        FaultKind::UnknownHead { .. } => leaves_open(unread, "heads", "id"),
        FaultKind::UnknownValveBox { .. } => leaves_open(unread, "valve_boxes", "id"),
        // Places that could not be read are stand-ins that are nowhere, so these are about places that could.
        FaultKind::Inside { .. } | FaultKind::SamePlace { .. } => false,
        FaultKind::FarOutside { .. } | FaultKind::TooWide { .. } => unread.place == "units",
        FaultKind::Impossible { .. } if unread.place == "units" => true,
        _ => within(&fault.place, &unread.place),
    }
}

/// Whether one place is the other or lies in it.
fn within(inner: &str, outer: &str) -> bool {
    inner.strip_prefix(outer).is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
}

/// Whether, for want of what could not be read, the values of a key of some list are not all known.
fn leaves_open(unread: &Fault, list: &str, key: &str) -> bool {
    let Some(rest) = unread.place.strip_prefix(list) else { return false };
    let inside_item = rest.split_once("].").map(|(_, inside)| inside);
    inside_item.is_none_or(|inside| within(inside, key))
}

/// The text without the mark of byte order that some editors put in front.
fn without_mark(text: &str) -> &str {
    text.strip_prefix('\u{feff}').unwrap_or(text)
}

fn refused(message: String) -> SiteFaults {
    SiteFaults { faults: vec![Fault { place: String::new(), what: FaultKind::Refused { message } }] }
}
