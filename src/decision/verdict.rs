//! What to do with a dig. There is no verdict that calls a spot safe.

use super::known::Known;
use crate::site::document::Method;

/// From this chance on a line has to be uncovered by hand, or the dig shifted: as likely as not.
pub const LIKELY: f64 = 0.5;

/// What to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// The dig enters the tolerance zone of a mark.
    ToleranceZone,
    /// The dig stands on metal that a detector heard.
    FlaggedMetal,
    /// A line is as likely as not.
    Uncover,
    /// The chance is at or above the limit.
    ProbeOrShift,
    /// The chance is below the limit, but a line is likelier within the setback of the tree than its limit allows.
    LineInSetback,
    /// The chance is below the limit.
    HandDigFirst,
}

impl Verdict {
    /// The verdict for a dig: what is known goes before any chance, the chance of a strike before that of a line in the
    /// setback.
    pub fn of(known: Option<Known>, p: f64, limit: f64, line_in_setback: bool) -> Self {
        match known {
            Some(Known::ToleranceZone) => Self::ToleranceZone,
            Some(Known::FlaggedMetal) => Self::FlaggedMetal,
            None if p >= LIKELY => Self::Uncover,
            None if p >= limit => Self::ProbeOrShift,
            None if line_in_setback => Self::LineInSetback,
            None => Self::HandDigFirst,
        }
    }

    /// The verdict as a sentence for people who dig by this method: a machine waits until hands have done their part. `metal`
    /// is what the flagged metal is called.
    pub fn sentence(self, method: Method, metal: &str) -> String {
        let said = match (self, method) {
            (Self::ToleranceZone, _) => {
                "inside a tolerance zone: call the one-call centre, wait for the marks, dig by hand or vacuum only"
            }
            (Self::FlaggedMetal, Method::Hand) => return format!("on {metal}: uncover by hand first"),
            (Self::FlaggedMetal, Method::Machine) => {
                return format!("on {metal}: uncover by hand first, no machine here before that");
            }
            (Self::Uncover, Method::Hand) => "a line is likely: uncover it by hand, or shift the dig",
            (Self::Uncover, Method::Machine) => {
                "a line is likely: no machine here before it is uncovered by hand, or shift the dig"
            }
            (Self::ProbeOrShift, Method::Hand) => "probe by hand first, or shift the dig",
            (Self::ProbeOrShift, Method::Machine) => {
                "no machine here before a probe by hand, or shift the dig"
            }
            (Self::LineInSetback, Method::Hand) => {
                "a line is likely within its setback: shift the tree; dig by hand to the usual cover first"
            }
            (Self::LineInSetback, Method::Machine) => {
                "a line is likely within its setback: shift the tree; dig by hand to the usual cover first, and only then by \
                 machine"
            }
            (Self::HandDigFirst, Method::Hand) => "dig by hand to the usual cover first",
            (Self::HandDigFirst, Method::Machine) => {
                "dig by hand to the usual cover first, and only then by machine"
            }
        };
        said.to_owned()
    }

    /// A short name for tables.
    pub const fn name(self) -> &'static str {
        match self {
            Self::ToleranceZone => "tolerance_zone",
            Self::FlaggedMetal => "flagged_metal",
            Self::Uncover => "uncover",
            Self::ProbeOrShift => "probe_or_shift",
            Self::LineInSetback => "line_in_setback",
            Self::HandDigFirst => "hand_dig_first",
        }
    }
}
