//! Layouts where zones are not known: chains over zonings, run on until the convergence checks let their answer through.

use super::batches::in_batches;
use super::convergence::{Convergence, LATERALS, Moved, Watched, chance_of, laterals_m, weigh};
use super::metal::SampledMetal;
use super::options::{RunBudget, SampleOptions};
use super::probes::surprises_by;
use crate::effort::Effort;
use crate::error::{Error, Unreachable};
use crate::geometry::{Point, nearest};
use crate::inference::joint::{Joint, Layout, State};
use crate::layout::{Draw, Piece, Run as Pipe};
use crate::mcmc::diagnostics::Kind;
use crate::mcmc::tempering::{self, Options, Run};
use crate::model::{Common, FlaggedHead, LayoutPrior, ZoningPrior};
use crate::monitor::Monitor;
use crate::rng;
use crate::site::Site;
use crate::strike::{Findings, Observation, RunIndex};
use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::Arc;

/// Independent chains: what R-hat compares (Vehtari et al. 2021 ask for four or more).
const CHAINS: usize = 4;

/// States of each chain that the convergence checks look at, at least. Numerical choice: five times what they ask for in all.
const LEAST_KEPT: usize = 500;

/// Draws of all chains, at least.
pub(super) const LEAST_DRAWS: usize = CHAINS * LEAST_KEPT;

/// Rounds in which the ladder is tuned, 16, 32, 64 sweeps, and its greatest length. Numerical choices.
const ROUNDS: usize = 3;
const MOST_CHAINS: usize = 64;

/// Stream of the pilot, above those of draws, run attributes and chains.
const PILOT: u64 = 1 << 45;

/// Near heads whose zones are compared with a head's own, for the diversity of zonings. Numerical choice.
const NEAR: usize = 4;

/// States from which the chance of each probe given everything else is worked out, at most. Numerical choice.
const SURPRISES_FROM: usize = 200;

/// What chains over zonings gave.
pub(super) struct UnknownZones {
    pub draws: Vec<Draw>,
    pub pieces: Vec<Vec<Piece>>,
    /// The prior of one of the zonings: its systems, bearings and unknown lines are those of all.
    pub prior: LayoutPrior,
    pub zone_of: Vec<Vec<usize>>,
    pub bearings: Vec<f64>,
    pub convergence: Convergence,
    pub warnings: Vec<String>,
}

/// Samples layouts of a site whose zones are not settled.
///
/// # Errors
/// [`Error::NotConverged`]; [`Error::NoLayout`]; [`Error::Interrupted`], also where the effort is spent.
pub(super) fn sample(
    site: &Arc<Site>,
    options: &SampleOptions,
    budget: &RunBudget,
    findings: &Findings,
    metal: Option<&SampledMetal>,
    effort: &Effort,
    monitor: &dyn Monitor,
) -> Result<UnknownZones, Error> {
    let zoning_prior = ZoningPrior::new(site);
    let common = Arc::new(Common::new(site));
    let unmapped = *common.unmapped_lines();
    let met = metal.and_then(|metal| metal.met(findings, common.bearings()));
    let mut joint =
        Joint::new(site, &zoning_prior, common, findings, &unmapped).counting(effort).with_metal(met);
    let temper = Options {
        replicates: CHAINS,
        rounds: ROUNDS,
        most_chains: MOST_CHAINS,
        seed: options.seed,
        ..Options::default()
    };
    if !findings.is_empty() {
        let mut pilot = Run::tuned(&joint, &Options { rounds: 1, ..temper }, monitor).map_err(stopped)?;
        pilot.advance(1, monitor).map_err(stopped)?;
        let states: Vec<State> =
            pilot.records().filter_map(|record| record.states().last().cloned()).collect();
        drop(pilot);
        joint = joint.with_pools(&states.iter().collect::<Vec<_>>(), &mut rng::stream(options.seed, PILOT));
    }
    let mut run = Run::tuned(&joint, &temper, monitor).map_err(stopped)?;
    let kept = LEAST_KEPT.max(options.draws.div_ceil(CHAINS));
    let longest = budget.longest.max(1);
    let mut rounds = 1;
    loop {
        run.advance(kept * rounds - run.sweeps(), monitor).map_err(stopped)?;
        let chains: Vec<Vec<&State>> =
            run.records().map(|record| record.states().iter().step_by(rounds).collect()).collect();
        let layouts = layouts(&joint, &chains, options.seed, monitor)?;
        if effort.is_spent() {
            return Err(Error::Interrupted);
        }
        let prior = joint.prior(chains[0][0])?;
        let convergence = converge(site, &prior, &run, &chains, &layouts, findings, budget)?;
        if convergence.passed || 2 * rounds > longest {
            if !convergence.passed && !budget.accept_unconverged {
                let failures = convergence.checked.failures.clone();
                return Err(Error::NotConverged { failures, sweeps: run.sweeps(), chains: CHAINS });
            }
            let open = open(site, &joint, prior, &chains, layouts, convergence);
            return if effort.is_spent() { Err(Error::Interrupted) } else { Ok(open) };
        }
        rounds *= 2;
    }
}

/// A layout of each kept state, chain after chain. A state has the same layout whichever states are kept beside it.
fn layouts(
    joint: &Joint<'_>,
    chains: &[Vec<&State>],
    seed: u64,
    monitor: &dyn Monitor,
) -> Result<Vec<Layout>, Error> {
    let states: Vec<&State> = chains.iter().flatten().copied().collect();
    let one = |k: usize| joint.layout(states[k], &mut rng::stream(seed, k as u64));
    in_batches(states.len(), monitor, one)
}

/// What is watched, and what the convergence checks say of it.
fn converge(
    site: &Site,
    prior: &LayoutPrior,
    run: &Run<&Joint<'_>>,
    chains: &[Vec<&State>],
    layouts: &[Layout],
    findings: &Findings,
    budget: &RunBudget,
) -> Result<Convergence, Error> {
    let length = chains.first().map_or(1, Vec::len);
    let by_chain = |values: Vec<f64>| values.chunks(length).map(<[f64]>::to_vec).collect::<Vec<_>>();
    let scalar = |name: &str, value: &dyn Fn(&State) -> f64| Watched {
        name: name.to_owned(),
        kind: Kind::Scalar,
        chains: chains.iter().map(|chain| chain.iter().map(|state| value(state)).collect()).collect(),
    };
    let heads = |zone: usize, state: &State| state.zoning.parts[zone].heads.len() as f64;
    let mut watched = vec![
        scalar("log density of zones and probes", &State::log_density),
        scalar("number of zones", &|state| state.zoning.there().count() as f64),
        scalar("heads of the largest zone", &|state| {
            (0..state.zoning.parts.len()).map(|zone| heads(zone, state)).fold(0.0, f64::max)
        }),
        Watched {
            name: LATERALS.to_owned(),
            kind: Kind::Scalar,
            chains: by_chain(layouts.iter().map(|layout| laterals_m(&layout.pieces)).collect()),
        },
    ];
    let draws: Vec<Draw> = layouts.iter().map(|layout| layout.draw.clone()).collect();
    let index = RunIndex::new(&draws);
    for dig in &site.digs {
        let look = Observation::dig(dig.shape.footprint(), dig.depth_m);
        let chances = index.chances(prior, &look, findings);
        watched.push(Watched {
            name: chance_of(&dig.id),
            kind: Kind::Probability,
            chains: by_chain(chances),
        });
    }
    let places: Vec<_> = site.heads.iter().map(|head| head.at).collect();
    let near = nearest(&places, NEAR);
    let zoning = |state: &&State| -> Vec<u64> {
        let pairs = near.iter().enumerate().flat_map(|(a, near)| near.iter().map(move |&b| (a, b)));
        let together = pairs.filter(|&(a, b)| a < b && state.zoning.zone_of[a] == state.zoning.zone_of[b]);
        together.map(|(a, b)| (a * near.len() + b) as u64).collect()
    };
    let zonings = chains.iter().map(|chain| chain.iter().map(|state| sorted(zoning(state))).collect());
    let trees =
        layouts.chunks(length).map(|chain| chain.iter().map(|layout| sorted(joined(layout))).collect());
    let sets = [zonings.collect(), trees.collect()];
    let (checked, [zoning_ess, tree_ess]) = weigh(&watched, sets, &budget.thresholds)?;
    let passed = checked.passed();
    let moves = run.moves().last().map_or_else(Vec::new, |counts| counts.moves().to_vec());
    Ok(Convergence {
        watched,
        checked,
        zoning_ess,
        tree_ess,
        sweeps: run.sweeps(),
        betas: run.ladder().betas().to_vec(),
        barrier: run.barrier().map(|barrier| barrier.global()),
        round_trips: run.round_trips(),
        moves: moves
            .iter()
            .map(|m| Moved { name: m.name.to_owned(), tried: m.tried, made: m.accepted })
            .collect(),
        passed,
        thresholds: budget.thresholds,
        accept_unconverged: budget.accept_unconverged,
    })
}

/// For each pipe of a layout a number of the two places that it joins, to the centimetre.
fn joined(layout: &Layout) -> Vec<u64> {
    let place = |p: &Point| ((100.0 * p.x).round() as i64, (100.0 * p.y).round() as i64);
    let number = |run: &Arc<Pipe>| {
        let path = run.routes.first()?.path.at(0.0);
        let ends = [place(path.first()?), place(path.last()?)];
        let mut hasher = DefaultHasher::new();
        (ends[0].min(ends[1]), ends[0].max(ends[1])).hash(&mut hasher);
        Some(hasher.finish())
    };
    layout.draw.trees.iter().flat_map(|tree| &tree.runs).filter_map(number).collect()
}

/// Identifiers as a set.
fn sorted(mut identifiers: Vec<u64>) -> Vec<u64> {
    identifiers.sort_unstable();
    identifiers.dedup();
    identifiers
}

/// All layouts that were judged: no fewer than were asked for.
fn open(
    site: &Site,
    joint: &Joint<'_>,
    prior: LayoutPrior,
    chains: &[Vec<&State>],
    layouts: Vec<Layout>,
    convergence: Convergence,
) -> UnknownZones {
    let states: Vec<&State> = chains.iter().flatten().copied().collect();
    let mut counts = vec![0.0; prior.grid_bearings().len()];
    layouts.iter().for_each(|layout| counts[layout.draw.bearing] += 1.0 / layouts.len() as f64);
    let (mut draws, mut pieces) = (Vec::with_capacity(layouts.len()), Vec::with_capacity(layouts.len()));
    for layout in layouts {
        draws.push(layout.draw);
        pieces.push(layout.pieces);
    }
    let zone_of = states.iter().map(|state| state.zoning.zone_of.clone()).collect();
    let mut warnings: Vec<String> = unknown_zones(site).into_iter().collect();
    warnings.extend(doubted(site, &states));
    let few: Vec<&State> = states.iter().step_by((states.len() / SURPRISES_FROM).max(1)).copied().collect();
    warnings.extend(surprises_by(site, |found, place| joint.chance_given_rest(&few, found, place)));
    if joint.unanswered() > 0 {
        warnings.push(format!(
            "{} of the lines drawn could not be laid so that they agree with every probe: they lie as near to that as they \
             came.",
            joint.unanswered()
        ));
    }
    UnknownZones { draws, pieces, prior, zone_of, bearings: counts, convergence, warnings }
}

/// The cheapest evidence there is.
fn unknown_zones(site: &Site) -> Option<String> {
    let bare = site.heads.iter().filter(|head| head.zone.is_none()).count();
    let whose = match bare {
        1 => "zone of one head is not known and was".to_owned(),
        _ => format!("zones of {bare} heads are not known and were"),
    };
    (bare > 0).then(|| {
        format!(
            "The {whose} sampled. Run each zone and flag the wet heads before digging: \
             this is the cheapest way to improve the answer."
        )
    })
}

/// Heads whose written zone has less than half of the probability.
fn doubted(site: &Site, states: &[&State]) -> Vec<String> {
    let likely = |(head, zone): (usize, usize)| -> Option<String> {
        let mut counts = vec![0usize; site.zones.len()];
        states.iter().for_each(|state| counts[state.zoning.zone_of[head]] += 1);
        let likely = (0..counts.len()).max_by_key(|&zone| counts[zone])?;
        let probability = counts[likely] as f64 / states.len() as f64;
        let flagged = FlaggedHead { head, written: Some(zone), likely, probability };
        (2 * counts[zone] < states.len() && likely != zone).then(|| flagged.sentence(site))
    };
    let written = site.heads.iter().enumerate().filter_map(|(head, it)| Some((head, it.zone?)));
    written.filter_map(likely).collect()
}

fn stopped(error: tempering::Error) -> Error {
    match error {
        // Whether the effort was spent is for the caller to see.
        tempering::Error::Interrupted | tempering::Error::Spent => Error::Interrupted,
        _ => Error::NoLayout { system: Unreachable::EveryZoning, obstacle: None },
    }
}
