//! One sampling of a site: from a list of zonings where they are known or settled, else by chains over them.

use super::batches::in_batches;
use super::known_zones::{self, KnownZones};
use super::layouts::{Layouts, assessed};
use super::metal::SampledMetal;
use super::notes;
use super::options::{RunBudget, SampleOptions};
use super::probes::{findings, surprises};
use super::unknown_zones;
use crate::effort::{Effort, Watched as Work};
use crate::error::{ArgumentError, Error, MemoryUse, Unreachable};
use crate::inference::posterior::Limits;
use crate::layout::{Draw, OuterPrior, Piece, Pieces};
use crate::memory;
use crate::model::{ListedZonings, Psi};
use crate::monitor::Monitor;
use crate::rng;
use crate::site::Site;
use std::sync::Arc;

/// Streams from here on draw run attributes; those below draw trees. One draw never shares a stream with another.
const ATTRIBUTE_STREAMS: u64 = 1 << 40;

/// Where the ways to assign heads to zones that a list would draw from hold less than this, ways are sampled by chains.
/// Numerical choice.
const NEARLY_ALL: f64 = 0.9;

/// Price of a draw, for each head: about as measured.
const DRAWN_HEAD: u64 = 1_000;

/// Bytes that a draw takes: so many, and so many for each head; in chains so many more for each head, and beside all draws what
/// is kept of zones. As measured on the shipped examples: 9 and 18 kB a draw with known zones, 57 kB with unknown ones.
const DRAW_BYTES: usize = 400;
const HEAD_BYTES: usize = 680;
const STATE_BYTES: usize = 1_600;
const KEPT_BYTES: usize = 60_000_000;

/// Refuses numbers of draws that are too few, or that do not fit in memory, before any work.
///
/// # Errors
/// [`ArgumentError::TooFewDraws`]; [`Error::Memory`].
pub(super) fn check_draws(site: &Site, options: &SampleOptions, monitor: &dyn Monitor) -> Result<(), Error> {
    if options.draws < SampleOptions::LEAST_DRAWS {
        return Err(
            ArgumentError::TooFewDraws { draws: options.draws, least: SampleOptions::LEAST_DRAWS }.into()
        );
    }
    memory::check(monitor, MemoryUse::Draws, options.draws, DRAW_BYTES + HEAD_BYTES * site.heads.len(), 0)
}

/// Samples layouts.
///
/// # Errors
/// Those of [`super::sample_layouts`]; [`Error::Interrupted`] also where the effort is spent.
pub(super) fn sample(
    site: &Arc<Site>,
    options: &SampleOptions,
    limits: Limits,
    budget: &RunBudget,
    metal: Option<&SampledMetal>,
    effort: &Effort,
    monitor: &dyn Monitor,
) -> Result<Layouts, Error> {
    let findings = findings(site)?;
    let listed = |list: &ListedZonings| known_zones::share(site, list) >= NEARLY_ALL;
    let settled = ListedZonings::settled(site, effort)?
        .filter(|list| Psi::new(&site.settings).is_one() && listed(list));
    let Some(list) = settled else {
        let each = DRAW_BYTES + (HEAD_BYTES + STATE_BYTES) * site.heads.len();
        memory::check(
            monitor,
            MemoryUse::Draws,
            options.draws.max(unknown_zones::LEAST_DRAWS),
            each,
            KEPT_BYTES,
        )?;
        let open = unknown_zones::sample(site, options, budget, &findings, metal, effort, monitor)?;
        return Ok(Layouts::over_zonings(site, options, findings, budget.effort, open));
    };
    let work = Work { monitor, progress: (0, options.draws), effort: effort.clone() };
    let probable = known_zones::models(site, &list, &[])?;
    let met = metal.and_then(|metal| metal.met(&findings, probable.first()?.prior.grid_bearings()));
    let weighed = |models| {
        KnownZones::new(models, &findings, met.clone(), options, limits, &work).ok_or(Error::Interrupted)
    };
    let first = weighed(&probable)?;
    let chances = first.chances(site, &work).ok_or(Error::Interrupted)?;
    let lifted = KnownZones::lifted(site, &list, &chances);
    let wider = if lifted.is_empty() { None } else { Some(known_zones::models(site, &list, &lifted)?) };
    let (models, zones, chances) = match &wider {
        None => (&probable, first, chances),
        Some(models) => {
            let zones = weighed(models)?;
            let chances = zones.chances(site, &work).ok_or(Error::Interrupted)?;
            (models, zones, chances)
        }
    };
    let draw = |k: usize| -> Result<(Draw, Vec<Piece>), Error> {
        let k = k as u64;
        if !effort.spend(DRAWN_HEAD * site.heads.len() as u64) {
            return Err(Error::Interrupted);
        }
        let (draw, prior) = zones.sample(&mut rng::stream(options.seed, k));
        let draw = draw.ok_or(Error::NoLayout { system: Unreachable::Site, obstacle: None })?;
        let pieces = draw.pieces(prior, &mut rng::stream(options.seed, ATTRIBUTE_STREAMS + k));
        Ok((draw, pieces))
    };
    let drawn = in_batches(options.draws, monitor, draw)?;
    let (draws, pieces): (Vec<Draw>, Vec<Vec<Piece>>) = drawn.into_iter().unzip();
    let mut warnings = notes::warnings(site);
    let flagged = if findings.is_empty() { list.flagged } else { zones.flagged(site, models) };
    warnings.extend(flagged.iter().map(|head| head.sentence(site)));
    warnings.extend(surprises(site, &zones, &chances, &work).ok_or(Error::Interrupted)?);
    warnings.extend(zones.warnings(options.draws, limits));
    let effective = zones.effective(options.draws);
    let bearings = zones.bearings();
    let assessed = assessed(models[0].prior.systems(), &draws);
    let zoning_shares = zones.weights().to_vec();
    let zonings = models.iter().map(|model| model.zone_of.clone()).collect();
    Ok(Layouts {
        zonings,
        zoning_shares,
        effort: budget.effort,
        work: 0,
        metal: None,
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
        models: wider.unwrap_or(probable),
    })
}
