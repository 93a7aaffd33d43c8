//! From a site to sampled layouts: independent draws of the law, in parallel, interruptible, reproducible from a seed.

mod convergence;
mod given_up;
mod layouts;
mod notes;
mod open;
mod probes;
mod strands;

use crate::class::Class;
use crate::diagnose::Gates;
use crate::effort::{Effort, Watched as Work};
use crate::error::Error;
use crate::evidence::Site;
use crate::layout::{Draw, OuterLaw, Piece, Pieces, System};
use crate::memory;
use crate::monitor::Monitor;
use crate::posterior::Limits;
use crate::prior::{Labels, Psi};
use crate::rng;
pub use convergence::{Convergence, Moved, Reported, Watched};
pub use layouts::Layouts;
pub use notes::chance_of_contradictions;
pub use probes::{false_find, look as probe_look};
use probes::{findings, surprises};
use rayon::prelude::*;
use std::sync::Arc;
use std::time::{Duration, Instant};
use strands::Strands;

/// Streams from here on draw marks; those below draw trees. One draw never shares a stream with another.
const MARK_STREAMS: u64 = 1 << 40;

/// Where the ways to assign heads to zones that a list would draw from hold less than this, ways are sampled by chains. Numerical
/// choice.
const NEARLY_ALL: f64 = 0.9;

/// Ways to assign heads below this are drawn from, but not summed over in exact forms. Numerical choice: the example `green` has ten
/// ways, and one above it.
const WORTH_A_SUM: f64 = 0.01;

/// Price of a draw, for each head: about as measured.
const DRAWN_HEAD: u64 = 1_000;

/// The monitor is told at least about this often.
const BEAT: Duration = Duration::from_millis(40);

/// How many layouts to draw, and from which seed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SampleOptions {
    /// Number of draws, at least two. Chains give all draws that the gates judged, which may be more.
    pub draws: usize,
    /// Seed; the draws depend on it alone, not on the number of threads.
    pub seed: u64,
}

/// How long to go on, and where zones are not known and chains over them do not agree yet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Patience {
    /// Chains are lengthened by doubling until they are this many times as long as at first.
    pub longest: usize,
    /// Whether an answer that did not pass is given all the same, marked as such.
    pub accept_unconverged: bool,
    /// The gates.
    pub gates: Gates,
    /// Most work that the call may take, in the units of [`Effort`].
    pub effort: u64,
}

impl Default for Patience {
    fn default() -> Self {
        Self { longest: 16, accept_unconverged: false, gates: Gates::default(), effort: Effort::USUAL }
    }
}

/// Draws layouts of a site: independent ones where zones are known or settled, else from chains over labellings.
///
/// # Errors
/// [`Error::NoLayout`]; [`Error::NotConverged`];
/// [`Error::BadArgument`] for fewer than two draws or too many finds; [`Error::TooMuchMemory`] for more draws than fit;
/// [`Error::OutOfEffort`]; [`Error::Interrupted`] if the monitor says so.
pub fn sample_layouts(
    site: &Arc<Site>,
    options: &SampleOptions,
    monitor: &dyn Monitor,
) -> Result<Layouts, Error> {
    sample_layouts_within(site, options, Limits::default(), &Patience::default(), monitor)
}

/// The same within given limits to the work (where they are met, [`Layouts::warnings`] says so) and with given patience.
///
/// # Errors
/// Those of [`sample_layouts`].
pub fn sample_layouts_within(
    site: &Arc<Site>,
    options: &SampleOptions,
    limits: Limits,
    patience: &Patience,
    monitor: &dyn Monitor,
) -> Result<Layouts, Error> {
    spending(site, options, limits, patience, &Effort::new(patience.effort), monitor)
}

/// The same, the work counted among other.
pub(crate) fn spending(
    site: &Arc<Site>,
    options: &SampleOptions,
    limits: Limits,
    patience: &Patience,
    effort: &Effort,
    monitor: &dyn Monitor,
) -> Result<Layouts, Error> {
    let sampled = sample(site, options, limits, patience, effort, monitor);
    let impossible = matches!(&sampled, Err(Error::NoLayout { system, .. }) if system == THE_SITE);
    match sampled {
        Err(Error::Interrupted | Error::NoLayout { .. }) if effort.is_spent() => {
            Err(given_up::error(site, patience, false, monitor))
        }
        Err(_) if impossible && !site.probes.is_empty() => {
            Err(given_up::error(site, patience, true, monitor))
        }
        sampled => sampled.map(|layouts| Layouts { work: effort.spent(), ..layouts }),
    }
}

/// Bytes that a draw takes: so many, and so many for each head; in chains so many more for each head, and beside all draws what
/// is kept of zones. As measured on the shipped examples: 9 and 18 kB a draw with known zones, 57 kB with unknown ones.
const DRAW_BYTES: usize = 400;
const HEAD_BYTES: usize = 680;
const STATE_BYTES: usize = 1_600;
const KEPT_BYTES: usize = 60_000_000;

/// The name under which no layout agrees with what was seen.
const THE_SITE: &str = "the site";

fn sample(
    site: &Arc<Site>,
    options: &SampleOptions,
    limits: Limits,
    patience: &Patience,
    effort: &Effort,
    monitor: &dyn Monitor,
) -> Result<Layouts, Error> {
    if options.draws < 2 {
        let allowed = "two or more: one draw has no error estimate";
        return Err(Error::BadArgument { name: "draws", value: options.draws as f64, allowed });
    }
    let findings = findings(site)?;
    memory::check(monitor, "draws", options.draws, DRAW_BYTES + HEAD_BYTES * site.heads.len(), 0)?;
    let listed = |labels: &Labels| strands::share(site, labels) >= NEARLY_ALL;
    let settled =
        Labels::settled(site, effort)?.filter(|labels| Psi::new(&site.settings).is_one() && listed(labels));
    let Some(labels) = settled else {
        let each = DRAW_BYTES + (HEAD_BYTES + STATE_BYTES) * site.heads.len();
        memory::check(monitor, "draws", options.draws.max(open::LEAST_DRAWS), each, KEPT_BYTES)?;
        let open = open::sample(site, options, patience, &findings, effort, monitor)?;
        return Ok(Layouts::over_zonings(site, options, findings, patience.effort, open));
    };
    let work = Work { monitor, progress: (0, options.draws), effort: effort.clone() };
    let weighed = |laws| Strands::new(laws, &findings, options, limits, &work).ok_or(Error::Interrupted);
    let probable = strands::laws(site, &labels, &[])?;
    let first = weighed(&probable)?;
    let chances = first.chances(site, &work).ok_or(Error::Interrupted)?;
    let lifted = Strands::lifted(site, &labels, &chances);
    let wider = if lifted.is_empty() { None } else { Some(strands::laws(site, &labels, &lifted)?) };
    let (laws, strands, chances) = match &wider {
        None => (&probable, first, chances),
        Some(laws) => {
            let strands = weighed(laws)?;
            let chances = strands.chances(site, &work).ok_or(Error::Interrupted)?;
            (laws, strands, chances)
        }
    };
    let draw = |k: usize| -> Result<(Draw, Vec<Piece>), Error> {
        let k = k as u64;
        if !effort.spend(DRAWN_HEAD * site.heads.len() as u64) {
            return Err(Error::Interrupted);
        }
        let (draw, law) = strands.sample(&mut rng::stream(options.seed, k));
        let draw = draw.ok_or_else(|| Error::NoLayout { system: THE_SITE.to_owned(), obstacle: None })?;
        let pieces = draw.pieces(law, &mut rng::stream(options.seed, MARK_STREAMS + k));
        Ok((draw, pieces))
    };
    let drawn = in_batches(options.draws, monitor, draw)?;
    let (draws, pieces): (Vec<Draw>, Vec<Vec<Piece>>) = drawn.into_iter().unzip();
    let mut warnings = told(site);
    let suspicions = if findings.is_empty() { labels.suspicions } else { strands.suspicions(site, laws) };
    warnings.extend(suspicions.iter().map(|suspicion| suspicion.sentence(site)));
    warnings.extend(surprises(site, &strands, &chances, &work).ok_or(Error::Interrupted)?);
    warnings.extend(strands.warnings(options.draws, limits));
    let effective = strands.effective(options.draws);
    let bearings = strands.bearings();
    let assessed = assessed(laws[0].law.systems(), &draws);
    let zoning_shares = strands.weights().to_vec();
    let zonings = laws.iter().map(|strand| strand.zone_of.clone()).collect();
    Ok(Layouts {
        zonings,
        zoning_shares,
        effort: patience.effort,
        work: 0,
        convergence: None,
        site: site.clone(),
        seed: options.seed,
        draws,
        pieces: Pieces::pack(pieces),
        effective,
        bearings,
        assessed,
        warnings,
        findings,
        laws: wider.unwrap_or(probable),
    })
}

/// Runs `work` for each of `0..total` in parallel batches sized by the clock, telling the monitor in between.
///
/// # Errors
/// The first error of `work` in order, or [`Error::Interrupted`].
pub fn in_batches<T: Send>(
    total: usize,
    monitor: &dyn Monitor,
    work: impl Fn(usize) -> Result<T, Error> + Sync,
) -> Result<Vec<T>, Error> {
    let mut done = Vec::with_capacity(total);
    let mut batch = rayon::current_num_threads().max(1);
    while done.len() < total {
        if !monitor.tick(done.len(), total) {
            return Err(Error::Interrupted);
        }
        let began = Instant::now();
        let end = total.min(done.len() + batch);
        let fresh: Result<Vec<T>, Error> = (done.len()..end).into_par_iter().map(&work).collect();
        done.extend(fresh?);
        let took = began.elapsed();
        if took < BEAT / 2 {
            batch *= 2;
        } else if took > BEAT {
            batch = (batch / 2).max(1);
        }
    }
    monitor.tick(total, total);
    Ok(done)
}

/// What the document itself gives cause to say: its notes, and station tests that contradict what is written or noted elsewhere.
pub fn told(site: &Site) -> Vec<String> {
    site.warnings().into_iter().chain(notes::contradicted(site)).collect()
}

/// A class is assessed where the document holds evidence of it; unknown lines always are.
fn assessed(systems: &[System], draws: &[Draw]) -> [bool; Class::ALL.len()] {
    let mut assessed = [false; Class::ALL.len()];
    assessed[Class::Unknown as usize] = true;
    for (index, system) in systems.iter().enumerate() {
        // A valve whose heads nobody saw is no evidence of where its laterals lie.
        let bare = |draw: &Draw| draw.trees[index].runs.is_empty();
        if system.class != Class::Lateral || !draws.iter().all(bare) {
            assessed[system.class as usize] = true;
        }
        let wired = draws.first().is_some_and(|draw| !draw.trees[index].wired.is_empty());
        assessed[Class::ControlWire as usize] |= wired;
    }
    assessed
}
