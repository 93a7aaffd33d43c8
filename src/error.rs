//! What can go wrong, each with the value that broke the rule.

use crate::evidence::SiteFaults;

/// An error of the engine.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// The document breaks its rules.
    #[error(transparent)]
    Site(#[from] SiteFaults),
    /// Heads carry no zone, and no station test says enough to give them one.
    #[error(
        "heads without a zone: {}. Name every zone, run each valve and enter the heads that come up as station tests, \
         or give every head its zone",
        heads.join(", ")
    )]
    UnlabelledHeads {
        /// Their ids.
        heads: Vec<String>,
    },
    /// The document names more zones than heads that could be on them.
    #[error("zones without a head: {}. There are fewer heads than zones, and every zone feeds at least one", zones.join(", "))]
    ZonesWithoutHeads {
        /// Names of the zones that no head carries.
        zones: Vec<String>,
    },
    /// No layout reaches every end of a system.
    #[error(
        "no layout is possible for {system}: some end of it cannot be reached{}",
        obstacle.as_ref().map(|place| format!("; the way is blocked by {place}")).unwrap_or_default()
    )]
    NoLayout {
        /// The system: `zone 1`, `mainline`, `potable`.
        system: String,
        /// The obstacle in the way, by its place in the document, where one can be named.
        obstacle: Option<String>,
    },
    /// An argument is out of its range.
    #[error("{name} = {value} is out of range: {allowed}")]
    BadArgument {
        /// Name of the argument.
        name: &'static str,
        /// The value given.
        value: f64,
        /// What is allowed.
        allowed: &'static str,
    },
    /// The caller stopped the computation.
    #[error("stopped before it was finished")]
    Interrupted,
}
