//! What can go wrong, each with the value that broke the rule.

use crate::planting::TableError;
use crate::site::SiteFaults;

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
    /// A question about layouts asks for more work than is allowed.
    #[error(
        "{what} takes more work than the effort allowed ({effort}; 1 is about a minute): {instead}, or sample the layouts with \
         a greater `effort`"
    )]
    TooDear {
        /// What was asked for.
        what: &'static str,
        /// The effort allowed, as a multiple of what is shipped.
        effort: f64,
        /// What to ask for instead.
        instead: &'static str,
    },
    /// More is asked for than fits into memory.
    #[error("{}", too_much_memory(name, *asked, *bytes, *fit, *limit))]
    TooMuchMemory {
        /// What there would be too much of: `draws`, `cells`.
        name: &'static str,
        /// How many are asked for.
        asked: usize,
        /// Bytes that they need, about.
        bytes: f64,
        /// How many fit.
        fit: usize,
        /// Bytes that may be used.
        limit: u64,
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

/// A probe that the rest of the picture hardly explains.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unexplained {
    /// Its place in the document.
    pub probe: usize,
    /// Whether it found a line.
    pub found: bool,
    /// Where it is, document units.
    pub at: [f64; 2],
    /// Chance of what it saw, given the picture without probes and the clear ones before it.
    pub chance: f64,
}

impl Unexplained {
    fn sentence(&self) -> String {
        let [x, y] =
            self.at.map(|z| format!("{:.2}", z).trim_end_matches('0').trim_end_matches('.').to_owned());
        let saw = if self.found { "found a line" } else { "found nothing" };
        format!(
            "probes[{}] at ({x}, {y}) {saw}: the rest of the picture gives that {}",
            self.probe,
            odds(self.chance)
        )
    }
}

/// A small chance as people say it.
fn odds(chance: f64) -> String {
    let least = 1e-9;
    let words = if chance < least { "less than 1 in" } else { "1 in" };
    let one_in = 1.0 / chance.max(least);
    let step = 10f64.powf((one_in.log10().floor() - 1.0).max(0.0));
    format!("{words} {}", thousands((one_in / step).round() * step))
}

/// A whole number with commas.
fn thousands(number: f64) -> String {
    let digits = format!("{number:.0}");
    let places = digits.chars().enumerate();
    let comma = |place: usize| place > 0 && (digits.len() - place).is_multiple_of(3);
    places.flat_map(|(place, digit)| comma(place).then_some(',').into_iter().chain([digit])).collect()
}

fn out_of_effort(
    effort: f64,
    impossible: bool,
    probes: usize,
    unexplained: &[Unexplained],
    unlabelled: usize,
) -> String {
    let mut lines = vec![match (impossible, probes) {
        (true, _) => "No layout of pipes agrees with what the probes saw; no answer is given.".to_owned(),
        (false, 0) => format!(
            "This site takes more work than the effort allowed ({effort}; 1 is about a minute); no answer is given."
        ),
        (false, _) => format!(
            "Layouts that agree with all {probes} probes were not found within the effort allowed ({effort}; 1 is about a \
             minute); no answer is given."
        ),
    }];
    lines.extend(unexplained.iter().map(|probe| format!("  {}", probe.sentence())));
    if probes > 0 && unexplained.is_empty() {
        lines.push("  No single probe is at odds with the rest of the picture.".to_owned());
    }
    if probes > 0 {
        lines.push(
            "Check where these probes were dug, their depth and their units, and the zones of the heads near them. A line that \
             was found may be an abandoned one: leave that probe out to see. If in doubt, dig again."
                .to_owned(),
        );
    }
    if unlabelled > 0 {
        lines.push(format!(
            "The zones of {unlabelled} heads are not known: run the valves and enter the heads that come up as station tests."
        ));
    }
    if !impossible {
        lines.push(
            "If all is right, ask for fewer draws, or allow more work with a greater `effort`.".to_owned(),
        );
    }
    lines.join("\n")
}

fn too_much_memory(name: &str, asked: usize, bytes: f64, fit: usize, limit: u64) -> String {
    let gb = |bytes: f64| match bytes / 1e9 {
        gb if gb >= 9.95 => format!("{gb:.0} GB"),
        gb if gb >= 0.095 => format!("{gb:.1} GB"),
        gb => format!("{:.0} MB", (1000.0 * gb).ceil()),
    };
    // Two figures say all that an estimate knows, and no more than fits.
    let step = 10f64.powf(((fit.max(1) as f64).log10().floor() - 1.0).max(0.0));
    format!(
        "{name} = {} needs about {} of memory; at most {} fit in {} (`memory_limit_gb`)",
        thousands(asked as f64),
        gb(bytes),
        thousands((fit as f64 / step).floor() * step),
        gb(limit as f64)
    )
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
