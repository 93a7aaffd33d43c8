//! What can go wrong, each with the value that broke the rule.

mod argument;
mod kept;
mod numbers;
mod out_of_effort;
mod too_much_memory;
mod weights;

use crate::mcmc::diagnostics::{ChainsError, CheckError, Failure};
use crate::planting::TableError;
use crate::site::SiteFaults;
use out_of_effort::out_of_effort;
use std::fmt;
use too_much_memory::too_much_memory;

pub use argument::{Allowed, ArgumentError, GridUse};
pub use kept::KeptFault;
pub use out_of_effort::Unexplained;
pub use too_much_memory::MemoryUse;
pub use weights::WeightFault;

/// What no layout reaches in all its ends.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unreachable {
    /// One system, by its name: `zone 1`, `mainline`, `potable`.
    System(String),
    /// The site as a whole: no layout of all its systems agrees with what was seen.
    Site,
    /// The site as a whole, on whichever zones its heads are taken to be.
    EveryZoning,
}

impl fmt::Display for Unreachable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::System(name) => name,
            Self::Site => "the site",
            Self::EveryZoning => "the site, whichever zones its heads are on",
        })
    }
}

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
         enter the heads that come up as station tests, ask for more draws or a longer run, or accept the answer as it is; it \
         is then marked in every output",
        lines(failures)
    )]
    NotConverged {
        /// Each convergence check that was not passed: the quantity, its value and the limit.
        failures: Vec<Failure>,
        /// Sweeps of each chain.
        sweeps: usize,
        /// Number of chains.
        chains: usize,
    },
    /// What was seen is so improbable under the rest of the picture that layouts which agree with it were not found within the
    /// effort allowed, or that there are none; or the site asks for more work than is allowed.
    #[error("{}", out_of_effort(*effort, *impossible, *probes, unexplained, *unlabelled))]
    OutOfEffort {
        /// The effort allowed, as a multiple of what is shipped.
        effort: f64,
        /// Whether no layout agrees with what was seen, however long one looks.
        impossible: bool,
        /// Number of probes of the site.
        probes: usize,
        /// The probes that the rest of the picture hardly explains, the least likely first.
        unexplained: Vec<Unexplained>,
        /// Heads without a zone.
        unlabelled: usize,
    },
    /// The determinant form asks for more work than is allowed.
    #[error(
        "the determinant form takes more work than the effort allowed ({effort}; 1 is about a minute): take the general form, or \
         fewer digs at once, or sample the layouts with a greater effort"
    )]
    DeterminantTooDear {
        /// The effort allowed, as a multiple of what is shipped.
        effort: f64,
    },
    /// The determinant form sums over a finite list of ways to assign heads to zones, and here zones are sampled.
    #[error(
        "the determinant form needs sites whose zones are known or settled by station tests; here they are sampled"
    )]
    DeterminantNeedsZones,
    /// The determinant form takes finds as lines of systems or unmapped ones, and here some may be metal lines.
    #[error("the determinant form takes no find as a metal line, and here probes may have met one")]
    DeterminantKnowsNoMetal,
    /// More is asked for than fits into memory.
    #[error("{}", too_much_memory(*used, *asked, *bytes, *fit, *limit))]
    TooMuchMemory {
        /// What there would be too much of.
        used: MemoryUse,
        /// How many are asked for.
        asked: usize,
        /// Bytes that they need, about.
        bytes: f64,
        /// How many fit.
        fit: usize,
        /// Bytes that may be used.
        limit: u64,
    },
    /// No layout reaches every end of a system.
    #[error(
        "no layout is possible for {system}: some end of it cannot be reached{}",
        obstacle.as_ref().map(|place| format!("; the way is blocked by {place}")).unwrap_or_default()
    )]
    NoLayout {
        /// What cannot be laid out.
        system: Unreachable,
        /// The obstacle in the way, by its place in the document, where one can be named.
        obstacle: Option<String>,
    },
    /// An argument breaks its rule.
    #[error(transparent)]
    Argument(#[from] ArgumentError),
    /// Consequence weights that cannot be used.
    #[error("consequence weights: {}", joined(faults))]
    BadWeights {
        /// Every fault of them.
        faults: Vec<WeightFault>,
    },
    /// Kept layouts that cannot be taken up again.
    #[error("these layouts cannot be taken up again: {0}")]
    Kept(#[from] KeptFault),
    /// Draws that no diagnostic can judge; no layout should give such.
    #[error(transparent)]
    Chains(#[from] ChainsError),
    /// Quantities that no convergence check can judge; no layout should give such.
    #[error(transparent)]
    Check(#[from] CheckError),
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

/// A line each, indented.
fn lines<T: ToString>(things: &[T]) -> String {
    things.iter().map(T::to_string).collect::<Vec<_>>().join("\n  ")
}

/// One after the other.
fn joined<T: ToString>(things: &[T]) -> String {
    things.iter().map(T::to_string).collect::<Vec<_>>().join("; ")
}

fn no_room(asked: usize, fit: usize, proven: bool, candidates: usize) -> String {
    let found = if proven { "no more than" } else { "room was found for" };
    format!(
        "{asked} spots do not fit: {found} {fit}, among {candidates} places that are neither barred nor out of bounds. \
         Ask for fewer, or take less spacing, a smaller gap, smaller margins or a finer grid; a higher limit on the chance of \
         a line within the setback of a tree takes more places, and so does reaching into the protected roots of standing trees"
    )
}
