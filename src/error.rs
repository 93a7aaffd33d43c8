//! What can go wrong, each with the value that broke the rule.

use crate::evidence::SiteFaults;
use crate::planting::TableError;

/// An error of the engine.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// The document breaks its rules.
    #[error(transparent)]
    Site(#[from] SiteFaults),
    /// Heads carry no zone where zones have to be known.
    #[error(
        "heads without a zone: {}. Give every head its zone, or sample layouts over all ways to assign them",
        heads.join(", ")
    )]
    UnlabelledHeads {
        /// Their ids.
        heads: Vec<String>,
    },
    /// Chains over unknown zones do not agree with each other, or have not gone far enough, within the budget.
    #[error(
        "the answer is not reliable and is withheld after {sweeps} sweeps of {chains} chains:\n  {}\nRun the valves and \
         enter the heads that come up as station tests, ask for more draws or a longer run, or take the answer as it is by \
         saying so (`accept_unconverged`); it is then marked in every output",
        failures.join("\n  ")
    )]
    NotConverged {
        /// Sentences that say which quantity failed, its value and the limit.
        failures: Vec<String>,
        /// Sweeps of each chain.
        sweeps: usize,
        /// Number of chains.
        chains: usize,
    },
    /// Something asks for a finite list of ways to assign heads to zones where zones are sampled.
    #[error("{what} needs sites whose zones are known or settled by station tests; here they are sampled")]
    ZonesAreSampled {
        /// What was asked for.
        what: &'static str,
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
    /// Consequence weights that cannot be used.
    #[error("consequence weights: {}", faults.join("; "))]
    BadWeights {
        /// A sentence for each fault.
        faults: Vec<String>,
    },
    /// A published table does not tell.
    #[error(transparent)]
    Table(#[from] TableError),
    /// There is no room for as many spots as asked for.
    #[error("{}", no_room(*asked, *fit, *proven, *candidates))]
    NoRoom {
        /// Spots asked for.
        asked: usize,
        /// Spots that were placed at the spacing asked for.
        fit: usize,
        /// Whether no more than these fit, or only no more were found.
        proven: bool,
        /// Candidate places left after what is barred.
        candidates: usize,
    },
    /// The caller stopped the computation.
    #[error("stopped before it was finished")]
    Interrupted,
}

fn no_room(asked: usize, fit: usize, proven: bool, candidates: usize) -> String {
    let found = if proven { "no more than" } else { "room was found for" };
    format!(
        "{asked} spots do not fit: {found} {fit}, among {candidates} places that are neither barred nor out of bounds. \
         Ask for fewer, or take less spacing, a smaller gap, smaller margins or a finer grid; a higher `setback_limit` takes \
         places where a line is likelier within the setback of a tree; `spare_roots=False` lets spots reach protected roots of \
         standing trees"
    )
}
