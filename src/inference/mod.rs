//! From a site to sampled layouts: independent draws or chains, in parallel, interruptible, reproducible from a seed.

mod batches;
mod convergence;
pub mod joint;
mod kept;
mod known_zones;
mod layouts;
mod metal;
mod notes;
mod options;
mod out_of_effort;
pub mod posterior;
mod probes;
pub mod proposals;
mod quantities;
mod sampling;
mod unknown_zones;
mod with_metal;

use crate::effort::Effort;
use crate::error::{Error, Unreachable};
use crate::monitor::Monitor;
use crate::site::Site;
pub use batches::in_batches;
pub use convergence::{Convergence, Moved, NOT_CONVERGED, Reported, Watched};
pub use kept::{Column, Columns};
pub use layouts::Layouts;
pub use metal::Metal;
use metal::SampledMetal;
pub use notes::{chance_of_contradictions, warnings};
pub use options::{RunBudget, SampleOptions};
use posterior::Limits;
pub use probes::{SURPRISE, false_find, look as probe_look};
use sampling::sample;
use std::sync::Arc;

/// Draws layouts of a site: independent ones where zones are known or settled, else from chains over zonings.
///
/// # Errors
/// [`Error::NoLayout`]; [`Error::NotConverged`];
/// [`Error::Argument`] for fewer than two draws or too many finds; [`Error::TooMuchMemory`] for more draws than fit;
/// [`Error::OutOfEffort`]; [`Error::Interrupted`] if the monitor says so.
///
/// # Examples
/// ```
/// use underturf::monitor::Unwatched;
/// use underturf::inference::{SampleOptions, sample_layouts};
/// let site = underturf::example::lawn()?;
/// let layouts = sample_layouts(&site, &SampleOptions { draws: 100, seed: 7 }, &Unwatched)?;
/// assert_eq!(layouts.draws().len(), 100);
///
/// let refused = sample_layouts(&site, &SampleOptions { draws: 1, seed: 7 }, &Unwatched);
/// assert!(refused.is_err_and(|error| error.to_string().starts_with("draws is 1; it must be at least 2")));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn sample_layouts(
    site: &Arc<Site>,
    options: &SampleOptions,
    monitor: &dyn Monitor,
) -> Result<Layouts, Error> {
    sample_layouts_within(site, options, Limits::default(), &RunBudget::default(), monitor)
}

/// The same within given limits to the work (where they are met, [`Layouts::warnings`] says so) and to how long it goes on.
///
/// # Errors
/// Those of [`sample_layouts`].
///
/// # Examples
/// ```
/// use underturf::monitor::Unwatched;
/// use underturf::inference::posterior::Limits;
/// use underturf::inference::{RunBudget, SampleOptions, sample_layouts_within};
/// let (site, options) = (underturf::example::lawn()?, SampleOptions { draws: 50, seed: 7 });
/// let budget = RunBudget { longest: 4, ..RunBudget::default() };
/// let layouts = sample_layouts_within(&site, &options, Limits::default(), &budget, &Unwatched)?;
/// assert!(layouts.convergence().is_none(), "zones are known: draws are independent");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn sample_layouts_within(
    site: &Arc<Site>,
    options: &SampleOptions,
    limits: Limits,
    budget: &RunBudget,
    monitor: &dyn Monitor,
) -> Result<Layouts, Error> {
    spending(site, options, limits, budget, &Effort::new(budget.effort), monitor)
}

/// The same, the work counted among other.
pub(crate) fn spending(
    site: &Arc<Site>,
    options: &SampleOptions,
    limits: Limits,
    budget: &RunBudget,
    effort: &Effort,
    monitor: &dyn Monitor,
) -> Result<Layouts, Error> {
    sampling::check_draws(site, options, monitor)?;
    let metal = SampledMetal::sample(site, options, effort, monitor)?;
    let told = |metal: &SampledMetal| {
        Arc::new(site.with_bearing_evidence(metal.bearing_evidence()).with_metal_supply(metal.supply()))
    };
    let informed = metal.as_ref().map(told);
    let site = informed.as_ref().unwrap_or(site);
    let sampled = sample(site, options, limits, budget, metal.as_ref(), effort, monitor);
    let impossible = matches!(&sampled, Err(Error::NoLayout { system: Unreachable::Site, .. }));
    match sampled {
        Err(Error::Interrupted | Error::NoLayout { .. }) if effort.is_spent() => {
            Err(out_of_effort::error(site, budget, false, monitor))
        }
        Err(_) if impossible && !site.probes.is_empty() => {
            Err(out_of_effort::error(site, budget, true, monitor))
        }
        sampled => sampled.map(|layouts| Layouts { work: effort.spent(), ..joined(layouts, metal) }),
    }
}

fn joined(layouts: Layouts, metal: Option<SampledMetal>) -> Layouts {
    match metal {
        Some(metal) => with_metal::with_metal(layouts, metal),
        None => layouts,
    }
}
