//! What to say where a posterior was not reached: which probes the rest of the picture hardly explains, and how unlikely they
//! are.
//!
//! Layouts are drawn as if nothing had been probed, and each probe is compared with them: a clear one given the clear ones
//! before it in the document, a find given all clear ones before it. So the probe is named at which the picture breaks, though
//! each of several may be likely by itself.

use super::layouts::Layouts;
use super::options::{RunBudget, SampleOptions};
use super::probes::{false_find, look};
use super::sampling::sample;
use crate::effort::Effort;
use crate::error::{Error, Unexplained};
use crate::inference::posterior::Limits;
use crate::monitor::Monitor;
use crate::site::Site;
use crate::site::document::ProbeEntry;
use crate::strike::{Findings, Observation, RunIndex};
use std::sync::Arc;

/// Layouts that probes are compared with. Numerical choice: run attributes are summed over, so that few tell small chances.
const DRAWS: usize = 200;

/// Probes that the rest gives more than this are not named. Numerical choice.
const NAMED_BELOW: f64 = 0.05;

/// No more probes are named than this, the least likely first. Numerical choice: what a crew can look at again.
const MOST_NAMED: usize = 5;

/// Beyond so many probes each is compared with the layouts alone: what came before it would cost too much. Numerical choice.
const MOST_TOGETHER: usize = 60;

/// What the search for the probes may cost: as much as the call was allowed, between these.
const LEAST_EFFORT: u64 = Effort::USUAL / 400;
const MOST_EFFORT: u64 = Effort::USUAL / 10;

/// The error of a call that was given up, or of findings that no layout agrees with.
pub(super) fn error(site: &Arc<Site>, budget: &RunBudget, impossible: bool, monitor: &dyn Monitor) -> Error {
    let bare = Arc::new(site.without_probes());
    let options = SampleOptions { draws: DRAWS, seed: 0 };
    let usual = RunBudget { accept_unconverged: true, longest: 1, ..RunBudget::default() };
    let effort = Effort::new(budget.effort.clamp(LEAST_EFFORT, MOST_EFFORT));
    let layouts = if site.probes.is_empty() {
        None
    } else {
        match sample(&bare, &options, Limits::default(), &usual, None, &effort, monitor) {
            // The monitor alone tells a call that was stopped from one that was too dear.
            Err(Error::Interrupted) if !monitor.tick(0, 1) => return Error::Interrupted,
            Err(_) => None,
            Ok(layouts) => Some(layouts),
        }
    };
    Error::OutOfEffort {
        effort: budget.effort as f64 / Effort::USUAL as f64,
        impossible,
        probes: site.probes.len(),
        unexplained: layouts.map_or_else(Vec::new, |layouts| unexplained(site, &layouts)),
        unlabelled: site.heads.iter().filter(|head| head.zone.is_none()).count(),
    }
}

/// The probes that the layouts hardly explain, the least likely first.
fn unexplained(site: &Site, layouts: &Layouts) -> Vec<Unexplained> {
    let index = RunIndex::new(layouts.draws());
    let nothing = Findings::default();
    let missed = |looks: &[Observation]| -> f64 {
        let by_draw = index.missed(layouts.prior(), looks, &nothing);
        by_draw.iter().sum::<f64>() / by_draw.len().max(1) as f64
    };
    let together = site.probes.len() <= MOST_TOGETHER;
    let (mut before, mut all): (Vec<Observation>, f64) = (Vec::new(), 1.0);
    let mut named = Vec::new();
    for (probe, (it, entry)) in site.probes.iter().zip(&site.document.probes).enumerate() {
        let own = look(it);
        let mut looks = before.clone();
        looks.push(own);
        let with = missed(&looks);
        // Where all before it are impossible together already, a probe stands alone.
        let unmet = if all > 0.0 { (with / all).min(1.0) } else { missed(&looks[looks.len() - 1..]) };
        let chance = if it.found { 1.0 - (1.0 - false_find(it)) * unmet } else { unmet };
        if !it.found && together {
            (before, all) = (looks, with);
        }
        if chance < NAMED_BELOW {
            named.push(Unexplained { probe, found: it.found, at: place(entry), chance });
        }
    }
    named.sort_by(|a, b| a.chance.total_cmp(&b.chance).then(a.probe.cmp(&b.probe)));
    named.truncate(MOST_NAMED);
    named
}

/// Where a probe is, as the document has it.
fn place(entry: &ProbeEntry) -> [f64; 2] {
    match (entry.x, entry.y, entry.path.as_deref()) {
        (Some(x), Some(y), _) => [x, y],
        (_, _, Some([first, ..])) => *first,
        _ => [f64::NAN; 2],
    }
}
