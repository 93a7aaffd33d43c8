//! The faults a site document can have: all of them are reported in one error, each with its place.

use super::day::NotADay;
use super::document::ObstacleKind;
use super::length::LengthError;
use super::spelling;
use crate::settings::{OutOfRange, Settings};
use std::fmt;

/// One fault of a document.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// Where it is, for example `heads[3].x` (lists count from 0); empty for the document as a whole.
    pub place: String,
    /// What is wrong there.
    pub what: FaultKind,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let place = if self.place.is_empty() { "document" } else { &self.place };
        write!(f, "{place}: {}", self.what)
    }
}

/// What can be wrong. Values are as written, in the document's units, unless a field's name says otherwise.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum FaultKind {
    /// A key that must be there is not.
    #[error("is missing")]
    MissingKey,
    /// A key the format does not have.
    #[error("{}", unknown_key(key, allowed))]
    UnknownKey {
        /// The key.
        key: String,
        /// The keys that may stand there.
        allowed: &'static [&'static str],
    },
    /// A key given twice.
    #[error("key given more than once")]
    RepeatedKey,
    /// A value of the wrong type.
    #[error("expected {expected}, found {found}")]
    WrongType {
        /// What should stand there.
        expected: &'static str,
        /// What stands there.
        found: String,
    },
    /// A list of the wrong length.
    #[error("expected {expected} values, found {found}")]
    WrongLength {
        /// How many there should be.
        expected: usize,
        /// How many there are.
        found: usize,
    },
    /// A word outside the list of allowed ones.
    #[error("{found:?} is not one of: {}{}", allowed.join(", "), spelling::word_hint(found, allowed))]
    UnknownName {
        /// The word.
        found: String,
        /// The allowed ones.
        allowed: &'static [&'static str],
    },
    /// The value has a shape that the data model behind the format refuses.
    #[error("cannot be read: {message}")]
    Refused {
        /// What the data model says.
        message: String,
    },
    /// A number that is infinite or no number.
    #[error("{value} is not a finite number")]
    NonFinite {
        /// The value.
        value: f64,
    },
    /// A text without characters.
    #[error("is empty")]
    Empty,
    /// A number that must be above zero.
    #[error("{value} is not above 0")]
    NotPositive {
        /// The value.
        value: f64,
    },
    /// A number that must not be below zero.
    #[error("{value} is below 0")]
    Negative {
        /// The value.
        value: f64,
    },
    /// A probability or share outside 0 to 1.
    #[error("{value} is not a probability from 0 to 1")]
    NotAProbability {
        /// The value.
        value: f64,
    },
    /// A number outside its range.
    #[error("{value} is outside {least} to {greatest}")]
    OutOfRange {
        /// The value.
        value: f64,
        /// Least allowed value.
        least: f64,
        /// Greatest allowed value.
        greatest: f64,
    },
    /// A depth nobody digs through turf: most likely a slip of the units.
    #[error(
        "a depth of {value} is impossible: above 0 and at most {limit} is expected; are the units right?"
    )]
    ImpossibleDepth {
        /// The depth.
        value: f64,
        /// The greatest depth accepted.
        limit: f64,
    },
    /// A setting outside its range.
    #[error("{} is outside {} to {}", .0.value, .0.least, .0.greatest)]
    Setting(OutOfRange),
    /// A setting that does not exist.
    #[error(
        "there is no setting of that name{}",
        spelling::hint(name, Settings::FIELDS.iter().map(|field| field.name))
    )]
    UnknownSetting {
        /// The name.
        name: String,
    },
    /// A text that is no day.
    #[error(transparent)]
    NotADay(NotADay),
    /// An id that an earlier item has.
    #[error("the id {id:?} is already used at {first}")]
    DuplicateId {
        /// The id.
        id: String,
        /// Place of the earlier item.
        first: String,
    },
    /// A zone that nothing else in the document knows.
    #[error("no head and no valve box has zone {zone:?}")]
    UnknownZone {
        /// The zone.
        zone: String,
    },
    /// A valve box feeds a zone that no head has, though every head has a zone.
    #[error("zone {zone:?} has no heads")]
    ZoneWithoutHeads {
        /// The zone.
        zone: String,
    },
    /// A zone named twice in one list.
    #[error("zone {zone:?} is listed more than once")]
    RepeatedZone {
        /// The zone.
        zone: String,
    },
    /// A head that the document does not have.
    #[error("there is no head {id:?}")]
    UnknownHead {
        /// The id.
        id: String,
    },
    /// A head that one test names twice.
    #[error("head {id:?} is named more than once")]
    RepeatedHead {
        /// The id.
        id: String,
    },
    /// A find that nothing can have reported.
    #[error(
        "a find with p_detect = 0 and p_false = 0: neither a line nor its absence can have been reported"
    )]
    ImpossibleFind,
    /// A valve box that the document does not have.
    #[error("there is no valve box {id:?}")]
    UnknownValveBox {
        /// The id.
        id: String,
    },
    /// Heads without a zone where no box has a valve that could feed them.
    #[error("head {head:?} carries no zone, and no valve box has a working valve that could feed it")]
    NoWorkingValve {
        /// The first such head.
        head: String,
    },
    /// Fewer valves than the zones fed and the spare ones need.
    #[error("{valves} valves, but zones and spare ones need {needed}")]
    TooFewValves {
        /// Valves given.
        valves: u32,
        /// Zones listed and spare valves together.
        needed: usize,
    },
    /// Fewer valves than the zones that must be fed by them.
    #[error(
        "there is room for {valves} working valve(s), but heads are on {} zones that no box lists ({}): count again, or list the \
         zones of each box; those that no box lists are then taken to be fed from out of sight",
        zones.len(), zones.join(", ")
    )]
    TooFewForZones {
        /// Working valves that no listed zone takes.
        valves: usize,
        /// The zones that no box lists.
        zones: Vec<String>,
    },
    /// Keys of which exactly one set must be given.
    #[error("give exactly one of: {}", choices.join("; "))]
    OneOf {
        /// The sets.
        choices: &'static [&'static str],
    },
    /// Keys that exclude each other.
    #[error("give at most one of: {}", choices.join("; "))]
    AtMostOne {
        /// The keys.
        choices: &'static [&'static str],
    },
    /// A key that makes sense only where a probe found a line.
    #[error("stands only beside found = true")]
    OnlyWhenFound,
    /// A found line lies deeper than the probe that found it.
    #[error("a cover of {cover} is more than the probe's depth of {depth}")]
    CoverBelowProbe {
        /// Ground above the line.
        cover: f64,
        /// Depth of the probe.
        depth: f64,
    },
    /// An outline with fewer than three corners.
    #[error("an outline needs 3 corners, this one has {found}")]
    TooFewCorners {
        /// Corners given.
        found: usize,
    },
    /// An outline that crosses or touches itself; edge k starts at corner k.
    #[error("the outline crosses itself: edges {first} and {second}")]
    SelfCrossing {
        /// One edge.
        first: usize,
        /// The other.
        second: usize,
    },
    /// An outline that holds no ground.
    #[error("the outline holds no ground")]
    NoArea,
    /// A path without length.
    #[error("the path has no length")]
    NoLength,
    /// A head, valve box or outlet where there can be none.
    #[error("lies inside a {} ({obstacle})", kind.name())]
    Inside {
        /// What it lies in.
        kind: ObstacleKind,
        /// Place of the obstacle.
        obstacle: String,
    },
    /// Two heads at one place.
    #[error("lies on {other}")]
    SamePlace {
        /// Place of the earlier head.
        other: String,
    },
    /// A head far outside the boundary: most likely a slip of a digit or of the units.
    #[error("lies {distance_m:.1} m outside the boundary; a slip of a digit or of the units?")]
    FarOutside {
        /// Distance from the boundary, metres.
        distance_m: f64,
    },
    /// A site too wide to be one: most likely a slip of a digit or of the units.
    #[error(
        "the site is {extent_m:.0} m wide, at most {limit_m} m is expected; a slip of a digit or of the units?"
    )]
    TooWide {
        /// Greatest extent, metres.
        extent_m: f64,
        /// Greatest extent accepted, metres.
        limit_m: f64,
    },
    /// A text that is no length.
    #[error(transparent)]
    NotALength(LengthError),
    /// A number, or true or false, written as a text.
    #[error("write {plain}, not the text {found:?}")]
    AsText {
        /// The text.
        found: String,
        /// What it says.
        plain: String,
    },
    /// Lists and tables within one another, deeper than any document needs.
    #[error("lists and tables are nested more than {limit} deep")]
    TooDeep {
        /// The greatest depth that is read.
        limit: usize,
    },
}

/// An unknown key with the one that may be meant, and those that are known.
fn unknown_key(key: &str, allowed: &[&str]) -> String {
    let hint = spelling::key_hint(key, allowed);
    let stop = if hint.ends_with('?') { "" } else { ";" };
    format!("unknown key{hint}{stop} known here: {}", allowed.join(", "))
}

/// Every fault of a document.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub struct SiteFaults {
    /// The faults: first what could not be read, then what does not make sense.
    pub faults: Vec<Fault>,
}

impl fmt::Display for SiteFaults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let count = self.faults.len();
        write!(f, "the site document has {count} fault{}:", if count == 1 { "" } else { "s" })?;
        self.faults.iter().try_for_each(|fault| write!(f, "\n  {fault}"))
    }
}
