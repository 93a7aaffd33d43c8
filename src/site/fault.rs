//! The faults a site document can have: all of them are reported in one error, each with its place.

use super::day::NotADay;
use super::document::ObstacleKind;
use super::fault_words::{did_you_mean, setting, setting_hint, unknown_key};
use super::figures::{about, length, place, typed};
use super::length::LengthError;
use super::spelling;
use super::units::Units;
use crate::settings::{Fight, OutOfRange};
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
    /// A key or setting of the present format in a document of the first.
    #[error(
        "{key} belongs to the format underturf-site/2, and this document says underturf-site/1: write {former}, or change the format \
         and every such word"
    )]
    OfPresentFormat {
        /// The key.
        key: &'static str,
        /// What the first format calls it.
        former: &'static str,
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
    #[error("{} is not a finite number", typed(*value))]
    NonFinite {
        /// The value.
        value: f64,
    },
    /// A text without characters.
    #[error("is empty")]
    Empty,
    /// A number that must be above zero.
    #[error("{} is not above 0", typed(*value))]
    NotPositive {
        /// The value.
        value: f64,
    },
    /// A number that must not be below zero.
    #[error("{} is below 0", typed(*value))]
    Negative {
        /// The value.
        value: f64,
    },
    /// A probability or share outside 0 to 1.
    #[error("{} is not a probability from 0 to 1", typed(*value))]
    NotAProbability {
        /// The value.
        value: f64,
    },
    /// A number outside its range.
    #[error("{} is outside {} to {}", typed(*value), typed(*least), typed(*greatest))]
    OutOfRange {
        /// The value.
        value: f64,
        /// Least allowed value.
        least: f64,
        /// Greatest allowed value.
        greatest: f64,
    },
    /// A size that nobody digs or plants: most likely a slip of the units.
    #[error(
        "a {what} of {} {unit} is impossible: at most {} {unit} is expected. {reason} Are the units right?",
        typed(*value), about(*limit)
    )]
    Impossible {
        /// What it is a size of: `depth`, `radius`.
        what: &'static str,
        /// The value.
        value: f64,
        /// The greatest value accepted.
        limit: f64,
        /// The document's unit.
        unit: &'static str,
        /// Why there is such a limit.
        reason: &'static str,
    },
    /// A setting outside its range.
    #[error("{}", setting(.0))]
    Setting(OutOfRange),
    /// Two settings that exclude each other.
    #[error("{0}: no value lies between them; change one of the two")]
    SettingsFight(Fight),
    /// A setting that does not exist.
    #[error("there is no setting of that name{}; the table of settings lists them", setting_hint(name))]
    UnknownSetting {
        /// The name.
        name: String,
    },
    /// A setback that is not among the published rows.
    #[error(
        "there is no setback {name:?}{}; there are {}",
        spelling::hint(name, known.iter().copied()), known.join(", ")
    )]
    UnknownSetback {
        /// The name.
        name: String,
        /// Names of the rows.
        known: Vec<&'static str>,
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
    #[error("no head and no valve box has zone {zone:?}{}", did_you_mean(meant.as_deref()))]
    UnknownZone {
        /// The zone.
        zone: String,
        /// The zone that was probably meant.
        meant: Option<String>,
    },
    /// A zone named twice in one list.
    #[error("zone {zone:?} is listed more than once")]
    RepeatedZone {
        /// The zone.
        zone: String,
    },
    /// A head that the document does not have.
    #[error("there is no head {id:?}{}", did_you_mean(meant.as_deref()))]
    UnknownHead {
        /// The id.
        id: String,
        /// The head that was probably meant.
        meant: Option<String>,
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
    #[error("there is no valve box {id:?}{}", did_you_mean(meant.as_deref()))]
    UnknownValveBox {
        /// The id.
        id: String,
        /// The box that was probably meant.
        meant: Option<String>,
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
    /// A feed of an outlet that can have no other.
    #[error("a quick coupler stands on the mainline, which feeds it through the ground: leave out this key")]
    CouplerIsFed,
    /// A found line lies deeper than the probe that found it.
    #[error("a cover of {} is more than the probe's depth of {}", typed(*cover), typed(*depth))]
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
    #[error(
        "the outline crosses itself at {}: the edge from corner {first} {} to the next corner meets the one from corner {second} {}. \
         Give the corners in order round the outline, each once (corners count from 0)",
        place(*at), place(from[0]), place(from[1])
    )]
    SelfCrossing {
        /// One edge, by the index of its first corner.
        first: usize,
        /// The other.
        second: usize,
        /// Where the two edges begin.
        from: Box<[[f64; 2]; 2]>,
        /// Where they meet.
        at: [f64; 2],
    },
    /// An outline that holds no ground.
    #[error("the outline holds no ground")]
    NoArea,
    /// A path without length.
    #[error("the path has no length")]
    NoLength,
    /// A head, valve box or outlet where there can be none.
    #[error(
        "{thing} lies {} inside a {} ({obstacle}), more than its survey error explains: correct its place or the outline{}",
        length(*inside_m, *units), kind.name(), if *has_sd { ", or give `sd` if it was measured more roughly" } else { "" }
    )]
    Inside {
        /// The thing, by its id.
        thing: String,
        /// How far inside it lies, metres.
        inside_m: f64,
        /// Whether the document may name the error of its place.
        has_sd: bool,
        /// What it lies in.
        kind: ObstacleKind,
        /// Place of the obstacle.
        obstacle: String,
        /// Units of the document.
        units: Units,
    },
    /// Two heads at one place on different zones.
    #[error(
        "{thing} on zone {zone:?} lies on {other}, which is on zone {other_zone:?}: one pipe end cannot be on two zones. Correct a \
         place, or delete one of the two"
    )]
    SamePlace {
        /// The head, by its id.
        thing: String,
        /// Its zone.
        zone: String,
        /// The earlier head, with its place.
        other: String,
        /// Its zone.
        other_zone: String,
    },
    /// A head far outside the boundary: most likely a slip of a digit or of the units.
    #[error(
        "{thing} lies {} outside the boundary, more than {} is not believed: correct its place or the boundary; a slip of a digit \
         or of the units?",
        length(*distance_m, *units), length(*limit_m, *units)
    )]
    FarOutside {
        /// The head, by its id.
        thing: String,
        /// Distance from the boundary, metres.
        distance_m: f64,
        /// Greatest distance accepted, metres.
        limit_m: f64,
        /// Units of the document.
        units: Units,
    },
    /// A site too wide to be one: most likely a slip of a digit or of the units.
    #[error(
        "the site is {} wide, at most {} is expected; a slip of a digit or of the units? It reaches from {} to {}",
        length(*extent_m, *units), length(*limit_m, *units), ends[0], ends[1]
    )]
    TooWide {
        /// Greatest extent, metres.
        extent_m: f64,
        /// Greatest extent accepted, metres.
        limit_m: f64,
        /// Places of the outermost things.
        ends: Box<[String; 2]>,
        /// Units of the document.
        units: Units,
    },
    /// Coordinates that look like longitude and latitude.
    #[error(
        "the coordinates look like longitude and latitude in degrees (x {} to {}, y {} to {}): project them to metres or feet first, \
         x to the east and y to the north, for example to the UTM zone or state plane of the place. Where the origin lies on Earth can \
         be given under `frame`",
        typed(x[0]), typed(x[1]), typed(y[0]), typed(y[1])
    )]
    Degrees {
        /// Least and greatest x.
        x: [f64; 2],
        /// Least and greatest y.
        y: [f64; 2],
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
    /// A fault of a length that was written with a unit of its own.
    #[error("{what}; {text:?} is written there")]
    Written {
        /// What is written.
        text: String,
        /// Its fault, in the document's unit.
        what: Box<FaultKind>,
    },
    /// A fault of a thing that has an id.
    #[error("{what} ({thing})")]
    Of {
        /// The thing, by its id.
        thing: String,
        /// Its fault.
        what: Box<FaultKind>,
    },
}

impl FaultKind {
    /// The same fault, said with the thing that has it, where it does not name it by itself.
    pub(super) fn about(self, thing: Option<String>) -> Self {
        match (self, thing) {
            (
                what @ (Self::Inside { .. }
                | Self::SamePlace { .. }
                | Self::FarOutside { .. }
                | Self::Of { .. }),
                _,
            )
            | (what @ Self::DuplicateId { .. }, _)
            | (what, None) => what,
            (what, Some(thing)) => Self::Of { thing, what: Box::new(what) },
        }
    }

    /// The same fault, said with the text that stands there, if one does.
    pub(super) fn written(self, text: Option<&str>) -> Self {
        match text {
            None => self,
            Some(text) => Self::Written { text: text.to_owned(), what: Box::new(self) },
        }
    }

    /// The fault itself, without the thing that has it and what is written there.
    pub fn plain(&self) -> &Self {
        match self {
            Self::Of { what, .. } | Self::Written { what, .. } => what.plain(),
            other => other,
        }
    }
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
