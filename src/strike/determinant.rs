//! The determinant form: sums over outer states of `Z(w miss) / Z(w)`, with no Monte Carlo error.
//!
//! For a SET of looks A each run contributes one number `miss_e(A)`; the trees are summed by determinants, the header's
//! extents, the cover level, the outer states and the bearing by enumeration. Observations that found nothing reweight the
//! outer states by Z(C) / Z(0); finds enter as a signed sum over the sets of finds taken as missed (`findings`).

use super::findings::Findings;
use super::metal_missed::MetalMissed;
use super::miss::Observations;
use super::observation::Observation;
use super::result::{Chance, Strike};
use super::run_likelihood::Miss;
use crate::class::Class;
use crate::effort::{self, Work};
use crate::layout::{LEVELS, OuterPrior, OuterState};
use crate::spanning_tree::Scratch;
use rayon::prelude::*;

/// Strike chance of one dig, given what probes found.
///
/// The control wire factors over runs only where it rides on every run of its system; elsewhere it is `None`.
pub fn strike(
    prior: &dyn OuterPrior,
    dig: &Observation,
    findings: &Findings,
    assessed: &[bool; Class::ALL.len()],
) -> Strike {
    strike_unless(&[(1.0, prior)], dig, findings, assessed, None, &|| false).expect("nothing stops it")
}

/// The same for a mixture of priors of the same systems, with the metal lines of draws (which are sampled: theirs is a Monte
/// Carlo error), given up as soon as `work` is to stop: `None`. It is asked before
/// each outer state, from rayon's threads.
///
/// # Panics
/// Without a prior.
pub fn strike_unless(
    priors: &[(f64, &dyn OuterPrior)],
    dig: &Observation,
    findings: &Findings,
    assessed: &[bool; Class::ALL.len()],
    metal: Option<&MetalMissed>,
    work: &dyn Work,
) -> Option<Strike> {
    let (unmapped, systems) = (priors[0].1.unmapped_lines(), priors[0].1.systems());
    let coefficients = findings.coefficients(unmapped);
    let unknown = findings.missed_by(unmapped, dig);
    let mut terms: Vec<Term<'_>> = Vec::with_capacity(priors.len() * coefficients.values().len());
    for (set, coefficient) in coefficients.iter() {
        let before = findings.looks(set);
        let after: Vec<Observation> = before.iter().chain([dig]).cloned().collect();
        for &(share, prior) in priors {
            terms.push(Term {
                coefficient: share * coefficient,
                unknown: unknown[set],
                bearings: prior.bearings(),
                before: missed_unless(prior, &before, work)?,
                after: missed_unless(prior, &after, work)?,
            });
        }
    }
    // Systems outside the class still reweight the bearing by what was seen.
    let missed = |of: &dyn Fn(usize) -> bool, unknown: bool, metal: &dyn Fn(usize) -> f64| -> f64 {
        let term = |term: &Term<'_>| -> f64 {
            let at_bearing = |(bearing, p): (usize, &f64)| {
                let (before, after) = (&term.before[bearing], &term.after[bearing]);
                let chosen = |system: usize| if of(system) { after[system] } else { before[system] };
                p * (0..before.len()).map(chosen).product::<f64>() * metal(bearing)
            };
            let lines: f64 = term.bearings.iter().enumerate().map(at_bearing).sum();
            term.coefficient * lines * if unknown { term.unknown } else { 1.0 }
        };
        terms.iter().map(term).sum()
    };
    let seen = missed(&|_| false, false, &|_| 1.0);
    let chance = |of: &dyn Fn(usize) -> bool, unknown: bool, metal: &dyn Fn(usize) -> f64| {
        Chance::exact((1.0 - missed(of, unknown, metal) / seen).clamp(0.0, 1.0))
    };
    let by_class = std::array::from_fn(|class| {
        let known = assessed[class] && class != Class::ControlWire as usize;
        let of = |system: usize| systems[system].class as usize == class;
        let of_metal = |bearing: usize| metal.map_or(1.0, |metal| metal.at(bearing).by_class[class]);
        known.then(|| chance(&of, class == Class::Unknown as usize, &of_metal))
    });
    let all_metal = |bearing: usize| metal.map_or(1.0, |metal| metal.at(bearing).all);
    let strike = Strike::exact(chance(&|_| true, true, &all_metal).p, by_class);
    Some(metal.map_or_else(|| strike.clone(), |metal| strike.clone().with_errors_of(&metal.strike)))
}

/// One set of finds taken as missed, under one prior.
struct Term<'a> {
    coefficient: f64,
    /// Chance that the dig meets no unknown line, given that the set and the clear looks meet none.
    unknown: f64,
    bearings: &'a [f64],
    before: Vec<Vec<f64>>,
    after: Vec<Vec<f64>>,
}

/// For each bearing and system, the chance that every look misses every line of the system.
pub fn missed(prior: &dyn OuterPrior, looks: &[Observation]) -> Vec<Vec<f64>> {
    missed_unless(prior, looks, &|| false).expect("nothing stops it")
}

fn missed_unless(prior: &dyn OuterPrior, looks: &[Observation], work: &dyn Work) -> Option<Vec<Vec<f64>>> {
    let effort = work.effort();
    if looks.is_empty() {
        return Some(vec![vec![1.0; prior.systems().len()]; prior.bearings().len()]);
    }
    let observations: Vec<Observations> =
        prior.systems().iter().map(|system| Observations::new(system, looks)).collect();
    let fresh = |bearing: usize, system: usize| -> Option<f64> {
        let probabilities = prior.state_probabilities(bearing, system);
        let terms = probabilities.par_iter().enumerate().map(|(state, &p)| {
            let state = if p > 0.0 { prior.state(bearing, system, state) } else { None };
            let price = state.as_deref().map_or(0, |state| price(state, &observations[system], looks.len()));
            if !effort.spend(price) || work.stops() {
                return None;
            }
            Some(state.map_or((0.0, 0.0), |state| (p, p * missed_in_state(&state, &observations[system]))))
        });
        let terms: Vec<(f64, f64)> = terms.collect::<Option<_>>()?; // summed in order: the same bits for any number of threads
        let (all, clear) = terms.into_iter().fold((0.0, 0.0), |sum, term| (sum.0 + term.0, sum.1 + term.1));
        Some(if all > 0.0 { clear / all } else { 1.0 })
    };
    let mut missed: Vec<Vec<f64>> = Vec::with_capacity(prior.bearings().len());
    for bearing in 0..prior.bearings().len() {
        let known = |system: usize| match prior.alike(bearing, system) {
            first if first < bearing => Some(missed[first][system]),
            _ => fresh(bearing, system),
        };
        let at_bearing = (0..observations.len()).map(known).collect::<Option<_>>()?;
        missed.push(at_bearing);
    }
    Some(missed)
}

/// Chance that every look misses every line, given the outer state.
fn missed_in_state(state: &OuterState, looks: &Observations) -> f64 {
    let runs: Vec<Option<Miss>> = state.runs.iter().map(|run| looks.miss(run)).collect();
    let runs_touched = runs.iter().any(Option::is_some);
    let mut scratch = Scratch::default();
    let weight = |level: usize| {
        let runs = &runs;
        move |edge: usize| {
            let miss = runs[edge].as_ref().map_or(1.0, |miss| miss[level]);
            state.network.edges()[edge].weight * miss
        }
    };
    let Some(header) = &state.header else {
        let fixed: Vec<Option<Miss>> = state.fixed.iter().map(|line| looks.miss(line)).collect();
        if !runs_touched && fixed.iter().all(Option::is_none) {
            return 1.0;
        }
        return over_levels(looks, |level| {
            let fixed: f64 = fixed.iter().flatten().map(|miss| miss[level]).product();
            if !runs_touched || fixed == 0.0 {
                return fixed;
            }
            fixed * (state.network.log_z_where(weight(level), &[], &mut scratch) - state.log_z()).exp()
        });
    };
    let drops = header.drops();
    let extents = state.extents();
    let total: f64 = extents.iter().map(|extent| extent.probability).sum();
    let mut missed = 0.0;
    for extent in extents {
        let lines: Vec<Option<Miss>> = extent.lines.iter().map(|line| looks.miss(line)).collect();
        if !runs_touched && lines.iter().all(Option::is_none) {
            missed += extent.probability;
            continue;
        }
        missed += over_levels(looks, |level| {
            let lines: f64 = lines.iter().flatten().map(|miss| miss[level]).product();
            if !runs_touched || lines == 0.0 {
                return lines * extent.probability;
            }
            let log = state.log_z_at_extent(drops, extent.first, extent.last, weight(level), &mut scratch);
            lines * (log - state.log_z()).exp()
        });
    }
    missed / total
}

/// About what a state costs: its runs built and held against every look, and a sum over trees for each extent and level.
fn price(state: &OuterState, looks: &Observations, count: usize) -> u64 {
    let runs = state.runs.len() as u64;
    let levels = if looks.level_free() { 1 } else { LEVELS as u64 };
    let extents = state.header.as_ref().map_or(1, |header| (header.drops().len() as u64).pow(2) / 8 + 1);
    let network = &state.network;
    runs * (count as u64 * effort::LOOK + effort::BUILT_RUN)
        + extents * levels * effort::elimination(network.nodes(), network.edges().len())
}

/// Mean over the cover level that a system's runs share.
fn over_levels(looks: &Observations, mut missed: impl FnMut(usize) -> f64) -> f64 {
    if looks.level_free() {
        return missed(0);
    }
    (0..LEVELS).map(|level| looks.levels[level] * missed(level)).sum()
}
